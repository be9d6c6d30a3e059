"""An answer as a tree of our own: numbers, symbols, signs, whole powers; nothing in it can run.

A tree is a tuple whose first entry names it:
``("number", Fraction, text)`` with a text such as 3.2 or 1.2e3, ``("symbol", name)``, ``("neg", x)``, ``("power", x, n)``,
``("+", x, y)`` and the same for ``-``, ``*``, ``/``; the bank's own formulas may hold ``("call", name, (x, ...))`` as well.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from gearkit.words.errors import AnswerError
from gearkit.words.say import say

Tree = tuple[Any, ...]
# A number as (above, below) with below never zero and never negative; not cancelled.
Pair = tuple[int, int]
# Digits after the point, and significant digits.
Digits = tuple[int, int]

_SUM, _PRODUCT, _SIGNED, _POWER, _ATOM = 1, 2, 3, 4, 5
_LEVEL = {"+": _SUM, "-": _SUM, "*": _PRODUCT, "/": _PRODUCT, "neg": _SIGNED, "power": _POWER}


@dataclass(frozen=True)
class Expression:
    """What the reader made of a text.

    Args:
        text: the text as it was written.
        tree: the tree described at the top of this module.

    >>> from gearkit.answers.read.reader import read
    >>> str(read("1+R/S", "R S".split()))
    '1 + R/S'
    """

    text: str
    tree: Tree

    def __str__(self) -> str:
        return written(self.tree)

    @property
    def symbols(self) -> frozenset[str]:
        """The symbols that occur in it."""
        return frozenset(_symbols(self.tree))

    @property
    def digits(self) -> Digits | None:
        """The digits of a plain number, which may have a sign; else None."""
        tree = self.tree
        while tree[0] == "neg":
            tree = tree[1]
        return digits_of(tree[2]) if tree[0] == "number" else None

    @property
    def decimal(self) -> bool:
        """Whether a number with a decimal point occurs in it, so that it may have been rounded on the way."""
        return _has_decimal(self.tree)

    def value(self, values: Mapping[str, Fraction] | None = None) -> Fraction:
        """Return its exact value.

        Args:
            values: a value for each symbol that occurs in it.

        Raises:
            AnswerError: it divides by zero.
        """
        try:
            return Fraction(*_worked(self.tree, values or {}))
        except ZeroDivisionError:
            raise divided_by_zero() from None

    def latex(self) -> str:
        """Return it as LaTeX, for showing a learner how an answer was read."""
        return _latex(self.tree, 0)


def digits_of(number: str) -> Digits:
    """Return how many digits a number shows after its point, and how many that are significant.

    Args:
        number: digits with at most one point, and a power of ten after an e where there is one.

    >>> digits_of("4.560"), digits_of("1.2e3")
    ((3, 4), (-2, 2))
    """
    written, _, power = number.partition("e")
    whole, _, decimals = written.partition(".")
    return len(decimals) - int(power or 0), len((whole + decimals).lstrip("0"))


def divided_by_zero() -> AnswerError:
    """Return the error for an answer that divides by zero."""
    return AnswerError("division by zero", say("The answer divides by zero."), say("Check what stands below the line."))


def _worked(tree: Tree, values: Mapping[str, Fraction]) -> Pair:
    """Return the exact value of a tree without function calls; nothing is cancelled, and `limits` bounds what comes."""
    kind = tree[0]
    if kind in ("number", "symbol"):
        number: Fraction = tree[1] if kind == "number" else values[tree[1]]
        return number.as_integer_ratio()
    left = _worked(tree[1], values)
    if kind == "neg":
        return -left[0], left[1]
    if kind == "power":
        return power(left, tree[2])
    right = _worked(tree[2], values)
    if kind == "/":
        return quotient(left, right)
    (above, below), (above2, below2) = left, right
    if kind == "*":
        return above * above2, below * below2
    return above * below2 + (above2 if kind == "+" else -above2) * below, below * below2


def quotient(first: Pair, second: Pair) -> Pair:
    """Return one pair over another.

    Args:
        first: what is divided.
        second: what it is divided by.

    Raises:
        ZeroDivisionError: that is nothing.
    """
    above, below = first[0] * second[1], first[1] * second[0]
    if below == 0:
        raise ZeroDivisionError
    return (above, below) if below > 0 else (-above, -below)


def power(pair: Pair, exponent: int) -> Pair:
    """Return a whole power of a pair.

    Args:
        pair: the pair.
        exponent: any whole number.

    Raises:
        ZeroDivisionError: nothing is raised to a negative power.
    """
    above, below = pair
    if exponent >= 0:
        return above**exponent, below**exponent
    return quotient((below**-exponent, 1), (above**-exponent, 1))


def _has_decimal(tree: Tree) -> bool:
    if tree[0] in ("number", "symbol"):
        return tree[0] == "number" and ("." in tree[2] or "e" in tree[2])
    return any(_has_decimal(part) for part in tree[1:] if isinstance(part, tuple))


def _symbols(tree: Tree) -> set[str]:
    kind = tree[0]
    if kind == "symbol":
        return {tree[1]}
    if kind == "number":
        return set()
    if kind == "call":
        return set().union(*map(_symbols, tree[2]))
    if kind in ("neg", "power"):
        return _symbols(tree[1])
    return _symbols(tree[1]) | _symbols(tree[2])


def written(tree: Tree) -> str:
    """Return a tree as plain text with no more brackets than it needs.

    Args:
        tree: the tree.
    """
    return _written(tree, 0)


def _written(tree: Tree, outer: int) -> str:
    kind = tree[0]
    if kind in ("number", "symbol"):
        return str(tree[-1])
    if kind == "call":
        return f"{tree[1]}({', '.join(map(written, tree[2]))})"
    level = _LEVEL[kind]
    if kind == "neg":
        text = "-" + _written(tree[1], _SIGNED)
    elif kind == "power":
        text = f"{_written(tree[1], _ATOM)}^{tree[2]}"
    else:
        text = _joined(tree, _written, {"+": " + ", "-": " - ", "*": "*", "/": "/"}[kind])
    # A minus sign is bracketed inside a product, so that no two signs ever stand side by side.
    return f"({text})" if level < outer else text


def _joined(tree: Tree, write: Callable[[Tree, int], str], sign: str) -> str:
    level = _LEVEL[tree[0]]
    # What stands right of a sign is bracketed when it is of the same level: a - (b + c), a/(b*c), a + (-b).
    right_level = {_SUM: _SIGNED if tree[2][0] == "neg" else _PRODUCT, _PRODUCT: _POWER}[level]
    right = write(tree[2], right_level if tree[2][0] != "neg" else _POWER)
    return write(tree[1], level) + sign + right


def _latex(tree: Tree, outer: int) -> str:
    kind = tree[0]
    if kind == "number":
        digits, _, power = str(tree[2]).partition("e")
        text = rf"{digits} \cdot 10^{{{power}}}" if power else digits
        return rf"\left({text}\right)" if power and outer >= _PRODUCT else text
    if kind == "symbol":
        return latex_name(tree[1])
    if kind == "call":
        inside = ", ".join(_latex(part, 0) for part in tree[2])
        return rf"\operatorname{{{tree[1]}}}\left({inside}\right)"
    if kind == "/":
        return rf"\frac{{{_latex(tree[1], 0)}}}{{{_latex(tree[2], 0)}}}"
    level = _LEVEL[kind]
    if kind == "neg":
        text = "-" + _latex(tree[1], _SIGNED)
    elif kind == "power":
        base = _latex(tree[1], _ATOM)
        text = f"{base}^{{{tree[2]}}}" if tree[1][0] != "/" else rf"\left({base}\right)^{{{tree[2]}}}"
    else:
        text = _joined(tree, _latex, {"+": " + ", "-": " - ", "*": r" \, "}[kind])
        if kind == "*" and tree[2][0] == "number":
            text = _joined(tree, _latex, r" \cdot ")
    return rf"\left({text}\right)" if level < outer else text


def latex_name(name: str) -> str:
    """Return a symbol as LaTeX with its index below the line.

    Args:
        name: the symbol, such as ``R1`` or ``ns``.

    >>> latex_name("R1"), latex_name("ns")
    ('R_{1}', 'n_{s}')
    """
    if name in ("pi", "mu", "eta", "rho", "alpha"):
        return "\\" + name
    if len(name) == 1:
        return name
    return f"{name[0]}_{{{name[1:]}}}"
