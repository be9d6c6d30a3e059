"""Marks given by hand in the grading page: taken over, never overwritten, never lost with the gradebook."""

from __future__ import annotations

from pathlib import Path

import pytest

from graders.book import gradebook
from graders.book import marks_in_gradebook as writing
from graders.mark import batch
from graders.mark.decide import apply_decisions, decisions
from graders.mark.decide.decisions import DecisionKind
from tests.graders.book import give_by_hand, rows
from tests.graders.classroom import Classroom, right, wrong

ITEM = "L03-02"


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    found = Classroom(tmp_path)
    found.hand_in("s1", found.copy("s1", right))
    found.hand_in("s2", found.copy("s2", wrong))
    batch.mark_sheet(found.course, found.sheet)
    return found


def score(room: Classroom, learner: str = "s2") -> float:
    marks = batch.mark_sheet(room.course, room.sheet)
    return next(item.score for one in marks.learners if one.learner == learner for item in one.items if item.item == ITEM)


def kinds(room: Classroom) -> list[str]:
    return [str(one.kind) for one in decisions.read(room.course) if one.kind is not DecisionKind.REMARKED]


def in_book(room: Classroom, learner: str = "s2") -> tuple[float | None, float | None]:
    return next((row[2], row[3]) for row in rows(room.course) if row[:2] == (learner, ITEM))


def test_a_mark_given_by_hand_is_not_lost_with_the_gradebook(room):
    give_by_hand(room.course, "s2", ITEM, 1.5)
    assert score(room) == 1.5
    (room.course.folder / "gradebook.db").unlink()
    assert score(room) == 1.5
    assert kinds(room) == ["override"]
    assert in_book(room) == (0.0, 1.5)


def test_a_new_gradebook_never_holds_a_marked_item_without_its_mark_by_hand(room, monkeypatch):
    give_by_hand(room.course, "s2", ITEM, 1.5)
    assert score(room) == 1.5
    (room.course.folder / "gradebook.db").unlink()

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(apply_decisions, "write_by_hand", stop)
        with pytest.raises(KeyboardInterrupt):
            batch.mark_sheet(room.course, room.sheet)
    assert in_book(room) == (0.0, 1.5)
    assert score(room) == 1.5
    assert kinds(room) == ["override"]


def test_a_mark_given_while_the_marks_are_being_written_stays_and_counts_from_the_next_marking_on(room, monkeypatch):
    give_by_hand(room.course, "s2", ITEM, 1.5)
    assert score(room) == 1.5
    write = writing.write

    def write_slowly(*args: object) -> int:
        written = write(*args)
        give_by_hand(room.course, "s2", ITEM, 0.5)
        return written

    with monkeypatch.context() as patch:
        patch.setattr(apply_decisions.marks_in_gradebook, "write", write_slowly)
        assert score(room) == 1.5
    assert in_book(room) == (0.0, 0.5)
    assert score(room) == 0.5
    assert kinds(room) == ["override", "override"]


def test_a_comment_with_letters_that_cannot_be_printed_still_becomes_the_reason(room):
    give_by_hand(room.course, "s2", ITEM, 1.5, "well\u200bdone\nat the\x07 board " + "x" * 600)
    assert score(room) == 1.5
    reason = next(one.reason for one in decisions.read(room.course) if one.kind is DecisionKind.OVERRIDE)
    assert reason.startswith("well done at the board xxx")
    assert len(reason) == decisions.LONGEST_REASON


def test_a_comment_of_nothing_that_can_be_printed_is_replaced_by_where_the_mark_came_from(room):
    give_by_hand(room.course, "s2", ITEM, 1.5, "\u200b \x07")
    assert score(room) == 1.5
    assert decisions.read(room.course)[0].reason == "given in the grading page"


def test_marks_by_hand_of_two_learners_stay_apart(room):
    give_by_hand(room.course, "s1", ITEM, 0.0)
    give_by_hand(room.course, "s2", ITEM, 2.0)
    assert (score(room, "s1"), score(room, "s2")) == (0.0, 2.0)
    give_by_hand(room.course, "s1", ITEM, None)
    assert score(room, "s1") == 2.0
    assert score(room, "s2") == 2.0
    assert kinds(room) == ["override", "override", "take back"]


@pytest.mark.parametrize(("by_hand", "extra", "counts"), [(None, 0.5, 0.5), (1.0, 0.5, 1.5), (2.0, 0.5, 2.0), (None, 0.0, 0.0)])
def test_extra_credit_counts_up_to_full_marks_on_the_page_and_on_the_mark_sheet_alike(room, by_hand, extra, counts):
    with gradebook.opened(room.course) as book:
        grade = book.find_grade(ITEM, "A1", "A1", "s2")
        grade.manual_score, grade.extra_credit = by_hand, extra
        book.db.commit()
    for _ in range(2):
        assert score(room) == counts
        assert next(row[4] for row in rows(room.course) if row[:2] == ("s2", ITEM)) == counts
    assert kinds(room) == (["override"] if by_hand or extra else [])
