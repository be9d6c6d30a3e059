"""What the code imports is declared where it is needed, and what is declared is used."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
# Import name -> name of its package, where they differ.
PACKAGE = {"PIL": "pillow", "IPython": "ipython", "qti_convert": "citolab-qti-convert", "websocket": "websocket-client"}
# Declared although nothing imports it, each with its reason.
NOT_IMPORTED = {
    "ipywidgets": "learners wire a slider to a range with it in a lesson; the panels themselves are anywidget's",
    "cryptography": "distributed encrypts with it what goes between machines",
    "psycopg": "SQLAlchemy loads it by the address of a gradebook",
    "gearkit": "one extra brings another",
    "pip": "it fetches, as a program, the wheels that notebooks in the browser run on",
    "furo": "the look of the pages that Sphinx makes, named in its settings",
    "pytest-xdist": "a plug-in of pytest",
    "nbval": "a plug-in of pytest",
    "ruff": "a program",
    "mypy": "a program",
}
# Imported by a tool that is run by hand and says itself what it needs.
BY_HAND = {("tests", "atheris")}


@cache
def parsed(path: Path) -> ast.Module:
    """Read a module once for all tests here."""
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def imports_in(path: Path) -> tuple[ast.Import | ast.ImportFrom, ...]:
    """Every import of a module, at whatever depth."""
    return tuple(node for node in ast.walk(parsed(path)) if isinstance(node, ast.Import | ast.ImportFrom))


def declared(*extras: str) -> set[str]:
    """The packages of the base and of some extras."""
    wanted = [*PROJECT["dependencies"], *(line for extra in extras for line in PROJECT["optional-dependencies"][extra])]
    return {re.split(r"[\[<>=!~ ]", line, maxsplit=1)[0].lower().replace("_", "-") for line in wanted}


def imported(top: str) -> dict[str, set[str]]:
    """Every package from outside that a folder imports, at whatever depth, with the files that do."""
    found: dict[str, set[str]] = {}
    for path in sorted((ROOT / top).rglob("*.py")):
        for node in imports_in(path):
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            else:
                names = [node.module] if isinstance(node, ast.ImportFrom) and node.module and not node.level else []
            for name in {name.partition(".")[0] for name in names}:
                if name not in sys.stdlib_module_names and name not in ("gearkit", "graders", "tests"):
                    package = PACKAGE.get(name, name).lower().replace("_", "-")
                    found.setdefault(package, set()).add(str(path.relative_to(ROOT)))
    return found


@pytest.mark.parametrize(
    ("top", "extras"),
    [
        ("gearkit", ("bench", "docs", "own-code", "print")),
        ("graders", ("class", "cluster", "postgres")),
        ("tests", ("bench", "class", "cluster", "docs", "own-code", "postgres", "print", "test")),
    ],
)
def test_what_is_imported_is_declared(top: str, extras: tuple[str, ...]) -> None:
    wanted = declared(*extras)
    missing = {name: files for name, files in imported(top).items() if name not in wanted and (top, name) not in BY_HAND}
    assert missing == {}


def test_what_is_declared_is_imported_or_has_a_reason() -> None:
    used = set().union(*(imported(top) for top in ("gearkit", "graders", "tests")))
    idle = declared("bench", "class", "cluster", "docs", "own-code", "postgres", "print", "test") - used
    assert idle == set(NOT_IMPORTED) - used


def names_at_the_top(path: Path) -> set[str] | None:
    """What a module binds outside functions and classes, wherever it stands; None where it makes names in another way."""
    tree = parsed(path)
    bound: set[str] = set()
    pending: list[ast.AST] = list(tree.body)
    while pending:
        node = pending.pop()
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            if node.name == "__getattr__":
                return None
            bound.add(node.name)
            continue
        if isinstance(node, ast.Import | ast.ImportFrom):
            bound |= {alias.asname or alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            bound.add(node.id)
        pending += ast.iter_child_nodes(node)
    return bound


def test_what_is_imported_from_our_own_modules_is_there() -> None:
    """The type checker reads the product alone, and a test that runs seldom would tell a lost name late."""
    known: dict[Path, set[str] | None] = {}
    lost = []
    for path in sorted(path for top in ("gearkit", "graders", "tests") for path in (ROOT / top).rglob("*.py")):
        for node in imports_in(path):
            if (
                not isinstance(node, ast.ImportFrom)
                or not node.module
                or node.module.partition(".")[0] not in ("gearkit", "graders", "tests")
            ):
                continue
            place = ROOT.joinpath(*node.module.split("."))
            file = place / "__init__.py" if place.is_dir() else place.with_suffix(".py")
            if not file.exists() and not place.is_dir():
                lost.append(f"{path.relative_to(ROOT)}:{node.lineno}: {node.module}")
                continue
            if file not in known:
                known[file] = names_at_the_top(file) if file.exists() else set()
            names = known[file]
            for alias in node.names:
                inside = (place / f"{alias.name}.py").exists() or (place / alias.name).is_dir()
                if names is not None and alias.name not in names and not inside:
                    lost.append(f"{path.relative_to(ROOT)}:{node.lineno}: {alias.name} from {node.module}")
    assert lost == []
