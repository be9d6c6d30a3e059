"""What a clean lesson notebook is, as a list of problems; run as a program it cleans the notebooks it is given.

python tests/lesson/notebooks.py lessons
"""

from __future__ import annotations

import ast
import json
import re
import sys
from pathlib import Path
from typing import Any

LONGEST_CODE_CELL = 12
LONGEST_PROSE_CELL = 80
# The folded cell that opens a lesson holds all of its imports.
LONGEST_OPENING = 16
TAGS = {
    "title", "outcomes", "open", "recall", "by-hand", "worked", "explore", "picture", "predict", "exercise", "limits", "caution",
    "key-points", "discuss", "progress", "sources", "next", "your-line",
}  # fmt: skip
FOLDED = {"source_hidden": True}
KERNEL = {"kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"}}
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
# Calls that write into the learner's record: running a whole lesson must answer nothing.
_WRITES = re.compile(r"\.(check|hint|new_numbers|predict)\(\s*[\"'](?:L\d|forward|reverse|direct|neutral)")
_BEYOND = re.compile(r"right_answer|wrong_answer|\.key\b|variants\.|marking\.")


def all_lessons(root: Path) -> list[Path]:
    """Return every notebook under a folder, in order."""
    return sorted(path for path in root.rglob("*.ipynb") if ".ipynb_checkpoints" not in path.parts)


def problems(path: Path) -> list[str]:
    """Return what is not clean in a notebook, each as a sentence."""
    text = path.read_text(encoding="utf-8")
    notebook = json.loads(text)
    found = []
    if notebook.get("metadata") != KERNEL:
        found.append(f"metadata is {notebook.get('metadata')}, expected the kernel's name only")
    if (notebook.get("nbformat"), notebook.get("nbformat_minor")) != (4, 5):
        found.append("format is not 4.5")
    if text != written(notebook):
        found.append("keys or spacing differ from what this program writes")
    ids = [cell.get("id", "") for cell in notebook["cells"]]
    found += [f"cell id {name!r} is used twice" for name in sorted({name for name in ids if ids.count(name) > 1})]
    for cell in notebook["cells"]:
        found += [f"cell {cell.get('id')}: {trouble}" for trouble in _cell_problems(cell)]
    return found


def _cell_problems(cell: dict[str, Any]) -> list[str]:
    found = []
    source = "".join(cell["source"])
    if not _ID.fullmatch(cell.get("id", "")):
        found.append("its id is not in small letters, digits and single hyphens")
    extra = set(cell["metadata"]) - {"tags", "jupyter"}
    if extra:
        found.append(f"metadata holds {sorted(extra)}")
    if cell["metadata"].get("jupyter", FOLDED) != FOLDED:
        found.append(f"metadata holds {cell['metadata']['jupyter']}; a folded cell has {FOLDED} and nothing else")
    unknown = set(cell["metadata"].get("tags", [])) - TAGS
    if unknown:
        found.append(f"tags {sorted(unknown)} are not in the list")
    if cell["cell_type"] == "code":
        if cell["outputs"] or cell["execution_count"] is not None:
            found.append("outputs or an execution count are stored")
        found += _code_in_the_way(source, folded="jupyter" in cell["metadata"])
        most = LONGEST_OPENING if "open" in cell["metadata"].get("tags", []) else LONGEST_CODE_CELL
        if len(source.splitlines()) > most:
            found.append(f"{len(source.splitlines())} lines of code; at most {most}")
        if _WRITES.search(source):
            found.append("running it would write into the learner's record")
        if _BEYOND.search(source):
            found.append("it reaches for right answers or the marker")
    elif words(source) > LONGEST_PROSE_CELL:
        found.append(f"{words(source)} words; at most {LONGEST_PROSE_CELL}")
    return found


def _code_in_the_way(source: str, *, folded: bool) -> list[str]:
    """Return what a learner who is no programmer would stumble over.

    Args:
        source: a code cell.
        folded: whether it is folded to its first line.
    """
    tree = ast.parse(source)
    found = []
    if any(isinstance(node, ast.Assert) for node in ast.walk(tree)):
        found.append("an assert; what must hold stands in tests/lesson/pinned")
    if folded and not re.match(r"# [A-Z].*[^.]$", source.partition("\n")[0]):
        found.append("a folded cell shows its first line, which must be a comment in plain words without a full stop")
    if not folded and not (len(tree.body) == 1 and isinstance(tree.body[0], ast.Expr) and "\n" not in source.strip()):
        found.append("more than one plain line of code is visible; fold the cell")
    last = tree.body[-1].value if tree.body and isinstance(tree.body[-1], ast.Expr) else None
    if isinstance(last, ast.Dict | ast.List | ast.Constant | ast.JoinedStr | ast.Name) and ast.unparse(last) != "lesson":
        found.append("its last line shows a bare value; results are tables, formulas and pictures")
    if any(
        isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "print" for node in ast.walk(tree)
    ):
        found.append("it prints; results are tables, formulas and pictures")
    return found


def words(source: str) -> int:
    """Return the number of words of a prose cell; formulas, tables' rules and link targets do not count."""
    text = re.sub(r"\$\$.*?\$\$|\$[^$]*\$|\]\([^)]*\)|`[^`]*`", " ", source, flags=re.DOTALL)
    return len(re.findall(r"[A-Za-zÀ-ÿ][\w'’-]*", text))


def written(notebook: dict[str, Any]) -> str:
    """Return the text of a notebook as it is kept in the repository."""
    return json.dumps(notebook, indent=1, ensure_ascii=False, sort_keys=True) + "\n"


def cleaned(notebook: dict[str, Any]) -> dict[str, Any]:
    """Return a notebook without outputs, counts and stray metadata."""
    for cell in notebook["cells"]:
        folded = cell["metadata"].get("jupyter", {}).get("source_hidden")
        cell["metadata"] = {key: value for key, value in cell["metadata"].items() if key == "tags"}
        if folded:
            cell["metadata"]["jupyter"] = FOLDED
        if cell["cell_type"] == "code":
            cell["outputs"], cell["execution_count"] = [], None
    return {**notebook, "metadata": KERNEL}


if __name__ == "__main__":
    for folder in sys.argv[1:]:
        for notebook_path in all_lessons(Path(folder)):
            tidy = written(cleaned(json.loads(notebook_path.read_text(encoding="utf-8"))))
            if tidy != notebook_path.read_text(encoding="utf-8"):
                notebook_path.write_text(tidy, encoding="utf-8")
                print(f"cleaned {notebook_path}")
