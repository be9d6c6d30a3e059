"""The item bank: one module per lesson, exercises as data; solutions are formulas or come from the solver by a rule."""

from __future__ import annotations

from gearkit.answers.bank import (
    lesson_05,
    lesson_06,
    lesson_07,
    lesson_08,
    lesson_09,
    lesson_10,
    lesson_11,
    lesson_12,
    lesson_13,
)
from gearkit.answers.bank.one_set import (
    lesson_01,
    lesson_02,
    lesson_02_formulas,
    lesson_03,
    lesson_04,
    lesson_04_planets,
)
from gearkit.answers.bank.several import lesson_14, lesson_15
from gearkit.answers.item import Item
from gearkit.answers.reasoning import lessons

_LESSONS = (
    lesson_01.ITEMS,
    (*lesson_02.ITEMS, *lesson_02_formulas.ITEMS),
    lesson_03.ITEMS,
    (*lesson_04.ITEMS, *lesson_04_planets.ITEMS),
    lesson_05.ITEMS,
    lesson_06.ITEMS,
    lesson_07.ITEMS,
    lesson_08.ITEMS,
    lesson_09.ITEMS,
    lesson_10.ITEMS,
    lesson_11.ITEMS,
    lesson_12.ITEMS,
    lesson_13.ITEMS,
    lesson_14.ITEMS,
    lesson_15.ITEMS,
)


def all_lessons() -> tuple[tuple[Item, ...], ...]:
    """Return the items of every lesson, in order."""
    return tuple(
        (*sorted(lesson, key=lambda item: item.id), *(item for item in lessons.ITEMS if item.lesson == number))
        for number, lesson in enumerate(_LESSONS, start=1)
    )
