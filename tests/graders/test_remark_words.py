"""What a learner reads about a file that was handed in is in the learner's language: each remark that is made has its form."""

from __future__ import annotations

import ast
import re
from pathlib import Path
from types import ModuleType

import pytest

from gearkit.words.say import speaking_language
from graders.mark import marking, submissions
from graders.run.engines import engines
from graders.run.read import finding, harvest, lesson_records, notebooks
from graders.sheets import sheets
from graders.sheets.sheet_rules import SheetRules
from graders.take_in import hand_ins
from graders.take_in.remark_words import in_own_words, is_known

MODULES = (finding, harvest, lesson_records, notebooks, engines, marking, submissions)
# Sentences of these modules that are no remark, or that the feedback page tells in words of its own.
OTHERWISE = (
    "The notebook says that it ",
    "There is no time of handing in",
    "is not on the class list",
    # Said where they are made, and a piece of one that is tested below.
    "The cell is not valid Python",
    "This answer could not be read.",
    "not looked at, such as",
)


def sentences(module: ModuleType) -> list[str]:
    """Every whole sentence that a module makes, X in the place of what changes; texts of errors and docstrings apart."""
    tree = ast.parse(Path(str(module.__file__)).read_text(encoding="utf-8"))
    apart = {id(inner) for node in ast.walk(tree) if isinstance(node, ast.Raise) for inner in ast.walk(node)}
    apart |= {id(inner) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for inner in node.values}
    apart |= {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    made = []
    for node in ast.walk(tree):
        if id(node) in apart:
            continue
        if isinstance(node, ast.JoinedStr):
            made.append("".join(str(piece.value) if isinstance(piece, ast.Constant) else "X" for piece in node.values))
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            made.append(node.value)
    return [text for text in made if re.match(r"[A-Z].* .*\.$", text, re.DOTALL)]


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_every_remark_that_is_made_has_its_form(module: ModuleType) -> None:
    made = [text for text in sentences(module) if not any(words in text for words in OTHERWISE)]
    assert made
    assert [text for text in made if not is_known(text)] == []


@pytest.mark.parametrize("hidden", [[".a"], [".a", ".b"]])
def test_hidden_files_have_a_form_for_one_and_for_many(hidden: list[str]) -> None:
    (told,) = finding._Seen(hidden=hidden).told()
    assert is_known(told)


@pytest.mark.parametrize(("most", "beyond"), [(1, 1), (1, 2), (2, 1), (2, 2)])
def test_hand_ins_that_do_not_count_have_their_forms(monkeypatch: pytest.MonkeyPatch, most: int, beyond: int) -> None:
    monkeypatch.setattr(hand_ins, "beyond", lambda *_: beyond)
    sheet = sheets.compose("L03-02", "A1", rules=SheetRules(attempts=most))
    assert is_known(hand_ins.flag(None, sheet, "s1"))


@pytest.mark.parametrize(
    ("remark", "german"),
    [
        (
            "L02-01: answered more than once; the last answer counts.",
            "L02-01: mehr als einmal beantwortet; die letzte Antwort zählt.",
        ),
        (
            "The run was stopped in code cell 5 of 12: it ran longer than allowed. Answers before it were kept; plain answers "
            "after it were read from their cells.",
            "Der Lauf wurde in Codezelle 5 von 12 abgebrochen: Er dauerte länger als erlaubt. Antworten davor blieben erhalten; "
            "einfache Antworten danach wurden aus ihren Zellen gelesen.",
        ),
        (
            "Left aside: 'a.txt', 'b.ipynb' (it cannot be read as a notebook).",
            "Beiseitegelassen: 'a.txt', 'b.ipynb' (nicht als Notebook lesbar).",
        ),
        (
            "The cells of L02-02, L02-03 and 4 more are not in the notebook any more.",
            "Die Zellen von L02-02, L02-03 und 4 weiteren sind nicht mehr im Notebook.",
        ),
    ],
)
def test_a_remark_is_said_in_german_with_what_stands_in_it(remark: str, german: str) -> None:
    assert in_own_words(remark) == remark
    with speaking_language("de"):
        assert in_own_words(remark) == german


def test_what_has_no_form_stays_as_it_is() -> None:
    with speaking_language("de"):
        assert in_own_words("Somebody wrote this by hand.") == "Somebody wrote this by hand."
