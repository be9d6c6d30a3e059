"""Core and extra exercises: the core fits the time that a lesson gives to exercises."""

from __future__ import annotations

import pytest

from gearkit.answers import items
from gearkit.lesson.syllabus import CORE_SHARE, LESSONS, MINUTES_PER_MARK, LessonPlan

COURSE = [plan for plan in LESSONS.values() if plan.number != "00"]


@pytest.mark.parametrize("plan", COURSE, ids=lambda plan: plan.number)
def test_the_core_exercises_fit_a_third_of_the_lesson(plan: LessonPlan) -> None:
    minutes = sum(items.find(item).marks for item in plan.core_items) * MINUTES_PER_MARK
    assert plan.minutes * CORE_SHARE * 0.6 <= minutes <= plan.minutes * CORE_SHARE


@pytest.mark.parametrize("plan", COURSE, ids=lambda plan: plan.number)
def test_the_core_exercises_are_of_their_lesson_and_of_more_than_one_kind(plan: LessonPlan) -> None:
    own = [item.id for item in items.of_lesson(int(plan.number))]
    assert [item for item in own if item in plan.core_items] == list(plan.core_items)
    kinds = {item.kind for item in items.of_lesson(int(plan.number))}
    assert len({items.find(item).kind for item in plan.core_items}) >= min(2, len(kinds))


def test_all_exercises_together_are_what_the_figure_of_a_mark_was_taken_from() -> None:
    marks = sum(item.marks for plan in COURSE for item in items.of_lesson(int(plan.number)))
    assert round(marks * MINUTES_PER_MARK) == pytest.approx(780, rel=0.01)
