"""Right or not: expressions by exact values modulo a prime and then exactly, numbers exactly or as roundings.

Expressions: both are worked out at two points modulo the prime 2^61 - 1. A point's coordinates come from the names of
the symbols, so that values of expressions with different symbols can be compared. Two different expressions of the
degree that the reader allows agree at both points with a chance below 10^-32 (Schwartz and Zippel); where the values
agree, cross-multiplied polynomials with whole-number coefficients settle it. No floats, no simplification.

Numbers: an exact number has to be equal. A decimal is right when it is the exact value correctly rounded to the
digits given, three significant ones at least; when it lies within the tolerance that the item states; or when it lies
within half a percent, which is what steps rounded to three figures on the way may take off.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cached_property, lru_cache

from gearkit.answers.comparison.polynomials import Budget, Polynomial, product, same_product
from gearkit.answers.read.expression import Digits, Expression, Tree, divided_by_zero

PRIME = (1 << 61) - 1
POINTS = 2
# A notebook's 64-bit arithmetic is sound to 15 digits; what stands beyond 12 is its own rounding, not the learner's.
MACHINE_DIGITS = 12
LEAST_FIGURES = 3
# A rounding to three figures is off by half a percent at most; wrong answers keep twice that distance.
ALLOWANCE = Fraction(1, 200)
CLEAR = 2 * ALLOWANCE

Fingerprint = tuple[int, ...]


@lru_cache(maxsize=1024)
def coordinate(symbol: str, point: int) -> int:
    """Return the value that stands for a symbol at a point.

    Args:
        symbol: the symbol's name.
        point: number of the point, from 0.
    """
    digest = hashlib.sha256(f"gearkit point {point} {symbol}".encode()).digest()
    return int.from_bytes(digest[:16], "big") % (PRIME - 2) + 2


def fingerprint(expression: Expression) -> Fingerprint:
    """Return the values of an expression at the points, modulo the prime.

    Args:
        expression: any expression that was read.

    Raises:
        AnswerError: it divides by zero whatever the symbols are.
    """
    values = []
    for point in range(POINTS):
        above, below = _value_at(expression.tree, point)
        if below == 0:
            raise divided_by_zero()
        values.append(above * pow(below, -1, PRIME) % PRIME)
    return tuple(values)


def _value_at(tree: Tree, point: int) -> tuple[int, int]:
    """Return (above, below) modulo the prime; a zero below stays zero through every step."""
    kind = tree[0]
    if kind == "number":
        return tree[1].numerator % PRIME, tree[1].denominator % PRIME
    if kind == "symbol":
        return coordinate(tree[1], point), 1
    above, below = _value_at(tree[1], point)
    if kind == "neg":
        return -above % PRIME, below
    if kind == "power":
        return _power_at(above, below, tree[2])
    above2, below2 = _value_at(tree[2], point)
    if kind == "*":
        return above * above2 % PRIME, below * below2 % PRIME
    if kind == "/":
        # Where the divisor itself divides by zero, its "above" must not save it.
        return above * below2 % PRIME, below * above2 * (below2 != 0) % PRIME
    if kind == "-":
        above2 = -above2
    return (above * below2 + above2 * below) % PRIME, below * below2 % PRIME


def _power_at(above: int, below: int, power: int) -> tuple[int, int]:
    if power < 0:
        above, below, power = below, above * (below != 0), -power
    return pow(above, power, PRIME), pow(below, power, PRIME) if below else 0


def same_expression(first: Expression, second: Expression) -> bool:
    """Return whether two expressions are the same formula.

    Args:
        first: an expression.
        second: another; the order does not matter.

    Raises:
        AnswerError: one divides by zero, or working it out exactly would take too long.

    >>> from gearkit.answers.read.reader import read
    >>> same_expression(read("1 + R/S", "RS"), read("(S + R)/S", "RS"))
    True
    """
    if fingerprint(first) != fingerprint(second):
        return False
    if first.tree == second.tree:
        return True
    budget = Budget()
    above, below = _quotient(first.tree, budget)
    above2, below2 = _quotient(second.tree, budget)
    return same_product(above, below2, above2, below, budget)


def _quotient(tree: Tree, budget: Budget) -> tuple[Polynomial, Polynomial]:
    """Return a tree as one polynomial over another; nothing is cancelled."""
    kind = tree[0]
    if kind == "number":
        return {(): tree[1].numerator} if tree[1] else {}, {(): tree[1].denominator}
    if kind == "symbol":
        return {((tree[1], 1),): 1}, {(): 1}
    above, below = _quotient(tree[1], budget)
    if kind == "neg":
        return {term: -factor for term, factor in above.items()}, below
    if kind == "power":
        if tree[2] < 0:
            above, below = below, above
        over: Polynomial = {(): 1}
        under: Polynomial = {(): 1}
        for _ in range(abs(tree[2])):
            over, under = product(over, above, budget), product(under, below, budget)
        return over, under
    above2, below2 = _quotient(tree[2], budget)
    if kind == "*":
        return product(above, above2, budget), product(below, below2, budget)
    if kind == "/":
        return product(above, below2, budget), product(below, above2, budget)
    sign = 1 if kind == "+" else -1
    left, right = (above, above2) if below == below2 else (product(above, below2, budget), product(above2, below, budget))
    total = dict(left)
    for term, factor in right.items():
        total[term] = total.get(term, 0) + sign * factor
    return {term: factor for term, factor in total.items() if factor}, (
        below if below == below2 else product(below, below2, budget)
    )


class Match(StrEnum):
    """How a number stands to the exact value."""

    EXACT = "exact"
    ROUNDED = "correctly rounded"
    WITHIN = "within the tolerance"
    ALLOWED = "rounded on the way"
    TOO_FEW = "correctly rounded to too few figures"
    DIFFERENT = "different"


RIGHT_MATCHES = frozenset({Match.EXACT, Match.ROUNDED, Match.WITHIN, Match.ALLOWED})


@dataclass(frozen=True)
class Tolerance:
    """How near a number has to be where an item states it.

    Args:
        relative: share of the exact value, such as 1/200 for half a percent.
        absolute: in the item's unit.
        figures: significant figures that a rounded decimal needs at least.
        of_loss: True for an efficiency: steps rounded on the way may shift what is lost by half a percent, not the whole.
    """

    relative: Fraction = Fraction(0)
    absolute: Fraction = Fraction(0)
    figures: int = LEAST_FIGURES
    of_loss: bool = False

    @cached_property
    def clear(self) -> tuple[int, int, int, int]:
        """How far a wrong answer has to stay away, as whole numbers: a share of the larger value, and at the least."""
        share, room = max(CLEAR, 2 * self.relative), 2 * self.absolute
        return share.numerator, share.denominator, room.numerator, room.denominator

    def covers(self, distance: int, size: int, unit: int) -> bool:
        """Return whether a number lies within it, from whole numbers.

        Args:
            distance: how far the number lies from the exact value, in parts; above 0.
            size: the size of the exact value, in the same parts.
            unit: how many parts make one.
        """
        share, of, room, of_unit = self._whole
        return distance * of <= share * size or distance * of_unit <= room * unit

    @cached_property
    def _whole(self) -> tuple[int, int, int, int]:
        return (*self.relative.as_integer_ratio(), *self.absolute.as_integer_ratio())

    def around(self, exact: Fraction) -> Fraction:
        """Return how far from an exact value a number may lie."""
        return max(self.absolute, abs(exact) * self.relative) if self.relative else self.absolute

    def on_the_way(self, exact: Fraction, whole: Fraction = Fraction(1)) -> Fraction:
        """Return how far steps rounded on the way may take a decimal from an exact value.

        Args:
            exact: the exact value.
            whole: what nothing lost would be, for an efficiency: 1, or 100 in percent.
        """
        return ALLOWANCE * abs(whole - exact if self.of_loss else exact)


EXACTLY = Tolerance()


def judge_number(
    number: Fraction,
    digits: Digits | None,
    exact: Fraction,
    tolerance: Tolerance = EXACTLY,
    room: Fraction = Fraction(0),
) -> Match:
    """Say how a number stands to the exact value.

    Args:
        number: the learner's number.
        digits: the digits that were written; None for a fraction or a sum worked out.
        exact: the exact value, in the unit of the answer.
        tolerance: what the item allows.
        room: how far rounding on the way may have taken it; 0 for a count, and for fractions of whole numbers.
    """
    # Both over one denominator, for whole numbers are compared several times faster than fractions.
    (above, below), (above2, below2) = number.as_integer_ratio(), exact.as_integer_ratio()
    distance, size, unit = abs(above * below2 - above2 * below), abs(above2 * below), below * below2
    if distance == 0:
        return Match.EXACT
    if tolerance.covers(distance, size, unit):
        return Match.WITHIN
    # The room is for numbers that show as many figures as the item asks for; a bare 4 is no rounded 4.01.
    shows = (
        digits is None
        or digits[1] >= tolerance.figures
        or (digits[0] > 0 and digits[1] == LEAST_FIGURES - 1 == tolerance.figures - 1)
    )
    near = shows and room > 0 and distance * room.denominator <= room.numerator * unit
    if digits is None:
        return Match.ALLOWED if near else Match.DIFFERENT
    places, figures = digits
    if figures > MACHINE_DIGITS:
        places -= figures - MACHINE_DIGITS
        figures = MACHINE_DIGITS
        above, below = _rounded(number, places).as_integer_ratio()
        distance, unit = abs(above * below2 - above2 * below), below * below2
    # At a tie both neighbours are correct roundings, so that "round half up" and "half to even" are both taught right.
    if distance * 2 * 10 ** max(places, 0) > unit * 10 ** max(-places, 0):
        return Match.ALLOWED if near else Match.DIFFERENT
    if figures >= tolerance.figures:
        return Match.ROUNDED
    return Match.ALLOWED if near else Match.TOO_FEW


def _rounded(number: Fraction, places: int) -> Fraction:
    scale = Fraction(10) ** places
    return Fraction(int((number * scale + Fraction(1, 2)).__floor__())) / scale


def shown(number: Fraction, figures: int = 4) -> str:
    """Return a number as a learner would write it: whole, or a decimal with so many significant figures.

    Args:
        number: the number.
        figures: significant figures.

    >>> shown(Fraction(152, 59)), shown(Fraction(-400)), shown(Fraction(1, 3), 3)
    ('2.576', '-400', '0.333')
    """
    if number.denominator == 1:
        return str(number.numerator)
    size = abs(number)
    exponent = 0
    while size >= 10:
        size /= 10
        exponent += 1
    while size < 1:
        size *= 10
        exponent -= 1
    places = max(0, figures - 1 - exponent)
    value = _rounded(abs(number), places)
    text = f"{value.numerator * 10**places // value.denominator:0{places + 1}d}"
    text = f"{text[:-places]}.{text[-places:]}" if places else text
    return ("-" if number < 0 else "") + text
