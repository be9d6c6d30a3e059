"""A number as it was read, and which one counts where a learner shows the working: ``24/7 = 3.43``."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from gearkit.answers.judge.checkers import Reading
from gearkit.answers.judge.claims import Relation
from gearkit.answers.read.expression import Digits
from gearkit.words.say import say

ONE = Fraction(1)
# One figure rounds too much to say that two sides agree.
_LEAST_FIGURES = 2
_NEAR = Fraction(1, 200)


class Amount(NamedTuple):
    """A number as it was read.

    Args:
        value: its value in the unit that was written.
        digits: the digits that were written; None for a fraction or a sum.
        factor: how many of the item's units one of the written unit is.
        foreign: True where the written unit is not the item's own.
        decimal: True where a decimal, or a sum or product with one, was written: it may have been rounded on the way.
        with_unit: True where a unit was written.
    """

    value: Fraction
    digits: Digits | None
    factor: Fraction
    foreign: bool
    decimal: bool = False
    with_unit: bool = False

    @property
    def in_item_unit(self) -> Fraction:
        """The value in the item's unit."""
        return self.value if self.factor is ONE else self.value * self.factor

    @property
    def figures(self) -> int:
        """How many significant figures were written; 0 for a fraction or a sum."""
        return self.digits[1] if self.digits else 0


def chosen(sides: Sequence[Reading | None], whole: bool) -> Reading:
    """Return the side of an equation that is marked, with a remark where the sides do not agree.

    What stands last is the answer. Where all sides agree, a fraction that stands before it is as good and more exact.

    Args:
        sides: what was read, in order; None for working that cannot be read, but never at the end.
        whole: True where a count is asked: then what stands last is what was meant, also where it was rounded.
    """
    last = sides[-1]
    assert last is not None
    known = [side for side in sides if side is not None]
    if len(known) < len(sides):
        return last._replace(
            remark=say(
                "What stands before the last equals sign is not read here; {read_as} is marked, for it stands last.",
                read_as=last.read_as,
            ),
            says=(Relation.LAST_MARKED,),
        )
    amounts = _in_one_unit(known)
    last = last._replace(content=amounts[-1])
    near = [_agree(first, second) for first, second in pairwise(amounts)]
    if not all(near):
        shown = known[near.index("")].read_as
        return last._replace(
            remark=say(
                "{first} and {second} are not equal; {last} is marked, for it stands last.",
                first=shown,
                second=known[near.index("") + 1].read_as,
                last=last.read_as,
            ),
            says=(Relation.LAST_MARKED, Relation.SIDES_DIFFER),
        )
    if whole or any(agreement != "rounded" for agreement in near):
        return last
    best = max(range(len(known)), key=lambda place: (not amounts[place].decimal, amounts[place].figures, place))
    return known[best]._replace(content=amounts[best])


def _in_one_unit(sides: Sequence[Reading]) -> list[Amount]:
    """Let a side without a unit have that of the last side with one; a share written as a plain number has none to take."""
    amounts: list[Amount] = [side.content for side in sides]
    unit = next((amount for amount in reversed(amounts) if amount.with_unit), None)
    if unit is None:
        return amounts
    in_unit = [amount if amount.with_unit else amount._replace(factor=unit.factor, foreign=unit.foreign) for amount in amounts]
    return [
        amount if amount.with_unit or (not _agree(taken, unit) and _agree(amount, unit)) else taken
        for amount, taken in zip(amounts, in_unit, strict=True)
    ]


def agree(sides: Sequence[Reading | None]) -> bool:
    """Return whether all sides could be read and each is the next, at least nearly.

    Args:
        sides: what was read, in order; None for what cannot be read.
    """
    known = [side for side in sides if side is not None]
    return len(known) == len(sides) and all(_agree(first, second) for first, second in pairwise(_in_one_unit(known)))


def _agree(first: Amount, second: Amount) -> str:
    """Say how two sides agree: "rounded" where one is the other, or its correct rounding; "near" within half a percent; or "" ."""
    off = abs(first.in_item_unit - second.in_item_unit)
    for amount in (first, second):
        if off == 0 or (
            amount.figures >= _LEAST_FIGURES and amount.digits and off * 2 * Fraction(10) ** amount.digits[0] <= amount.factor
        ):
            return "rounded"
    return "near" if (first.decimal or second.decimal) and off <= abs(first.in_item_unit) * _NEAR else ""
