"""Quotients of small polynomials in tooth symbols: cancelled, and written as a teacher writes them.

A polynomial is a table {names of a product: whole coefficient}. Ratios of planetary trains need no more than this:
every product holds each tooth symbol at most once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import combinations
from math import gcd, prod

Product = tuple[str, ...]
Terms = tuple[tuple[Product, int], ...]

_MOST_SPLIT_TERMS = 4
_MOST_REST_TERMS = 2
_PRIME = (1 << 61) - 1


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

    def reduced(table: Mapping[Product, int]) -> Terms:
        items = ((tuple(name for name in product if name not in common), value // divisor) for product, value in table.items())
        return tuple(sorted(items, key=lambda item: _order(item[0])))

    above, below = _without_common_factors(reduced(top), reduced(bottom))
    if _better_turned_round(above, below):
        above, below = _times(above, -1), _times(below, -1)
    return Quotient(above, below)


def _without_common_factors(top: Terms, bottom: Terms) -> tuple[Terms, Terms]:
    if len(top) < 2 or len(bottom) < 2:
        return top, bottom
    (top_number, top_factors), (bottom_number, bottom_factors) = factors_of(top), factors_of(bottom)
    shared = [factor for factor in top_factors if factor in bottom_factors]
    if not shared:
        return top, bottom
    return (
        _times(_multiplied([factor for factor in top_factors if factor not in shared]), top_number),
        _times(_multiplied([factor for factor in bottom_factors if factor not in shared]), bottom_number),
    )


def _better_turned_round(top: Terms, bottom: Terms) -> bool:
    """Tell whether both signs should change: a minus belongs in front of the quotient, not below the bar."""
    top_signs, bottom_signs = {value > 0 for _, value in top}, {value > 0 for _, value in bottom}
    if bottom_signs == {True}:
        return False
    if bottom_signs == {False}:
        return True
    return top_signs == {False} or (len(top_signs) == 2 and bottom[0][1] < 0)


def _times(terms: Terms, number: int) -> Terms:
    return tuple((product, value * number) for product, value in terms)


def _multiplied(factors: Iterable[Terms]) -> Terms:
    """The product of factors that share no symbol."""
    terms: dict[Product, int] = {(): 1}
    for factor in factors:
        terms = {tuple(sorted((*a, *b), key=lambda name: _order((name,)))): x * y for a, x in terms.items() for b, y in factor}
    return tuple(sorted(terms.items(), key=lambda item: _order(item[0])))


def _order(product: Product) -> tuple[int, tuple[str, ...]]:
    # Set by set, sun before ring, as the sets stand in the train.
    return -len(product), tuple(name[1:] + {"S": "0", "R": "1"}.get(name[0], "2") for name in product)


def _in_order(names: Iterable[str]) -> Product:
    return tuple(sorted(names, key=lambda name: _order((name,))))


def _value(terms: Terms, values: Mapping[str, Fraction | int]) -> Fraction:
    return sum((Fraction(factor) * prod(values[name] for name in product) for product, factor in terms), Fraction(0))


class _Plain:
    """Python's notation."""

    def product(self, names: Iterable[str]) -> str:
        return "*".join(names)

    def times(self, *parts: str) -> str:
        return "*".join(parts)

    def brackets(self, text: str) -> str:
        return f"({text})"

    def over(self, top: str, bottom: str, top_is_sum: bool, bottom_is_single: bool) -> str:
        top = f"({top})" if top_is_sum else top
        bottom = bottom if bottom_is_single else f"({bottom})"
        return f"{top}/{bottom}"


class _Latex:
    """LaTeX's notation."""

    def product(self, names: Iterable[str]) -> str:
        return r" \, ".join(f"{name[0]}_{{{name[1:]}}}" if len(name) > 1 else name for name in names)

    def times(self, *parts: str) -> str:
        return r" \, ".join(parts)

    def brackets(self, text: str) -> str:
        return rf"\left({text}\right)"

    def over(self, top: str, bottom: str, top_is_sum: bool, bottom_is_single: bool) -> str:
        del top_is_sum, bottom_is_single  # a fraction bar brackets by itself
        return rf"\frac{{{top}}}{{{bottom}}}"


_Script = _Plain | _Latex


def _written(quotient: Quotient, script: _Script) -> str:
    if not quotient.numerator:
        return "0"
    if len(factors_of(quotient.numerator)[1]) > 1:
        # A product says more than its terms: R2*(S4 + R4)/(S4*(S2 + R2)) is one stage after the other.
        return _whole(quotient, script)
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
            single = len(bottom) + (size.denominator != 1) == 1
            shown = script.over(shown, _scaled(size.denominator, bottom, script), False, single)
        texts.append((amount < 0, shown))
    return _sum(texts)


