"""Kinds of answers, pictures, exchange files and commands are each listed in one place.

Whoever adds one touches that place and its own folder; a list of them anywhere else would get the new one silently wrong.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path

import pytest

from gearkit.answers.kinds.kind import AnswerKind
from gearkit.cli.main import FAMILIES
from gearkit.cli.main import commands as kit_commands
from gearkit.draw.registry import PICTURES
from graders.cli.main import ORDER
from graders.report.exports import KINDS

ROOT = Path(__file__).resolve().parents[2]


def modules() -> Iterator[tuple[str, ast.Module]]:
    for package in ("gearkit", "graders"):
        for path in sorted((ROOT / package).rglob("*.py")):
            yield str(path.relative_to(ROOT)), ast.parse(path.read_text(encoding="utf-8"))


def collections(tree: ast.AST) -> Iterator[list[ast.expr]]:
    """The members of every list, tuple, set and of every dictionary's keys, and the terms of every "or"."""
    for node in ast.walk(tree):
        if isinstance(node, ast.List | ast.Tuple | ast.Set):
            yield list(node.elts)
        elif isinstance(node, ast.Dict):
            yield [key for key in node.keys if key is not None]
        elif isinstance(node, ast.BoolOp):
            yield [term.comparators[0] for term in node.values if isinstance(term, ast.Compare)]


def member_of(owner: str) -> Callable[[ast.expr], str]:
    def name(node: ast.expr) -> str:
        inside = isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == owner
        return node.attr if inside and isinstance(node, ast.Attribute) else ""

    return name


def text(node: ast.expr) -> str:
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""


def lists_of(tree: ast.AST, name: Callable[[ast.expr], str], known: set[str], least: int) -> list[str]:
    """Every collection in which several of the known names stand."""
    found = []
    for members in collections(tree):
        said = [name(member) for member in members if name(member) in known]
        if len(set(said)) >= least:
            found.append(", ".join(said))
    return found


def everywhere(name: Callable[[ast.expr], str], known: set[str], least: int, at_home: str) -> dict[str, list[str]]:
    return {
        path: lists
        for path, tree in modules()
        if not path.startswith(at_home) and (lists := lists_of(tree, name, known, least))
    }


def test_what_kinds_of_answers_are_like_is_said_on_the_kinds_alone() -> None:
    names = {kind.name for kind in AnswerKind}
    assert everywhere(member_of("AnswerKind"), names, 2, "gearkit/answers/kinds/") == {}
    made_up = (
        "if a.kind is AnswerKind.DECIMAL or a.kind is AnswerKind.TORQUE: pass\nb = {AnswerKind.CHOICE: 1, AnswerKind.REASON: 2}"
    )
    assert lists_of(ast.parse(made_up), member_of("AnswerKind"), names, 2) == ["DECIMAL, TORQUE", "CHOICE, REASON"]


def test_every_kind_of_answer_says_what_it_is_like() -> None:
    assert all(kind.traits.write or kind.traits.formula for kind in AnswerKind if kind.traits.form == "text")
    with pytest.raises(TypeError, match="traits"):
        AnswerKind.__new_member__(AnswerKind, "a kind without traits")


def test_pictures_and_exchange_files_are_listed_once() -> None:
    assert everywhere(text, set(PICTURES), 3, "gearkit/draw/registry.py") == {}
    assert everywhere(text, set(KINDS), 2, "graders/report/exports/__init__.py") == {}
    made_up = ast.parse('choices = ("stick", "levers", "chart")\nto = {"csv": 1, "xapi": 2}')
    assert lists_of(made_up, text, set(PICTURES), 3) == ["stick, levers, chart"]
    assert lists_of(made_up, text, set(KINDS), 2) == ["csv, xapi"]


def test_every_module_with_commands_is_named_among_them_and_every_command_has_its_place() -> None:
    def with_commands(package: str) -> set[str]:
        folder = ROOT / package
        paths = [path for path in folder.rglob("*.py") if re.search(r"^COMMANDS\b", path.read_text("utf-8"), re.MULTILINE)]
        return {".".join(path.relative_to(folder).with_suffix("").parts) for path in paths}

    assert with_commands("gearkit/cli") == set(FAMILIES)
    named = [
        one.name for family in sorted(with_commands("graders/cli")) for one in import_module(f"graders.cli.{family}").COMMANDS
    ]
    assert sorted(named) == sorted(ORDER)
    assert len({one.name for one in kit_commands()}) == len(kit_commands())
