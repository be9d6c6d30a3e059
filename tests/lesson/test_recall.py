"""What is asked again: from lessons longest untouched, with new numbers; kept over days, lapsing with time, told in words."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from gearkit.answers import items
from gearkit.answers.judge import marking
from gearkit.lesson.exercise import Exercise
from gearkit.lesson.learnt.choosing import chosen
from gearkit.lesson.learnt.progress import progress, recurring_mistakes
from gearkit.lesson.learnt.recall import NOTHING_YET, RecallPanel
from gearkit.lesson.learnt.standing import State, standings
from gearkit.lesson.record import Record
from gearkit.lesson.syllabus import LESSONS
from gearkit.lesson.workbook import Lesson
from gearkit.words.errors import UsageError
from tests.support.learners import thought

NOON = datetime(2031, 3, 5, 12, 0, tzinfo=UTC)


class Desk:
    """A learner with a record and a calendar.

    Args:
        path: the record's file.
    """

    def __init__(self, path: Path) -> None:
        self.day = 0
        self.path = path

    @property
    def record(self) -> Record:
        return Record(self.path, clock=lambda: NOON + timedelta(days=self.day))

    def does(self, item: str, *, right: bool = True, hint: bool = False, recall: bool = False) -> None:
        """Answer an exercise in its lesson, or in today's recall."""
        exercise = self.asked(item) if recall else Exercise(items.find(item), self.record)
        if hint:
            exercise.hint()
        texts = (
            marking.right_answer(exercise.variant) if right else dict.fromkeys(marking.right_answer(exercise.variant), "1/97")
        )
        exercise.write(texts)
        assert (exercise.check().verdict == "right") is right

    def asked(self, item: str) -> Exercise:
        return next(exercise for exercise in RecallPanel(self.record, 12).exercises if exercise.item.id == item)

    def state(self, item: str) -> str:
        record = self.record
        [found] = standings([items.find(item)], record.of_kind("attempt"), record.of_kind("hint"), record.today)
        return found.words()

    def names(self, count: int = 3) -> list[str]:
        return [exercise.item.id for exercise in RecallPanel(self.record, count).exercises]


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(tmp_path / "r.json")


def test_done_is_right_without_a_hint(desk: Desk) -> None:
    desk.does("L03-02", hint=True)
    assert desk.state("L03-02") == "right with a hint (checked once, 1 hint)"
    record = desk.record
    found = progress("Lesson 3", [items.find("L03-02")], record, "03")
    assert found.done == 0
    assert found.advice == "Do L03-02 once more with new numbers and without a hint; then it is done."
    again = Exercise(items.find("L03-02"), record)
    again.new_numbers()
    again.write(marking.right_answer(again.variant))
    again.check()
    assert desk.state("L03-02") == "done, last right today"


def test_kept_is_right_again_on_another_day_and_lapses_with_time(desk: Desk) -> None:
    desk.does("L03-02")
    desk.day = 12
    assert desk.state("L03-02") == "due again, last right 12 days ago"
    desk.does("L03-02", recall=True)
    assert desk.state("L03-02") == "kept, last right today"
    desk.day = 13
    assert desk.state("L03-02") == "kept, last right yesterday"
    desk.day = 24
    assert desk.state("L03-02") == "kept, last right 12 days ago"
    desk.day = 25
    assert desk.state("L03-02") == "due again, last right 13 days ago"
    found = progress("Lesson 3", [items.find("L03-02")], desk.record, "03")
    assert (found.done, found.kept, found.due) == (1, 0, 1)
    assert "1 of 1 exercises done, 1 due again" in str(found)


def test_an_answer_that_still_stands_in_the_form_is_not_kept_by_checking_it_again(desk: Desk) -> None:
    desk.does("L03-02")
    desk.day = 3
    desk.does("L03-02")
    assert desk.state("L03-02") == "done, last right 3 days ago"


def test_what_was_missed_since_is_due_again_until_it_is_right_at_once(desk: Desk) -> None:
    desk.does("L03-02")
    desk.day = 2
    desk.does("L03-02", recall=True, right=False)
    desk.does("L03-02", recall=True)
    assert desk.state("L03-02") == "due again, last right 2 days ago, missed since"
    desk.day = 3
    desk.does("L03-02", recall=True)
    assert desk.state("L03-02") == "kept, last right today"


