"""Enough, too little or a contradiction: one elimination that carries what is given along.

Every given value is a column of its own. A row that keeps no unknown is a condition on given values alone: they are a
smallest set that hang together. An unknown left alone in its row is fixed, and that row tells by which given values.
This serves speeds and, with the equations transposed, torques.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from gearkit.solve.exact.linear import cleared_upwards, echelon, whole

Coefficients = Sequence[int | Fraction]


@dataclass(frozen=True)
class Given:
    """One given value.

    Args:
        name: what it is called.
        over: its coefficients over the unknowns: the value is their sum.
        value: how much.
    """

    name: str
    over: Coefficients
    value: Fraction


@dataclass(frozen=True)
class Fixed:
    """What given values fix.

    Args:
        values: per unknown its value, None where it is not fixed.
        by: per unknown {given: factor}, None where it is not fixed; empty where it is 0 whatever is given.
        conflict: given values that cannot all be; the first such set, empty where they agree. One alone must be 0.
        missing: how many more values are needed for the unknowns that count.
    """

    values: tuple[Fraction | None, ...]
    by: tuple[Mapping[str, Fraction] | None, ...]
    conflict: tuple[str, ...]
    missing: int

    @property
    def enough(self) -> bool:
        """Every unknown that counts is fixed, and nothing contradicts."""
        return not self.missing and not self.conflict


def fixed_by(rows: Sequence[Coefficients], unknowns: int, given: Sequence[Given], counting: Sequence[int]) -> Fixed:
    """Solve a homogeneous system with given values.

    Args:
        rows: coefficients over the unknowns; their sums are 0.
        unknowns: how many unknowns.
        given: the given values, in the order in which they were given.
        counting: the unknowns that must be fixed for it to be enough.
    """
    total = unknowns + len(given)
    place = {value.name: total - 1 - number for number, value in enumerate(given)}  # the latest given is cleared first
    matrix = [whole([*row, *([0] * len(given))]) for row in rows]
    for value in given:
        line = [*value.over, *([0] * len(given))]
        line[place[value.name]] = -1
        matrix.append(whole(line))
    done, pivots = echelon(matrix, total)
    values: list[Fraction | None] = [None] * unknowns
    by: list[Mapping[str, Fraction] | None] = [None] * unknowns
    amounts = {value.name: value.value for value in given}
    broken: list[tuple[str, ...]] = []
    cleared = cleared_upwards(done, pivots)
    for row, pivot in zip(cleared, pivots, strict=True):
        parts = {name: Fraction(-row[at], row[pivot]) for name, at in place.items() if at != pivot and row[at]}
        if pivot >= unknowns:
            own = next(name for name, at in place.items() if at == pivot)
            if amounts[own] != sum(factor * amounts[name] for name, factor in parts.items()):
                broken.append(tuple(name for name in place if name == own or name in parts))
        elif not any(row[column] for column in range(unknowns) if column != pivot):
            by[pivot] = parts
            values[pivot] = sum((factor * amounts[name] for name, factor in parts.items()), Fraction(0))
    rows_left = [row[:unknowns] for row, pivot in zip(cleared, pivots, strict=True) if pivot < unknowns]
    missing = len(counting) - _taken(rows_left, counting, unknowns)
    return Fixed(tuple(values), tuple(by), broken[0] if broken else (), missing)


def _taken(rows: list[list[int]], counting: Sequence[int], unknowns: int) -> int:
    """How many freedoms of the unknowns that count are taken: eliminate the others first, and count what is left."""
    others = [column for column in range(unknowns) if column not in counting]
    order = [*others, *counting]
    _, pivots = echelon([[row[column] for column in order] for row in rows], unknowns)
    return sum(pivot >= len(others) for pivot in pivots)
