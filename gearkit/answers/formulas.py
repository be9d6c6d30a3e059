"""The bank's own formulas: read by the same reader, with functions and conditions that learners' texts may not have.

A formula is worked out exactly; where a sine, a root or pi comes in, to 40 digits. Each is read once and turned into a
chain of small functions on whole numbers (above, below), which is several times faster than fractions and just as exact.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from gearkit.answers import exact
from gearkit.answers.expression import Expression, Tree
from gearkit.answers.reader import Parser
from gearkit.answers.tokens import Token, tokens
from gearkit.words.errors import UsageError

FUNCTIONS = frozenset({"sin", "asin", "tan", "sqrt", "root", "floor", "abs", "sign"})
_COMPARISONS = frozenset({"<", ">", "<=", ">=", "==", "!="})
_NOT_SYMBOLS = FUNCTIONS | {"pi"}
_PI = (exact.PI.numerator, exact.PI.denominator)

Values = Mapping[str, Fraction]
# (above, below) with below never zero and never negative.
Pair = tuple[int, int]
Work = Callable[[Values], Pair]


@dataclass(frozen=True)
class Condition:
    """Two formulas with a comparison between them, such as ``R != 2*S``."""

    left: Work
    sign: str
    right: Work

    def holds(self, values: Values) -> bool:
        """Return whether the condition holds.

        Args:
            values: a value for each symbol.

        Raises:
            ZeroDivisionError: one side has no value at these numbers.
        """
        above, below = self.left(values)
        above2, below2 = self.right(values)
        left, right = above * below2, above2 * below
        if self.sign in ("==", "!="):
            return (left == right) is (self.sign == "==")
        if self.sign in ("<", "<="):
            return left < right or (left == right and self.sign == "<=")
        return left > right or (left == right and self.sign == ">=")


@lru_cache(maxsize=4096)
def formula(text: str) -> Expression:
    """Read a formula of the bank.

    Args:
        text: the formula, such as ``(S+P)*sin(pi/N) - (P+2)``.
    """
    return Expression(text, _parse(tokens(text, comparisons=True)))


@lru_cache(maxsize=4096)
def _work(text: str) -> Work:
    return compiled(formula(text).tree)


@lru_cache(maxsize=1024)
def condition(text: str) -> Condition:
    """Read a condition on the drawn numbers.

    Args:
        text: two formulas with one of ``< > <= >= == !=`` between them.

    Raises:
        UsageError: there is not exactly one comparison in it.
    """
    found = tokens(text, comparisons=True)
    places = [place for place, token in enumerate(found) if token.kind == "sign" and token.text in _COMPARISONS]
    if len(places) != 1:
        raise UsageError(f"The condition {text!r} has {len(places)} comparisons; write one of < > <= >= == !=.")
    place = places[0]
    return Condition(compiled(_parse(found[:place])), found[place].text, compiled(_parse(found[place + 1 :])))


def value(text: str, values: Values) -> Fraction:
    """Return the value of a formula of the bank.

    Args:
        text: the formula.
        values: a value for each symbol in it.

    Raises:
        ZeroDivisionError: the formula has no value at these numbers.
    """
    return Fraction(*_work(text)(values))


def symbols_of(text: str) -> frozenset[str]:
    """Return the symbols in a formula, without functions and pi.

    Args:
        text: the formula.
    """
    return formula(text).symbols - _NOT_SYMBOLS


def _parse(found: tuple[Token, ...]) -> Tree:
    names = {token.text: token.text for token in found if token.kind == "name"}
    return Parser(found, names, FUNCTIONS).whole()


def compiled(tree: Tree) -> Work:
    """Return a function that works a tree out.

    Args:
        tree: a tree that may hold functions and pi.
    """
    kind = tree[0]
    if kind == "number":
        constant = (tree[1].numerator, tree[1].denominator)
        return lambda values: constant
    if kind == "symbol":
        return _symbol(tree[1])
    if kind == "call":
        return _call(tree[1], [compiled(part) for part in tree[2]])
    left = compiled(tree[1])
    if kind == "neg":
        return lambda values: _negative(left(values))
    if kind == "power":
        power = tree[2]
        return lambda values: _power(left(values), power)
    return _joined(kind, left, compiled(tree[2]))


def _symbol(name: str) -> Work:
    if name == "pi":
        return lambda values: _PI

    def work(values: Values) -> Pair:
        number = values[name]
        return number.numerator, number.denominator

    return work


def _negative(pair: Pair) -> Pair:
    return -pair[0], pair[1]


def _power(pair: Pair, power: int) -> Pair:
    above, below = pair
    if power >= 0:
        return above**power, below**power
    return _over((below**-power, 1), (above**-power, 1))


def _over(first: Pair, second: Pair) -> Pair:
    above, below = first[0] * second[1], first[1] * second[0]
    if below == 0:
        raise ZeroDivisionError
    return (above, below) if below > 0 else (-above, -below)


def _joined(sign: str, left: Work, right: Work) -> Work:
    def plus(values: Values) -> Pair:
        (above, below), (above2, below2) = left(values), right(values)
        return above * below2 + above2 * below, below * below2

    def minus(values: Values) -> Pair:
        (above, below), (above2, below2) = left(values), right(values)
        return above * below2 - above2 * below, below * below2

    def times(values: Values) -> Pair:
        (above, below), (above2, below2) = left(values), right(values)
        return above * above2, below * below2

    def over(values: Values) -> Pair:
        return _over(left(values), right(values))

    return {"+": plus, "-": minus, "*": times, "/": over}[sign]


def _call(name: str, parts: list[Work]) -> Work:
    def work(values: Values) -> Pair:
        found = _called(name, [Fraction(*part(values)) for part in parts])
        return found.numerator, found.denominator

    return work


def _called(name: str, parts: list[Fraction]) -> Fraction:
    first = parts[0]
    if name == "sin":
        return exact.sine(first)
    if name == "asin":
        return exact.arcsine(first)
    if name == "tan":
        return exact.tangent(first)
    if name == "sqrt":
        return exact.root(first, 2)
    if name == "root":
        return exact.root(first, int(parts[1]))
    if name == "floor":
        return Fraction(exact.whole_part(first))
    if name == "abs":
        return abs(first)
    return Fraction((first > 0) - (first < 0))
