"""How a class did on each subject, sheet by sheet over the term."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from gearkit.answers.listing import subject_of
from graders.book.record import MarkSheet


@dataclass(frozen=True)
class Share:
    """What a class earned on one subject of one sheet, before hints or lateness took any off.

    Args:
        learners: how many handed in.
        items: number of items about it.
        earned: marks of the class.
        full: marks that it could have earned.
    """

    learners: int
    items: int
    earned: Fraction
    full: Fraction

    @property
    def part(self) -> float:
        """The share that was earned, from 0 to 1."""
        return float(self.earned / self.full)


def over_sheets(sheets: Sequence[MarkSheet]) -> dict[str, list[Share | None]]:
    """Return for each subject what the class earned on every sheet; None where a sheet asks nothing about it.

    Args:
        sheets: the mark sheets, in the order of the term.
    """
    each = [_of_a_sheet(marks) for marks in sheets]
    subjects = dict.fromkeys(subject for shares in each for subject in shares)
    return {subject: [shares.get(subject) for shares in each] for subject in subjects}


def _of_a_sheet(marks: MarkSheet) -> dict[str, Share]:
    sums: dict[str, tuple[Fraction, Fraction, set[str], set[str]]] = {}
    for learner in marks.learners:
        for mark in learner.items:
            if not mark.max:
                continue  # A withdrawn item says nothing.
            earned, full, items, learners = sums.get(subject_of(mark.item), (Fraction(0), Fraction(0), set(), set()))
            sums[subject_of(mark.item)] = (
                earned + Fraction(mark.earned).limit_denominator(1000),
                full + Fraction(mark.max).limit_denominator(1000),
                items | {mark.item},
                learners | {learner.learner},
            )
    return {subject: Share(len(who), len(items), earned, full) for subject, (earned, full, items, who) in sums.items()}
