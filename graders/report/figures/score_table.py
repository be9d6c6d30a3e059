"""The table of marks that every figure is reckoned from, its exact arithmetic, and its upper and lower group."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from gearkit.words.errors import UsageError

_WIDE_CLASS = 40


@dataclass(frozen=True)
class ScoreTable:
    """Marks of every learner on every item; checked when built.

    Args:
        learners: one name or id per row.
        items: one id per column.
        maxima: full marks of each item, above 0.
        rows: one row of marks per learner, one mark per item, each from 0 to the item's full marks.
    """

    learners: tuple[str, ...]
    items: tuple[str, ...]
    maxima: tuple[Fraction, ...]
    rows: tuple[tuple[Fraction, ...], ...]

    def __post_init__(self) -> None:
        if len(self.maxima) != len(self.items):
            counts = f"{len(self.items)} items but {len(self.maxima)} full marks"
            raise UsageError(f"Score table: {counts}; give one for each.")
        if len(self.rows) != len(self.learners):
            counts = f"{len(self.learners)} learners but {len(self.rows)} rows"
            raise UsageError(f"Score table: {counts}; give one for each.")
        for learner, row in zip(self.learners, self.rows, strict=True):
            if len(row) != len(self.items):
                raise UsageError(f"Score table: learner {learner} has {len(row)} marks for {len(self.items)} items.")
            for item, mark, full in zip(self.items, row, self.maxima, strict=True):
                if not 0 <= mark <= full:
                    raise UsageError(f"Score table: learner {learner}, item {item}: {mark} is not from 0 to {full}.")

    @cached_property
    def totals(self) -> tuple[Fraction, ...]:
        """Return each learner's sum of marks."""
        scale = math.lcm(*{mark.denominator for row in self.rows for mark in row})
        return tuple(Fraction(sum(mark.numerator * (scale // mark.denominator) for mark in row), scale) for row in self.rows)

    def column(self, item: str) -> tuple[Fraction, ...]:
        """Return every learner's mark on one item."""
        place = self.items.index(item)
        return tuple(row[place] for row in self.rows)

    @cached_property
    def groups(self) -> tuple[tuple[Fraction, ...], tuple[Fraction, ...]]:
        """Return how much each learner belongs to the upper and to the lower group, from 0 to 1."""
        places = len(self.rows) * compared_share(len(self.rows))
        size = Fraction(max(1, int(places))) if self.rows else Fraction(0)
        return _memberships(self.totals, size), _memberships([-total for total in self.totals], size)


def mean(values: Sequence[Fraction]) -> Fraction:
    """Return the mean of at least one value."""
    whole, scale = _whole(values)
    return Fraction(sum(whole), scale * len(whole))


def variance(values: Sequence[Fraction]) -> Fraction:
    """Return the variance with divisor n."""
    whole, scale = _whole(values)
    n = len(whole)
    return Fraction(n * sum(value * value for value in whole) - sum(whole) ** 2, (n * scale) ** 2)


def _whole(values: Sequence[Fraction]) -> tuple[list[int], int]:
    """Return values as whole numbers over one denominator: sums of these are a hundred times quicker, and as exact."""
    scale = math.lcm(*{value.denominator for value in values})
    return [value.numerator * (scale // value.denominator) for value in values], scale


def correlation(first: Sequence[Fraction], second: Sequence[Fraction]) -> float | None:
    """Return the product-moment correlation of two equally long lists; None where one of them does not vary.

    Args:
        first: exact values.
        second: exact values, one for each of the first.
    """
    if len(first) != len(second):
        raise UsageError(f"Correlation: {len(first)} values against {len(second)}; give pairs.")
    if len(first) < 2:
        return None
    # A common scale of each list cancels, so whole numbers serve from here on.
    scores, other = _whole(first)[0], _whole(second)[0]
    n = len(scores)
    spread = (n * sum(x * x for x in scores) - sum(scores) ** 2) * (n * sum(y * y for y in other) - sum(other) ** 2)
    if spread == 0:
        return None
    product = n * sum(x * y for x, y in zip(scores, other, strict=True)) - sum(scores) * sum(other)
    size = math.sqrt(Fraction(product * product, spread))
    return size if product >= 0 else -size


def compared_share(learners: int) -> Fraction:
    """Return which share of a class is compared at the top and at the bottom: 27 percent, a third, or a half.

    The customary 27 percent leaves too few people below 40 learners, so thirds are used there, and halves below 6.
    """
    if learners >= _WIDE_CLASS:
        return Fraction(27, 100)
    return Fraction(1, 3) if learners >= 6 else Fraction(1, 2)


def upper_and_lower(table: ScoreTable) -> tuple[tuple[Fraction, ...], tuple[Fraction, ...]]:
    """Return how much each learner belongs to the upper and to the lower group, from 0 to 1.

    Learners tied at the edge of a group share its last places equally, so that the order of the class list
    never changes a figure.
    """
    return table.groups


def _memberships(totals: Sequence[Fraction], size: Fraction) -> tuple[Fraction, ...]:
    tied = Counter(totals)
    shares: dict[Fraction, Fraction] = {}
    left = size
    for total in sorted(tied, reverse=True):
        shares[total] = min(Fraction(1), left / tied[total])
        left -= shares[total] * tied[total]
    return tuple(shares[total] for total in totals)
