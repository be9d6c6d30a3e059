"""Words that somebody whose English is average stumbles over stand nowhere in what a learner or an instructor reads."""

from __future__ import annotations

import ast
import json
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
# Each was read aloud by nobody who understood it at once; what stands in its place is said beside it.
HARD = {
    r"\breckon": "calculate",
    r"turns? the (sign|sense)\b.* round": "changes the sign; reverses",
    r"\bparts the sets\b": "each set works alone",
    r"\bnobody expects\b": "nobody can see it without calculating",
    r"\bfor good\b(?!. If that is meant)": "always",
    r"\bholds every single fault against\b": "compares with every single fault",
    r"\bsensible least\b": "at least",
    r"\bit is only near\b": "it is not exact",
    r"\bway of the wheel\b": "distance that the wheel rolls",
    r"\b(take|took) for granted\b": "reason",
    r"\bmistake comes back\b": "mistake you made more than once",
    r"\bsound train\b": "train without a fault",
    r"\bstays and does nothing\b": "stays applied and goes on carrying torque",
    r"\bstandard not read\b": "say it to the instructor, not to the learner",
    r"turns with [^.;]*\(standing still\)": "stands still with",
    r"\bthe pivot stands\b": "a learner needs no elimination table",
    r"\bbring(s)? to nothing\b": "bring to zero",
    r"\b(that is|all rows are|order is|sign is) turned round\b": "the other way round; reversed",
    r"\bpass over this\b": "ignore this",
    r"\bgoes along(,| with|$)": "turns with them",
    r"\bmerely turns\b|\bstands? idle\b": "turns, or stands, without a load",
    r"\bsays? more than is needed\b": "are more than is needed and do not contradict each other",
    r"\bcloses the circle\b": "comes last",
    r"\bonly zero balances\b": "nothing is there to work against",
    r"\bmend (this|it|them)\b": "correct",
    r"\bmind that\b": "note that",
    r"\bseldom\b": "rarely",
    r"\bsettles? (one|the speed)\b": "fixes",
    r"\badds? up to nothing\b": "add up to zero",
    r"\bcomes? on top\b": "is added",
    r"\b(is|are) changed over\b": "are swapped",
    r"\bstands? as \$?[−A-Z] ?(to|:)|\bstands? as \$?[A-Z]\$? (to|:)": "are in the proportion",
    r"\bturns? the direction round\b": "reverses the direction",
    r"\bcomes? to life\b": "works",
    r"\bsee what came of it\b": "compare it with the result",
    r"\bearns? (its|their) place\b|\bnobody would notice\b": "what would be lost without it",
    r"\bkeep an eye on\b": "look what it does",
    r"\b(thought|line)s? and the train part\b": "say where the two differ",
    r"\bno use together\b": "give no range together",
    r"\bprove it dead\b": "make sure that no voltage is left",
    r"\bcharged? (with losses|to the mesh|the whole)\b": "has losses; goes through the mesh",
    r"\bchang(e|es|ed) over\b|\bchanged \w+ and \w+ of \S+ over\b": "are swapped; let go and take hold",
    r"\bsense (is|was) turned\b|\b(same|wrong) sense\b|\bin the sense of\b": "direction",
    r"\b(in|of) (your|the) mind\b": "think of it as",
    r"\b(never )?mind (the|which|whether)\b": "look at, ask",
    r"\bshare(d|s)? (it |the \w+ )?out\b": "divide",
    r"\bstrike out\b": "cross out",
    r"\bcomes? by (here|twice)\b": "passes",
    r"\bagainst range\b": "compared with range",
    r"\bdrift pins\b": "drive pins in or out",
    r"\bagain harder\b": "again with more force",
    r"\bat home\b": "where it comes from",
    r"\b(shafts|freedoms) less\b": "minus",
    # Slip is the difference of speed between the two sides of an element, and nothing else.
    r"\bmuch does it slip\b|\bit slips by\b|\bslip (in percent|lies)\b|\bslip is what\b|\bthe slip(,| as a share)": "too fast",
}
NOT_SHOWN = ("gearkit/run", "graders/run", "graders/mark")


def strings(path: Path) -> list[str]:
    """The texts of a module that somebody may read: its strings without docstrings, the pieces of one joined."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    documents = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and node.body and isinstance(node.body[0], ast.Expr)
    }
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and " " in node.value and id(node) not in documents
    ]


def hard_words(text: str) -> list[str]:
    """The hard words of a text, each with what to say instead."""
    flat = re.sub(r"\s+", " ", text)
    return [
        f"{found[0]!r}: say {plain!r}" for pattern, plain in HARD.items() for found in re.finditer(pattern, flat, re.IGNORECASE)
    ]


@pytest.mark.parametrize("package", ["gearkit", "graders"])
def test_no_text_of_the_kit_holds_a_hard_word(package: str) -> None:
    found = [
        f"{path.relative_to(ROOT)}: {hard}"
        for path in sorted((ROOT / package).rglob("*.py"))
        if not str(path.relative_to(ROOT)).startswith(NOT_SHOWN)
        for text in strings(path)
        for hard in hard_words(text)
    ]
    found += [
        f"{path.relative_to(ROOT)}: {hard}"
        for path in sorted((ROOT / package).rglob("*.js"))
        for hard in hard_words(re.sub(r"//.*", "", path.read_text(encoding="utf-8")))
    ]
    assert found == []


def test_no_lesson_holds_a_hard_word_or_speaks_of_what_we_read() -> None:
    for path in sorted((ROOT / "lessons").rglob("*.ipynb")):
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        text = "\n\n".join("".join(cell["source"]) for cell in cells)
        assert hard_words(text) == [], path.name
        if path.parent.name != "instructor":
            assert re.findall(r"from memory|title seen|known to us|by eye\b", text) == [], path.name
            assert (
                re.findall(
                    r"\b(?:sun|ring|carrier) of P\d|\bP\d (?:sun|ring|carrier)\b|\bP\d\.(?:sun|ring|carrier)\b", prose(cells)
                )
                == []
            )


def prose(cells: list[dict[str, object]]) -> str:
    """The prose of a notebook, without its code."""
    return "\n\n".join("".join(map(str, cell["source"])) for cell in cells if cell["cell_type"] == "markdown")


def test_a_hard_word_is_found_with_what_to_say_instead() -> None:
    assert hard_words("Do it without reckoning.") == ["'reckon': say 'calculate'"]
    assert hard_words("Planets in pairs turn the sign of the\nring's term round.") == [
        "\"turn the sign of the ring's term round\": say 'changes the sign; reverses'"
    ]