def test_right_with_a_hint_in_a_recall_does_not_count_as_kept(desk: Desk) -> None:
    desk.does("L03-02")
    desk.day = 2
    desk.does("L03-02", recall=True, hint=True)
    assert desk.state("L03-02").startswith("due again, last right 2 days ago, missed since")


def test_a_record_whose_times_make_no_sense_is_borne() -> None:
    events = [{"kind": "attempt", "item": "L03-02", "verdict": "right", "score": "1", "max": "1", **more} for more in (
        {}, {"at": "soon"}, {"at": 5, "draw": []}, {"at": "9999-12-31T23:59:59+00:00", "draw": 2}, {"at": None, "hints": "x"},
    )]  # fmt: skip
    [found] = standings([items.find("L03-02")], events, [], NOON.date())
    assert found.state in (State.DONE, State.HELPED, State.BEGUN)
    assert chosen(events, "s", NOON.date()) == ()


def test_one_comes_from_each_of_the_lessons_longest_untouched(desk: Desk) -> None:
    for day, item in enumerate(("L02-01", "L01-02", "L03-02", "L04-01", "L01-01")):
        desk.day = day
        desk.does(item)
    desk.day = 9
    assert desk.names() == ["L02-01", "L03-02", "L04-01"]
    assert desk.names(6) == ["L02-01", "L03-02", "L04-01", "L01-02", "L01-01"]


def test_nothing_of_today_is_asked_again_today(desk: Desk) -> None:
    desk.does("L03-02")
    panel = RecallPanel(desk.record)
    assert panel.forms == []
    assert panel.words() == NOTHING_YET


def test_the_same_questions_stand_there_all_day_with_what_was_answered(desk: Desk) -> None:
    for day, item in enumerate(("L01-02", "L02-01", "L03-02", "L03-03")):
        desk.day = day
        desk.does(item)
    desk.day = 8
    before = [(form["title"], form["prompt_html"]) for form in RecallPanel(desk.record).forms]
    desk.does("L02-01", recall=True)
    panel = RecallPanel(desk.record)
    assert [(form["title"], form["prompt_html"]) for form in panel.forms] == before
    assert panel.forms[1]["feedback"]["verdict"] == "Right"
    assert [line["sign"] for line in panel.lines] == ["·", "✓", "·"]
    assert panel.lines[1]["words"] == "kept, last right today"
    assert "a member's speed in letters (lesson 2, L02-01): kept, last right today." in panel.words()
    desk.day = 9
    assert desk.names()[-1] == "L02-01"


def test_the_numbers_are_new_and_the_lessons_own_exercise_stays_as_it_was(desk: Desk) -> None:
    desk.does("L03-02")
    own = Exercise(items.find("L03-02"), desk.record)
    desk.day = 2
    again = desk.asked("L03-02")
    assert (again.draw, own.draw) == (2, 1)
    assert again.variant.prompt != own.variant.prompt
    desk.does("L03-02", recall=True)
    own = Exercise(items.find("L03-02"), desk.record)
    assert own.draw == 1
    assert own.result is not None
    own.new_numbers()
    assert own.draw == 3
    desk.day = 3
    assert desk.asked("L03-02").draw == 4


def test_asking_for_other_numbers_in_a_recall_leaves_the_lesson_alone(desk: Desk) -> None:
    desk.does("L03-02")
    desk.day = 2
    desk.asked("L03-02").new_numbers()
    assert Exercise(items.find("L03-02"), desk.record).draw == 1


def test_three_more_come_on_request(desk: Desk) -> None:
    for item in ("L01-01", "L01-02", "L01-03", "L02-01", "L02-02", "L03-02", "L03-03"):
        desk.does(item)
    desk.day = 2
    panel = RecallPanel(desk.record)
    assert (len(panel.forms), panel.more) == (3, 3)
    assert panel.static_html().count("Not answered yet.") == 3
    panel._on_message(None, {"do": "more"}, [])
    assert (len(panel.forms), len(panel.given), len(panel.lines), panel.more) == (6, 6, 6, 0)
    assert panel.static_html().count("Not answered yet.") == 6


