"""An exercise: own numbers, a reading before any check, named mistakes, hints one at a time, and all of it kept."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import pytest

from gearkit.answers import items
from gearkit.answers.item import Item
from gearkit.answers.judge import marking
from gearkit.answers.kinds.kind import Form
from gearkit.lesson.exercise import Exercise
from gearkit.lesson.learnt.progress import progress
from gearkit.lesson.learnt.standing import State
from gearkit.lesson.opening import open_lesson
from gearkit.lesson.panels.exercise import ExercisePanel
from gearkit.lesson.record import Record
from gearkit.lesson.told import CheckResult
from gearkit.words.errors import GearkitError, UsageError


@pytest.fixture
def record(tmp_path: Path) -> Record:
    return Record(tmp_path / "my_record.json")


def exercise(record: Record, item: str = "L03-02") -> Exercise:
    return Exercise(items.find(item), record)


def right(work: Exercise) -> dict[str, str]:
    return marking.right_answer(work.variant)


def test_the_numbers_are_the_same_after_a_restart_and_others_for_another_learner(record: Record, tmp_path: Path) -> None:
    record.add("draw", {"item": "none", "draw": 1})
    first = exercise(record).variant.prompt
    assert exercise(Record(record.path)).variant.prompt == first
    others = {exercise(Record(tmp_path / f"{name}.json")).variant.prompt for name in "abcdef"}
    assert len(others - {first}) >= 4


def test_new_numbers_are_kept_as_well(record: Record) -> None:
    work = exercise(record)
    first = work.variant.prompt
    work.new_numbers()
    assert work.draw == 2
    assert exercise(Record(record.path)).draw == 2
    assert exercise(Record(record.path)).variant.prompt == work.variant.prompt != first


def test_a_reading_is_shown_before_the_check_and_does_not_tell_right_from_wrong(record: Record) -> None:
    work = exercise(record)
    shown = []
    panel = ExercisePanel(work)
    for text in ("1 + R/S", "R/S"):
        work.write({"answer": text})
        shown.append(panel.preview["answer"])
    assert [preview["trouble"] for preview in shown] == ["", ""]
    assert all("<mfrac" in preview["html"] for preview in shown)
    assert record.of_kind("attempt") == ()


def test_trouble_with_the_form_is_told_before_the_check(record: Record) -> None:
    work = exercise(record)
    work.write({"answer": "3,200"})
    [form] = work.form()
    assert "comma" in form.trouble


def test_a_right_answer_is_right_and_the_attempt_is_kept(record: Record) -> None:
    work = exercise(record)
    work.write(right(work))
    assert work.check().verdict == "right"
    [attempt] = Record(record.path).of_kind("attempt")
    assert (attempt["item"], attempt["verdict"], attempt["score"], attempt["max"]) == ("L03-02", "right", "2", "2")


def test_a_known_mistake_is_named_and_kept_by_its_code(record: Record) -> None:
    work = exercise(record)
    work.write({"answer": "R/S"})
    result = work.check()
    assert result.verdict == "wrong"
    assert "the one turn" in result.comment
    assert record.of_kind("attempt")[0]["mistakes"] == ["NOONE"]


def test_checking_an_empty_form_is_no_attempt(record: Record) -> None:
    assert exercise(record).check().verdict == "missing"
    assert record.of_kind("attempt") == ()


def test_hints_come_one_at_a_time_and_the_last_one_stays(record: Record) -> None:
    work = exercise(record)
    assert [work.hint() for _ in range(5)] == [*work.item.hints, work.item.hints[2], work.item.hints[2]]
    assert [event["number"] for event in record.of_kind("hint")] == [1, 2, 3]


def test_the_form_does_not_repeat_the_options_in_the_question(record: Record) -> None:
    work = exercise(record, "L03-09")
    assert "(a)" in work.variant.prompt
    assert "(a)" not in work.prompt_html


@pytest.mark.parametrize(
    "item", [one for one in items.all_items() if one.kind.traits.form is Form.ORDER], ids=lambda item: item.id
)
def test_a_form_with_buttons_for_the_order_asks_for_no_letters_and_announces_no_list_that_is_not_there(
    item: Item, record: Record
) -> None:
    shown = exercise(record, str(item.id)).prompt_html
    assert "with the letters" not in shown
    assert not re.search(r":\s*</p>\s*(<p|$)", shown)


@pytest.mark.parametrize("item", items.all_items(), ids=lambda item: item.id)
def test_what_every_form_writes_down_earns_full_marks_when_it_is_right(item: Item, record: Record) -> None:
    """Choosing in the form gives a text; marking takes that text for the option that was chosen."""
    work = Exercise(item, record)
    panel = ExercisePanel(work)
    wanted = right(work)
    given = {}
    for part, spec in zip(work.variant.parts, panel.parts, strict=True):
        options = {option["label"].partition(") ")[2] or option["label"]: option["value"] for option in spec["options"]}
        text = wanted[part.name]
        if spec["form"] == "one":
            chosen = [value for label, value in options.items() if text in (label, value)]
            text = chosen[0] if chosen else text
        given[part.name] = text
    panel.given = given
    assert work.given == given
    panel._on_message(panel, {"do": "check"}, [])
    assert panel.feedback["kind"] == "right", panel.feedback


def test_the_panel_and_the_plain_calls_work_on_the_same_answer(tmp_path: Path) -> None:
    lesson = open_lesson("03", tmp_path / "r.json")
    panel = lesson.exercise("L03-02")
    R, S = lesson.symbols("R S")
    assert str(lesson.answer("L03-02", 1 + R / S)) == "L03-02: read as 1 + R/S"
    assert panel.given == {"answer": "1 + R/S"}
    assert "<mfrac" in panel.preview["answer"]["html"]
    assert lesson.check("L03-02").right
    assert panel.feedback["verdict"] == "Right"
    lesson.hint("L03-02")
    assert len(panel.hints) == 1
    assert panel.hints_left == 2


def test_messages_from_the_form_do_what_its_buttons_say(record: Record) -> None:
    work = exercise(record)
    panel = ExercisePanel(work)
    before = panel.prompt_html
    panel._on_message(panel, {"do": "check", "given": {"answer": "R/S"}}, [])
    assert panel.feedback["kind"] == "wrong"
    panel._on_message(panel, {"do": "hint"}, [])
    assert len(panel.hints) == 1
    panel._on_message(panel, {"do": "new numbers"}, [])
    assert panel.prompt_html != before
    assert (panel.given, panel.feedback, panel.hints) == ({}, {}, [])


def test_unknown_messages_and_monstrous_texts_do_nothing_bad(record: Record) -> None:
    panel = ExercisePanel(exercise(record))
    panel._on_message(panel, {"do": "dance"}, [])
    panel._on_message(panel, None, [])
    panel.given = {"answer": "9" * 100_000}
    assert "characters" in panel.preview["answer"]["trouble"] or panel.preview["answer"]["trouble"]


def test_the_still_version_of_a_form_shows_question_and_answer(record: Record) -> None:
    panel = ExercisePanel(exercise(record))
    panel.given = {"answer": "<b>R</b>/S"}
    page = panel.static_html()
    assert "<math" in page
    assert "&lt;b&gt;" in page
    assert "<b>R" not in page


def test_checked_answers_show_as_text_and_as_html(record: Record) -> None:
    work = exercise(record)
    work.write({"answer": "R/S"})
    checked = CheckResult(work.check())
    assert str(checked).startswith("○ L03-02: R/S belongs to a held carrier.")
    assert 'role="status"' in checked._repr_html_()


def test_an_unknown_exercise_is_answered_with_the_ones_there_are(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"L03-99.*This lesson's exercises: L03-01, L03-02"):
        open_lesson("03", tmp_path / "r.json").check("L03-99", 1)


def test_an_unknown_lesson_is_answered_with_the_ones_there_are() -> None:
    with pytest.raises(UsageError, match=r"no lesson '77'. Lessons: 00, 01"):
        open_lesson("77")


def test_progress_says_what_is_done_what_was_missed_and_which_mistake_comes_back(record: Record) -> None:
    lesson_items = items.of_lesson(3)
    done, missed = Exercise(lesson_items[2], record), exercise(record)
    done.write(right(done))
    done.check()
    missed.write({"answer": "R/S"})
    missed.check()
    missed.hint()
    missed.new_numbers()
    missed.write({"answer": "R/S"})
    missed.check()
    found = progress("Lesson 3", lesson_items, record, "03")
    state = {each.item.id: each for each in found.standings}
    assert (state["L03-03"].state, state["L03-02"].state, state["L03-01"].state) == (State.DONE, State.BEGUN, State.OPEN)
    assert (state["L03-02"].attempts, state["L03-02"].hints, state["L03-02"].best) == (2, 1, Fraction(0))
    assert found.recurring == (("NOONE", "the one turn of the carrier left out", 2),)
    assert found.advice == "Take up L03-02 again: read its first hint, or ask for new numbers."
    assert "1 of 13 exercises done" in str(found)
    assert "◐" in found._repr_html_()


def test_progress_goes_on_to_a_recurring_mistake_when_everything_was_tried(record: Record) -> None:
    lesson_items = [items.find("L03-02"), items.find("L03-07")]
    for item in lesson_items:
        work = Exercise(item, record)
        if item.id == "L03-02":
            for _ in range(2):
                work.write({"answer": "R/S"})
                work.check()
        work.write(right(work))
        work.check()
    found = progress("Lesson 3", lesson_items, record, "03")
    assert found.done == 2
    assert (
        found.advice
        == "You made this mistake more than once: the one turn of the carrier left out. Do L03-02 again with new numbers and watch for it."
    )


def test_progress_is_exported_as_a_table(record: Record, tmp_path: Path) -> None:
    work = exercise(record)
    work.write(right(work))
    work.check()
    path = progress("Lesson 3", items.of_lesson(3), record, "03").export(tmp_path / "progress.csv")
    rows = path.read_text(encoding="utf-8").splitlines()
    assert rows[0] == "item,state,attempts,hints,best share of marks"
    assert rows[2] == "L03-02,done,1,0,1.00"
    assert progress("Lesson 3", items.of_lesson(3), record, "03").export(tmp_path / "new" / "one.csv").exists()
    with pytest.raises(GearkitError, match="cannot be written"):
        progress("Lesson 3", items.of_lesson(3), record, "03").export(tmp_path / "progress.csv" / "such.csv")


def test_opening_a_lesson_tells_of_a_damaged_record_once(tmp_path: Path) -> None:
    path = tmp_path / "my_record.json"
    path.write_text("{", encoding="utf-8")
    lesson = open_lesson(3, path)
    assert "was set aside" in lesson._repr_html_()
    assert "set aside" not in lesson._repr_html_()


def test_a_lesson_opened_again_takes_up_the_last_checked_answer_its_verdict_and_the_hints(record: Record) -> None:
    work = exercise(record)
    for text in ("R/S", "1 + R/S"):
        work.write({"answer": text})
        work.check()
    work.hint()
    again = exercise(Record(record.path))
    assert again.given == {"answer": "1 + R/S"}
    assert again.result is not None
    assert again.result.verdict == "right"
    assert (again.hints_shown, len(again.hints)) == (1, 1)
    assert len(record.of_kind("attempt")) == 2
    panel = ExercisePanel(again)
    assert panel.feedback["verdict"] == "Right"
    assert "Right" in panel.static_html()
    again.new_numbers()
    other = exercise(Record(record.path))
    assert (other.draw, other.given, other.result, other.hints_shown) == (2, {}, None, 0)


@pytest.mark.parametrize(
    "given", [None, "R/S", ["R/S"], {"answer": 7}, {"answer": "9" * 100_000}, {"no part": "1"}, {7: {"a": []}}]
)
def test_an_attempt_in_the_record_that_makes_no_sense_stops_no_lesson(record: Record, given: object) -> None:
    record.add("attempt", {"item": "L03-02", "draw": 1, "given": given})
    assert ExercisePanel(exercise(Record(record.path))).words().startswith("Answer: ")


def test_what_is_said_about_an_answer_stands_in_the_still_as_text_and_not_as_tags(record: Record) -> None:
    work = exercise(record)
    work.write({"answer": "R/S"})
    work.check()
    panel = ExercisePanel(work)
    assert "<" not in panel.words()
    assert "&lt;" not in panel.static_html()
