"""Wishes that no tooth counts can meet, refused in words instead of answered with a number that means nothing."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from gearkit.solve.ratios import Ratio
from gearkit.text.phrases import decimal
from gearkit.words.errors import UsageError


def direct_drive_wishes(formulas: Mapping[str, Ratio], wanted: Mapping[str, Fraction]) -> None:
    """Refuse a wish for a ratio that no tooth count changes, as in direct drive.

    Args:
        formulas: range -> its ratio as a formula.
        wanted: range -> wanted ratio.

    Raises:
        UsageError: a target differs from a ratio that is the same at any tooth counts.
    """
    for name, formula in formulas.items():
        if not formula.sets and formula.exact != wanted[name]:
            raise UsageError(
                f"Target {name}: {decimal(wanted[name])}, but the ratio there is {decimal(formula.exact)} at any tooth counts"
                f"{' (direct drive)' if formula.exact == 1 else ''}. Leave this target out, or give {decimal(formula.exact)}."
            )


def wrong_signs(best: Mapping[str, Fraction], wanted: Mapping[str, Fraction]) -> None:
    """Refuse wishes that cannot be had even in sign: the best there is turns the other way.

    Args:
        best: range -> ratio of the best design.
        wanted: range -> wanted ratio.

    Raises:
        UsageError: the best design drives a range the other way than wanted.
    """
    for name, ratio_ in best.items():
        if ratio_ * wanted[name] < 0:
            way = "backward" if ratio_ < 0 else "forward"
            raise UsageError(
                f"Target {name}: {decimal(wanted[name])}, but this range drives {way}: the best tooth counts within the limits "
                f"give {decimal(ratio_)}. Change the target's sign, or give another range."
            )
