"""Ratios of ranges: one pair of small whole-number tables for the formula, the exact value and arrays.

Numerator and denominator are linear in every set's weights (`cramer` says why), so each is a small table of whole
numbers, worked out once per range.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from typing import Any

from gearkit.solve.enumeration import all_combinations
from gearkit.solve.exact.cramer import merged, working_tables
from gearkit.solve.exact.formula import Product, Quotient, cancelled
from gearkit.solve.mobility import Mobility, assess, checked
from gearkit.solve.one_way import Working, in_range, one_way_clutches, working
from gearkit.train.layout import Layout
from gearkit.words.terms import HOUSING, PinionKind, Verdict


@dataclass(frozen=True)
class Ratio:
    """The ratio input speed / output speed of a range.

    Args:
        exact: the value at the layout's tooth counts.
        sets: names of the sets that the ratio depends on, in the layout's order.
        numerator: {which sets give their ring weight, as bits over `sets`: coefficient}.
        denominator: the same.
        symbols: per set of `sets`: (sign and symbols of the sun weight, of the ring weight).
    """

    exact: Fraction
    sets: tuple[str, ...]
    numerator: Mapping[int, int]
    denominator: Mapping[int, int]
    symbols: tuple[tuple[tuple[int, Product], tuple[int, Product]], ...]

    @property
    def decimal(self) -> float:
        """The exact value as a decimal number, for showing."""
        return float(self.exact)

    @cached_property
    def quotient(self) -> Quotient:
        """Numerator and denominator in tooth symbols, cancelled."""
        return cancelled(products_of(self.numerator, self.symbols), products_of(self.denominator, self.symbols))

    @property
    def formula(self) -> str:
        """The ratio in tooth symbols, in Python's notation: S1, R1 for the first set and so on."""
        return self.quotient.text()

    def latex(self) -> str:
        """Return the ratio in tooth symbols, in LaTeX."""
        return self.quotient.latex()

    def expression(self) -> Any:
        """Return the ratio as a SymPy expression in positive tooth symbols."""
        import sympy

        def polynomial(terms: Iterable[tuple[Product, int]]) -> Any:
            return sum(
                (factor * sympy.prod([sympy.Symbol(name, positive=True) for name in names]) for names, factor in terms),
                sympy.Integer(0),
            )

        return sympy.cancel(polynomial(self.quotient.numerator) / polynomial(self.quotient.denominator))

    def at(self, weights: Mapping[str, tuple[Any, Any]]) -> tuple[Any, Any]:
        """Return numerator and denominator at other weights: whole numbers, fractions or arrays.

        A denominator of 0 says that there is no ratio there. Numbers and arrays of int64 stay exact as long as
        the largest tooth count to the power of the number of sets stays below 2**63.

        Args:
            weights: set -> (sun weight, ring weight); for a single-pinion set its tooth counts. Sets that the ratio
                does not depend on may be given as well.
        """
        pairs = [weights[name] for name in self.sets]
        numerator, denominator = self._halves
        return _value(numerator, pairs, len(pairs)), _value(denominator, pairs, len(pairs))

    @cached_property
    def _halves(self) -> tuple[Any, Any]:
        """Both tables, split for `_value`."""
        return _halved(self.numerator, len(self.sets)), _halved(self.denominator, len(self.sets))


def products_of(
    table: Mapping[int, int], symbols: Sequence[tuple[tuple[int, Product], tuple[int, Product]]]
) -> dict[Product, int]:
    """Return a table over sets as {product of tooth symbols: coefficient}.

    Args:
        table: {which sets give their ring weight, as bits: coefficient}.
        symbols: per set: (sign and symbols of the sun weight, of the ring weight).
    """
    products: dict[Product, int] = {}
    for mask, factor in table.items():
        names: Product = ()
        for bit, weight_symbols in enumerate(symbols):
            sign, own = weight_symbols[mask >> bit & 1]
            factor *= sign
            names += own
        products[names] = products.get(names, 0) + factor
    return products


def _halved(table: Mapping[int, int], sets: int) -> Any:
    """A table as what its last set's sun weight multiplies and what its ring weight does, and so on; None for nothing."""
    if not sets:
        return table.get(0, 0)
    last = 1 << sets - 1
    low = {mask: factor for mask, factor in table.items() if not mask & last}
    high = {mask ^ last: factor for mask, factor in table.items() if mask & last}
    return _halved(low, sets - 1) if low else None, _halved(high, sets - 1) if high else None


def _value(halves: Any, pairs: Sequence[tuple[Any, Any]], sets: int) -> Any:
    if not sets:
        return halves
    (low, high), (sun, ring) = halves, pairs[sets - 1]
    total: Any = 0
    if low is not None:
        total = total + _value(low, pairs, sets - 1) * sun
    if high is not None:
        total = total + _value(high, pairs, sets - 1) * ring
    return total


