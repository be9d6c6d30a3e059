"""A formula within a line of prose cannot break, so it has to be narrower than a line on a phone."""

from __future__ import annotations

import json
import re
from pathlib import Path

from tests.lesson.notebooks import all_lessons

ROOT = Path(__file__).parents[2] / "lessons"
# Of a line of prose and of one in a list, in digits: what JupyterLab cut off at 390 px is wider, what it showed is not.
LINE, IN_LIST = 29.0, 24.0
_SUBSCRIPT = re.compile(r"_(\{[^{}]*\}|.)")
_IN_LINE = re.compile(r"\$([^$\n]+)\$")
_SIGN = re.compile(r"[=+-]|\\times")


def width(formula: str) -> float:
    """How wide a formula is, in digits: small letters are less, signs with the room round them more."""
    small = sum(len(letters.strip("{}")) for letters in _SUBSCRIPT.findall(formula))
    plain = _SUBSCRIPT.sub("", formula)
    letters = re.sub(r"\\[a-z]+", "x", _SIGN.sub("", re.sub(r"\\frac|\\text|\\[,;!]|[\s{}]", "", plain)))
    return len(letters) + 0.7 * small + 2 * len(_SIGN.findall(plain))


def too_wide(prose: str) -> list[str]:
    lines = re.sub(r"\$\$.*?\$\$", "", prose, flags=re.DOTALL).splitlines()
    return [
        formula
        for line in lines
        for formula in _IN_LINE.findall(line)
        if width(formula) > (IN_LIST if re.match(r"\s*([-*]|\d+\.) ", line) else LINE)
    ]


def test_no_formula_in_a_line_of_prose_is_wider_than_a_phone() -> None:
    wide = {}
    for path in all_lessons(ROOT):
        for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
            if cell["cell_type"] == "markdown" and (found := too_wide("".join(cell["source"]))):
                wide[f"{path.stem} {cell['id']}"] = found
    assert wide == {}


def test_a_formula_that_a_phone_cut_off_is_told() -> None:
    cut = "They give: $-(306.3 + 194.3) - 109.6 = -610.2$ N·m.\n- set 1: $S_1\\,s + R_1 = (S_1 + R_1)(1 + R_3/S_3)\\,w$."
    assert len(too_wide(cut)) == 2
    assert too_wide("They give: $-(306.3 + 194.3) - 109.6$ $= -610.2$ N·m.") == []
