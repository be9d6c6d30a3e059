"""The bank's own formulas: read by the same reader, with functions and conditions that learners' texts may not have.

A formula is worked out exactly; where a sine, a root or pi comes in, to 40 digits. Each is read once and turned into a
chain of small functions on whole numbers (above, below), which is several times faster than fractions and just as exact.
Nothing is cancelled on the way: a draw compares pairs by cross-multiplying, and most of them never become a fraction.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from gearkit.answers.comparison import exact
from gearkit.answers.read.expression import Expression, Pair, Tree, power, quotient
from gearkit.answers.read.reader import Parser
from gearkit.answers.read.tokens import Token, tokens
from gearkit.words.errors import UsageError

FUNCTIONS = frozenset({"sin", "asin", "tan", "sqrt", "root", "floor", "abs", "sign"})
_COMPARISONS: dict[str, Callable[[int, int], bool]] = {
    "<": operator.lt,
    ">": operator.gt,
    "<=": operator.le,
    ">=": operator.ge,
    "==": operator.eq,
    "!=": operator.ne,
}
_NOT_SYMBOLS = FUNCTIONS | {"pi"}
_PI = (exact.PI.numerator, exact.PI.denominator)

Values = Mapping[str, Fraction]
Pairs = Mapping[str, Pair]
Work = Callable[[Pairs], Pair]


@dataclass(frozen=True)
class Condition:
    """Two formulas with a comparison between them, such as ``R != 2*S``."""

    left: Work
    compare: Callable[[int, int], bool]
    right: Work

    def holds(self, pairs: Pairs) -> bool:
        """Return whether the condition holds.

        Args:
            pairs: a pair for each symbol.

        Raises:
            ZeroDivisionError: one side has no value at these numbers.
        """
        (above, below), (above2, below2) = self.left(pairs), self.right(pairs)
        return self.compare(above * below2, above2 * below)


@lru_cache(maxsize=4096)
def formula(text: str) -> Expression:
    """Read a formula of the bank.

    Args:
        text: the formula, such as ``(S+P)*sin(pi/N) - (P+2)``.
    """
    return Expression(text, _parse(tokens(text, comparisons=True)))


@lru_cache(maxsize=4096)
def work(text: str) -> Work:
    """Return the function that works a formula of the bank out; ZeroDivisionError where it has no value.

    Args:
        text: the formula.
    """
    return compiled(formula(text).tree)


@lru_cache(maxsize=1024)
def condition(text: str) -> Condition:
    """Read a condition on the drawn numbers.

    Args:
        text: two formulas with one of ``< > <= >= == !=`` between them.

    Raises:
        UsageError: there is not exactly one comparison in it.
    """
    taken = tokens(text, comparisons=True)
    places = [place for place, token in enumerate(taken) if token.kind == "sign" and token.text in _COMPARISONS]
    if len(places) != 1:
        raise UsageError(f"The condition {text!r} has {len(places)} comparisons; write one of < > <= >= == !=.")
    place = places[0]
    compare = _COMPARISONS[taken[place].text]
    return Condition(compiled(_parse(taken[:place])), compare, compiled(_parse(taken[place + 1 :])))


def value(text: str, values: Values) -> Fraction:
    """Return the value of a formula of the bank.

    Args:
        text: the formula.
        values: a value for each symbol in it.

    Raises:
        ZeroDivisionError: the formula has no value at these numbers.
    """
    return Fraction(*work(text)({name: values[name].as_integer_ratio() for name in symbols_of(text)}))


def pairs_of(values: Values) -> dict[str, Pair]:
    """Return numbers as pairs, for formulas.

    Args:
        values: the numbers by symbol.
    """
    return {name: number.as_integer_ratio() for name, number in values.items()}


@lru_cache(maxsize=1024)
def symbols_of(text: str) -> frozenset[str]:
    """Return the symbols in a formula, without functions and pi.

    Args:
        text: the formula.
    """
    return formula(text).symbols - _NOT_SYMBOLS


def _parse(taken: tuple[Token, ...]) -> Tree:
    names = {token.text: token.text for token in taken if token.kind == "name"}
    return Parser(taken, names, FUNCTIONS).whole()


def compiled(tree: Tree) -> Work:
    """Return a function that works a tree out.

    Args:
        tree: a tree that may hold functions and pi.
    """
    kind = tree[0]
    if kind == "number":
        constant: Pair = tree[1].as_integer_ratio()
        return lambda pairs: constant
    if kind == "symbol":
        return operator.itemgetter(tree[1]) if tree[1] != "pi" else lambda pairs: _PI
    if kind == "call":
        return _call(tree[1], [compiled(part) for part in tree[2]])
    left = compiled(tree[1])
    if kind == "neg":
        return lambda pairs: _negative(left(pairs))
    if kind == "power":
        exponent = tree[2]
        return lambda pairs: power(left(pairs), exponent)
    return _joined(kind, left, compiled(tree[2]))


def _negative(pair: Pair) -> Pair:
    return -pair[0], pair[1]


def _joined(sign: str, left: Work, right: Work) -> Work:
    def plus(pairs: Pairs) -> Pair:
        (above, below), (above2, below2) = left(pairs), right(pairs)
        return above * below2 + above2 * below, below * below2

    def minus(pairs: Pairs) -> Pair:
        (above, below), (above2, below2) = left(pairs), right(pairs)
        return above * below2 - above2 * below, below * below2

    def times(pairs: Pairs) -> Pair:
        (above, below), (above2, below2) = left(pairs), right(pairs)
        return above * above2, below * below2

    def over(pairs: Pairs) -> Pair:
        return quotient(left(pairs), right(pairs))

    return {"+": plus, "-": minus, "*": times, "/": over}[sign]


def _call(name: str, parts: list[Work]) -> Work:
    if name in _QUICK:
        quick, part = _QUICK[name], parts[0]
        return lambda pairs: quick(*part(pairs))
    return lambda pairs: _called(name, tuple([part(pairs) for part in parts]))


_QUICK: dict[str, Callable[[int, int], Pair]] = {
    "abs": lambda above, below: (abs(above), below),
    "sign": lambda above, below: ((above > 0) - (above < 0), 1),
    "floor": lambda above, below: (exact.whole_part(above, below), 1),
}


# A sine or a root takes far longer than looking it up, and a class draws from some hundreds of sets.
@lru_cache(maxsize=4096)
def _called(name: str, parts: tuple[Pair, ...]) -> Pair:
    first = Fraction(*parts[0])
    if name == "sin":
        result = exact.sine(first)
    elif name == "asin":
        result = exact.arcsine(first)
    elif name == "tan":
        result = exact.tangent(first)
    else:
        result = exact.root(first, 2 if name == "sqrt" else int(Fraction(*parts[1])))
    return result.as_integer_ratio()