def ratio(layout: Layout, engaged: Iterable[str]) -> Ratio | None:
    """Return the ratio of a combination of applied elements, or None where its verdict is not range.

    Args:
        layout: the layout.
        engaged: names of the engaged elements.

    Raises:
        UsageError: the layout has no such element.

    >>> from gearkit.train.catalogue import find
    >>> ratio(find("Q36"), ["A", "C"]).formula
    '1 + R3/S3'
    """
    names = checked(layout, engaged)
    return ratio_of(layout, names, assess(layout, names))


def ratio_of(layout: Layout, engaged: Sequence[str], mobility: Mobility) -> Ratio | None:
    """Return the ratio of a combination whose verdict is known.

    Args:
        layout: the layout.
        engaged: names of the engaged elements.
        mobility: the verdict on them.
    """
    if mobility.verdict is not Verdict.RANGE:
        return None
    assert mobility.ratio is not None
    system = working_tables(layout, engaged)
    if system is None:
        # The range exists at these very tooth counts only, so no formula in tooth symbols can stand for it.
        value = mobility.ratio
        return Ratio(value, (), {0: value.numerator}, {0: value.denominator}, ())
    sets, numerator, denominator = system
    symbols = tooth_symbols(layout)
    formula = Ratio(mobility.ratio, tuple(p.name for p in sets), numerator, denominator, tuple(symbols[p.name] for p in sets))
    top, bottom = formula.at({pset.name: pset.weights for pset in sets})
    if not bottom or Fraction(top, bottom) != mobility.ratio:
        value = mobility.ratio
        return Ratio(value, (), {0: value.numerator}, {0: value.denominator}, ())
    return formula


def symbol_suffixes(layout: Layout) -> dict[str, str]:
    """Return the number behind S and R for each set: its own digits, for a set without any the least number that is free.

    Where two sets have the same digits, each has its place.

    Args:
        layout: the layout.
    """
    digits = ["".join(c for c in pset.name if c.isdigit()) for pset in layout.sets]
    own = [number for number in digits if number]
    if len(set(own)) < len(own):
        digits = [str(number) for number in range(1, len(layout.sets) + 1)]
    free = (str(number) for number in itertools.count(1) if str(number) not in own)
    return {pset.name: suffix or next(free) for pset, suffix in zip(layout.sets, digits, strict=True)}


def tooth_symbols(layout: Layout) -> dict[str, tuple[tuple[int, Product], tuple[int, Product]]]:
    """Return each set's weights as (sign, symbols).

    S and R are the tooth counts of sun and ring; P and Q those of the pinions of a stepped planet that mesh with the
    sun and with the ring.

    Args:
        layout: the layout.
    """
    symbols: dict[str, tuple[tuple[int, Product], tuple[int, Product]]] = {}
    for pset in layout.sets:
        suffix = symbol_suffixes(layout)[pset.name]
        match pset.pinions:
            case PinionKind.SINGLE:
                symbols[pset.name] = (1, (f"S{suffix}",)), (1, (f"R{suffix}",))
            case PinionKind.DOUBLE:
                symbols[pset.name] = (-1, (f"S{suffix}",)), (1, (f"R{suffix}",))
            case PinionKind.STEPPED:
                symbols[pset.name] = (1, (f"S{suffix}", f"Q{suffix}")), (1, (f"R{suffix}", f"P{suffix}"))
            case PinionKind.BEVEL:
                symbols[pset.name] = (1, ()), (1, ())
    return symbols


def speed_formula(layout: Layout, engaged: Sequence[str], member: str) -> Quotient | None:
    """Return a member's speed as a multiple of the input's, in tooth symbols; None where no formula stands for it.

    The speed is the reciprocal of the ratio that the train would have with that member for its output.

    Args:
        layout: the layout.
        engaged: names of the engaged elements.
        member: such as "P3.carrier", or "output".
    """
    groups, _ = merged(layout, engaged)
    if groups.name_of(member) == groups.name_of(HOUSING):
        return Quotient((), (((), 1),))
    system = working_tables(layout, engaged, member)
    if system is None:
        return None
    sets, numerator, denominator = system
    symbols = tooth_symbols(layout)
    inverse = Ratio(
        Fraction(0), tuple(p.name for p in sets), numerator, denominator, tuple(symbols[p.name] for p in sets)
    ).quotient
    return cancelled(dict(inverse.denominator), dict(inverse.numerator))


@dataclass(frozen=True)
class RangeRow:
    """One row of a ratio chart.

    Args:
        name: the range's name.
        engaged: the elements that it lists.
        state: what they do, once the one-way clutches have taken hold or let go.
        ratio: its ratio, None where the verdict is not range.
        step: this ratio / that of the next higher range; None for the top range, reverse and what is no range.
    """

    name: str
    engaged: tuple[str, ...]
    state: Working
    ratio: Ratio | None
    step: Fraction | None = None

    @property
    def mobility(self) -> Mobility:
        """The verdict, in drive."""
        return self.state.mobility

    @property
    def one_way_note(self) -> str | None:
        """What one-way clutches make of the elements listed; None where they do as listed."""
        return self.state.note


