"""Reads a handed-in notebook file, sound or damaged, into its cells; nothing in it is run or believed.

A sound file is read as JSON. From a damaged one (cut off, edited by hand, with marks of a merge in it) every
cell that is still whole is taken. What was done is said in flags, in an instructor's words.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

MOST_CELLS = 2_000
LONGEST_CELL = 100_000
LONGEST_NUMBER = 400
# The text of all cells together: reading it takes some microseconds a character, and nobody writes as much.
LONGEST_TOGETHER = 4_000_000
MOST_FRAGMENTS = 20_000
# What a file of the largest size can hold in objects would fill gigabytes. Beyond these it is taken to pieces.
MOST_BRACKETS = 1_000_000
MOST_COMMAS = 4_000_000
LARGEST_PIECE = 1 << 18
SHORT_PIECE = 1 << 14
# Longer than what JSON writes in one piece beside texts and numbers: a cut through it is told some letters before the end.
LONGEST_WORD = 16
# How often a damaged file may be read through in the search for whole cells.
READINGS = 4
_FRAGMENT = re.compile(
    r'\{\s*"(?:attachments|cell_type|collapsed|execution_count|id|input|language|metadata|outputs|'
    r'prompt_number|source)"\s*:'
)


@dataclass(frozen=True)
class Cell:
    """One cell as it was handed in.

    Args:
        kind: "code", "markdown" or whatever the file says.
        source: its text.
        item: item that the cell's own card names, or ""; not trusted beyond "where was this written".
    """

    kind: str
    source: str
    item: str = ""


@dataclass(frozen=True)
class Notebook:
    """A handed-in notebook.

    Args:
        cells: its cells in order.
        flags: what was wrong with the file.
        language: language that its kernel was for, or "".
        card: the variant card of the file, not trusted.
        whole: the file's data, where it was sound; None where cells had to be picked out.
    """

    cells: tuple[Cell, ...]
    flags: tuple[str, ...] = ()
    language: str = ""
    card: Mapping[str, Any] | None = None
    whole: Mapping[str, Any] | None = None


def load(data: bytes) -> Notebook | None:
    """Read the bytes of a notebook file; None where not a single cell can be found in them."""
    text, flags = _decoded(data)
    swells = text.count("{") + text.count("[") > MOST_BRACKETS or text.count(",") > MOST_COMMAS
    document = None if swells else _parsed(text)
    if isinstance(document, dict):
        raw, whole = _raw_cells(document), True
        if raw is not None:
            notebook = _notebook(document, raw, flags, whole)
            if notebook.cells or not raw:
                return notebook
    fragments = _fragments(text, LARGEST_PIECE if swells else len(text))
    if fragments:
        why = "holds far more than a notebook" if swells else "is damaged"
        flags.append(f"The file {why}; {len(fragments)} cells that are still whole were taken from it.")
        return _notebook({}, fragments, flags, whole=False)
    if document is None and "answer(" in text and len(text) <= LONGEST_CELL:
        flags.append("The file is no notebook but plain text; its lines were taken as one cell.")
        return Notebook((Cell("code", _tidy(text)),), tuple(flags))
    return None


def _parsed(text: str) -> Any:
    """What the JSON of a text holds, or None where it is damaged."""
    try:
        return json.loads(text)
    except (json.JSONDecodeError, RecursionError):
        return None
    except ValueError:
        # A number longer than Python itself reads.
        try:
            return _DECODER.decode(text)
        except (ValueError, RecursionError):
            return None


def _whole_number(digits: str) -> int:
    return int(digits) if len(digits) <= LONGEST_NUMBER else 0


# The longer marks first: one of them begins like a shorter one.
_MARKS = (
    (b"\xff\xfe\0\0", "utf-32"),
    (b"\0\0\xfe\xff", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
    (b"\xef\xbb\xbf", "utf-8-sig"),
)
# No number in a notebook says anything about answers.
_DECODER = json.JSONDecoder(parse_int=_whole_number)


def _decoded(data: bytes) -> tuple[str, list[str]]:
    for marks, encoding in _MARKS:
        if data.startswith(marks):
            return data.decode(encoding, "replace"), [
                f"The file is saved as {encoding.removesuffix('-sig').upper()} with a byte-order mark."
            ]
    encoding = json.detect_encoding(data)
    if encoding != "utf-8":
        return data.decode(encoding, "replace"), [f"The file is saved as {encoding.upper()}."]
    try:
        return data.decode("utf-8"), []
    except UnicodeDecodeError:
        # Windows-1252 leaves five bytes undefined; they become question marks rather than an error.
        return data.decode("cp1252", "replace"), ["The file is not saved as UTF-8; it was read as Windows-1252."]


def _raw_cells(data: Mapping[str, Any]) -> list[Any] | None:
    """The list of cells of a notebook of format 4, or of the older format 3 with its worksheets."""
    cells = data.get("cells")
    if isinstance(cells, list):
        return cells
    sheets = data.get("worksheets")
    if isinstance(sheets, list):
        return [
            cell
            for sheet in sheets
            if isinstance(sheet, dict) and isinstance(sheet.get("cells"), list)
            for cell in sheet["cells"]
        ]
    return None


def _fragments(text: str, longest: int) -> list[Any]:
    """Every JSON object in a text that looks like a whole cell, in order, while the search takes no longer than allowed.

    Args:
        text: the text.
        longest: length of the longest object that is looked for.
    """
    cells: list[Any] = []
    at, left = 0, READINGS * len(text)
    for _ in range(MOST_FRAGMENTS):
        match = _FRAGMENT.search(text, at) if left >= 0 else None
        if match is None:
            break
        value, end = _object_at(text, match.start(), min(len(text), match.start() + longest))
        left -= end - match.start()
        whole = isinstance(value, dict) and isinstance(value.get("cell_type"), str)
        cells += [value] if whole else []
        at = end if whole else match.start() + 1
    return cells


def _object_at(text: str, start: int, stop: int) -> tuple[Any, int]:
    """The object that begins at a place, None where there is none, and the place up to which was read to know it."""
    size = SHORT_PIECE
    while True:
        # The library counts the lines before each fault, so it gets no more than it needs: 20,000 faults at the end of a
        # large file would take minutes.
        piece = text[start : min(stop, start + size)]
        try:
            value, end = _DECODER.raw_decode(piece)
        except json.JSONDecodeError as fault:
            # Of a string that never ends the beginning is told, though all was read.
            read = len(piece) if fault.msg.startswith("Unterminated") else fault.pos
            if start + size >= stop or read < len(piece) - LONGEST_WORD:
                return None, start + read
            size *= 16
        except (ValueError, RecursionError):
            return None, stop
        else:
            return value, start + end


def _notebook(data: Mapping[str, Any], raw: Iterable[Any], flags: list[str], whole: bool) -> Notebook:
    cells: list[Cell] = []
    skipped, left = 0, LONGEST_TOGETHER
    for entry in raw:
        cell = _cell(entry) if len(cells) < MOST_CELLS else None
        if cell is None or len(cell.source) > left:
            skipped += 1
        else:
            cells.append(cell)
            left -= len(cell.source)
    if skipped:
        flags.append(f"{skipped} cells of the file are damaged, too long or too many and were left out.")
    metadata = _table(data.get("metadata"))
    kernel, language = _table(metadata.get("kernelspec")), _table(metadata.get("language_info"))
    name = language.get("name") or kernel.get("language") or ""
    return Notebook(
        tuple(cells),
        tuple(flags),
        name[:40] if isinstance(name, str) else "",
        _table(metadata.get("gearkit")),
        data if whole else None,
    )


def _cell(entry: Any) -> Cell | None:
    if not isinstance(entry, dict) or not isinstance(entry.get("cell_type"), str):
        return None
    source = entry.get("source", entry.get("input", ""))
    if isinstance(source, list):
        source = "".join(part for part in source if isinstance(part, str))
    if not isinstance(source, str) or len(source) > LONGEST_CELL:
        return None
    metadata = _table(entry.get("metadata"))
    item = _table(metadata.get("gearkit")).get("item") or _table(metadata.get("nbgrader")).get("grade_id") or ""
    return Cell(entry["cell_type"][:20], _tidy(source), item if isinstance(item, str) else "")


def _tidy(source: str) -> str:
    """The text with plain line ends and without what no source file can hold."""
    text = source.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").replace("\x00", "\N{REPLACEMENT CHARACTER}")
    return text.encode("utf-8", "replace").decode("utf-8")


def _table(value: Any) -> dict[str, Any]:
    return value if isinstance(value, dict) else {}
