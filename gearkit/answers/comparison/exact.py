"""Sines, roots and pi to 40 digits, the same on every machine.

The bank's formulas for chords, grades and road speeds need them; a float's last digit may differ between machines, and
a variant must not. Series are summed with `decimal` and turned into fractions, so everything after is exact again.
"""

from __future__ import annotations

from decimal import Context, Decimal, localcontext
from fractions import Fraction
from functools import lru_cache
from math import isqrt

# 40 places; known to far more, more is never needed here.
PI = Fraction("3.1415926535897932384626433832795028841972")
_DIGITS = Context(prec=45)
_SMALL = Decimal(10) ** -44
_ALMOST = 10**30


def _decimal(number: Fraction) -> Decimal:
    return _DIGITS.divide(Decimal(number.numerator), Decimal(number.denominator))


@lru_cache(maxsize=4096)
def sine(angle: Fraction) -> Fraction:
    """Return the sine of an angle in radians.

    Args:
        angle: in radians.
    """
    if abs(angle) > 2 * PI:
        # A learner's own number may give any angle; whole turns change nothing, and the series would run away.
        angle -= round(angle / (2 * PI)) * 2 * PI
    x = _decimal(angle)
    with localcontext(_DIGITS):
        turned = -(x * x)
        term, total, step = x, x, 1
        while abs(term) > _SMALL:
            step += 2
            term = term * turned / (step * (step - 1))
            total = total + term
    return Fraction(total)


def arcsine(value: Fraction) -> Fraction:
    """Return the angle in radians whose sine is given.

    Args:
        value: between -1 and 1.

    Raises:
        ZeroDivisionError: the value is out of reach of a sine.
    """
    if abs(value) > 1:
        raise ZeroDivisionError("no angle has a sine beyond 1")
    if abs(value) == 1:
        return Fraction(value * PI / 2)
    return arctangent(value / root(1 - value * value, 2))


def arctangent(value: Fraction) -> Fraction:
    """Return the angle in radians whose tangent is given.

    Args:
        value: any number.
    """
    # atan x = 2 atan(x / (1 + sqrt(1 + x^2))): three times halved, the series needs few terms.
    x = _decimal(value)
    with localcontext(_DIGITS):
        for _ in range(3):
            x = x / (1 + (1 + x * x).sqrt())
        turned = -(x * x)
        power, total, step = x, x, 1
        while abs(power) > _SMALL:
            step += 2
            power = power * turned
            total = total + power / step
    above, below = total.as_integer_ratio()
    return Fraction(8 * above, below)


def tangent(angle: Fraction) -> Fraction:
    """Return the tangent of an angle in radians.

    Args:
        angle: in radians, between -pi/2 and pi/2 without the ends.
    """
    return sine(angle) / sine(PI / 2 - angle)


def root(number: Fraction, degree: int) -> Fraction:
    """Return the positive root of a number: exact where it is a fraction, else to 40 digits.

    Args:
        number: 0 or above.
        degree: 2 for a square root, 3 for a cube root and so on.

    Raises:
        ZeroDivisionError: the number is negative.
    """
    if number < 0:
        raise ZeroDivisionError("a negative number has no root here")
    if number == 0:
        return Fraction(0)
    if degree == 2:
        near_root = Fraction(_DIGITS.sqrt(_decimal(number)))
        if isqrt(number.denominator) ** 2 != number.denominator:
            # No square stands below the line, so no fraction is the root.
            return near_root
    else:
        near_root = Fraction(_DIGITS.power(_decimal(number), _DIGITS.divide(Decimal(1), Decimal(degree))))
    near = Fraction(near_root.limit_denominator(10**9))
    return near if Fraction(near**degree) == number else near_root


def whole_part(above: int, below: int) -> int:
    """Return a number rounded down, where 6 worked out to 40 digits as 5.99…9 counts as 6.

    Args:
        above: what stands above the line of the number.
        below: what stands below it, above 0.
    """
    return (above * _ALMOST + below) // (below * _ALMOST)
