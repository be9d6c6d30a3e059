"""Whether everybody's own numbers were equally hard: marks on an item against the right answer that each learner drew."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from gearkit.answers.item import AnswerKind, Item
from gearkit.answers.judge import marking
from graders.book.record import MarkSheet
from graders.course.course import Course
from graders.mark.decide import decisions
from graders.report.figures.statistics import variant_fairness
from graders.sheets.drawn import variants_for
from graders.sheets.sheets import Sheet

_FEWEST = 5


@dataclass(frozen=True)
class ItemFairness:
    """How marks on an item go with the numbers that learners drew; None where it cannot be told.

    Args:
        item: item id.
        size: correlation with the size of the right answer.
        awkwardness: correlation with its digits as a fraction; None for decimals, which are rounded anyway.
    """

    item: str
    size: float | None
    awkwardness: float | None

    def beyond(self, bound: float) -> bool:
        """Say whether a correlation is larger than chance brings about once in twenty.

        Args:
            bound: from `chance_bound`.
        """
        return any(value is not None and abs(value) > bound for value in (self.size, self.awkwardness))


def chance_bound(learners: int) -> float:
    """Return 2/sqrt(n), which the correlation of unrelated figures passes about once in twenty (textbooks, from memory)."""
    return 2 / math.sqrt(max(learners, 1))


def of_sheet(course: Course, sheet: Sheet, marks: MarkSheet) -> tuple[ItemFairness, ...]:
    """Return the fairness of every item whose right answer is one number that differs from learner to learner.

    Args:
        course: the course, which keeps the numbers.
        sheet: the sheet.
        marks: its mark sheet; items that nobody has marks for are left out.
    """
    if len(marks.learners) < _FEWEST:
        return ()
    rows = []
    for entry in sheet.items:
        if entry.item.kind.traits.size:
            item_fairness = _of_item(course, sheet, entry.item, marks)
            if item_fairness.size is not None or item_fairness.awkwardness is not None:
                rows.append(item_fairness)
    return tuple(rows)


def _of_item(course: Course, sheet: Sheet, item: Item, marks: MarkSheet) -> ItemFairness:
    withdrawn = decisions.withdrawn(course, sheet.name)
    earned: list[Fraction] = []
    drawn: list[Fraction] = []
    for learner in marks.learners:
        mark = next((mark for mark in learner.items if mark.item == item.id and mark.max), None)
        if mark is not None:
            (variant,) = variants_for(course, sheet, learner.learner, learner.attempt, withdrawn, only=item.id)
            drawn.append(_value(next(iter(marking.right_answer(variant).values()))))
            earned.append(Fraction(mark.earned).limit_denominator(1000))
    return _told(item, earned, drawn)


def _told(item: Item, earned: Sequence[Fraction], drawn: Sequence[Fraction]) -> ItemFairness:
    if len(earned) < _FEWEST:
        return ItemFairness(item.id, None, None)
    measures = variant_fairness(earned, drawn)
    return ItemFairness(item.id, measures["size"], measures["awkwardness"] if item.kind is AnswerKind.EXACT_RATIO else None)


def _value(text: str) -> Fraction:
    """The number at the beginning of a right answer, before its unit."""
    return Fraction(text.replace("\u2212", "-").split()[0])
