"""Numerator and denominator of a ratio as tables of determinants, by Cramer's rule on the merged train.

Merging what the joins and the applied elements join leaves one speed equation per working set,
``a*(w_sun - w_carrier) + b*(w_ring - w_carrier) = 0``, linear in that set's own weights a and b only. So the coefficient
of each product "a or b of each set" is a determinant of small whole numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations as subsets

from gearkit.solve.exact.common_factor import Table, without_common_factor
from gearkit.solve.exact.linear import determinant
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.train.shafts import ShaftGroups
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT

# What one unit of the set's sun weight a and ring weight b contributes to a member's place in its speed equation.
_PLACES = {"sun": (1, 0), "ring": (0, 1), "carrier": (-1, -1)}
_PROBE = ((3, 7), (5, 11), (13, 29), (17, 43), (19, 53), (23, 61), (31, 83), (37, 101))


def merged(layout: Layout, engaged: Sequence[str]) -> tuple[ShaftGroups, list[PlanetarySet]]:
    """Merge what the applied elements join; a set with two members on one shaft turns as a block.

    Args:
        layout: the layout.
        engaged: names of the engaged elements.

    Returns:
        The shafts after merging, and the sets that do not turn as a block.
    """
    groups = layout.groups.copy()
    for name in engaged:
        groups.join(*layout.element_named(name).between)
    working, changed = list(layout.sets), True
    while changed:
        changed = False
        for pset in list(working):
            own = [f"{pset.name}.{member}" for member in MEMBERS]
            if len({groups.name_of(member) for member in own}) < len(MEMBERS):
                groups.join(own[0], own[1])
                groups.join(own[0], own[2])
                working.remove(pset)
                changed = True
    return groups, working


def working_tables(
    layout: Layout, engaged: Sequence[str], output: str = OUTPUT
) -> tuple[list[PlanetarySet], Table, Table] | None:
    """Return numerator and denominator of the ratio input speed / output speed in the weights of the working sets.

    Args:
        layout: the layout.
        engaged: names of the engaged elements.
        output: the member, or "output", whose speed the ratio is taken to.

    Returns:
        The sets that the ratio depends on and the two tables over them; None where no formula stands for the ratio.
    """
    groups, working = merged(layout, engaged)
    inp, out, ground = (groups.name_of(shaft) for shaft in (INPUT, output, HOUSING))
    if ground in (inp, out):
        return None
    if inp == out:
        return [], {0: 1}, {0: 1}
    equations = [speed_equation(pset, groups, ground) for pset in working]
    for size in range(1, len(working) + 1):
        for chosen in subsets(range(len(working)), size):
            rows = [equations[k] for k in chosen]
            unknowns = sorted({shaft for row in rows for shaft in row} - {inp})
            if out in unknowns and len(unknowns) == size and determinant(probed(rows, unknowns)):
                top, bottom, left = without_common_factor(*_tables(rows, unknowns, inp, out), size)
                return [working[chosen[k]] for k in left], top, bottom
    return None


Equation = dict[str, tuple[int, int]]


def speed_equation(pset: PlanetarySet, groups: ShaftGroups, ground: str) -> Equation:
    """Return a set's speed equation: shaft -> what its sun weight and its ring weight multiply.

    Args:
        pset: the set.
        groups: the shafts after merging.
        ground: the name of the housing's.
    """
    row: Equation = {}
    for member, (sun, ring) in _PLACES.items():
        shaft = groups.name_of(f"{pset.name}.{member}")
        if shaft != ground:
            row[shaft] = (sun, ring)
    return row


def probed(rows: Sequence[Equation], unknowns: Sequence[str]) -> list[list[int]]:
    """Return the equations at weights of their own, to see whether they can be solved in general.

    Args:
        rows: the equations.
        unknowns: the shafts to solve for.
    """
    # Any weights without coincidences show whether these equations can be solved in general.
    return [
        [row.get(shaft, (0, 0))[0] * sun + row.get(shaft, (0, 0))[1] * ring for shaft in unknowns]
        for row, (sun, ring) in zip(rows, _PROBE, strict=False)
    ]


def _tables(rows: Sequence[Equation], unknowns: Sequence[str], inp: str, out: str) -> tuple[Table, Table]:
    """Cramer's rule for the output at input speed 1, one determinant per product of weights."""
    place = unknowns.index(out)
    numerator: Table = {}
    denominator: Table = {}
    for mask in range(1 << len(rows)):
        bits = [mask >> k & 1 for k in range(len(rows))]
        square = [[row.get(shaft, (0, 0))[bit] for shaft in unknowns] for row, bit in zip(rows, bits, strict=True)]
        if value := determinant(square):
            numerator[mask] = value
        for line, row, bit in zip(square, rows, bits, strict=True):
            line[place] = -row.get(inp, (0, 0))[bit]
        if value := determinant(square):
            denominator[mask] = value
    return numerator, denominator
