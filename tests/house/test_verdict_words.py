"""A verdict's word stands in one place, from which Python and the panels' JavaScript have it."""

from __future__ import annotations

import ast
import re
from pathlib import Path

from gearkit.lesson.panels import bundle
from gearkit.words.terms import Verdict

ROOT = Path(__file__).resolve().parents[2]
# A verdict's word that is no verdict at its place: the name of range N, a function's name, marks of cells.
NO_VERDICT = {"gearkit/answers/read/names.py", "gearkit/text/screen.py", "graders/unit/lesson/no_drive.py"}


def modules() -> dict[str, ast.Module]:
    paths = [path for package in ("gearkit", "graders") for path in sorted((ROOT / package).rglob("*.py"))]
    return {str(path.relative_to(ROOT)): ast.parse(path.read_text(encoding="utf-8")) for path in paths}


def quoted(tree: ast.AST) -> list[str]:
    """Verdict words that stand alone in quotation marks; "range" is also a word for other things."""
    words = {str(verdict) for verdict in Verdict if verdict is not Verdict.RANGE}
    return [node.value for node in ast.walk(tree) if isinstance(node, ast.Constant) and node.value in words]


def test_no_module_but_their_own_quotes_a_verdict() -> None:
    found = {path: words for path, tree in modules().items() if path not in NO_VERDICT and (words := quoted(tree))}
    assert set(found) == {"gearkit/words/terms.py"}
    assert sorted(found["gearkit/words/terms.py"]) == sorted(
        str(verdict) for verdict in Verdict if verdict is not Verdict.RANGE
    )


def quoted_in_script(script: str) -> list[str]:
    words = "|".join(verdict for verdict in Verdict if verdict is not Verdict.RANGE)
    return re.findall(rf'["`](?:{words})["`:]|verdict[^"\n]{{0,6}}"range"', script)


def test_no_script_of_a_panel_quotes_one_either() -> None:
    found = {
        str(path.relative_to(ROOT)): words
        for path in sorted((ROOT / "gearkit").rglob("*.js"))
        if (words := quoted_in_script(path.read_text(encoding="utf-8")))
    }
    assert found == {}
    assert quoted_in_script('if (a.verdict === "range") b = "tie-up";') == ['verdict === "range"', '"tie-up"']
    assert all(f'export const {verdict.name} = "{verdict}";' in bundle.verdicts() for verdict in Verdict)
