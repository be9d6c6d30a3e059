"""Accepting an answer for everybody: it is read, a formula holds for each learner's numbers, and one number for all is told."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from graders.book import record
from graders.cli.main import main
from graders.mark import batch
from tests.graders.classroom import Classroom, right

REASON = ("--reason", "also right", "--by", "me")


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    """Two learners who put S/R in the place of R/S in L03-02, one of them as a fraction and one as a decimal."""
    found = Classroom(tmp_path, source="L03-02, L02-01, L03-09")

    def wrong(learner: str):
        def write(variant) -> str:
            if variant.item.id != "L03-02":
                return right(variant)
            value = 1 + Fraction(variant.values["S"], variant.values["R"])
            return f"answer('L03-02', '{value if learner == 's1' else f'{float(value):.5f}'}')"

        return write

    for learner in ("s1", "s2"):
        found.hand_in(learner, found.copy(learner, wrong(learner)))
    batch.mark_sheet(found.course, found.sheet)
    return found


def scores(room: Classroom) -> dict[str, float]:
    marks = record.read(room.course.marks_file("A1"))
    return {one.learner: next(mark.score for mark in one.items if mark.item == "L03-02") for one in marks.learners}


def correct(room: Classroom, capsys, item: str, answer: str, code: int = 0) -> str:
    assert main(["correct", str(room.course.folder), "A1", item, "--accept", answer, *REASON]) == code
    said = capsys.readouterr()
    return said.err if code else said.out


def test_a_formula_is_accepted_with_each_learners_own_numbers(room: Classroom, capsys) -> None:
    assert scores(room) == {"s1": 0, "s2": 0}
    told = correct(room, capsys, "L03-02", "S/R + 1")
    assert scores(room) == {"s1": 2, "s2": 2}
    assert "whatever numbers a learner has" not in told
    assert "Accepted is: 1.25\n" in correct(room, capsys, "L03-02", "1,25")
    # It stands when everything is marked again.
    batch.mark_sheet(room.course, room.sheet)
    assert scores(room) == {"s1": 2, "s2": 2}


def test_a_formula_that_begins_with_a_minus_is_taken_as_one(room: Classroom, capsys) -> None:
    assert "Accepted is: -S/R\n" in correct(room, capsys, "L03-02", "-S / R")


def test_one_number_helps_only_who_wrote_it_and_is_told(room: Classroom, capsys) -> None:
    values = room.variants("s1")["L03-02"].values
    told = correct(room, capsys, "L03-02", str(1 + Fraction(values["S"], values["R"])))
    assert "This answer is the same whatever numbers a learner has" in told
    other = room.variants("s2")["L03-02"].values
    same = Fraction(values["S"], values["R"]) == Fraction(other["S"], other["R"])
    assert scores(room) == {"s1": 2, "s2": 2 if same else 0}


@pytest.mark.parametrize(
    ("item", "answer"),
    [("L03-02", "about two and a bit"), ("L03-02", "(S+R"), ("L02-01", "w_x + 2 apples"), ("L03-09", "1 > 9 > 2")],
)
def test_what_cannot_be_read_is_not_accepted_and_leaves_no_trace(room: Classroom, capsys, item: str, answer: str) -> None:
    assert "cannot be read, so no learner's can be the same" in correct(room, capsys, item, answer, code=2)
    assert not (room.course.folder / "decisions.jsonl").exists()
