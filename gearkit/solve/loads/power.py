"""Where power goes: on every member, through every clutch, lost in every mesh, and round in a loop.

Power on a member is torque times speed, positive into the set. Power that leaves a place and comes back to it inside the
train *recirculates*. How much does so on one connection is the largest flow that can lead back from its end to its start
without exceeding what flows on the way; the recirculation of a train is the largest of these. Defined so, it does not
depend on the order in which sets and elements are named.

In a set that turns as a block power goes round without any tooth rolling, so recirculation is no measure of heat: look
at it beside the rolling power.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import lcm

from gearkit.solve.loads.balance import Statics, sides_of
from gearkit.solve.mobility import shaft_columns
from gearkit.train.layout import Layout
from gearkit.words.terms import HOUSING, MEMBERS

Power = Fraction | None


@dataclass(frozen=True)
class Flow:
    """One stream of power.

    Args:
        start: where it comes from: "shaft 3" or "set P1".
        end: where it goes.
        through: the member or clutch that carries it.
        power: how much, above 0.
    """

    start: str
    end: str
    through: str
    power: Fraction


@dataclass(frozen=True)
class PowerFlow:
    """Power in a train; None marks what balance does not fix.

    Args:
        members: power that each member brings into its set.
        clutches: power that each applied clutch passes from its first-named part to its second.
        rolling: set -> power through its meshes as seen from the carrier, positive from sun to ring.
        losses: set -> power that its meshes turn into heat.
        flows: the streams between shafts and sets.
        circulating: the largest power that comes back to where it left.
        loop: the members and clutches on the way of that power; empty where none circulates.
    """

    members: dict[str, Power]
    clutches: dict[str, Power]
    rolling: dict[str, Power]
    losses: dict[str, Power]
    flows: tuple[Flow, ...]
    circulating: Power
    loop: tuple[str, ...]

    @property
    def largest(self) -> tuple[str, Fraction] | None:
        """The member that carries most power, with its size; None where some power is not fixed."""
        sizes: dict[str, Fraction] = {}
        for name, power in self.members.items():
            if power is None:
                return None
            sizes[name] = abs(power)
        name = max(sizes, key=lambda member: sizes[member])
        return name, sizes[name]


def power_flow(
    layout: Layout, engaged: Sequence[str], statics: Statics, speeds: Mapping[str, Fraction | None]
) -> PowerFlow:
    """Return where power goes for given torques and speeds.

    Args:
        layout: the layout.
        engaged: names of the applied elements.
        statics: the torques.
        speeds: speed of every member and of input, output and housing.
    """
    members = {name: _times(torque, speeds[name]) for name, torque in statics.members.items()}
    columns = shaft_columns(layout)
    sides = {name: sides_of(layout.element_named(name), columns) for name in engaged}
    clutches = {
        name: _passed_on(_times(statics.elements[name], speeds[turning]))
        for name, (turning, other) in sides.items()
        if columns[other] != columns[HOUSING]
    }
    losses = {pset.name: _sum(members[f"{pset.name}.{member}"] for member in MEMBERS) for pset in layout.sets}
    flows = []
    for member, power in members.items():
        flows += _flow(f"shaft {columns[member]}", f"set {member.partition('.')[0]}", member, power)
    for name, power in clutches.items():
        turning, other = sides[name]
        flows += _flow(f"shaft {columns[turning]}", f"shaft {columns[other]}", name, power)
    circulating: Power = None
    loop: tuple[str, ...] = ()
    if None not in members.values() and None not in clutches.values():
        circulating, loop = _circulating(flows)
    return PowerFlow(members, clutches, _rolling(layout, statics, speeds), losses, tuple(flows), circulating, loop)


def _rolling(layout: Layout, statics: Statics, speeds: Mapping[str, Fraction | None]) -> dict[str, Power]:
    found: dict[str, Power] = {}
    for pset in layout.sets:
        sun, carrier = speeds[f"{pset.name}.sun"], speeds[f"{pset.name}.carrier"]
        seen = None if sun is None or carrier is None else sun - carrier
        found[pset.name] = _times(statics.members[f"{pset.name}.sun"], seen)
    return found


def _times(torque: Fraction | None, speed: Fraction | None) -> Power:
    if torque == 0 or speed == 0:
        return Fraction(0)
    return None if torque is None or speed is None else torque * speed


def _passed_on(received: Power) -> Power:
    # What the clutch puts on its first part it takes from its second.
    return None if received is None else -received


def _sum(parts: Iterable[Power]) -> Power:
    total = Fraction(0)
    for part in parts:
        if part is None:
            return None
        total += part
    return total


def _flow(start: str, end: str, through: str, power: Power) -> list[Flow]:
    if not power:
        return []
    return [Flow(start, end, through, power)] if power > 0 else [Flow(end, start, through, -power)]


Arcs = dict[str, dict[str, int]]


def _circulating(flows: Sequence[Flow]) -> tuple[Fraction, tuple[str, ...]]:
    scale = lcm(*(flow.power.denominator for flow in flows))
    arcs: Arcs = {}
    for flow in flows:
        ends = arcs.setdefault(flow.start, {})
        ends[flow.end] = ends.get(flow.end, 0) + int(flow.power * scale)
    best, best_arc = 0, ("", "")
    for start, ends in arcs.items():
        for end, amount in ends.items():
            # Only an arc that carries more than the best so far can do better.
            if amount > best and (back := _largest_flow(arcs, end, start, amount)) > best:
                best, best_arc = back, (start, end)
    if not best:
        return Fraction(0), ()
    start, end = best_arc
    nodes = [start, *(_way(arcs, end, start) or ())]
    names = {(flow.start, flow.end): flow.through for flow in flows}
    return Fraction(best, scale), tuple(names[step] for step in pairwise(nodes))


def _largest_flow(arcs: Arcs, source: str, sink: str, limit: int) -> int:
    """The largest flow from source to sink, up to a limit (shortest augmenting paths, Edmonds and Karp; from memory)."""
    left = {node: dict(ends) for node, ends in arcs.items()}
    total = 0
    while total < limit:
        way = _way(left, source, sink)
        if way is None:
            break
        steps = list(pairwise(way))
        part = min(limit - total, *(left[a][b] for a, b in steps))
        for a, b in steps:
            left[a][b] -= part
            back = left.setdefault(b, {})
            back[a] = back.get(a, 0) + part
        total += part
    return total


def _way(arcs: Arcs, source: str, sink: str) -> list[str] | None:
    """The shortest way along arcs that carry something."""
    before: dict[str, str] = {source: source}
    queue = deque([source])
    while queue and sink not in before:
        node = queue.popleft()
        for end, amount in arcs.get(node, {}).items():
            if amount and end not in before:
                before[end] = node
                queue.append(end)
    if sink not in before:
        return None
    way = [sink]
    while way[-1] != source:
        way.append(before[way[-1]])
    return way[::-1]
