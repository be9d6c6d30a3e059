"""Cells of a lesson notebook as plain data, in the house's lengths, and the notebook that they make."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from gearkit.lesson.predictions import shut
from gearkit.text.latex import with_tight_commas
from gearkit.words.say import say

LONGEST_PROSE = 80
LONGEST_CODE = 12
KERNEL = {"kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"}}
_NOT_WORDS = re.compile(r"\$\$.*?\$\$|\$[^$]*\$|\]\([^)]*\)|`[^`]*`", re.DOTALL)
_WORD = re.compile(r"[A-Za-zÀ-ÿ][\w'’-]*")


@dataclass(frozen=True)
class Cell:
    """One cell.

    Args:
        name: what its id ends with, in small letters and hyphens.
        tag: its part in the lesson, such as "by-hand".
        source: its text.
        code: whether it is code.
    """

    name: str
    tag: str
    source: str
    code: bool = False


def prose(name: str, tag: str, *paragraphs: str) -> Cell:
    """Return a cell of words.

    Args:
        name: what its id ends with.
        tag: its part in the lesson.
        paragraphs: its paragraphs; empty ones are left out.
    """
    return Cell(name, tag, with_tight_commas("\n\n".join(text for text in paragraphs if text)))


def code(name: str, tag: str, *lines: str) -> Cell:
    """Return a cell of code; one whose first line is a comment is folded to it in the notebook.

    Args:
        name: what its id ends with.
        tag: its part in the lesson.
        lines: its lines.
    """
    return Cell(name, tag, "\n".join(lines), True)


def gate(name: str, call: str, compare: str) -> Cell:
    """Return the folded cell of a prediction; what is said in its reveal stands in it shut, so that nobody reads it before.

    Args:
        name: what its id ends with.
        call: the call without its closing bracket.
        compare: what the usual wrong guesses take for true, said in the reveal.
    """
    return code(name, "predict", comment(say("Your prediction")), f'{call}, compare="{shut(compare)}")')


def comment(text: str) -> str:
    """Return words as a comment of Python."""
    return f"# {text}"


def working_title(title: str) -> str:
    """Return the line to which a cell with a working is folded.

    Args:
        title: what it works out.
    """
    return comment(say("Working: {title}", title=title))


def result(label: str, *values: str) -> str:
    """Return a line of a table of results.

    Args:
        label: what it says in front.
        values: the code of its values.
    """
    return f"    ({', '.join((quoted(label), *values))}),"


def quoted(text: str) -> str:
    """Return a text as Python writes it."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def words(text: str) -> int:
    """Return the number of words of a cell; formulas and link targets do not count."""
    return len(_WORD.findall(_NOT_WORDS.sub(" ", text)))


def several(name: str, tag: str, paragraphs: Iterable[str]) -> list[Cell]:
    """Return as few cells as hold some paragraphs within the house's length, in order.

    Args:
        name: what their ids end with; numbers are added from the second on.
        tag: their part in the lesson.
        paragraphs: what they say.
    """
    heaps: list[list[str]] = []
    for text in (piece for paragraph in paragraphs for piece in _pieces(paragraph)):
        if heaps and words("\n\n".join([*heaps[-1], text])) <= LONGEST_PROSE:
            heaps[-1].append(text)
        else:
            heaps.append([text])
    return [prose(name if not at else f"{name}-{at + 1}", tag, *heap) for at, heap in enumerate(heaps)]


def _pieces(paragraph: str) -> Iterable[str]:
    """A paragraph that is too long by itself, sentence by sentence; others, tables and lists as they are."""
    if words(paragraph) <= LONGEST_PROSE:
        return [paragraph]
    if "\n" in paragraph.strip():
        lines = paragraph.split("\n")
        middle = len(lines) // 2
        return [*_pieces("\n".join(lines[:middle])), *_pieces("\n".join(lines[middle:]))]
    pieces = re.split(r"(?<=[.:;?]) +", paragraph)
    if len(pieces) == 1:
        pieces = re.split(r"(?<=,) +", paragraph)
    if len(pieces) == 1:
        return [paragraph]
    heaps = [pieces[0]]
    for piece in pieces[1:]:
        if words(f"{heaps[-1]} {piece}") <= LONGEST_PROSE:
            heaps[-1] += f" {piece}"
        else:
            heaps.append(piece)
    return heaps


def blocks(name: str, tag: str, title: str, lines: Sequence[str]) -> list[Cell]:
    """Return as many folded cells of code as some lines need.

    Args:
        name: what their ids end with; numbers are added from the second on.
        tag: their part in the lesson.
        title: what they work out; it stands in the line to which they are folded.
        lines: the code.
    """
    count = -(-len(lines) // (LONGEST_CODE - 1))
    size = -(-len(lines) // count) if count else 0
    return [
        code(
            name if not at else f"{name}-{at + 1}",
            tag,
            comment(say("Working: {title}, continued", title=title)) if at else working_title(title),
            *lines[at * size : (at + 1) * size],
        )
        for at in range(count)
    ]


def notebook(cells: Sequence[Cell], start: str, card: dict[str, Any]) -> dict[str, Any]:
    """Return a notebook.

    Args:
        cells: its cells in order.
        start: what every id begins with.
        card: what the kit notes about the notebook, under its own name.
    """
    names: dict[str, int] = {}
    made = []
    for cell in cells:
        names[cell.name] = names.get(cell.name, 0) + 1
        again = "" if names[cell.name] == 1 else f"-n{names[cell.name]}"
        made.append(_as_data(cell, f"{start}-{cell.name}{again}"))
    return {"cells": made, "metadata": {**KERNEL, "gearkit": card}, "nbformat": 4, "nbformat_minor": 5}


def _as_data(cell: Cell, name: str) -> dict[str, Any]:
    source = cell.source.strip("\n").splitlines(keepends=True)
    data: dict[str, Any] = {
        "cell_type": "markdown",
        "id": name,
        "metadata": {"tags": [cell.tag]} if cell.tag else {},
        "source": source,
    }
    if not cell.code:
        return data
    if cell.source.startswith("# "):
        data["metadata"] = {**data["metadata"], "jupyter": {"source_hidden": True}}
    return {**data, "cell_type": "code", "execution_count": None, "outputs": []}


def as_text(held: dict[str, Any]) -> str:
    """Return the text of a notebook's file, as the kit's own lessons are written."""
    return json.dumps(held, indent=1, ensure_ascii=False, sort_keys=True) + "\n"
