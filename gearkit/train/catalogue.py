"""Layout files: read, check, write back, and find by name.

A file is TOML (format 1). Everything wrong in it is reported together, each fault with file, line, key, the value
found and what was expected.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from gearkit.text.files import write_atomically
from gearkit.text.places import datasets
from gearkit.train.driver_tables import driver_lines
from gearkit.train.layout import Layout
from gearkit.train.layout_file import LineIndex, read_tables
from gearkit.train.planetary_set import MOST_TEETH
from gearkit.words.errors import Fault, GearkitError, LayoutError, UsageError

LARGEST_FILE = 1_000_000


@dataclass(frozen=True)
class Entry:
    """One layout of the catalogue.

    Args:
        name: the word by which it is found: the file's name without ending.
        path: the file.
        layout: what it holds.
    """

    name: str
    path: Path
    layout: Layout


def read(path: str | os.PathLike[str]) -> Layout:
    """Read and check a layout file.

    Args:
        path: a TOML file of format 1.

    Raises:
        UsageError: there is no such file, or it cannot be opened.
        LayoutError: with every fault found in it.
    """
    file = Path(path)
    try:
        if file.stat().st_size > LARGEST_FILE:
            raise UsageError(
                f"{file}: {file.stat().st_size} bytes; a layout file has at most {LARGEST_FILE}. Is it another kind of file?"
            )
        data = file.read_bytes()
    except OSError as error:
        raise UsageError(
            f"{file}: cannot be read ({error.strerror}). Give the path of a layout file, or a name from: gearkit layouts"
        ) from None
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise LayoutError(
            (
                Fault(
                    file.name,
                    line,
                    "text",
                    f"byte {data[error.start]:#04x}",
                    "text in UTF-8; save the file with that encoding",
                ),
            )
        ) from None
    return parse(text, file=file.name)


def parse(text: str, file: str = "") -> Layout:
    """Read and check the text of a layout file.

    Args:
        text: TOML of format 1.
        file: name to put into messages.

    Raises:
        LayoutError: with every fault found.
    """
    try:
        # Some editors put a byte order mark in front; it is no part of TOML, but it is written back with the rest.
        plain = text.removeprefix("\ufeff")
        document = tomllib.loads(plain)
    except tomllib.TOMLDecodeError as error:
        raise LayoutError((_syntax_fault(str(error), file, text),)) from None
    except ValueError:
        # Python reads no whole number of more than 4,300 digits.
        raise LayoutError(
            (Fault(file, None, "text", "a number of thousands of digits", f"tooth counts up to {MOST_TEETH}"),)
        ) from None
    except RecursionError:
        raise LayoutError((Fault(file, None, "text", "brackets nested very deep", "a layout file of format 1"),)) from None
    return read_tables(document, LineIndex(plain), file, text)


def _syntax_fault(message: str, file: str, text: str) -> Fault:
    line: int | None = None
    if "(at line " in message:
        line = int(message.split("(at line ")[1].split(",")[0])
    elif "end of document" in message:
        line = text.count("\n") + 1
    line_text = "an unfinished file"
    if line is not None and line <= len(text.splitlines()):
        line_text = repr(text.splitlines()[line - 1].strip()[:60])
    return Fault(file, line, "TOML", line_text, f"valid TOML ({message.split(' (at ')[0].lower()})")


def find(name_or_path: str | os.PathLike[str]) -> Layout:
    """Return a layout by catalogue name or by path.

    Args:
        name_or_path: such as "Q36", in any case of letters, or the path of a TOML file.

    Raises:
        UsageError: neither a file nor a name of the catalogue.
        LayoutError: the file has faults.
    """
    return read(path_of(name_or_path))


def path_of(name_or_path: str | os.PathLike[str]) -> Path:
    """Return the file of a layout by catalogue name or by path; a path need not lead to a file.

    Args:
        name_or_path: as in `find`.

    Raises:
        UsageError: neither a file nor a name of the catalogue.
    """
    if not isinstance(name_or_path, str | os.PathLike):
        raise UsageError(f'No layout {name_or_path!r}: expected a name such as "Q36" or the path of a file, as text.')
    wanted = os.fspath(name_or_path)
    if wanted.endswith(".toml") or os.sep in wanted:
        return Path(wanted)
    files = dict(_files())
    for name, path in files.items():
        if name.lower() == wanted.lower():
            return path
    if Path(wanted).is_file():
        return Path(wanted)
    raise UsageError(f"No layout {wanted!r}: it is neither a file nor a name of the catalogue. Names: {', '.join(files)}.")


def entries(several: bool = False) -> list[Entry]:
    """Return every layout of the catalogue: the kit's own first, then those from published sources.

    Args:
        several: also those with machines, several outputs or a converter.
    """
    rows = [Entry(name, path, read(path)) for name, path in _files()]
    return [entry for entry in rows if several or entry.layout.plain]


def _files() -> Iterator[tuple[str, Path]]:
    for folder in ("layouts", "several", "published", "published/several"):
        for path in sorted((datasets() / folder).glob("*.toml")):
            yield path.stem, path


def write(layout: Layout, path: str | os.PathLike[str]) -> None:
    """Write a layout to a file, whole or not at all.

    Args:
        layout: what to write; one that was read and not changed is written letter for letter as it was.
        path: the file; replaced if it exists, and folders on the way to it are made where they are missing.

    Raises:
        GearkitError: the file cannot be written.
    """
    target = Path(path)
    try:
        write_atomically(target, dumps(layout))
    except OSError as error:
        raise GearkitError(f"{target}: cannot be written ({error.strerror}). Choose a folder that you may write to.") from None


def dumps(layout: Layout) -> str:
    """Return a layout as the text of a layout file."""
    if layout.text:
        return layout.text
    lines = ["format = 1", f"name = {_quoted(layout.name)}"]
    joins = ", ".join(_array(join) for join in layout.joins)
    lines += [f"joins = [{joins}]"]
    if layout.outputs:
        lines.append(f"outputs = {_array(layout.outputs)}")
    lines += [
        "",
        "[source]",
        f"kind = {_quoted(layout.source.kind)}",
        f"citation = {_quoted(layout.source.citation)}",
    ]
    if layout.source.notes:
        lines.append(f"notes = {_quoted(layout.source.notes)}")
    for pset in layout.sets:
        lines += ["", "[[set]]", f"name = {_quoted(pset.name)}", f"pinions = {_quoted(pset.pinions)}"]
        if pset.ring_to_sun is not None:
            lines.append(f'ring_to_sun = "{pset.ring_to_sun}"')
        counts = {
            "sun": pset.sun_teeth,
            "ring": pset.ring_teeth,
            "sun_pinion": pset.sun_pinion_teeth,
            "ring_pinion": pset.ring_pinion_teeth,
            "planets": pset.planets,
            "planet": pset.own_planet_teeth,
        }
        lines += [f"{key} = {value}" for key, value in counts.items() if value is not None]
        if pset.basic_efficiency is not None:
            lines.append(f'basic_efficiency = "{pset.basic_efficiency}"')
    for element in layout.elements:
        lines += [
            "",
            "[[element]]",
            f"name = {_quoted(element.name)}",
            f"kind = {_quoted(element.kind)}",
            f"between = {_array(element.between)}",
        ]
        if element.kind == "one-way clutch":
            lines.append(f"free_direction = {_quoted(element.free_direction)}")
    for item in layout.ranges:
        lines += ["", "[[range]]", f"name = {_quoted(item.name)}", f"engaged = {_array(item.engaged)}"]
        if item.published_ratio:
            lines.append(f"published_ratio = {_quoted(item.published_ratio)}")
    lines += driver_lines(layout.machines, layout.converter)
    if layout.placement:
        lines += ["", *placement_lines(layout)]
    return "\n".join(lines) + "\n"


def placement_lines(layout: Layout) -> list[str]:
    """Return the lines of a layout file that hold its placement; a layout without one has none."""
    table = layout.placement or {}
    return ["[placement]", *(f"{_key(key)} = {_value(value)}" for key, value in table.items())] if table else []


def _value(value: Any) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case int() | float():
            return repr(value)
        case str():
            return _quoted(value)
        case list() | tuple():
            return "[" + ", ".join(_value(item) for item in value) + "]"
        case dict():
            return "{" + ", ".join(f"{_key(key)} = {_value(item)}" for key, item in value.items()) + "}"
    raise GearkitError(f"placement: a value of kind {type(value).__name__} cannot be written to a layout file")


def _key(key: str) -> str:
    plain = key.replace("_", "a").replace("-", "a")
    return key if plain.isascii() and plain.isalnum() else _quoted(key)


def _array(texts: tuple[str, ...]) -> str:
    return "[" + ", ".join(_quoted(text) for text in texts) + "]"


def _quoted(text: str) -> str:
    named = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r"}
    return '"' + "".join(named.get(c, c if c.isprintable() else f"\\U{ord(c):08X}") for c in text) + '"'
