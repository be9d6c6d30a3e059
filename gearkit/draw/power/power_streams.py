"""How much power goes through every drawn piece of a shaft, and which way.

The lines of a shaft form a tree. What goes through one piece is the balance of all that comes in and goes out on the
far side of it: at sets, applied clutches, input and output.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from gearkit.draw.power.power_path import Piece, Spot, taps
from gearkit.draw.stick.placement import Placement
from gearkit.draw.stick.routing import ABOVE_PLATES, BELOW_PLATES
from gearkit.solve.loads.torques import Torques
from gearkit.words.terms import MEMBERS, OUTPUT

Node = tuple[int, Spot]


def streams(parts: list[Piece], wanted: Mapping[Node, Fraction]) -> dict[Piece, Fraction]:
    """Return the power through every piece, positive from its first end to its last.

    Args:
        parts: the pieces of the lines, from `power_path.pieces`.
        wanted: from `drains`; where power is not settled, everything is 0.
    """
    flows: dict[Piece, Fraction] = {}
    for net in {piece.net for piece in parts}:
        own = [piece for piece in parts if piece.net == net]
        flows.update(_through(own, {spot: power for (at, spot), power in wanted.items() if at == net}))
    return flows


def _through(own: list[Piece], wanted: dict[Spot, Fraction]) -> dict[Piece, Fraction]:
    """Walk the tree from its first spot; each piece carries what all beyond it take out."""
    around: dict[Spot, list[Piece]] = {}
    for piece in own:
        around.setdefault(piece.first, []).append(piece)
        around.setdefault(piece.last, []).append(piece)
    root = own[0].first
    seen, order = {root}, [root]
    parent: dict[Spot, tuple[Spot, Piece]] = {}
    for spot in order:
        for piece in around[spot]:
            far = piece.last if piece.first == spot else piece.first
            if far not in seen:
                seen.add(far)
                order.append(far)
                parent[far] = (spot, piece)
    taken = {spot: wanted.get(spot, Fraction(0)) for spot in order}
    flows = dict.fromkeys(own, Fraction(0))
    for spot in reversed(order[1:]):
        before, piece = parent[spot]
        flows[piece] = taken[spot] if piece.last == spot else -taken[spot]
        taken[before] += taken[spot]
    return flows


def drains(placement: Placement, loads: Torques) -> dict[Node, Fraction]:
    """Return what is taken out of each shaft at each spot; what comes in counts negative.

    Args:
        placement: the lines.
        loads: torques and power of the same layout.
    """
    power = loads.power
    wanted: dict[Node, Fraction] = {}
    if power is None or loads.speeds is None:
        return wanted
    layout, wiring, nets = loads.layout, placement.wiring, placement.nets

    def take(net: int, spot: Spot, amount: Fraction | None) -> None:
        wanted[net, spot] = wanted.get((net, spot), Fraction(0)) + (amount or 0)

    for (net, number), spot in taps(placement).items():
        take(net, spot, power.members[f"{layout.sets[number // 3].name}.{MEMBERS[number % 3]}"])
    for column, row, number, below, above in wiring.plates:
        element = layout.elements[number]
        if not above or element.name not in loads.engaged:
            continue
        passed = power.clutches.get(element.name) or Fraction(0)
        first = layout.shaft_of(element.between[0])
        take(below, (column, row + BELOW_PLATES), passed if below == first else -passed)
        take(above, (column, row + ABOVE_PLATES), passed if above == first else -passed)
    if wiring.entry is not None:
        take(nets.input, (0, wiring.entry), -loads.input_torque)
    speed, torque = loads.speeds.shafts[OUTPUT], loads.output_torque
    if wiring.leaving is not None and speed is not None and torque is not None:
        # The output's torque is the load: it takes out what is negative as seen from outside.
        take(nets.output, wiring.leaving, -torque * speed)
    return wanted