def test_each_form_speaks_for_its_own_exercise(desk: Desk) -> None:
    for item in ("L01-02", "L02-01", "L03-02"):
        desk.does(item)
    desk.day = 2
    panel = RecallPanel(desk.record)
    panel.given = [{}, {}, {"answer": "7/2"}]
    assert panel.forms[2]["preview"]["answer"]["html"]
    assert (panel.forms[0]["preview"], desk.record.of_kind("hint")) == ({}, ())
    panel._on_message(None, {"do": "check", "form": 2, "given": {"answer": "1 + R/S"}}, [])
    assert panel.given[2] == {"answer": "1 + R/S"}
    assert panel.forms[2]["feedback"]["verdict"] == "Right"
    panel._on_message(None, {"do": "hint", "form": 1}, [])
    assert [len(form["hints"]) for form in panel.forms] == [0, 1, 0]
    for content in (
        {"do": "check", "form": 9},
        {"do": "check", "form": "1"},
        {"do": "check"},
        "more",
        {"form": -1, "do": "hint"},
    ):
        panel._on_message(None, content, [])
    assert len(desk.record.of_kind("attempt")) == 4


def test_looking_at_a_recall_writes_nothing(desk: Desk) -> None:
    desk.does("L03-02")
    desk.day = 2
    before = desk.path.read_bytes()
    panel = RecallPanel(desk.record)
    panel.ask_for_more()
    assert panel.static_html()
    assert desk.path.read_bytes() == before


def test_a_recalled_exercise_does_not_offer_the_cell_of_the_lessons_own(desk: Desk) -> None:
    desk.does("L03-02")
    desk.day = 2
    [form] = RecallPanel(desk.record).forms
    assert form["plain_call"] == ""
    assert form["title"] == "Recall: exercise L03-02"


def test_one_question_gives_way_to_one_that_tells_whether_a_misconception_is_there(desk: Desk) -> None:
    for day, item in enumerate(("L01-02", "L02-01", "L03-01", "L03-03", "L03-02")):
        desk.day = day
        exercise = Exercise(items.find(item), desk.record)
        contents = thought("carrier as R - S", exercise.variant, 0.0)
        texts = marking.right_answer(exercise.variant)
        if contents:
            texts = {part: exercise.variant.key.checkers[part].wrong_text(content) for part, content in contents.items()}
        exercise.write(texts)
        exercise.check()
    desk.day = 9
    attempts = desk.record.of_kind("attempt")
    assert any(event["verdict"] == "wrong" for event in attempts)
    without = [
        item.id for item in chosen([{**event, "given": None} for event in attempts], desk.record.seed, desk.record.today)
    ]
    asked = desk.names()
    assert asked[:2] == without[:2]
    assert asked[2] not in without
    # It shows the misconception: whoever holds it answers otherwise than right.
    assert thought("carrier as R - S", desk.asked(asked[2]).variant, 0.0)


@pytest.mark.parametrize("count", [0, 13, "3", True, 2.5])
def test_a_number_that_is_none_is_told(desk: Desk, count: object) -> None:
    lesson = Lesson(LESSONS["03"], desk.record)
    with pytest.raises(UsageError, match="whole number from 1 to 12"):
        lesson.recall(count)


def attempt(item: str, draw: int, *mistakes: str, hints: int = 0) -> dict[str, object]:
    return {
        "at": NOON.isoformat(), "kind": "attempt", "item": item, "draw": draw, "hints": hints, "mistakes": list(mistakes),
        "verdict": "wrong" if mistakes else "right",
    }  # fmt: skip


def test_a_mistake_made_again_and_again_leaves_the_advice_when_it_was_overcome() -> None:
    made = [attempt("L03-02", 1, "NOONE"), attempt("L03-02", 2, "NOONE")]
    assert [code for code, _, _ in recurring_mistakes(made)] == ["NOONE"]
    after_feedback = [*made, attempt("L03-02", 2), attempt("L03-02", 2)]
    assert [code for code, _, _ in recurring_mistakes(after_feedback)] == ["NOONE"]
    with_hints = [*made, attempt("L03-02", 3, hints=1), attempt("L03-02", 4, hints=2)]
    assert [code for code, _, _ in recurring_mistakes(with_hints)] == ["NOONE"]
    elsewhere = [*made, attempt("L01-02", 1), attempt("L01-03", 1)]
    assert [code for code, _, _ in recurring_mistakes(elsewhere)] == ["NOONE"]
    overcome = [*made, attempt("L03-02", 3), attempt("L03-02", 4)]
    assert recurring_mistakes(overcome) == ()
    assert [code for code, _, _ in recurring_mistakes([*overcome, attempt("L03-02", 5, "NOONE")])] == ["NOONE"]
