"""The bank's own formulas: read by the same reader, with functions and conditions that learners' texts may not have.

A formula is worked out exactly; where a sine, a root or pi comes in, to 40 digits. Formulas are read once and kept.
"""

from __future__ import annotations

from collections.abc import Mapping
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

Values = Mapping[str, Fraction]


@dataclass(frozen=True)
class Condition:
    """Two formulas with a comparison between them, such as ``R != 2*S``."""

    left: Tree
    sign: str
    right: Tree

    def holds(self, values: Values) -> bool:
        """Return whether the condition holds.

        Args:
            values: a value for each symbol.
        """
        left, right = work_out(self.left, values), work_out(self.right, values)
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
    return Condition(_parse(found[:place]), found[place].text, _parse(found[place + 1 :]))


def value(text: str, values: Values) -> Fraction:
    """Return the value of a formula of the bank.

    Args:
        text: the formula.
        values: a value for each symbol in it.
    """
    return work_out(formula(text).tree, values)


def _parse(found: tuple[Token, ...]) -> Tree:
    names = {token.text: token.text for token in found if token.kind == "name"}
    return Parser(found, names, FUNCTIONS).whole()


def work_out(tree: Tree, values: Values) -> Fraction:
    """Return the value of a tree that may hold functions and pi.

    Args:
        tree: the tree.
        values: a value for each symbol.

    Raises:
        ZeroDivisionError: the formula has no value at these numbers.
    """
    kind = tree[0]
    if kind == "number":
        number: Fraction = tree[1]
        return number
    if kind == "symbol":
        return exact.PI if tree[1] == "pi" else values[tree[1]]
    if kind == "call":
        return _call(tree[1], [work_out(part, values) for part in tree[2]])
    left = work_out(tree[1], values)
    if kind == "neg":
        return -left
    if kind == "power":
        return Fraction(left ** tree[2])
    right = work_out(tree[2], values)
    if kind == "+":
        return left + right
    if kind == "-":
        return left - right
    return left * right if kind == "*" else left / right


def _call(name: str, parts: list[Fraction]) -> Fraction:
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


def symbols_of(text: str) -> frozenset[str]:
    """Return the symbols in a formula, without functions and pi.

    Args:
        text: the formula.
    """
    return formula(text).symbols - _NOT_SYMBOLS
