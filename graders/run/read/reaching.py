"""Tells from the source of a cell, without running it, that it reaches for the parts of the kit that hold answers."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

from graders.run.read import reading
from graders.run.sandbox import kit_parts

_MARKS = ("gearkit", "graders", "answers")
# An address in a text, with dots or as a path, as for importlib or for a file.
_ADDRESS = re.compile(r"(?:gearkit|graders)(?:[./\\]+\w+)+")
_PART_OF_PARTS = re.compile(r"\.\w+")


def reached(source: str) -> str:
    """The first hidden part that a cell names, or "".

    Args:
        source: the cell.
    """
    if not any(mark in source for mark in _MARKS):
        return ""
    tree = reading.parsed(source)
    # With magics in it a cell is no Python as it stands; its text still names what it names.
    named = _named(tree) if tree is not None else _in_text(source)
    return next((name for name in named if kit_parts.is_hidden(name)), "")


def _named(tree: ast.Module) -> Iterator[str]:
    # Only where a cell has it from the kit is a name by itself a part of the kit: a learner's `answers` may be a dictionary.
    own = {
        alias.asname or alias.name: f"{node.module}.{alias.name}"
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module in ("gearkit", "graders")
        for alias in node.names
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module or ""
            yield from (f"{node.module}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Attribute):
            first, dot, rest = _dotted(node).partition(".")
            yield own.get(first, first) + dot + rest
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield from _in_text(node.value)
        elif isinstance(node, ast.Call):
            texts = [
                argument.value
                for argument in node.args
                if isinstance(argument, ast.Constant) and isinstance(argument.value, str)
            ]
            # As in importlib.import_module(".items", "gearkit.answers").
            if len(texts) == 2 and _PART_OF_PARTS.match(texts[0]):
                yield texts[1] + texts[0]


def _dotted(node: ast.expr) -> str:
    """An address written with dots, or ""."""
    parts: list[str] = []
    while isinstance(node, ast.Attribute):
        parts.append(node.attr)
        node = node.value
    return ".".join([node.id, *reversed(parts)]) if isinstance(node, ast.Name) else ""


def _in_text(text: str) -> Iterator[str]:
    for address in _ADDRESS.findall(text):
        yield re.sub(r"[./\\]+", ".", address.removesuffix(".py"))
