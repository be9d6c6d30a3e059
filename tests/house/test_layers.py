"""The architecture's rules that no reviewer should have to remember: imports point down, nothing heavy at import."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Mapping
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
GEARKIT_LAYERS = ["words", "text", "train", "solve", "explain", "answers", "draw", "print", "make", "lesson", "site", "cli"]
GRADERS_LAYERS = [
    "course",
    "sheets",
    "packages",
    "book",
    "run",
    "take_in",
    "hand_out",
    "paper",
    "mark",
    "report",
    "unit",
    "demo",
    "cli",
]
# What runs learners' notebooks knows nothing of marks, of the class's book or of sheets.
NOT_FOR_RUN = {"course", "sheets", "book", "hand_out"}
MOST_MODULES = 14


def imports_of(path: Path) -> list[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            found.append(node.module)
            found += [f"{node.module}.{alias.name}" for alias in node.names]
    return found


def layer_of(path: Path, package: str) -> str:
    return path.relative_to(ROOT / package).parts[0].removesuffix(".py")


def test_gearkit_imports_point_down() -> None:
    upward = []
    for path in sorted((ROOT / "gearkit").rglob("*.py")):
        layer = layer_of(path, "gearkit")
        if layer == "__init__":
            continue
        for name in imports_of(path):
            parts = name.split(".")
            if parts[0] == "graders":
                upward.append(f"{path.relative_to(ROOT)} -> {name}")
            inside = parts[0] == "gearkit" and len(parts) > 1 and parts[1] in GEARKIT_LAYERS
            if inside and GEARKIT_LAYERS.index(parts[1]) > GEARKIT_LAYERS.index(layer):
                upward.append(f"{path.relative_to(ROOT)} -> {name}")
    assert upward == []


def folders_of(package: str) -> list[Path]:
    """Every folder of a package that holds modules."""
    return sorted({path.parent for path in (ROOT / package).rglob("*.py")})


@pytest.mark.parametrize(("package", "layers"), [("gearkit", GEARKIT_LAYERS), ("graders", GRADERS_LAYERS)])
def test_every_folder_of_a_package_is_a_known_layer(package: str, layers: list[str]) -> None:
    inside = {path.relative_to(ROOT / package).parts[0] for path in folders_of(package) if path != ROOT / package}
    assert inside == set(layers)


@pytest.mark.parametrize("package", ["gearkit", "graders"])
def test_a_folder_holds_few_enough_modules_to_find_the_right_one(package: str) -> None:
    held = {
        str(path.relative_to(ROOT)): len([m for m in path.glob("*.py") if m.name[:2] != "__"]) for path in folders_of(package)
    }
    assert {name: count for name, count in held.items() if count > MOST_MODULES} == {}


@pytest.mark.parametrize("package", ["gearkit", "graders"])
def test_every_folder_says_what_it_is_for(package: str) -> None:
    silent = [
        str(path.relative_to(ROOT))
        for path in folders_of(package)
        if not (path / "__init__.py").exists() or not ast.get_docstring(ast.parse((path / "__init__.py").read_text("utf-8")))
    ]
    assert silent == []


def test_graders_imports_point_down() -> None:
    upward = []
    for path in sorted((ROOT / "graders").rglob("*.py")):
        layer = layer_of(path, "graders")
        if layer == "__init__":
            continue
        for name in imports_of(path):
            parts = name.split(".")
            inside = parts[0] == "graders" and len(parts) > 1 and parts[1] in GRADERS_LAYERS
            above = inside and GRADERS_LAYERS.index(parts[1]) > GRADERS_LAYERS.index(layer)
            if above or (inside and layer == "run" and parts[1] in NOT_FOR_RUN):
                upward.append(f"{path.relative_to(ROOT)} -> {name}")
    assert upward == []


def test_importing_gearkit_loads_nothing_heavy() -> None:
    code = "import sys, gearkit; print(sorted({'sympy', 'numpy', 'matplotlib', 'ipywidgets', 'IPython'} & set(sys.modules)))"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert result.stdout.strip() == "[]"


def test_marking_side_loads_no_sympy() -> None:
    code = (
        "import sys, gearkit.answers.read.reader, gearkit.answers.comparison.compare, gearkit.answers.judge.marking, gearkit.answers.draw_numbers.variants;"
        "print(sorted({'sympy', 'numpy', 'matplotlib'} & set(sys.modules)))"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert result.stdout.strip() == "[]"


def test_the_command_graders_starts_without_what_only_notebooks_need() -> None:
    # Each took part in every command: a fifth of a second of processor time before the first line was read.
    heavy = "{'sympy', 'numpy', 'matplotlib', 'ipywidgets', 'anywidget', 'IPython', 'nbgrader', 'sqlalchemy'}"
    code = f"import sys; from graders.cli.main import commands; commands(); print(sorted({heavy} & set(sys.modules)))"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert result.stdout.strip() == "[]"


def whole_graph() -> dict[str, set[str]]:
    """Which module imports which, also inside functions; what is imported for types alone is left out."""
    paths = [path for package in ("gearkit", "graders") for path in (ROOT / package).rglob("*.py")]
    named = {".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path for path in paths}
    graph = {}
    for name, path in named.items():
        tree = ast.parse(path.read_text(encoding="utf-8"))
        typing = [node for node in ast.walk(tree) if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)]
        left_out = {inner for node in typing for inner in ast.walk(node)}
        graph[name] = set()
        for node in ast.walk(tree):
            if node in left_out:
                continue
            if isinstance(node, ast.Import):
                graph[name] |= {alias.name for alias in node.names} & named.keys()
            elif isinstance(node, ast.ImportFrom) and node.module:
                inside = [f"{node.module}.{alias.name}" for alias in node.names]
                graph[name] |= {full if full in named else node.module for full in inside} & named.keys() - {name}
    return graph


def ring_in(graph: Mapping[str, set[str]]) -> list[str]:
    """Modules that need each other in a ring, or nothing."""
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as found:
        return list(found.args[1])
    return []


def test_no_modules_need_each_other_in_a_ring_not_even_inside_functions() -> None:
    assert ring_in(whole_graph()) == []
    assert set(ring_in({"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": {"a"}})) == {"a", "b", "c"}
