"""The check of everybody's numbers: it passes sheets of the bank, and it finds what it is there to find."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

import pytest

from gearkit.answers import items
from gearkit.text.markdown import in_plain_text
from graders.cli.main import main
from graders.course import roster
from graders.course.roster import Learner, Roster
from graders.sheets import sheets, variant_check
from graders.sheets.sheet_rules import SheetRules
from graders.sheets.sheets import SheetItem
from tests.graders.classroom import Classroom

CLASS = Roster(tuple(Learner(f"learner{n:02d}", f"Learner {n}") for n in range(12)))
SECRET = b"a secret for the tests"


@pytest.mark.parametrize("lesson", [2, 3, 6])
def test_every_item_of_a_lesson_can_be_solved_by_everybody(lesson):
    found = variant_check.check(sheets.compose(f"lesson {lesson}", "A1"), CLASS, SECRET)
    assert [fault for one in found for fault in one.faults] == []
    assert {one.learners for one in found} == {12}


def test_an_item_without_numbers_is_said_to_be_the_same_for_everybody():
    bank = replace(items.find("L03-02"), draw=replace(items.find("L03-02").draw), prompt="What is it?")
    found = one_item(bank)
    assert found.different == 0
    assert found.remarks == ("the same for everybody: no numbers are drawn",)


def one_item(item):
    sheet = replace(sheets.compose("L03-02", "A1"), items=(SheetItem(item, 2),))
    return variant_check.check(sheet, CLASS, SECRET)[0]


def test_neighbours_with_the_same_numbers_are_named():
    # The same identity twice has the same numbers for certain.
    doubled = Roster((CLASS.learners[0], CLASS.learners[0], CLASS.learners[1]))
    (check,) = variant_check.check(sheets.compose("L03-02", "A1"), doubled, SECRET)
    assert check.neighbours == (("learner00", "learner00"),)
    assert check.remarks == ("neighbours with the same numbers: learner00 and learner00",)


def test_unlike_difficulty_is_told_with_its_digits():
    check = variant_check.ItemCheck("L06-05", 12, 12, (), 3, 9, ())
    assert check.remarks == ("answers of unlike difficulty, from 3 to 9 digits",)
    assert replace(check, most_digits=8).remarks == ()


def test_numbers_that_cannot_be_drawn_are_a_fault_for_each_learner():
    item = items.find("L03-02")
    impossible = replace(item, draw=replace(item.draw, keep=("S > 100000",)))
    found = one_item(impossible)
    assert len(found.faults) == 12
    assert found.faults[0].startswith("L03-02, learner00: no numbers could be drawn (Item L03-02: no draw in")


def test_the_command_passes_a_sound_sheet_and_says_so(tmp_path, capsys):
    roster.write(CLASS, tmp_path / "class.csv")
    sheets.write(sheets.compose("L03-02,L02-08", "A1"), tmp_path / "A1.toml")
    assert main(["check", str(tmp_path / "A1.toml"), "--class", str(tmp_path / "class.csv")]) == 0
    out = capsys.readouterr().out
    assert "Every learner's numbers can be solved, and no named mistake would be marked right." in out
    assert "L03-02" in out


def test_a_preview_shows_the_numbers_of_the_learner_asked_for_and_no_answer(tmp_path, capsys):
    sheets.write(sheets.compose("L03-02", "A1"), tmp_path / "A1.toml")
    told = {}
    for learner in ("fd07", "fd08"):
        assert main(["preview", str(tmp_path / "A1.toml"), "--learner", learner]) == 0
        told[learner] = capsys.readouterr().out
    assert told["fd07"] != told["fd08"]
    assert "Right:" not in told["fd07"]


def test_the_markers_preview_shows_the_right_answer_and_each_named_mistake(tmp_path, capsys):
    sheets.write(sheets.compose("L03-02", "A1"), tmp_path / "A1.toml")
    assert main(["preview", str(tmp_path / "A1.toml"), "--learner", "fd07", "--answers"]) == 0
    out = capsys.readouterr().out
    sun, ring = (Fraction(found) for found in re.search(r"S = (\d+), R = (\d+)", out).groups())
    assert f"Right: {1 + ring / sun}\n" in out  # ring held, sun in, carrier out: 1 + R/S
    assert f"NOONE (the one turn of the carrier left out): {ring / sun}\n" in out
    assert f"RECIP (ratio upside down): {1 / (1 + ring / sun)}\n" in out


def test_a_preview_with_the_courses_secret_shows_what_will_be_handed_out(tmp_path, capsys):
    room = Classroom(tmp_path, source="L03-02")
    assert main(["preview", str(room.course.sheet_file("A1")), "--learner", "s1", "--course", str(room.course.folder)]) == 0
    assert in_plain_text(room.variants("s1")["L03-02"].prompt) in capsys.readouterr().out


@pytest.mark.parametrize("words", [["preview"], ["compose", "--preview"]])
def test_a_terminal_shows_no_marks_of_a_page_and_no_picture_in_letters(tmp_path, capsys, words):
    made = ["compose", "L03-02,L01-02", *words[1:], "-o", str(tmp_path / "A1.toml")]
    assert main(made) == 0
    if words == ["preview"]:
        capsys.readouterr()
        assert main(["preview", str(tmp_path / "A1.toml"), "--learner", "a", "--answers"]) == 0
    out = capsys.readouterr().out
    assert "1. " in out
    for mark in ("$", "**", "\n#", "data:image", "<img", "base64"):
        assert mark not in out, mark
    assert max(map(len, out.splitlines())) < 2000


def test_without_a_calculator_decimals_and_long_fractions_are_named_and_with_one_they_are_not() -> None:
    class_list = Roster((Learner("a", "A"), Learner("b", "B")))
    found = {}
    for calculator in ("none", "any"):
        sheet = sheets.compose("lesson 3", "A1", rules=SheetRules(calculator=calculator))
        found[calculator] = {
            one.item
            for one in variant_check.check(sheet, class_list, b"s" * 32)
            if any("without a calculator" in words for words in one.remarks)
        }
    # Lesson 3 asks for a decimal in three items; its fractions are short.
    assert found == {"none": {"L03-05", "L03-07", "L03-08"}, "any": set()}
