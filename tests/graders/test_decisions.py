"""Decisions of people about marks: kept for ever, put on top of the marker's marks, never lost by marking again."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import replace

import pytest

from gearkit.words.errors import UsageError
from graders.book import gradebook, record
from graders.course import roster
from graders.mark import batch, changes
from graders.mark.decide import deciding, decisions
from graders.mark.decide.decisions import Decision, DecisionKind
from tests.graders.classroom import Classroom, right, wrong


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Classroom:
    found = Classroom(tmp_path_factory.mktemp("decided"))
    found.hand_in("s1", found.copy("s1", right))
    found.hand_in("s2", found.copy("s2", wrong))
    batch.mark_sheet(found.course, found.sheet)
    return found


def decide(kind: DecisionKind, **more: object) -> Decision:
    fields = {"sheet": "A1", "by": "R. Okonjo-Vale", "reason": "seen at the board", **more}
    return Decision(kind, **fields)


def applied(room: Classroom, *made: Decision):
    numbered = [replace(one, number=place) for place, one in enumerate(made, start=1)]
    return deciding.apply(record.read(room.course.marks_file("A1")), numbered, room.course, room.sheet)


def test_a_decision_comes_back_as_it_was_made_with_its_number_and_time(tmp_path):
    room = Classroom(tmp_path)
    first = decisions.keep(room.course, decide(DecisionKind.OVERRIDE, item="L03-02", learner="s2", score=0.0))
    second = decisions.keep(room.course, decide(DecisionKind.EXTEND, learner="s1", until="2026-02-10 17:00"))
    assert decisions.read(room.course) == (first, second)
    assert (first.number, second.number, first.score) == (1, 2, 0.0)
    assert dt.datetime.fromisoformat(first.at).tzinfo is not None


def test_taking_back_leaves_both_decisions_in_the_trail(tmp_path):
    room = Classroom(tmp_path)
    made = decisions.keep(room.course, decide(DecisionKind.FULL_MARKS, item="L03-02"))
    decisions.keep(room.course, decide(DecisionKind.TAKE_BACK, takes_back=made.number))
    assert decisions.standing(room.course, "A1") == ()
    assert len(decisions.read(room.course)) == 2


def test_decisions_about_another_sheet_do_not_count(tmp_path):
    room = Classroom(tmp_path)
    decisions.keep(room.course, decide(DecisionKind.FULL_MARKS, sheet="A2", item="L03-02"))
    assert decisions.standing(room.course, "A1") == ()


@pytest.mark.parametrize(("field", "what"), [("reason", "a reason"), ("by", "the name of who decided")])
def test_a_decision_without_reason_or_name_is_refused(tmp_path, field, what):
    room = Classroom(tmp_path)
    with pytest.raises(UsageError, match=f"A decision needs {what}"):
        decisions.keep(room.course, decide(DecisionKind.FULL_MARKS, item="L03-02", **{field: "  "}))
    assert decisions.read(room.course) == ()


def test_half_a_line_left_by_a_crash_does_not_count_and_is_cut_off_by_the_next(tmp_path):
    room = Classroom(tmp_path)
    decisions.keep(room.course, decide(DecisionKind.FULL_MARKS, item="L03-02"))
    path = decisions.trail_file(room.course)
    whole = path.read_bytes()
    path.write_bytes(whole + whole[:40])
    assert len(decisions.read(room.course)) == 1
    decisions.keep(room.course, decide(DecisionKind.WITHDRAW, item="L03-03"))
    assert [one.kind for one in decisions.read(room.course)] == ["full marks for everybody", "withdraw item"]


def test_a_damaged_trail_is_refused_with_its_line(tmp_path):
    room = Classroom(tmp_path)
    decisions.trail_file(room.course).write_text('{"kind": "guess"}\n')
    with pytest.raises(UsageError, match=r"decisions.jsonl, line 1: not a decision"):
        decisions.read(room.course)


def test_an_override_changes_one_mark_of_one_learner_and_keeps_the_automatic_one(room):
    before = record.read(room.course.marks_file("A1")).learners[1]
    after = applied(room, decide(DecisionKind.OVERRIDE, item="L03-02", learner="s2", score=1.5)).learners
    item = next(one for one in after[1].items if one.item == "L03-02")
    assert (item.score, item.automatic) == (1.5, 0.0)
    assert item.decided == "Marked by hand (R. Okonjo-Vale): seen at the board"
    assert after[1].score == before.score + 1.5
    assert after[0] == record.read(room.course.marks_file("A1")).learners[0]


def test_of_two_overrides_the_later_counts(room):
    two = [decide(DecisionKind.OVERRIDE, item="L03-02", learner="s2", score=score) for score in (2.0, 0.5)]
    item = next(one for one in applied(room, *two).learners[1].items if one.item == "L03-02")
    assert (item.score, item.automatic) == (0.5, 0.0)


def test_a_withdrawn_item_carries_no_marks_for_anybody(room):
    full = {item.item: item.max for item in record.read(room.course.marks_file("A1")).learners[0].items}
    after = applied(room, decide(DecisionKind.WITHDRAW, item="L03-02")).learners
    assert [one.max for one in after] == [sum(full.values()) - full["L03-02"]] * 2
    assert after[0].score == after[0].max


def test_full_marks_for_everybody_also_go_to_who_had_it_wrong(room):
    after = applied(room, decide(DecisionKind.FULL_MARKS, item="L03-02")).learners[1]
    item = next(one for one in after.items if one.item == "L03-02")
    assert (item.score, item.verdict) == (item.max, "wrong")
    assert item.decided == "Everybody has full marks for this item: seen at the board"


def test_an_accepted_answer_earns_full_marks_whatever_its_blanks(room):
    given = next(i for i in record.read(room.course.marks_file("A1")).learners[1].items if i.item == "L03-02").given
    text = "  ".join(given["answer"])
    after = applied(room, decide(DecisionKind.ACCEPT, item="L03-02", answer={"answer": text})).learners
    item = next(one for one in after[1].items if one.item == "L03-02")
    assert (item.score, item.verdict, item.mistakes) == (item.max, "right", ())
    assert after[0] == record.read(room.course.marks_file("A1")).learners[0]


def test_an_extension_takes_the_penalty_off_and_says_so(room):
    # Due 2026-02-02 12:00, handed in the day after: one day started, a tenth of 26 marks.
    sheet = replace(room.sheet, due=dt.datetime(2026, 2, 2, 12))
    marks = record.read(room.course.marks_file("A1"))
    late = deciding.with_lateness(marks.learners[0], sheet.due, room.course, sheet)
    assert late.penalty == pytest.approx(2.6, abs=1e-9)
    extension = replace(decide(DecisionKind.EXTEND, learner="s1", until="2026-02-04 12:00"), number=1)
    after = deciding.apply(replace(marks, learners=(late, marks.learners[1])), [extension], room.course, sheet)
    assert after.learners[0].penalty == 0
    assert after.learners[0].flags[-1] == "Due time extended to 2026-02-04 12:00: seen at the board"
    assert after.learners[1].penalty > 0


def test_a_change_names_items_and_totals():
    before = record.MarkSheet("A1", 1, 1, (), (learner_with(0.0),))
    after = record.MarkSheet("A1", 1, 1, (), (learner_with(1.5),))
    assert [str(one) for one in changes.compare(before, after)] == ["s2: L03-02 0 of 2 → 1.5 of 2, together 0 of 2 → 1.5 of 2"]
    assert changes.compare(before, before) == ()
    assert changes.compare(None, after) == ()


def test_a_withdrawn_item_is_called_that_in_what_changed(room):
    before = record.read(room.course.marks_file("A1"))
    change = changes.compare(before, applied(room, decide(DecisionKind.WITHDRAW, item="L03-02")))[0]
    assert str(change) == "s1: L03-02 2 of 2 → withdrawn, together 26 of 26 → 24 of 24"


def learner_with(score: float) -> record.LearnerMarks:
    item = record.ItemMark("L03-02", score, 2.0, "wrong")
    return record.LearnerMarks("s2", "", "", score, 2.0, (item,))


@pytest.mark.parametrize(
    ("decision", "words"),
    [
        (decide(DecisionKind.WITHDRAW, item="L09-99"), "has no item L09-99. Its items: L03-01"),
        (decide(DecisionKind.OVERRIDE, item="L03-02", learner="nobody", score=1.0), "'nobody' is not on the class list"),
        (decide(DecisionKind.OVERRIDE, item="L03-02", learner="s3", score=1.0), "handed in nothing for this sheet"),
        (decide(DecisionKind.OVERRIDE, item="L03-02", learner="s2", score=9.0), "9.0 is out of reach; give a number from 0"),
        (decide(DecisionKind.EXTEND, learner="s1", until="friday"), "until 'friday': expected a date and time"),
        (decide(DecisionKind.EXTEND, learner="s1", until="2026-02-10T17:00+01:00"), "expected a date and time"),
    ],
)
def test_decisions_about_what_is_not_there_are_refused(room, decision, words):
    marks = record.read(room.course.marks_file("A1"))
    with pytest.raises(UsageError, match=words.replace("(", r"\(")):
        deciding.check(decision, room.sheet, roster.read_class_list(room.course), marks)


def test_overrides_survive_marking_again_and_stand_in_the_gradebook(room):
    decisions.keep(room.course, decide(DecisionKind.OVERRIDE, item="L03-03", learner="s2", score=1.0))
    decided = batch.decided_again(room.course, room.sheet)
    assert next(str(change) for change in decided.changed).startswith("s2: L03-03 0 of 2 → 1 of 2, together")
    again = batch.mark_sheet(room.course, room.sheet)
    assert again.learners == decided.marks.learners
    with gradebook.opened(room.course) as book:
        grade = book.find_grade("L03-03", "A1", "A1", "s2")
        assert (grade.auto_score, grade.manual_score, grade.score) == (0.0, 1.0, 1.0)
    told = [one for one in decisions.read(room.course) if one.kind is DecisionKind.REMARKED]
    assert len(told) == 1, "marking again without a change leaves no line"


def test_a_mark_given_in_the_grading_page_becomes_a_decision_and_goes_when_it_is_cleared_there(room):
    with gradebook.opened(room.course) as book:
        book.find_grade("L03-05", "A1", "A1", "s2").manual_score = 2.5
        book.find_comment("L03-05", "A1", "A1", "s2").manual_comment = "Right idea,\nwrong sign."
        book.db.commit()
    marks = batch.mark_sheet(room.course, room.sheet).learners[1]
    item = next(one for one in marks.items if one.item == "L03-05")
    assert (item.score, item.automatic) == (2.5, 0.0)
    assert item.decided == "Marked by hand (grading page): Right idea, wrong sign."
    with gradebook.opened(room.course) as book:
        book.find_grade("L03-05", "A1", "A1", "s2").manual_score = None
        book.db.commit()
    marks = batch.mark_sheet(room.course, room.sheet).learners[1]
    assert next(one for one in marks.items if one.item == "L03-05").score == 0
    assert decisions.read(room.course)[-2].kind is DecisionKind.TAKE_BACK


def test_an_override_after_a_mark_from_the_grading_page_is_not_undone_by_the_page(room):
    with gradebook.opened(room.course) as book:
        book.find_grade("L03-06", "A1", "A1", "s2").manual_score = 0.5
        book.db.commit()
    batch.mark_sheet(room.course, room.sheet)
    decisions.keep(room.course, decide(DecisionKind.OVERRIDE, item="L03-06", learner="s2", score=2.0))
    for _ in range(2):
        marks = batch.decided_again(room.course, room.sheet).marks.learners[1]
        assert next(one for one in marks.items if one.item == "L03-06").score == 2.0


def test_the_trail_is_plain_lines_that_a_person_can_read(room):
    lines = decisions.trail_file(room.course).read_text(encoding="utf-8").splitlines()
    first = json.loads(lines[0])
    assert first["kind"] == "override"
    assert first["by"] == "R. Okonjo-Vale"
    assert first["reason"] == "seen at the board"
