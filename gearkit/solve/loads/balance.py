"""Torque on every member and element of a range, for given losses.

Within one set the torques put on its members from outside stand as ``T_sun : T_ring : T_carrier = a : b' : -(a + b')``
with the set's weights a and b, and ``b' = b*eta**w``: eta is the basic efficiency, w = +1 where power rolls from sun to
ring as seen from the carrier, -1 where it rolls from ring to sun, 0 where nothing rolls. So a set has one unknown, an
applied element one, the output one; each permanent shaft gives one equation: what acts on it adds to zero. This is the
transpose of the speed equations with b replaced by b', and linear once the w are known (`losses` settles them).

Signs: a torque is what acts on a member from outside, positive in the input's sense. An element's torque is what it puts
on its turning part: on the member that a brake holds, on the first-named part of a clutch. Torques of input, output and
housing add to zero.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from gearkit.solve.exact.linear import solve
from gearkit.solve.mobility import shaft_columns
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT, FreeDirection

Torque = Fraction | None


@dataclass(frozen=True)
class Statics:
    """Torques in balance; None marks one that balance alone does not fix.

    Args:
        members: torque on every member of every set.
        elements: torque of every applied element on its turning part.
        output: torque on the output.
        housing: torque that the housing puts on the train, by brakes and by members joined to it for good.
    """

    members: dict[str, Torque]
    elements: dict[str, Torque]
    output: Torque
    housing: Torque

    @property
    def complete(self) -> bool:
        """Balance fixes every torque."""
        return None not in (*self.members.values(), *self.elements.values(), self.output, self.housing)


def balance(
    layout: Layout, engaged: Sequence[str], input_torque: Fraction, ring_factors: Mapping[str, Fraction]
) -> Statics | None:
    """Return the torques that are in balance, or None where none can be.

    Args:
        layout: the layout.
        engaged: names of the engaged elements.
        input_torque: torque on the input.
        ring_factors: set -> eta**w, by which its ring weight counts; 1 without losses.
    """
    columns = shaft_columns(layout)
    shafts = max(columns.values()) + 1
    shares = [_shares(layout, number, ring_factors) for number in range(len(layout.sets))]
    unknowns = len(shares) + len(engaged) + 1
    rows: list[list[Fraction | int]] = [[0] * unknowns for _ in range(shafts + 1)]  # the last row is the housing's
    for number, (pset, share) in enumerate(zip(layout.sets, shares, strict=True)):
        for member, part in share.items():
            rows[columns[f"{pset.name}.{member}"]][number] -= part
    for number, name in enumerate(engaged, start=len(shares)):
        turning, other = sides_of(layout.element_named(name), columns)
        rows[columns[turning]][number] += 1
        rows[columns[other]][number] -= 1
    rows[columns[OUTPUT]][-1] += 1
    sides: list[Fraction | int] = [0] * shafts
    sides[columns[INPUT]] -= input_torque
    values = solve(rows[:shafts], sides)
    if values is None:
        return None
    return _statics(layout, engaged, shares, values, columns)


def sides_of(element: Element, columns: Mapping[str, int]) -> tuple[str, str]:
    """Return an element's turning part, on which its torque is counted, and the part that takes the reaction.

    Args:
        element: the element.
        columns: from `mobility.shaft_columns`.
    """
    first, second = element.between
    # A part joined to the housing for good cannot turn, whatever it is called.
    return (second, first) if columns[first] == -1 else (first, second)


def push_sense(element: Element, columns: Mapping[str, int], free: FreeDirection | None = None) -> int:
    """Return the sense in which a one-way clutch can push its turning part: +1 forward, -1 reverse.

    A clutch that lets a part run forward keeps it from running backward, so what it puts on it acts forward.

    Args:
        element: the one-way clutch.
        columns: from `mobility.shaft_columns`.
        free: the way in which its first part may turn, in place of its own.
    """
    sense = 1 if (free or element.free_direction) is FreeDirection.FORWARD else -1
    return sense if sides_of(element, columns)[0] == element.between[0] else -sense


def _shares(layout: Layout, number: int, ring_factors: Mapping[str, Fraction]) -> dict[str, Fraction | int]:
    pset = layout.sets[number]
    sun, ring = pset.weights
    factor = ring_factors.get(pset.name, Fraction(1))
    rolled = ring if factor == 1 else ring * factor
    return {"sun": sun, "carrier": -(sun + rolled), "ring": rolled}


def _statics(
    layout: Layout,
    engaged: Sequence[str],
    shares: Sequence[Mapping[str, Fraction | int]],
    values: Sequence[Torque],
    columns: Mapping[str, int],
) -> Statics:
    members: dict[str, Torque] = {}
    for pset, share, value in zip(layout.sets, shares, values, strict=False):
        for member in MEMBERS:
            # A carrier whose share is 0 (equal and opposite weights) carries nothing, however large the unknown is.
            known = Fraction(0) if not share[member] else None if value is None else share[member] * value
            members[f"{pset.name}.{member}"] = known
    elements = dict(zip(engaged, values[len(shares) : -1], strict=True))
    holding = [elements[name] for name in engaged if columns[sides_of(layout.element_named(name), columns)[1]] == -1]
    holding += [members[member] for member in layout.members if columns[member] == columns[HOUSING]]
    total: Torque = Fraction(0)
    for torque in holding:
        total = None if total is None or torque is None else total + torque
    return Statics(members, elements, values[-1], total)
