"""Bounds on what an answer may grow to when it is worked out, found without working it out."""

from __future__ import annotations

from fractions import Fraction

from gearkit.answers.read.expression import Tree
from gearkit.words.errors import AnswerError
from gearkit.words.say import say

MAX_DEGREE = 48
# (((9^9)^9)^9) has degree 0 but 2,300 bits: the coefficients need a bound of their own.
MAX_BITS = 1500


def check_size(tree: Tree) -> tuple[int, int, int]:
    """Return bounds on (degree above the line, degree below, bits of the largest coefficient).

    Nothing is multiplied out and nothing cancels, so the bounds hold for every way of working the tree out.

    Args:
        tree: the tree of an answer.

    Raises:
        AnswerError: a bound is passed.
    """
    kind = tree[0]
    if kind == "number":
        number: Fraction = tree[1]
        return 0, 0, number.numerator.bit_length() + number.denominator.bit_length()
    if kind == "symbol":
        return 1, 0, 1
    above, below, bits = check_size(tree[1])
    if kind == "neg":
        return above, below, bits
    if kind == "power":
        times = abs(tree[2])
        above, below, bits = above * times, below * times, bits * times
        if tree[2] < 0:
            above, below = below, above
    else:
        above, below, bits = _size_of_two(kind, (above, below, bits), check_size(tree[2]))
    if max(above, below) > MAX_DEGREE:
        raise AnswerError(
            "too large",
            say("The formula multiplies more than {max_degree} letters together.", max_degree=MAX_DEGREE),
            say("Shorten it."),
        )
    if bits > MAX_BITS:
        raise AnswerError("too large", say("The numbers in the answer grow too large."), say("Work it out further first."))
    return above, below, bits


def _size_of_two(kind: str, left: tuple[int, int, int], right: tuple[int, int, int]) -> tuple[int, int, int]:
    bits = left[2] + right[2] + 1
    if kind == "*":
        return left[0] + right[0], left[1] + right[1], bits
    if kind == "/":
        return left[0] + right[1], left[1] + right[0], bits
    return max(left[0] + right[1], left[1] + right[0]), left[1] + right[1], bits
