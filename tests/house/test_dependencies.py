"""What the code imports is declared where it is needed, and what is declared is used."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
# Import name -> name of its package, where they differ.
PACKAGE = {"PIL": "pillow", "IPython": "ipython", "qti_convert": "citolab-qti-convert", "websocket": "websocket-client"}
# Declared although nothing imports it, each with its reason.
NOT_IMPORTED = {
    "ipywidgets": "learners wire a slider to a range with it in a lesson; the panels themselves are anywidget's",
    "ipykernel": "the kernel that the reference engine starts as a program",
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


def declared(*extras: str) -> set[str]:
    """The packages of the base and of some extras."""
    wanted = [*PROJECT["dependencies"], *(line for extra in extras for line in PROJECT["optional-dependencies"][extra])]
    return {re.split(r"[\[<>=!~ ]", line, maxsplit=1)[0].lower().replace("_", "-") for line in wanted}


def imported(top: str) -> dict[str, set[str]]:
    """Every package from outside that a folder imports, at whatever depth, with the files that do."""
    found: dict[str, set[str]] = {}
    for path in sorted((ROOT / top).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
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
