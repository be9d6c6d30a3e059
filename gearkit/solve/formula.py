"""Quotients of small polynomials in tooth symbols: cancelled, and written as a teacher writes them.

A polynomial is a table {names of a product: whole coefficient}. Ratios of planetary trains need no more than this:
every product holds each tooth symbol at most once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import gcd, prod

Product = tuple[str, ...]
Terms = tuple[tuple[Product, int], ...]

_MOST_SPLIT_TERMS = 4
_MOST_REST_TERMS = 2


@dataclass(frozen=True)
class Quotient:
    """Numerator over denominator, without a common number or symbol.

    Args:
        numerator: products and their coefficients, in reading order.
        denominator: the same.
    """

    numerator: Terms
    denominator: Terms

    def text(self) -> str:
        """Return the quotient in Python's notation, such as ``1 + R3/S3``."""
        return _written(self, _Plain())

    def latex(self) -> str:
        r"""Return the quotient in LaTeX, such as ``1 + \frac{R_{3}}{S_{3}}``."""
        return _written(self, _Latex())

    def at(self, values: Mapping[str, Fraction | int]) -> Fraction:
        """Return the exact value.

        Args:
            values: symbol -> value.
        """
        return _value(self.numerator, values) / _value(self.denominator, values)


def cancelled(numerator: Mapping[Product, int], denominator: Mapping[Product, int]) -> Quotient:
    """Return the quotient of two tables after taking out the number and the symbols that both have in common.

    Args:
        numerator: table of products; may be empty, which is 0.
        denominator: table of products, not empty.
    """
    top = {key: value for key, value in numerator.items() if value}
    bottom = {key: value for key, value in denominator.items() if value}
    common = set.intersection(*(set(product) for product in (*top, *bottom)))
    divisor = gcd(*top.values(), *bottom.values())
    if bottom[min(bottom, key=_order)] < 0:
        divisor = -divisor

    def reduced(table: Mapping[Product, int]) -> Terms:
        items = (
            (tuple(name for name in product if name not in common), value // divisor)
            for product, value in table.items()
        )
        return tuple(sorted(items, key=lambda item: _order(item[0])))

    return Quotient(reduced(top), reduced(bottom))


def _order(product: Product) -> tuple[int, tuple[str, ...]]:
    # Set by set, sun before ring, as the sets stand in the train.
    return -len(product), tuple(name[1:] + {"S": "0", "R": "1"}.get(name[0], "2") for name in product)


def _value(terms: Terms, values: Mapping[str, Fraction | int]) -> Fraction:
    return sum((Fraction(factor) * prod(values[name] for name in product) for product, factor in terms), Fraction(0))


class _Plain:
    """Python's notation."""

    def product(self, names: Iterable[str]) -> str:
        return "*".join(names)

    def times(self, number: int, product: str) -> str:
        return f"{number}*{product}"

    def over(self, top: str, bottom: str, top_terms: int, bottom_factors: int) -> str:
        top = f"({top})" if top_terms > 1 else top
        bottom = f"({bottom})" if bottom_factors > 1 else bottom
        return f"{top}/{bottom}"


class _Latex:
    """LaTeX's notation."""

    def product(self, names: Iterable[str]) -> str:
        return r" \, ".join(f"{name[0]}_{{{name[1:]}}}" if len(name) > 1 else name for name in names)

    def times(self, number: int, product: str) -> str:
        return rf"{number} \, {product}"

    def over(self, top: str, bottom: str, top_terms: int, bottom_factors: int) -> str:
        del top_terms, bottom_factors  # a fraction bar brackets by itself
        return rf"\frac{{{top}}}{{{bottom}}}"


_Script = _Plain | _Latex


def _written(quotient: Quotient, script: _Script) -> str:
    if not quotient.numerator:
        return "0"
    if len(quotient.denominator) == 1 and len(quotient.numerator) <= _MOST_SPLIT_TERMS:
        return _term_by_term(quotient, script)
    rest = _without_one(quotient)
    if rest is not None:
        text = _whole(rest, script)
        return f"1 - {text[1:]}" if text.startswith("-") else f"1 + {text}"
    return _whole(quotient, script)


def _term_by_term(quotient: Quotient, script: _Script) -> str:
    """Each product over the denominator by itself; what cancels to a number comes first: ``1 + R/S``."""
    ((below, scale),) = quotient.denominator
    texts = []
    for product, factor in sorted(quotient.numerator, key=lambda item: (item[0] != below, _order(item[0]))):
        amount = Fraction(factor, scale)
        top = [name for name in product if name not in below]
        bottom = [name for name in below if name not in product]
        size = abs(amount)
        shown = _scaled(size.numerator, top, script)
        if bottom or size.denominator != 1:
            factors = len(bottom) + (size.denominator != 1)
            shown = script.over(shown, _scaled(size.denominator, bottom, script), 1, factors)
        texts.append((amount < 0, shown))
    return _sum(texts)


def _whole(quotient: Quotient, script: _Script) -> str:
    """One fraction, with a minus in front where the whole numerator is negative."""
    negative = all(factor < 0 for _, factor in quotient.numerator)
    top = _polynomial([(product, -factor if negative else factor) for product, factor in quotient.numerator], script)
    sign = "-" if negative else ""
    if quotient.denominator == (((), 1),):
        return f"{sign}({top})" if negative and len(quotient.numerator) > 1 else sign + top
    bottom = _polynomial(quotient.denominator, script)
    (product, factor), *others = quotient.denominator
    factors = 2 if others else len(product) + (abs(factor) != 1)
    return sign + script.over(top, bottom, len(quotient.numerator), factors)


def _without_one(quotient: Quotient) -> Quotient | None:
    """The rest after taking 1 out, where that leaves a plain numerator."""
    rest = dict(quotient.numerator)
    for product, factor in quotient.denominator:
        rest[product] = rest.get(product, 0) - factor
    left = {product: factor for product, factor in rest.items() if factor}
    if 0 < len(left) <= min(_MOST_REST_TERMS, len(quotient.numerator) - 1):
        return cancelled(left, dict(quotient.denominator))
    return None


def _polynomial(terms: Iterable[tuple[Product, int]], script: _Script) -> str:
    return _sum([(factor < 0, _scaled(abs(factor), product, script)) for product, factor in terms])


def _scaled(number: int, names: Iterable[str], script: _Script) -> str:
    product = script.product(names)
    if not product:
        return str(number)
    return product if number == 1 else script.times(number, product)


def _sum(texts: list[tuple[bool, str]]) -> str:
    (first_negative, first), *others = texts
    start = f"-{first}" if first_negative else first
    return start + "".join(f" - {text}" if negative else f" + {text}" for negative, text in others)