def _whole(quotient: Quotient, script: _Script) -> str:
    """One fraction, with a minus in front where the whole numerator is negative."""
    negative = all(factor < 0 for _, factor in quotient.numerator)
    terms = tuple((product, -factor if negative else factor) for product, factor in quotient.numerator)
    top, top_parts = _as_product(terms, script)
    top_is_sum = top_parts == 1 and len(terms) > 1
    sign = "-" if negative else ""
    if quotient.denominator == (((), 1),):
        return f"{sign}({top})" if negative and top_is_sum else sign + top
    bottom, bottom_parts = _as_product(quotient.denominator, script)
    return sign + script.over(top, bottom, top_is_sum, bottom_parts == 1 and len(quotient.denominator) == 1)


def _as_product(terms: Terms, script: _Script) -> tuple[str, int]:
    """The text of a polynomial, factored, and how many factors it has."""
    number, factors = factors_of(terms)
    mixed = next((k for k, factor in enumerate(factors) if len(factor) > 1), None)
    if number < 0 and mixed is not None:
        # The minus goes into the sum it came from.
        number, factors[mixed] = -number, _times(factors[mixed], -1)
    names = [factor[0][0][0] for factor in factors if len(factor) == 1]
    sums = [_polynomial(factor, script) for factor in factors if len(factor) > 1]
    if not sums:
        return _scaled(number, names, script), len(names) + (number != 1 or not names)
    if not names and number == 1 and len(sums) == 1:
        return sums[0], 1
    single = [_scaled(number, names, script)] if names or number != 1 else []
    parts = [*single, *(script.brackets(text) for text in sums)]
    return script.times(*parts), len(names) + len(sums) + (number != 1)


def factors_of(terms: Terms) -> tuple[int, list[Terms]]:
    """Split a polynomial, linear in each symbol, into a whole number and factors that cannot be split further.

    Two symbols belong to different factors exactly when p = a + b*x + c*y + d*x*y has a*d = b*c.
    """
    number, factors = _split(terms)
    return number, list(factors)


@lru_cache(maxsize=1024)
def _split(terms: Terms) -> tuple[int, tuple[Terms, ...]]:
    terms = tuple((_in_order(product), factor) for product, factor in terms)
    names = _in_order({name for product, _ in terms for name in product})
    groups = {name: {name} for name in names}
    for first, second in combinations(names, 2):
        if groups[first] is not groups[second] and not _separate(terms, first, second, names):
            groups[first] |= groups[second]
            for name in groups[second]:
                groups[name] = groups[first]
    content = gcd(*(factor for _, factor in terms)) * (1 if terms[0][1] > 0 else -1)
    whole = tuple((product, factor // content) for product, factor in terms)
    parts = [_part(whole, group) for group in {id(group): group for group in groups.values()}.values()]
    for sign in (1, -1):
        if dict(_times(_multiplied(parts), sign)) == dict(whole):
            return content * sign, tuple(parts)
    return content, (whole,)


def _separate(terms: Terms, first: str, second: str, names: Iterable[str]) -> bool:
    # At one point of a large prime field; the product of the factors found is compared with the whole afterwards.
    point = {name: pow(3, 1000 + 77 * k, _PRIME) for k, name in enumerate(names)}
    sums = {(False, False): 0, (True, False): 0, (False, True): 0, (True, True): 0}
    for product, factor in terms:
        for name in product:
            if name not in (first, second):
                factor = factor * point[name] % _PRIME
        sums[first in product, second in product] += factor
    return (sums[False, False] * sums[True, True] - sums[True, False] * sums[False, True]) % _PRIME == 0


def _part(terms: Terms, group: set[str]) -> Terms:
    """The factor in the symbols of a group: what stands beside one product of the other symbols."""
    beside = tuple(name for name in terms[0][0] if name not in group)
    part = [
        (tuple(name for name in product if name in group), factor)
        for product, factor in terms
        if tuple(name for name in product if name not in group) == beside
    ]
    content = gcd(*(factor for _, factor in part)) * (1 if part[0][1] > 0 else -1)
    return tuple(sorted(((product, factor // content) for product, factor in part), key=lambda item: _order(item[0])))


def _without_one(quotient: Quotient) -> Quotient | None:
    """The rest after taking 1 out, where that leaves a plain numerator."""
    rest = dict(quotient.numerator)
    for product, factor in quotient.denominator:
        rest[product] = rest.get(product, 0) - factor
    left = {product: factor for product, factor in rest.items() if factor}
    if 0 < len(left) <= min(_MOST_REST_TERMS, len(quotient.numerator) - 1):
        return cancelled(left, dict(quotient.denominator))
    return None


def _polynomial(terms: Terms, script: _Script) -> str:
    # A sum starts with what is added, not with what is taken off.
    lead = next((term for term in terms if term[1] > 0), terms[0])
    terms = (lead, *(term for term in terms if term is not lead))
    return _sum([(factor < 0, _scaled(abs(factor), product, script)) for product, factor in terms])


def _scaled(number: int, names: Iterable[str], script: _Script) -> str:
    product = script.product(names)
    if not product:
        return str(number)
    return product if number == 1 else script.times(str(number), product)


def _sum(texts: list[tuple[bool, str]]) -> str:
    (first_negative, first), *others = texts
    start = f"-{first}" if first_negative else first
    return start + "".join(f" - {text}" if negative else f" + {text}" for negative, text in others)
