"""A worked example hands its lines over one by one, from the last: right without a hint, and the next leaves one more."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from gearkit.answers import items
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.draw_numbers.variants import practice
from gearkit.answers.judge import marking
from gearkit.answers.reasoning import one_set_losses, questions
from gearkit.lesson.learnt.progress import progress
from gearkit.lesson.learnt.worked import WorkedExample, with_own_lines
from gearkit.lesson.opening import open_lesson
from gearkit.lesson.record import Record
from gearkit.words.errors import UsageError

WITH_LINES = [item for item in items.all_items() if item.rule == "next_line"]


def right(example: WorkedExample) -> None:
    example.write(marking.right_answer(example.variant))
    assert example.check().verdict == "right"


@pytest.mark.parametrize("item", WITH_LINES, ids=lambda item: str(item.id))
def test_every_example_can_be_handed_over_line_by_line(item: items.Item) -> None:
    shown = []
    for count in (1, 2, 12):
        variant = practice(with_own_lines(item, count), "a term")
        labels = [part.label for part in variant.parts]
        lines = [line for line in variant.prompt.split("\n") if line.startswith("- line ")]
        assert [line for line in lines if line.endswith("…")] == lines[-len(labels) :]
        assert labels == [f"line {number}" for number in range(len(lines) - len(labels) + 1, len(lines) + 1)]
        assert marking.mark(variant, marking.right_answer(variant)).verdict == "right"
        shown.append(len(lines) - len(labels))
    assert shown[0] == shown[1] + 1
    assert shown[2] == 0


def test_the_lines_that_are_asked_have_the_values_of_the_worked_solution() -> None:
    problem = one_set_losses.slip_in_percent(SeededRandom(b"slip"))
    assert problem is not None
    built = questions.own_lines(problem, 2, 2)
    assert built is not None
    wanted = questions.exact_values(problem)[-2:]
    for part, value in zip(built.parts, wanted, strict=True):
        checker = built.key.checkers[part.name]
        assert checker.judge(checker.read(str(float(value)))).right
        assert not checker.judge(checker.read(str(float(value * Fraction(11, 10))))).right


def test_one_line_more_is_the_learners_after_each_that_was_right_without_a_hint(tmp_path: Path) -> None:
    record = Record(tmp_path / "r.json")
    example = WorkedExample(items.find("L02-22"), record)
    assert len(example.variant.parts) == 1
    right(example)
    assert len(example.variant.parts) == 1
    example.new_numbers()
    assert len(example.variant.parts) == 2
    example.hint()
    right(example)
    example.new_numbers()
    assert len(example.variant.parts) == 2
    right(example)
    example.new_numbers()
    assert len(example.variant.parts) == 3
    again = WorkedExample(items.find("L02-22"), Record(tmp_path / "r.json"))
    assert again.variant.prompt == example.variant.prompt


def test_an_example_opened_again_shows_the_answer_that_was_checked(tmp_path: Path) -> None:
    first = open_lesson("02", tmp_path / "r.json").worked("L02-22")
    right(first.exercise)
    panel = open_lesson("02", tmp_path / "r.json").worked("l02-22")
    assert panel.title == "Worked example W02-22"
    assert panel.feedback["verdict"] == "Right"
    assert panel.plain_call == ""


def test_an_example_is_none_of_the_lessons_exercises(tmp_path: Path) -> None:
    lesson = open_lesson("02", tmp_path / "r.json")
    right(lesson.worked("L02-22").exercise)
    found = progress("Lesson 2", items.of_lesson(2), lesson.record, "02")
    assert found.done == 0
    assert lesson.recall().forms == []


def test_a_named_mistake_in_a_line_is_told(tmp_path: Path) -> None:
    example = WorkedExample(items.find("L12-23"), Record(tmp_path / "r.json"))
    form = example.variant.key.wrong_forms[0]
    [(part, value)] = form.contents.items()
    example.write({part: example.variant.key.checkers[part].wrong_text(value)})
    result = example.check()
    assert [slip.code for slip in result.mistakes] == [form.code]


def test_an_exercise_without_lines_is_told_with_those_that_have_them(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"L02-01 has no worked example. Exercises that have one: L02-22, L04-22"):
        open_lesson("02", tmp_path / "r.json").worked("L02-01")
