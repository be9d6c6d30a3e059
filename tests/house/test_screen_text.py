"""Text reaches the screen only through `gearkit.text.screen`, so no file's text can give a screen orders."""

from __future__ import annotations

import ast
import sys
import tomllib
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest

from gearkit.text import screen

ROOT = Path(__file__).resolve().parents[2]
# Commands print; `command.run` puts the guard before both streams while one of them runs.
COMMANDS = ("gearkit/cli", "graders/cli")
ELSEWHERE = {
    "gearkit/lesson/answering.py": {"print"},  # in a notebook, whose page is no terminal
    "gearkit/lesson/course/kernel_waiting.py": {"subprocess.Popen"},  # a notebook's kernel, as Jupyter starts it
    "gearkit/lesson/lesson_copies.py": {"subprocess.Popen"},  # JupyterLab's own words
    "gearkit/text/screen.py": {"sys.stdout", "sys.stderr", "sys.__stdout__", "sys.__stderr__"},  # the guard itself
    "graders/demo/show.py": {"sys.stdout"},  # looked up while the command runs
    "graders/run/engines/shell.py": {"sys.stdout", "sys.stderr"},  # in the sandbox, set to nowhere
    "graders/run/engines/warm.py": {"os.write"},  # the reply to the marker
    "graders/run/engines/warm_up.py": {"os.write"},  # that reply, sent nowhere while warming up
}
CALLED = {"print", "input", "os.write", "os.system", "os.popen", "getpass.getpass", "logging.basicConfig"} | {
    f"subprocess.{name}" for name in ("run", "call", "check_call", "check_output", "Popen")
}
STREAMS = {"sys.stdout", "sys.stderr", "sys.__stdout__", "sys.__stderr__"}
IN_COMMANDS = {"print", "input", "sys.stdout", "sys.stderr"}


def ways(tree: ast.Module) -> Iterator[str]:
    """Every way to the screen that some code goes."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and (name := ast.unparse(node.func)) in CALLED:
            # A stream that is named is looked at by itself, and what another program says may be caught.
            given = {keyword.arg for keyword in node.keywords}
            caught = "capture_output" in given or {"stdout", "stderr"} <= given or name == "subprocess.check_output"
            if not (name == "print" and "file" in given) and not (name.startswith("subprocess.") and caught):
                yield name
        elif isinstance(node, ast.Attribute):
            name = ast.unparse(node)
            if name in STREAMS or name in {f"{stream}.{end}" for stream in STREAMS for end in ("buffer", "fileno", "detach")}:
                yield name
        elif isinstance(node, ast.ImportFrom) and node.module == "sys":
            yield from (f"from sys import {alias.name}" for alias in node.names if f"sys.{alias.name}" in STREAMS)
        elif isinstance(node, ast.Constant) and node.value in ("/dev/tty", "/dev/stdout", "/dev/stderr"):
            yield node.value


def held_at_import(tree: ast.Module) -> Iterator[str]:
    """Streams that are looked up when a module is loaded, which is before the guard stands."""
    outside: list[ast.AST] = [tree]
    while outside:
        node = outside.pop()
        if isinstance(node, ast.Attribute) and ast.unparse(node) in STREAMS:
            yield ast.unparse(node)
        inner = node.body if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda) else []
        skipped = set(map(id, inner if isinstance(inner, list) else [inner]))
        outside += [child for child in ast.iter_child_nodes(node) if id(child) not in skipped]


def strange(path: str, tree: ast.Module) -> set[str]:
    """The ways that a file may not go."""
    allowed = IN_COMMANDS if path.startswith(COMMANDS) else ELSEWHERE.get(path, set())
    return {way for way in ways(tree) if way not in allowed} | {f"{one} at import" for one in held_at_import(tree)}


def sources() -> Iterator[tuple[str, ast.Module]]:
    for package in ("gearkit", "graders"):
        for path in sorted((ROOT / package).rglob("*.py")):
            yield path.relative_to(ROOT).as_posix(), ast.parse(path.read_text(encoding="utf-8"))


def test_nothing_but_commands_writes_to_the_screen_and_they_do_it_through_the_guard() -> None:
    found = {path: ways for path, tree in sources() if (ways := strange(path, tree))}
    assert found == {}


def test_the_list_of_exceptions_names_nothing_that_is_gone() -> None:
    there = {path: set(ways(tree)) for path, tree in sources() if path in ELSEWHERE}
    assert there == ELSEWHERE


@pytest.mark.parametrize(
    ("code", "way"),
    [
        ("def f(): print('x')", "print"),
        ("import sys\ndef f(): sys.stderr.write('x')", "sys.stderr"),
        ("import sys\ndef f(out=sys.stdout): pass", "sys.stdout at import"),
        ("import sys\nclass A:\n    out = sys.stdout", "sys.stdout at import"),
        ("import sys\ndef f(): sys.stdout.buffer.write(b'x')", "sys.stdout.buffer"),
        ("import os\ndef f(): os.write(1, b'x')", "os.write"),
        ("from sys import stderr", "from sys import stderr"),
        ("def f(): open('/dev/tty', 'w')", "/dev/tty"),
        ("import subprocess\ndef f(): subprocess.run(['x'])", "subprocess.run"),
    ],
)
def test_each_way_round_the_guard_would_be_seen(code: str, way: str) -> None:
    assert way in strange("gearkit/solve/speeds.py", ast.parse(code))
    if way not in IN_COMMANDS:
        assert way in strange("gearkit/cli/loads.py", ast.parse(code))


@pytest.mark.parametrize("entry", sorted(tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["scripts"].values()))
def test_every_program_runs_behind_the_guard(
    entry: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    module, name = entry.split(":")
    monkeypatch.setattr(screen, "neutral", str.upper)
    with pytest.raises(SystemExit, match="0"):
        getattr(import_module(module), name)(["--help"])
    with pytest.raises(SystemExit, match="2"):
        getattr(import_module(module), name)(["no such command"])
    for text in capsys.readouterr():
        assert text
        assert text == text.upper()
    assert not isinstance(sys.stdout, screen.Screen)
