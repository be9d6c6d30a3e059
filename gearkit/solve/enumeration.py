"""Every combination of elements with its verdict, fast: one elimination grows element by element, depth first.

The sets' equations are eliminated once. A combination differs from the one above it by one element, so its elimination
is that one's with one row more. Once nothing can turn, nothing can turn with more elements either, so the whole branch
is settled. All of it exact; the verdict at tooth counts without coincidences runs beside it, modulo a prime.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations as subsets

from gearkit.solve.exact.linear import Row, cleared, echelon, echelon_modulo
from gearkit.solve.mobility import PRIME, Mobility, element_rows, generic_weights, set_rows, shaft_columns
from gearkit.train.layout import Layout
from gearkit.words.terms import INPUT, OUTPUT, Verdict

Basis = dict[int, Row]


def all_combinations(layout: Layout, sizes: Iterable[int] | None = None) -> Iterator[tuple[tuple[str, ...], Mobility]]:
    """Yield every combination of elements with its verdict, smallest first.

    Args:
        layout: the layout.
        sizes: numbers of applied elements to look at; all of them, from none to every one, when left out.
    """
    names = [element.name for element in layout.elements]
    wanted = [size for size in (range(len(names) + 1) if sizes is None else sizes) if 0 <= size <= len(names)]
    if not wanted:
        return
    search = _Search(layout, max(wanted))
    search.run()
    for size in wanted:
        for chosen in subsets(range(len(names)), size):
            # The first element is the highest bit, so that all combinations that add later ones lie side by side.
            mask = sum(1 << (len(names) - 1 - number) for number in chosen)
            yield tuple(names[number] for number in chosen), search.mobilities[mask]


@dataclass(frozen=True)
class _System:
    """Equations in the columns that the sets leave free, those of output and input last."""

    start: Basis
    elements: list[Row]
    columns: int
    out: int
    inp: int


class _Search:
    def __init__(self, layout: Layout, most: int) -> None:
        names = [element.name for element in layout.elements]
        columns = shaft_columns(layout)
        own, of_elements = set_rows(layout, columns), element_rows(layout, columns, names)
        generic = set_rows(layout, columns, generic_weights(layout))
        ends = columns[OUTPUT], columns[INPUT]
        self.exact = _reduced(*echelon(own, len(own[0])), of_elements, ends, 0)
        self.generic = _reduced(*echelon_modulo(generic, PRIME), of_elements, ends, PRIME)
        self.count = len(names)
        self.most = most
        self.tie_up = Mobility(Verdict.TIE_UP, 0, 0, False, None, Verdict.TIE_UP)
        self.mobilities: list[Mobility] = [self.tie_up] * (1 << self.count)
        self.alike: dict[tuple[object, ...], Mobility] = {}

    def run(self) -> None:
        self._visit(0, 0, 0, self.exact.start, self.generic.start, False)

    def _visit(self, mask: int, first: int, size: int, basis: Basis, generic: Basis, dependent: bool) -> None:
        mobility = self._mobility(basis, generic, dependent)
        self.mobilities[mask] = mobility
        if mobility is self.tie_up or size == self.most:
            return
        for number in range(first, self.count):
            bit = 1 << (self.count - 1 - number)
            grown = _grown(basis, self.exact.elements[number], self.exact.columns)
            grown_generic = generic
            if mobility.generic_verdict is not Verdict.TIE_UP:
                row = self.generic.elements[number]
                grown_generic = _grown_modulo(generic, row, self.generic.columns) or generic
            self._visit(
                mask | bit, number + 1, size + 1, grown or basis, grown_generic, dependent or grown is None
            )  # fmt: skip

    def _mobility(self, basis: Basis, generic: Basis, dependent: bool) -> Mobility:
        verdict, ratio = _relation(basis, self.exact.out, self.exact.inp)
        generic_verdict, _ = _relation(generic, self.generic.out, self.generic.inp)
        freedom = self.exact.columns - len(basis)
        if verdict is Verdict.TIE_UP and not freedom and generic_verdict is Verdict.TIE_UP:
            return self.tie_up
        redundant = dependent and verdict is not Verdict.TIE_UP
        key = verdict, freedom, redundant, ratio, generic_verdict
        if key not in self.alike:
            self.alike[key] = Mobility(verdict, freedom, freedom - verdict.motions, redundant, ratio, generic_verdict)
        return self.alike[key]


def _reduced(done: list[Row], pivots: list[int], of_elements: list[Row], ends: tuple[int, int], prime: int) -> _System:
    """Clear the elements' rows of all that the sets fix, and drop those columns."""
    size = len(of_elements[0]) if of_elements else max(ends) + 1
    dropped = {pivot for pivot in pivots if pivot not in ends}
    kept = [column for column in range(size) if column not in dropped]
    rows = []
    for row in of_elements:
        for base, pivot in zip(done, pivots, strict=True):
            if pivot in dropped and row[pivot]:
                row = _cleared_modulo(row, base, pivot, prime) if prime else cleared(row, base, pivot)
        rows.append([row[column] for column in kept])
    start = {
        kept.index(pivot): [base[column] for column in kept] for base, pivot in zip(done, pivots, strict=True) if pivot in ends
    }
    if prime:
        start = {pivot: _unit(row, pivot, prime) for pivot, row in start.items()}
    return _System(start, rows, len(kept), kept.index(ends[0]), kept.index(ends[1]))


def _grown(basis: Basis, row: Row, columns: int) -> Basis | None:
    """The basis with one row more; None where the row says nothing new."""
    for column in range(columns):
        if row[column]:
            known = basis.get(column)
            if known is None:
                return {**basis, column: row}
            row = cleared(row, known, column)
    return None


def _grown_modulo(basis: Basis, row: Row, columns: int) -> Basis | None:
    for column in range(columns):
        if row[column]:
            known = basis.get(column)
            if known is None:
                return {**basis, column: _unit(row, column, PRIME)}
            factor = row[column]
            row = [(a - factor * b) % PRIME for a, b in zip(row, known, strict=True)]
    return None


def _cleared_modulo(row: Row, known: Row, column: int, prime: int) -> Row:
    factor = row[column] * pow(known[column], -1, prime)
    return [(a - factor * b) % prime for a, b in zip(row, known, strict=True)]


def _unit(row: Row, column: int, prime: int) -> Row:
    inverse = pow(row[column], -1, prime)
    return [value * inverse % prime for value in row]


def _relation(basis: Basis, out: int, inp: int) -> tuple[Verdict, Fraction | None]:
    """What the rows that hold nothing but output and input say of the two (as in `mobility`)."""
    if out == inp:
        return (Verdict.TIE_UP, None) if out in basis else (Verdict.RANGE, Fraction(1))
    low, high = basis.get(out), basis.get(inp)
    if low is None:
        return (Verdict.NEUTRAL, None) if high is None else (Verdict.INPUT_LOCKED, None)
    if high is not None:
        return Verdict.TIE_UP, None
    if not low[inp]:
        return Verdict.OUTPUT_LOCKED, None
    return Verdict.RANGE, Fraction(-low[out], low[inp])
