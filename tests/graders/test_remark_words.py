"""What a learner reads about a file that was handed in is in the learner's language: each remark that is made has its form."""

from __future__ import annotations

import ast
import datetime as dt
import errno
import os
import re
from itertools import product
from pathlib import Path
from types import ModuleType

import pytest

from gearkit.words.say import speaking_language
from graders.mark import marking, submissions
from graders.run.engines import engines
from graders.run.read import archives, finding, harvest, lesson_records, notebooks
from graders.sheets import sheets
from graders.sheets.sheet_rules import SheetRules
from graders.take_in import hand_ins, notes, sorting, take_in
from graders.take_in.incoming import Incoming
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


def taken_in(path: str, zip_of: str = "") -> Incoming:
    return Incoming(path, b"", dt.datetime(2026, 3, 2, 12, tzinfo=dt.UTC), zip_of)


def odd_when_taken_in() -> list[str]:
    """Every remark that taking in keeps for a learner, made by what makes it, in its forms for one file and for several."""
    odd: list[str] = []
    take_in.kept_of("s1", [taken_in(f"{number}.txt") for number in range(400)], "A1.ipynb", [], [], odd)
    for said in (b"2026-03-01 12:00:00 UTC", b"nonsense"):
        stamp = Incoming("timestamp.txt", said, taken_in("").at)
        take_in._contents([taken_in("A1.ipynb"), stamp], odd)
    for count, own in product((1, 3), (True, False)):
        odd += sorting._in_nobodys_zip("s1", [taken_in("a/s1.ipynb", "all.zip")] * count, own)
    return [*odd, notes.in_all(["One.", "Two."], 1)[-1]]


def test_every_remark_of_taking_in_has_its_form_and_is_said_whole() -> None:
    made = odd_when_taken_in()
    assert len(made) == 8
    assert [text for text in made if not is_known(text)] == []
    with speaking_language("de"):
        said = [in_own_words(text) for text in made]
    assert [text for text in said if re.search(r"\b(the|and|more|like|that|came|says)\b", text)] == []


def test_what_an_archive_is_refused_for_is_said_in_german_too() -> None:
    reasons = [
        node.args[0].value
        for node in ast.walk(ast.parse(Path(str(archives.__file__)).read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and getattr(node.func, "id", "") == "UsageError"
        and isinstance(node.args[0], ast.Constant)
    ]
    assert len(reasons) >= 3
    with speaking_language("de"):
        said = [in_own_words(f"'a.ipynb' in 'all.zip' cannot be unpacked ({reason}).") for reason in reasons]
    assert [text for reason, text in zip(reasons, said, strict=True) if str(reason) in text] == []


def test_what_the_system_says_of_a_fault_is_said_in_german_too() -> None:
    for code in (errno.EACCES, errno.ENOENT, errno.EISDIR, errno.ENOTDIR, errno.ENAMETOOLONG, errno.ELOOP, errno.EIO):
        remark = f"'A1.ipynb' cannot be opened ({os.strerror(code)})."
        with speaking_language("de"):
            assert os.strerror(code) not in in_own_words(remark)


@pytest.mark.parametrize(
    ("remark", "german"),
    [
        (
            f"'A1.ipynb' cannot be opened ({os.strerror(errno.EACCES)}).",
            "'A1.ipynb' lässt sich nicht öffnen (Zugriff verweigert).",
        ),
        (
            "'a/s1.ipynb' (and 2 more like it) came in 'all.zip', which stands under nobody's name: whoever packed it wrote the names "
            "and times in it. The zip's own time counts where it is later. Ask who packed it.",
            "'a/s1.ipynb' (und 2 weitere dieser Art) kam in 'all.zip', auf dem kein Name steht: Wer es gepackt hat, hat auch die "
            "Namen und Zeiten darin geschrieben. Ist das Zip selbst jünger, zählt seine Zeit. Frage, wer es gepackt hat.",
        ),
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
