"""A member has one spelling for people and one in files, and one place makes the one of the other."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from gearkit.answers.kinds.choices import Choices
from gearkit.answers.layouts import words
from gearkit.explain.story import tell
from gearkit.text.phrases import member_label, member_words, set_words
from gearkit.train.catalogue import entries, find
from tests.lesson import javascript

ROOT = Path(__file__).resolve().parents[2]
HOME = "gearkit/text/phrases.py"
# Names of functions that would be a second place, and the replacement that made a third spelling.
SECOND_PLACES = re.compile(r"def (member_label|member_words)\(|replace\(\"\.\", \" \"\)")
BEFORE = re.compile(r"\bP\d (sun|carrier|ring|planet)\b")
# The form in which a layout is typed in reads this spelling too, and says so.
READS_BEFORE = {HOME, "gearkit/train/typed_in.py"}


def sources() -> list[Path]:
    return [
        path
        for folder in ("gearkit", "graders")
        for ending in ("py", "js")
        for path in sorted((ROOT / folder).rglob(f"*.{ending}"))
    ]


def test_one_module_makes_the_spelling_for_people() -> None:
    found = {path.relative_to(ROOT).as_posix() for path in sources() if SECOND_PLACES.search(path.read_text("utf-8"))}
    assert found == {HOME}


def test_no_text_shows_the_spelling_of_earlier_versions() -> None:
    shown = {path.relative_to(ROOT).as_posix() for path in sources() if BEFORE.search(path.read_text("utf-8"))}
    shown |= {path.name for path in (ROOT / "lessons").rglob("*.ipynb") if BEFORE.search(path.read_text("utf-8"))}
    assert shown == READS_BEFORE


@pytest.mark.parametrize("name", [entry.name for entry in entries()])
def test_items_say_members_and_sets_as_stories_do(name: str) -> None:
    layout = find(name)
    if all(re.fullmatch(r"P\d+", pset.name) for pset in layout.sets):
        assert [words.member(layout, one) for one in layout.members] == [member_words(one) for one in layout.members]
        assert [words.set_words(layout, one.name) for one in layout.sets] == [set_words(one.name) for one in layout.sets]


def test_panels_say_members_and_sets_as_stories_do() -> None:
    names = ["P1.sun", "P12.ring_pinion", "rear.ring", "P.sun", "3.carrier", "output", "P2", "rear"]
    body = "return payload.map((name) => [module_members.memberLabel(name), module_members.setWords(name)]);"
    assert javascript.run(["members"], body, names) == [[member_label(name), set_words(name)] for name in names]


@pytest.mark.parametrize("written", ["sun 1", "P1 sun", "P1.sun", "p1 Sun", "the P1 sun"])
def test_every_spelling_is_read_as_an_answer(written: str) -> None:
    choices = Choices(("sun 1", "carrier 1", "sun 2"))
    assert choices.find(written) == "sun 1"
    assert choices.several(f"{written}, P2 sun") == ("sun 1", "sun 2")


def test_stories_use_no_name_of_a_file() -> None:
    assert not re.search(r"\bP\d\b", tell(find("Q36"), "R").text())
