"""The panels' JavaScript takes the verdict words from one module, and that module has them from the commands' contract."""

from __future__ import annotations

import re
from pathlib import Path

from gearkit.words.terms import Verdict

ROOT = Path(__file__).resolve().parents[2]
WORDS = ROOT / "gearkit" / "lesson" / "panels" / "static" / "verdicts.js"


def test_the_words_in_javascript_are_those_of_the_contract() -> None:
    found = dict(re.findall(r'^export const (\w+) = "([^"]+)";$', WORDS.read_text(encoding="utf-8"), re.MULTILINE))
    assert found == {verdict.name: str(verdict) for verdict in Verdict}


def quoted(text: str) -> list[str]:
    """The verdict words that stand between quotation marks; "range" is also a word for other things."""
    words = "|".join(verdict for verdict in Verdict if verdict is not Verdict.RANGE)
    return re.findall(rf'"(?:{words})"|verdict[^"\n]{{0,6}}"range"', text)


def test_no_other_module_quotes_them() -> None:
    found = {
        str(path.relative_to(ROOT)): quoted(path.read_text(encoding="utf-8"))
        for path in sorted((ROOT / "gearkit").rglob("*.js"))
        if path != WORDS
    }
    assert {name: words for name, words in found.items() if words} == {}
    assert quoted('if (a.verdict === "range") b = "tie-up";') == ['verdict === "range"', '"tie-up"']
