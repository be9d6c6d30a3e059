"""A figure that a learner writes down as a prediction or a reading, read as every answer is."""

from __future__ import annotations

from fractions import Fraction

from gearkit.answers.item import AnswerKind
from gearkit.answers.kinds.amounts import Amount
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.read.units import unit_named
from gearkit.words.errors import AnswerError, UsageError


def figure_of(text: str, unit: str = "") -> Fraction:
    """Return the number in a text such as "19/6", "3,17", "−2", "3.2:1" or "4.6 reverse".

    Args:
        text: what was written.
        unit: the unit that may stand behind it, or "".

    Raises:
        UsageError: the text is no number, or can be read in two ways.
    """
    checker = NumberChecker(Fraction(1), AnswerKind.DECIMAL, unit=unit if unit_named(unit) else "")
    try:
        amount: Amount = checker.read(text).content
    except AnswerError as fault:
        shown = text if len(text) <= 40 else f"{text[:40]}…"
        raise UsageError(f"“{shown}” is not read as a number: {fault}") from None
    return amount.in_item_unit
