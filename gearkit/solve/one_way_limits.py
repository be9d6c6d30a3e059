"""What one-way clutches forbid: inequalities between input and output speed, each with the clutches that bring it about.

Applied elements leave equations; a one-way clutch adds that its slip is not negative in its free direction. Eliminating
every other shaft (Fourier and Motzkin: one inequality with a plus and one with a minus, added so that the shaft drops
out) leaves inequalities between input and output alone. What was added up are the clutches, and by how much is their
torque: so an inequality names exactly the clutches that are loaded, each in the sense in which it can hold, when the
train runs up against it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import gcd

from gearkit.solve.exact.linear import Row, echelon
from gearkit.solve.loads.balance import sides_of
from gearkit.solve.mobility import element_rows, set_rows, shaft_columns
from gearkit.train.layout import Layout
from gearkit.words.terms import INPUT, OUTPUT

Clutches = frozenset[str]


@dataclass(frozen=True)
class Limits:
    """What input and output may do while the input turns forward or stands; speeds as multiples of the input's.

    Args:
        low: the lowest output speed at input speed 1; None where nothing keeps the output from running back.
        high: the highest output speed at input speed 1; None where nothing keeps it from running ahead.
        low_by: the fewest one-way clutches that set the lowest speed; empty where applied elements do so.
        high_by: the same of the highest speed.
        input_by: the fewest that keep the input from turning forward; None where it can turn.
        forward_by: the fewest that keep the output from turning forward while the input stands; None where it can.
        reverse_by: the same of turning in reverse.
    """

    low: Fraction | None
    high: Fraction | None
    low_by: Clutches
    high_by: Clutches
    input_by: Clutches | None
    forward_by: Clutches | None
    reverse_by: Clutches | None


@dataclass(frozen=True)
class _Bound:
    """``row`` times the speeds is not negative, because of these clutches."""

    row: Row
    by: Clutches


def limits(layout: Layout, applied: Sequence[str], senses: Mapping[str, int]) -> Limits:
    """Return what the one-way clutches leave free.

    Args:
        layout: the layout.
        applied: the elements that are applied, one-way clutches not among them.
        senses: one-way clutch -> the sense in which it can push its turning part, from `balance.push_sense`.
    """
    columns = shaft_columns(layout)
    inp, out = columns[INPUT], columns[OUTPUT]
    size = max(columns.values()) + 1
    done, pivots = echelon(set_rows(layout, columns) + element_rows(layout, columns, applied), size)
    bounds = []
    for name, sense in senses.items():
        row = _slip(layout, name, sense, columns, size)
        for base, pivot in zip(done, pivots, strict=True):
            if pivot not in (inp, out):
                row = _without(row, base if base[pivot] > 0 else [-value for value in base], pivot)
        bounds.append(_Bound(row, frozenset([name])))
    count = 0
    for column in range(size):
        if column not in (inp, out) and column not in pivots:
            count += 1
            # An inequality of more clutches than shafts were eliminated, and one, follows from the others (Kohler's
            # rule, from memory).
            bounds = [bound for bound in _eliminated(bounds, column) if len(bound.by) <= count + 1]
    for base, pivot in zip(done, pivots, strict=True):
        if pivot in (inp, out):
            bounds += [_Bound(base, frozenset()), _Bound([-value for value in base], frozenset())]
    return _limits(bounds, inp, out)


def _slip(layout: Layout, name: str, sense: int, columns: Mapping[str, int], size: int) -> Row:
    turning, other = sides_of(layout.element_named(name), columns)
    row = [0] * (size + 1)  # the last place gathers what falls on the housing
    row[columns[turning]] += sense
    row[columns[other]] -= sense
    return row[:size]


def _without(row: Row, base: Row, column: int) -> Row:
    """A row with a column cleared by adding a row that is positive there; its sense stays."""
    result = [base[column] * a - row[column] * b for a, b in zip(row, base, strict=True)]
    divisor = gcd(*result)
    return [value // divisor for value in result] if divisor > 1 else result


def _eliminated(bounds: Sequence[_Bound], column: int) -> list[_Bound]:
    ups = [bound for bound in bounds if bound.row[column] > 0]
    downs = [bound for bound in bounds if bound.row[column] < 0]
    rest = [bound for bound in bounds if not bound.row[column]]
    return rest + [_Bound(_without(down.row, up.row, column), up.by | down.by) for up in ups for down in downs]


def _limits(bounds: list[_Bound], inp: int, out: int) -> Limits:
    if inp == out:
        # Input and output are one shaft: the output does what the input does.
        nothing: Clutches = frozenset()
        stopped = _fewest(bound for bound in bounds if bound.row[inp] < 0)
        return Limits(Fraction(1), Fraction(1), nothing, nothing, stopped, nothing, nothing)
    low, low_by = _nearest([bound for bound in bounds if bound.row[out] > 0], inp, out, 1)
    high, high_by = _nearest([bound for bound in bounds if bound.row[out] < 0], inp, out, -1)
    return Limits(
        low, high, low_by, high_by,
        _fewest(bound for bound in _eliminated(bounds, out) if bound.row[inp] < 0),
        _fewest(bound for bound in bounds if bound.row[out] < 0),
        _fewest(bound for bound in bounds if bound.row[out] > 0),
    )  # fmt: skip


def _nearest(bounds: Sequence[_Bound], inp: int, out: int, side: int) -> tuple[Fraction | None, Clutches]:
    if not bounds:
        return None, frozenset()
    speeds = [Fraction(-bound.row[inp], bound.row[out]) for bound in bounds]
    value = max(speeds) if side > 0 else min(speeds)
    by = _fewest(bound for bound, speed in zip(bounds, speeds, strict=True) if speed == value)
    assert by is not None
    return value, by


def _fewest(bounds: Iterable[_Bound]) -> Clutches | None:
    return min((bound.by for bound in bounds), key=lambda by: (len(by), sorted(by)), default=None)
