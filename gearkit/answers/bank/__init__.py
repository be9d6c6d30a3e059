"""The item bank: one module per lesson, exercises as data; solutions are formulas or come from the solver by a rule."""

from __future__ import annotations

from gearkit.answers.bank import lesson_02, lesson_03, lesson_06
from gearkit.answers.items import Item


def all_lessons() -> tuple[tuple[Item, ...], ...]:
    """Return the items of every lesson, in order."""
    return (lesson_02.ITEMS, lesson_03.ITEMS, lesson_06.ITEMS)
