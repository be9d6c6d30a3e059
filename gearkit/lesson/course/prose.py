"""The prose of notebooks in the reader's language: it is looked up where a notebook is copied or a page is made of it.

The English notebook stays the only source. A prose cell is one message, which belongs to the cell by its id. Of a code cell
the comments are messages, and so are the strings that it shows: labels, headings of a table, what a function is for.
"""

from __future__ import annotations

import ast
import io
import re
import tokenize
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from gearkit.words.say import language_key, say, say_in

# What shows its arguments to the reader; any other call takes names of layouts, elements and the like.
_SHOWS = re.compile(r"lesson\.(?:results|table)|IntSlider|.*\.picture")
_NAMES = re.compile(r"[A-Z]\d|\w*[._]\w+")
_WORD = re.compile(r"[a-z]{2}")
_SYMBOLS = re.compile(r"\$[^$]*\$|\{[^{}]*\}")


@dataclass(frozen=True)
class Piece:
    """One message in the source of a cell.

    Args:
        start: where it begins in the source.
        end: where it ends.
        text: the message.
        prefix: "f" for a string with values in braces, "" for any other string, "#" for a comment, "md" for a prose cell.
    """

    start: int
    end: int
    text: str
    prefix: str


def said(notebook: Mapping[str, Any]) -> dict[str, Any]:
    """Return a notebook in the reader's language.

    Args:
        notebook: as it is shipped; it is not changed.
    """
    if not language_key():
        return dict(notebook)
    return {**notebook, "cells": [_said_cell(cell) for cell in notebook["cells"]]}


def said_source(name: str, source: str, *, is_code: bool) -> str:
    """Return the source of a cell in the reader's language.

    Args:
        name: the cell's id.
        source: its English text.
        is_code: whether it holds code.
    """
    if not language_key():
        return source
    kept, place = [], 0
    for piece in pieces(source, is_code=is_code):
        kept += [source[place : piece.start], _written(piece, _translated(name, piece), source)]
        place = piece.end
    return "".join([*kept, source[place:]])


def messages(notebook: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield the messages of a notebook: of prose with the id of its cell, of code with "", for code says the same in many cells.

    Args:
        notebook: as it is shipped.
    """
    for cell in notebook["cells"]:
        source, is_code = "".join(cell["source"]), cell["cell_type"] == "code"
        for piece in pieces(source, is_code=is_code):
            yield "" if is_code else str(cell["id"]), piece.text


def pieces(source: str, *, is_code: bool) -> list[Piece]:
    """Return the messages of a cell, in order.

    Args:
        source: its text.
        is_code: whether it holds code; code that cannot be read has none.
    """
    if not is_code:
        return [Piece(0, len(source), source, "md")] if source.strip() else []
    try:
        every = [*_comments(source), *_strings(source)]
    except (SyntaxError, tokenize.TokenError):
        return []
    return sorted((piece for piece in every if _WORD.search(_SYMBOLS.sub(" ", piece.text))), key=lambda piece: piece.start)


def _said_cell(cell: Mapping[str, Any]) -> dict[str, Any]:
    is_code = cell["cell_type"] == "code"
    source = said_source(str(cell.get("id", "")), "".join(cell["source"]), is_code=is_code)
    return {**cell, "source": source.splitlines(keepends=True)}


def _translated(name: str, piece: Piece) -> str:
    if piece.prefix == "md":
        return say_in(name, piece.text)
    # The blanks round a word that joins others are no matter of language.
    inner = piece.text.strip()
    return piece.text.replace(inner, say(inner))


def _written(piece: Piece, text: str, source: str) -> str:
    """A message as it stands in the source of a cell; what has no translation stays as it was written."""
    if text == piece.text:
        return source[piece.start : piece.end]
    if piece.prefix in ("md", "#"):
        return text
    # Backslashes of formulas stay readable where nothing forbids it.
    raw = "r" if "\\" in text and '"' not in text and "\n" not in text else ""
    inner = text if raw else text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'{piece.prefix}{raw}"{inner}"'


def _comments(source: str) -> Iterator[Piece]:
    starts = _line_starts(source)
    for token in tokenize.generate_tokens(io.StringIO(source).readline):
        if token.type == tokenize.COMMENT:
            text = token.string.lstrip("# ")
            end = starts[token.end[0] - 1] + token.end[1]
            yield Piece(end - len(text), end, text, "#")


def _strings(source: str) -> Iterator[Piece]:
    starts, lines = _line_starts(source), source.split("\n")

    def place(line: int, column: int) -> int:
        # Columns of a syntax tree count bytes.
        return starts[line - 1] + len(lines[line - 1].encode()[:column].decode())

    for node in _shown(ast.parse(source), shows=True):
        text = str(node.value) if isinstance(node, ast.Constant) else _template(node)
        begin, end = place(node.lineno, node.col_offset), place(node.end_lineno or 0, node.end_col_offset or 0)
        if not _NAMES.fullmatch(text):
            yield Piece(begin, end, text, "f" if isinstance(node, ast.JoinedStr) else "")


def _shown(node: ast.AST, *, shows: bool) -> Iterator[Any]:
    """The strings below a place in the code that a reader gets to see."""
    if isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str)):
        if shows:
            yield node
    elif isinstance(node, ast.Call):
        # In " and ".join(names) the word is shown where the whole is.
        yield from _shown(node.func, shows=shows)
        inside = _SHOWS.fullmatch(ast.unparse(node.func)) is not None
        for below in (*node.args, *node.keywords):
            yield from _shown(below, shows=inside)
    elif isinstance(node, ast.Compare | ast.Subscript):
        return
    elif isinstance(node, ast.comprehension):
        # A loop over plain strings goes through names: of shafts, elements or ranges.
        names = isinstance(node.iter, ast.Tuple | ast.List) and all(isinstance(each, ast.Constant) for each in node.iter.elts)
        yield from () if names else _shown(node.iter, shows=shows)
        for condition in node.ifs:
            yield from _shown(condition, shows=shows)
    elif isinstance(node, ast.Dict):
        for value in node.values:
            yield from _shown(value, shows=shows)
    else:
        for child in ast.iter_child_nodes(node):
            yield from _shown(child, shows=shows)


def _template(node: ast.JoinedStr) -> str:
    inner = [
        str(part.value) if isinstance(part, ast.Constant) else ast.unparse(ast.JoinedStr([part]))[2:-1] for part in node.values
    ]
    return "".join(inner)


def _line_starts(source: str) -> list[int]:
    starts = [0]
    for line in source.split("\n"):
        starts.append(starts[-1] + len(line) + 1)
    return starts