@dataclass(frozen=True)
class RatioChart:
    """All ranges of a layout.

    Args:
        layout: the layout.
        rows: in the layout's order.
        spread: highest forward ratio / lowest forward ratio; None with fewer than two.
    """

    layout: Layout
    rows: tuple[RangeRow, ...]
    spread: Fraction | None

    @property
    def forward(self) -> tuple[RangeRow, ...]:
        """Rows with a forward ratio, highest ratio first, one row per ratio."""
        return _forward(self.rows)


def chart(layout: Layout) -> RatioChart:
    """Return verdict, ratio and step of every range of a layout, and its spread.

    Args:
        layout: the layout.
    """
    if "chart" not in layout.worked_out:
        layout.worked_out["chart"] = _chart(layout)
    known: RatioChart = layout.worked_out["chart"]
    return known


def _chart(layout: Layout) -> RatioChart:
    rows = [_row(item.name, item.engaged, in_range(layout, item.name)) for item in layout.ranges]
    ladder = [row.ratio.exact for row in _forward(rows) if row.ratio]
    below = dict(itertools.pairwise(ladder))
    stepped = tuple(
        replace(row, step=row.ratio.exact / below[row.ratio.exact]) if row.ratio and row.ratio.exact in below else row
        for row in rows
    )
    return RatioChart(layout, stepped, ladder[0] / ladder[-1] if len(ladder) > 1 else None)


def _row(name: str, engaged: tuple[str, ...], state: Working) -> RangeRow:
    return RangeRow(name, engaged, state, ratio_of(state.layout, state.engaged, state.mobility))


def _forward(rows: Iterable[RangeRow]) -> tuple[RangeRow, ...]:
    by_ratio: dict[Fraction, RangeRow] = {}
    for row in rows:
        if row.ratio and row.ratio.exact > 0:
            by_ratio.setdefault(row.ratio.exact, row)
    return tuple(by_ratio[value] for value in sorted(by_ratio, reverse=True))


def names_by_ratio(layout: Layout) -> dict[Fraction, str]:
    """Return ratio -> the first range that has it."""
    names: dict[Fraction, str] = {}
    for item in layout.ranges:
        value = in_range(layout, item.name).ratio
        if value is not None:
            names.setdefault(value, item.name)
    return names


def combinations(layout: Layout, sizes: Iterable[int] | None = None) -> Iterator[tuple[tuple[str, ...], Mobility]]:
    """Return every combination of elements with its verdict, smallest first.

    Args:
        layout: the layout.
        sizes: numbers of applied elements to look at; all of them, from none to every one, when left out.
    """
    return all_combinations(layout, sizes)


def combination_rows(layout: Layout) -> Iterator[RangeRow]:
    """Return every combination of elements as a row with its ratio, smallest first, under the name of its range if any.

    Nobody applies a one-way clutch, so two combinations that differ in one-way clutches alone do the same.

    Args:
        layout: the layout.
    """
    acting = one_way_clutches(layout)
    named = {frozenset(item.engaged): item.name for item in layout.ranges}
    judged: dict[tuple[str, ...], Working] = {}
    for engaged, mobility in combinations(layout):
        listed = tuple(name for name in engaged if name in acting)
        applied = tuple(name for name in engaged if name not in acting)
        if not listed:
            # Fewer elements come first, so a combination without one-way clutches is met before those with them.
            judged[applied] = working(layout, applied, known=mobility)
        yield _row(named.get(frozenset(engaged), ""), engaged, replace(judged[applied], listed=listed))


def driving_rows(layout: Layout) -> tuple[RangeRow, ...]:
    """Return every combination of elements that drives, highest ratio first and reverse last, each with a name.

    Combinations that say the same thing twice, or that list one-way clutches, which nobody applies, are left out.

    Args:
        layout: the layout.
    """
    by_itself = set(one_way_clutches(layout))
    rows = [
        row
        for row in combination_rows(layout)
        if row.ratio and not row.mobility.redundant and not by_itself.intersection(row.engaged)
    ]
    rows.sort(
        key=lambda row: (
            (row.ratio.exact < 0, -row.ratio.exact if row.ratio.exact > 0 else row.ratio.exact) if row.ratio else (True, 0)
        )
    )
    steps: dict[Fraction, list[RangeRow]] = {}
    for row in rows:
        assert row.ratio is not None
        steps.setdefault(row.ratio.exact, []).append(row)
    forward = sum(value > 0 for value in steps)
    named = []
    for place, alike in enumerate(steps.values()):
        backward = place - forward
        own = str(place + 1) if backward < 0 else "R" + (str(backward + 1) if backward else "")
        # Other combinations with the same ratio get a number behind: 3, 3-2, 3-3.
        named += [replace(row, name=own + (f"-{number + 1}" if number else "")) for number, row in enumerate(alike)]
    return tuple(named)
