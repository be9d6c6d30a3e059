"""Docstrings tell the truth: every public thing has one, and its Args section names the arguments that there are."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
MODULES = sorted(path for package in ("gearkit", "graders") for path in (ROOT / package).rglob("*.py"))
Documented = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef


def public_things(tree: ast.Module) -> Iterator[tuple[str, Documented]]:
    for node in tree.body:
        if isinstance(node, Documented) and not node.name.startswith("_"):
            yield node.name, node
            if isinstance(node, ast.ClassDef):
                for inner in node.body:
                    if isinstance(inner, ast.FunctionDef | ast.AsyncFunctionDef) and not inner.name.startswith("_"):
                        yield f"{node.name}.{inner.name}", inner


def args_section(docstring: str) -> list[str] | None:
    lines = docstring.splitlines()
    starts = [number for number, line in enumerate(lines) if line.strip() == "Args:"]
    if not starts:
        return None
    indent = len(lines[starts[0]]) - len(lines[starts[0]].lstrip())
    names = []
    for line in lines[starts[0] + 1 :]:
        if line.strip() and len(line) - len(line.lstrip()) <= indent:
            break
        entry = re.match(rf" {{{indent + 4}}}(\*{{0,2}}\w+)(?: \([^)]*\))?:", line)
        if entry:
            names.append(entry[1].lstrip("*"))
    return names


def parameters(node: Documented) -> list[str]:
    if isinstance(node, ast.ClassDef):
        init = next((n for n in node.body if isinstance(n, ast.FunctionDef) and n.name == "__init__"), None)
        if init is None:
            fields = [n for n in node.body if isinstance(n, ast.AnnAssign) and isinstance(n.target, ast.Name)]
            return [n.target.id for n in fields if isinstance(n.target, ast.Name) and not n.target.id.startswith("_")]
        node = init
    spec = node.args
    names = [a.arg for a in (*spec.posonlyargs, *spec.args, *spec.kwonlyargs)]
    names += [a.arg for a in (spec.vararg, spec.kwarg) if a is not None]
    return [name for name in names if name not in ("self", "cls") and not name.startswith("_")]


def test_every_module_and_public_thing_has_a_docstring() -> None:
    missing = []
    for path in MODULES:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        if ast.get_docstring(tree) is None:
            missing.append(str(path.relative_to(ROOT)))
        missing += [f"{path.relative_to(ROOT)}: {name}" for name, node in public_things(tree) if not ast.get_docstring(node)]
    assert missing == []


def test_an_args_section_names_exactly_the_arguments() -> None:
    wrong = []
    for path in MODULES:
        for name, node in public_things(ast.parse(path.read_text(encoding="utf-8"))):
            named = args_section(ast.get_docstring(node) or "")
            if named is not None and sorted(named) != sorted(parameters(node)):
                wrong.append(f"{path.relative_to(ROOT)}: {name}: documented {named}, has {parameters(node)}")
    assert wrong == []


def test_a_public_function_of_several_arguments_explains_them() -> None:
    silent = []
    for path in MODULES:
        for name, node in public_things(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef) or len(parameters(node)) < 2:
                continue
            if args_section(ast.get_docstring(node) or "") is None:
                silent.append(f"{path.relative_to(ROOT)}: {name}")
    assert silent == []
