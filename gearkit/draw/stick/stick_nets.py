"""The wiring task behind a stick diagram: which shafts there are and how each member can be reached.

The drawing plane is a coarse grid. Columns: a gap of slots, a set, a gap, a set and so on. Rows, from the axis
upwards: inner lanes (shafts inside one another), sun, pin, ring, outer lanes (drums), housing. Every shaft has at most
one inner and one outer lane. A member reaches them by one of a few *ports*: straight up or down, round the side, or
level across to the same member of the set on its left.

A single and a double set with one carrier and one ring are built, and drawn, as one: long planets between the large sun
and the ring, short ones between the long ones and the small sun. They share a seat: the large sun left of its middle, the
small one right of it.
"""

from __future__ import annotations

from dataclasses import dataclass

from gearkit.draw.stick.stick_hung import Hung, HungKind, driving_end, first_output, leads_left, wired_parts
from gearkit.train.layout import Layout
from gearkit.words.terms import MEMBERS, PinionKind

SET_COLUMNS = 5
MIDDLE = 2
SUN_ROW, PIN_ROW, RING_ROW = 0, 1, 2
INNER, OUTER = 0, 1
# Whether a part has to stand between the sets, or may leave at a side and would rather leave at which.
STAYS, TO_LEFT, TO_RIGHT = 0, 1, 2


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


# A single and a double set in one seat: carrier and ring are wired once, for both.
_LONG = {
    "sun": (Port("d", legs=((-1, INNER, SUN_ROW),)),),
    "carrier": tuple(_arm(name, PIN_ROW, 2) for name in ("Ld", "Rd", "Lu", "Ru", "LdRu", "LuRd")),
    "ring": (Port("u", legs=((0, OUTER, RING_ROW),)),),
}
_SHORT = {
    "sun": (Port("d", legs=((1, INNER, SUN_ROW),)),),
    "carrier": (Port("shared"),),
    "ring": (Port("shared"),),
}


def ports_of(pinions: PinionKind, member: str, *, shared: bool = False) -> tuple[Port, ...]:
    """Return the ways to reach a member.

    Args:
        pinions: kind of the set.
        member: "sun", "carrier" or "ring".
        shared: whether a single and a double set share the seat.
    """
    if shared:
        return (_LONG if pinions is PinionKind.SINGLE else _SHORT)[member]
    return (_BEVEL if pinions is PinionKind.BEVEL else _GEARED)[member]


@dataclass(frozen=True)
class Nets:
    """The shafts of a layout as nets to be wired; numbers are those of ``layout.shafts``, 0 is the housing.

    Args:
        kinds: kind of every set.
        seats: the sets in every seat, in the layout's order; two where a single and a double set are built as one, the
            single one first.
        members: net of every member, three a set, in the order sun, carrier, ring; -1 where nothing hangs on it.
        grounded: for every member, whether it is joined to the housing for good.
        elements: the two nets of every element, then of what else hangs on the shafts; 0 for the housing.
        leaves: for each of these STAYS, or for a further output TO_LEFT or TO_RIGHT.
        input: net of the input.
        output: net of the output.
        wired: the shafts that need lanes: those that join two things or more.
        count: how many shafts.
    """

    kinds: tuple[PinionKind, ...]
    seats: tuple[tuple[int, ...], ...]
    members: tuple[int, ...]
    grounded: tuple[bool, ...]
    elements: tuple[tuple[int, int], ...]
    leaves: tuple[int, ...]
    input: int
    output: int
    wired: tuple[int, ...]
    count: int


def nets_of(layout: Layout) -> Nets:
    """Return the wiring task of a layout.

    Args:
        layout: any layout.
    """
    parts = wired_parts(layout)
    elements = tuple((layout.shaft_of(part.between[0]), layout.shaft_of(part.between[1])) for part in parts)
    leaves = tuple(
        STAYS
        if not (isinstance(part, Hung) and part.kind is HungKind.OUTPUT)
        else TO_LEFT
        if leads_left(part.name)
        else TO_RIGHT
        for part in parts
    )
    ends = (layout.shaft_of(driving_end(layout)), layout.shaft_of(first_output(layout)))
    seats = seats_of(layout)
    on = [layout.shaft_of(f"{pset.name}.{member}") for pset in layout.sets for member in MEMBERS]
    # What is shared is one part, however many sets it belongs to.
    twice = {3 * seat[1] + member for seat in seats if len(seat) == 2 for member in (1, 2)}
    once = [number for place, number in enumerate(on) if place not in twice]
    hung = [*once, *(number for pair in elements for number in pair), *ends]
    # A member on whose shaft nothing else sits needs no line at all.
    members = tuple(-1 if number == 0 or hung.count(number) < 2 else number for number in on)
    used = {net for net in (*members, *(net for pair in elements for net in pair), *ends) if net > 0}
    kinds = tuple(pset.pinions for pset in layout.sets)
    grounded = tuple(number == 0 for number in on)
    return Nets(kinds, seats, members, grounded, elements, leaves, *ends, tuple(sorted(used)), len(layout.shafts))


def seats_of(layout: Layout) -> tuple[tuple[int, ...], ...]:
    """Return which sets share a seat, as numbers in the layout's order; a single set stands first in its pair."""
    seats: list[tuple[int, ...]] = []
    taken: set[int] = set()
    for first in range(len(layout.sets)):
        if first in taken:
            continue
        other = next((n for n in range(first + 1, len(layout.sets)) if n not in taken and _one_set(layout, first, n)), None)
        if other is None:
            seats.append((first,))
            continue
        taken.add(other)
        single = layout.sets[first].pinions is PinionKind.SINGLE
        seats.append((first, other) if single else (other, first))
    return tuple(seats)


def _one_set(layout: Layout, first: int, second: int) -> bool:
    """A single and a double set on one carrier, in one ring."""
    pset, two = layout.sets[first], layout.sets[second]
    if {pset.pinions, two.pinions} != {PinionKind.SINGLE, PinionKind.DOUBLE} or pset.ring_teeth != two.ring_teeth:
        return False
    joined = [layout.shaft_of(f"{pset.name}.{member}") == layout.shaft_of(f"{two.name}.{member}") for member in MEMBERS]
    return joined == [False, True, True]
