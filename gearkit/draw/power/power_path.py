"""Which pieces of a shaft's lines really lead somewhere: the power path without its dead ends.

A shaft is drawn as one net of lines, but power only goes between the places where torque comes in or goes out: working
sets, applied elements that carry torque, input and output. Branches to open elements and unloaded sets are dead ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise, product

from gearkit.draw.core.state import DriveState
from gearkit.draw.stick.placement import Placement
from gearkit.draw.stick.routing import ABOVE_PLATES, BELOW_PLATES
from gearkit.draw.stick.stick_hung import wired_parts
from gearkit.words.terms import MEMBERS, PinionKind

Spot = tuple[int, float]


@dataclass(frozen=True)
class Piece:
    """A straight piece of a shaft between two neighbouring joints.

    Args:
        net: the shaft.
        first: left or lower end, as (column, row).
        last: right or upper end.
        live: whether it is on the way between two places with torque.
    """

    net: int
    first: Spot
    last: Spot
    live: bool


def pieces(placement: Placement, state: DriveState | None) -> list[Piece]:
    """Return all lines of a placement cut at their joints, dead ends marked.

    Args:
        placement: the lines.
        state: the applied elements; None: everything is live.
    """
    cut = _cut(placement)
    if state is None:
        return [Piece(net, first, last, True) for net, first, last in cut]
    kept = _pruned(cut, _places_with_torque(placement, state))
    return [Piece(net, first, last, (net, first, last) in kept) for net, first, last in cut]


def _cut(placement: Placement) -> list[tuple[int, Spot, Spot]]:
    wiring = placement.wiring
    joints: dict[int, set[Spot]] = {}
    uprights: dict[int, list[tuple[int, float, float]]] = {}
    for column, low, high, net in wiring.uprights:
        uprights.setdefault(net, []).append((column, low, high))
        joints.setdefault(net, set()).update(((column, low), (column, high)))
    for row, first, last, net in wiring.levels:
        spots = joints.setdefault(net, set())
        spots.update(((first, row), (last, row)))
        for column, low, high in uprights.get(net, ()):
            if first <= column <= last and low <= row <= high:
                spots.add((column, row))
    # A set's member taps its shaft at the gear; level links run on through it.
    for (tapped, _), spot in taps(placement).items():
        joints.setdefault(tapped, set()).add(spot)
    cuts: list[tuple[int, Spot, Spot]] = []
    for row, first, last, net in wiring.levels:
        stops = sorted(column for column, at in joints[net] if at == row and first <= column <= last)
        cuts += [(net, (a, row), (b, row)) for a, b in pairwise(stops)]
    for column, low, high, net in wiring.uprights:
        heights = sorted(row for at, row in joints[net] if at == column and low <= row <= high)
        cuts += [(net, (column, a), (column, b)) for a, b in pairwise(heights)]
    return cuts


def taps(placement: Placement) -> dict[tuple[int, int], Spot]:
    """Return the grid spot of every wired member, keyed by (net, number of the member)."""
    grid, nets = placement.grid, placement.nets
    spots: dict[tuple[int, int], Spot] = {}
    for place in range(grid.sets):
        middle = grid.middle(place)
        for (index, sun), member in product(placement.columns(place).items(), range(len(MEMBERS))):
            net = nets.members[3 * index + member]
            if net < 0:
                continue
            column, row = sun if member == 0 else middle, grid.gear + member
            if nets.kinds[index] is PinionKind.BEVEL:
                column, row = ((middle - 1, grid.gear), (middle, grid.gear + 2), (middle + 1, grid.gear))[member]
            spots[net, 3 * index + member] = (column, row)
    return spots


def _places_with_torque(placement: Placement, state: DriveState) -> set[tuple[int, Spot]]:
    nets, wiring, layout = placement.nets, placement.wiring, state.layout
    places: set[tuple[int, Spot]] = set()
    for (net, number), spot in taps(placement).items():
        if layout.sets[number // 3].name in state.working:
            places.add((net, spot))
    for column, row, element, below, above in wiring.plates:
        if wired_parts(layout)[element].name in state.working:
            places |= {(below, (column, row + BELOW_PLATES)), (above, (column, row + ABOVE_PLATES))}
    if wiring.entry is not None:
        places.add((nets.input, (0, wiring.entry)))
    if wiring.leaving is not None:
        places.add((nets.output, wiring.leaving))
    places |= {(nets.elements[number][0], (column, row)) for column, row, number in wiring.aside}
    return places


def _pruned(cut: list[tuple[int, Spot, Spot]], ends: set[tuple[int, Spot]]) -> set[tuple[int, Spot, Spot]]:
    meeting: dict[tuple[int, Spot], list[tuple[int, Spot, Spot]]] = {}
    for piece in dict.fromkeys(cut):
        for spot in piece[1:]:
            meeting.setdefault((piece[0], spot), []).append(piece)
    kept = set(cut)
    loose = [place for place, meeting_there in meeting.items() if len(meeting_there) == 1 and place not in ends]
    while loose:
        for piece in meeting[loose.pop()]:
            if piece not in kept:
                continue
            # With a dead end gone, what it hung on may be the next one.
            kept.discard(piece)
            for spot in piece[1:]:
                place = (piece[0], spot)
                left = sum(other in kept for other in meeting[place])
                if left == 1 and place not in ends:
                    loose.append(place)
    return kept
