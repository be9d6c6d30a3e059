"""The wiring task behind a stick diagram: which shafts there are and how each member can be reached.

The drawing plane is a coarse grid. Columns: a gap of slots, a set, a gap, a set and so on. Rows, from the axis
upwards: inner lanes (shafts inside one another), sun, pin, ring, outer lanes (drums), housing. Every shaft has at most
one inner and one outer lane. A member reaches them by one of a few *ports*: straight up or down, round the side, or
level across to the same member of the set on its left.
"""

from __future__ import annotations

from dataclasses import dataclass

from gearkit.train.layout import Layout
from gearkit.words.terms import INPUT, MEMBERS, OUTPUT, PinionKind

SET_COLUMNS = 5
MIDDLE = 2
SUN_ROW, PIN_ROW, RING_ROW = 0, 1, 2
INNER, OUTER = 0, 1


@dataclass(frozen=True)
class Port:
    """One way to reach a member.

    Args:
        name: short name, kept in stored placements.
        arms: level pieces (gear row, first column, last column), columns counted from the set's middle.
        legs: upright pieces (column, INNER or OUTER, gear row where it starts).
        row: gear row of a level link to the set on the left; None for a port of its own.
    """

    name: str
    arms: tuple[tuple[int, int, int], ...] = ()
    legs: tuple[tuple[int, int, int], ...] = ()
    row: int | None = None


def _arm(name: str, row: int, reach: int) -> Port:
    """A port with one side arm for every "L" or "R" in the name, each going "d" (down) or "u" (up)."""
    arms, legs = [], []
    for side, way in zip(name[0::2], name[1::2], strict=True):
        column = reach if side == "R" else -reach
        arms.append((row, min(0, column), max(0, column)))
        legs.append((column, OUTER if way == "u" else INNER, row))
    return Port(name, tuple(arms), tuple(legs))


_SUN = (Port("d", legs=((0, INNER, SUN_ROW),)), Port("across", row=SUN_ROW))
_CARRIER = (*(_arm(name, PIN_ROW, 1) for name in ("Ld", "Rd", "Lu", "Ru", "LdRu", "LuRd")), Port("across", row=PIN_ROW))
_RING = (
    Port("u", legs=((0, OUTER, RING_ROW),)),
    _arm("Ld", RING_ROW, 2),
    _arm("Rd", RING_ROW, 2),
    Port("uLd", ((RING_ROW, -2, 0),), ((0, OUTER, RING_ROW), (-2, INNER, RING_ROW))),
    Port("uRd", ((RING_ROW, 0, 2),), ((0, OUTER, RING_ROW), (2, INNER, RING_ROW))),
    Port("across", row=RING_ROW),
)
# The side gears of a bevel set sit left and right on the axis, its pinion pin points outwards.
_BEVEL = {
    "sun": (Port("d", legs=((-1, INNER, SUN_ROW),)), Port("Lu", ((SUN_ROW, -2, -1),), ((-2, OUTER, SUN_ROW),))),
    "carrier": (Port("u", legs=((0, OUTER, RING_ROW),)), _arm("Ld", RING_ROW, 2), _arm("Rd", RING_ROW, 2)),
    "ring": (Port("d", legs=((1, INNER, SUN_ROW),)), Port("Ru", ((SUN_ROW, 1, 2),), ((2, OUTER, SUN_ROW),))),
}
_GEARED = {"sun": _SUN, "carrier": _CARRIER, "ring": _RING}


def ports_of(pinions: PinionKind, member: str) -> tuple[Port, ...]:
    """Return the ways to reach a member.

    Args:
        pinions: kind of the set.
        member: "sun", "carrier" or "ring".
    """
    return (_BEVEL if pinions is PinionKind.BEVEL else _GEARED)[member]


@dataclass(frozen=True)
class Nets:
    """The shafts of a layout as nets to be wired; numbers are those of ``layout.shafts``, 0 is the housing.

    Args:
        kinds: kind of every set.
        members: net of every member, three a set, in the order sun, carrier, ring; -1 where nothing hangs on it.
        grounded: for every member, whether it is joined to the housing for good.
        elements: the two nets of every element; 0 for the housing.
        input: net of the input.
        output: net of the output.
        wired: the shafts that need lanes: those that join two things or more.
        count: how many shafts.
    """

    kinds: tuple[PinionKind, ...]
    members: tuple[int, ...]
    grounded: tuple[bool, ...]
    elements: tuple[tuple[int, int], ...]
    input: int
    output: int
    wired: tuple[int, ...]
    count: int


def nets_of(layout: Layout) -> Nets:
    """Return the wiring task of a layout.

    Args:
        layout: any layout.
    """
    elements = tuple((layout.shaft_of(element.between[0]), layout.shaft_of(element.between[1])) for element in layout.elements)
    ends = (layout.shaft_of(INPUT), layout.shaft_of(OUTPUT))
    on = [layout.shaft_of(f"{pset.name}.{member}") for pset in layout.sets for member in MEMBERS]
    hung = [*on, *(number for pair in elements for number in pair), *ends]
    # A member on whose shaft nothing else sits needs no line at all.
    members = tuple(-1 if number == 0 or hung.count(number) < 2 else number for number in on)
    used = {net for net in (*members, *(net for pair in elements for net in pair), *ends) if net > 0}
    kinds = tuple(pset.pinions for pset in layout.sets)
    grounded = tuple(number == 0 for number in on)
    return Nets(kinds, members, grounded, elements, *ends, tuple(sorted(used)), len(layout.shafts))
