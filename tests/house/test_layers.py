"""The architecture's rules that no reviewer should have to remember: imports point down, nothing heavy at import."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
GEARKIT_LAYERS = ["words", "train", "solve", "explain", "answers", "draw", "make", "lesson", "cli"]
GRADERS_MAY_IMPORT = {
    "prepare": {"prepare"},
    "run": {"run", "prepare"},
    "mark": {"mark", "run", "prepare"},
    "report": {"report", "mark", "prepare"},
    "demo": {"demo", "report", "mark", "run", "prepare"},
    "cli": {"cli", "demo", "report", "mark", "run", "prepare"},
}


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


def test_every_folder_of_gearkit_is_a_known_layer() -> None:
    folders = {p.name for p in (ROOT / "gearkit").iterdir() if p.is_dir() and p.name not in ("__pycache__", "_data")}
    assert folders <= set(GEARKIT_LAYERS)


def test_graders_imports_point_down() -> None:
    upward = []
    for path in sorted((ROOT / "graders").rglob("*.py")):
        layer = layer_of(path, "graders")
        if layer == "__init__":
            continue
        for name in imports_of(path):
            parts = name.split(".")
            inside = parts[0] == "graders" and len(parts) > 1 and parts[1] in GRADERS_MAY_IMPORT
            if inside and parts[1] not in GRADERS_MAY_IMPORT[layer]:
                upward.append(f"{path.relative_to(ROOT)} -> {name}")
    assert upward == []


def test_importing_gearkit_loads_nothing_heavy() -> None:
    code = "import sys, gearkit; print(sorted({'sympy', 'numpy', 'matplotlib', 'ipywidgets', 'IPython'} & set(sys.modules)))"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert result.stdout.strip() == "[]"


def test_marking_side_loads_no_sympy() -> None:
    code = (
        "import sys, gearkit.answers.reader, gearkit.answers.compare, gearkit.answers.marking, gearkit.answers.variants;"
        "print(sorted({'sympy', 'numpy', 'matplotlib'} & set(sys.modules)))"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert result.stdout.strip() == "[]"
