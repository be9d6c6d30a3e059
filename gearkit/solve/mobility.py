"""The verdict on a combination of applied elements, by exact rank and before any ratio.

Counting freedoms is a first guess only: two clutches may say the same thing, two brakes may lock just one end. So all
shafts but input and output are eliminated; what is left is a relation between the two:

* none: they are independent, **neutral**;
* one with both in it: **range**, and the relation is the ratio;
* one with the input alone: **input locked**; with the output alone: **output locked**;
* two: neither can turn, **tie-up**.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from gearkit.solve.exact.linear import echelon, echelon_modulo, rank
from gearkit.train.drivers import refuse_several
from gearkit.train.layout import Layout
from gearkit.words.say import say
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, ElementKind, PinionKind, Verdict

PRIME = (1 << 61) - 1


@dataclass(frozen=True)
class Mobility:
    """What a combination of applied elements leaves free.

    Args:
        verdict: neutral, range, input locked, output locked or tie-up.
        freedom: number of independent motions left.
        idle_freedom: those that move neither input nor output.
        redundant: the elements are more than is needed and do not contradict each other; how they share torque is then undetermined.
        ratio: input speed / output speed when the verdict is range, else None.
        generic_verdict: the verdict at tooth counts without coincidences; it differs only in special designs.
    """

    verdict: Verdict
    freedom: int
    idle_freedom: int
    redundant: bool
    ratio: Fraction | None
    generic_verdict: Verdict


def checked(layout: Layout, engaged: Iterable[str]) -> tuple[str, ...]:
    """Return the names of applied elements in the layout's order.

    Args:
        layout: the layout.
        engaged: names of elements; order and repetition do not matter.

    Raises:
        UsageError: the layout has no such element.
    """
    wanted = set(engaged)
    for name in sorted(wanted):
        layout.element_named(name)
    return tuple(element.name for element in layout.elements if element.name in wanted)


def applied_words(layout: Layout, engaged: Sequence[str]) -> str:
    """Return "A, B applied", and what holds by itself besides: "A, B applied and F holding".

    Args:
        layout: the layout.
        engaged: names of the engaged elements and of one-way clutches that hold.
    """
    by_itself = [n for n in engaged if layout.element_named(n).kind is ElementKind.ONE_WAY_CLUTCH]
    applied = ", ".join(name for name in engaged if name not in by_itself) or say("nothing")
    if by_itself:
        return say("{applied} applied and {holding} holding", applied=applied, holding=", ".join(by_itself))
    return say("{applied} applied", applied=applied)


def shaft_columns(layout: Layout) -> dict[str, int]:
    """Return the column of every member's permanent shaft; -1 is the housing, which stands still.

    Input and output come last, so that elimination leaves the relation between them.

    Raises:
        UsageError: the layout has more than one input and one output; `gearkit.solve.several` answers for such a one.
    """
    columns = layout.worked_out.get("columns")
    if columns is None:
        columns = layout.worked_out["columns"] = _columns(layout)
    return dict[str, int](columns)


def _columns(layout: Layout) -> dict[str, int]:
    refuse_several(layout)
    groups = layout.groups
    ends = [groups.name_of(OUTPUT), groups.name_of(INPUT)]
    order = [groups.name_of(member) for member in (*layout.members, OUTPUT, INPUT)]
    others = [name for name in dict.fromkeys(order) if name not in ends and name != groups.name_of(HOUSING)]
    columns = {name: number for number, name in enumerate(dict.fromkeys([*others, *ends]))}
    columns[groups.name_of(HOUSING)] = -1
    return {member: columns[groups.name_of(member)] for member in (*layout.members, HOUSING, INPUT, OUTPUT)}


def set_rows(layout: Layout, columns: dict[str, int], weights: Sequence[tuple[int, int]] | None = None) -> list[list[int]]:
    """Return the speed equation of each set over the permanent shafts.

    Args:
        layout: the layout.
        columns: from `shaft_columns`.
        weights: (a, b) per set in place of the layout's own.
    """
    size = max(columns.values()) + 1
    rows = []
    for pset, (sun, ring) in zip(layout.sets, weights or [p.weights for p in layout.sets], strict=True):
        row = [0] * (size + 1)  # the last place gathers what falls on the housing
        row[columns[f"{pset.name}.sun"]] += sun
        row[columns[f"{pset.name}.ring"]] += ring
        row[columns[f"{pset.name}.carrier"]] -= sun + ring
        rows.append(row[:size])
    return rows


def element_rows(layout: Layout, columns: dict[str, int], engaged: Sequence[str]) -> list[list[int]]:
    """Return one equation per applied element: its two shafts turn alike.

    Args:
        layout: the layout.
        columns: from `shaft_columns`.
        engaged: names of the engaged elements.
    """
    size = max(columns.values()) + 1
    rows = []
    for name in engaged:
        first, second = layout.element_named(name).between
        row = [0] * (size + 1)
        row[columns[first]] += 1
        row[columns[second]] -= 1
        rows.append(row[:size])
    return rows


def assess(layout: Layout, engaged: Iterable[str]) -> Mobility:
    """Return the verdict on a combination of applied elements.

    Args:
        layout: the layout.
        engaged: names of the engaged elements, in any order.

    Raises:
        UsageError: the layout has no such element.

    >>> from gearkit.train.catalogue import find
    >>> str(assess(find("Q36"), ["A", "C"]).ratio)
    '152/59'
    """
    names = checked(layout, engaged)
    if names not in layout.worked_out:
        layout.worked_out[names] = _assessed(layout, names)
    mobility: Mobility = layout.worked_out[names]
    return mobility


def _assessed(layout: Layout, names: tuple[str, ...]) -> Mobility:
    columns = shaft_columns(layout)
    size = max(columns.values()) + 1
    own_rows, engaged_rows = set_rows(layout, columns), element_rows(layout, columns, names)
    done, pivots = echelon(own_rows + engaged_rows, size)
    verdict, ratio = _relation(done, pivots, columns[OUTPUT], columns[INPUT])
    freedom = size - len(pivots)
    dependent = rank(own_rows) + len(engaged_rows) > len(pivots)
    return Mobility(
        verdict,
        freedom,
        freedom - verdict.motions,
        dependent and verdict is not Verdict.TIE_UP,
        ratio,
        _generic_verdict(layout, columns, engaged_rows),
    )


def _relation(done: list[list[int]], pivots: list[int], out: int, inp: int) -> tuple[Verdict, Fraction | None]:
    ends = [row for row, pivot in zip(done, pivots, strict=True) if pivot in (out, inp)]
    if out == inp:
        return (Verdict.TIE_UP, None) if ends else (Verdict.RANGE, Fraction(1))
    if not ends:
        return Verdict.NEUTRAL, None
    if len(ends) == 2:
        return Verdict.TIE_UP, None
    out_part, in_part = ends[0][out], ends[0][inp]
    if not out_part:
        return Verdict.INPUT_LOCKED, None
    if not in_part:
        return Verdict.OUTPUT_LOCKED, None
    return Verdict.RANGE, Fraction(-out_part, in_part)


def generic_weights(layout: Layout) -> list[tuple[int, int]]:
    """Return weights (a, b) for every set without coincidences: large numbers, always the same.

    A bevel set has no tooth counts to vary: its side gears are equal by definition.
    """
    return list(
        _without_coincidences(tuple(pset.weights if pset.pinions is PinionKind.BEVEL else None for pset in layout.sets))
    )


@lru_cache(maxsize=64)
def _without_coincidences(fixed: tuple[tuple[int, int] | None, ...]) -> tuple[tuple[int, int], ...]:
    draw = random.Random("generic tooth counts")
    return tuple(given or (draw.randrange(1, PRIME), draw.randrange(1, PRIME)) for given in fixed)


def _generic_verdict(layout: Layout, columns: dict[str, int], engaged_rows: list[list[int]]) -> Verdict:
    rows = set_rows(layout, columns, generic_weights(layout)) + engaged_rows
    return _of_rows(tuple(map(tuple, rows)), columns[OUTPUT], columns[INPUT])


@lru_cache(maxsize=4096)
def _of_rows(rows: tuple[tuple[int, ...], ...], out: int, inp: int) -> Verdict:
    """The same for every draw of a layout's tooth counts, so it is worked out once."""
    return _relation(*echelon_modulo(rows, PRIME), out, inp)[0]
