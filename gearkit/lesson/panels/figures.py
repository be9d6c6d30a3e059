"""A figure that a learner writes down as a prediction, read exactly."""

from __future__ import annotations

from fractions import Fraction

from gearkit.words.errors import UsageError


def figure_of(text: str) -> Fraction:
    """Return the number in a text such as "19/6", "3.17", "−2" or "3.2:1".

    Raises:
        UsageError: the text is no number.
    """
    plain = text.strip().replace("−", "-").removesuffix(":1").strip()
    try:
        return Fraction(plain)
    except (ValueError, ZeroDivisionError):
        raise UsageError(f'{text!r} is not read as a number; write it like "19/6" or "3.17".') from None
