"""Where power goes: on every member, through every clutch, lost in every mesh, and round in a loop.

Power on a member is torque times speed, positive into the set. Power that leaves a place and comes back to it inside the
train *recirculates*. How much does so on one connection is the largest flow that can lead back from its end to its start
without exceeding what flows on the way; the recirculation of a train is the largest of these. Defined so, it does not
depend on the order in which sets and elements are named.

Power passes between bodies, so what is one body is made one first: joined shafts, shafts that an applied clutch joins, a
set that turns as a block, and sets on one carrier that share a gear, which are one set of gears. Between two bodies only
the net power counts. Inside a body powers that seem to go against each other are bookkeeping; nobody could measure them.
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
from gearkit.text.phrases import listed
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
        shared: members that are one body in one set of gears, such as both rings -> the net power that it brings in.
        circulating: the largest power that comes back to where it left.
        loop: the members and clutches on the way of that power; empty where none circulates.
    """

    members: dict[str, Power]
    clutches: dict[str, Power]
    rolling: dict[str, Power]
    losses: dict[str, Power]
    flows: tuple[Flow, ...]
    shared: dict[tuple[str, ...], Power]
    circulating: Power
    loop: tuple[str, ...]

    @property
    def largest(self) -> tuple[str, Fraction] | None:
        """The member that carries most power, with its size; None where some power is not fixed.

        Of members that are one body in one set of gears the net power counts.
        """
        sizes: dict[str, Fraction] = {}
        alike = {name for names in self.shared for name in names}
        powers = {(name,): power for name, power in self.members.items() if name not in alike} | self.shared
        for names, power in powers.items():
            if power is None:
                return None
            sizes[listed(names)] = abs(power)
        name = max(sizes, key=lambda member: sizes[member])
        return name, sizes[name]


def power_flow(layout: Layout, engaged: Sequence[str], statics: Statics, speeds: Mapping[str, Fraction | None]) -> PowerFlow:
    """Return where power goes for given torques and speeds.

    Args:
        layout: the layout.
        engaged: names of the engaged elements.
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
        circulating, loop = circulating_power(layout, engaged, members)
    rolling = _rolling(layout, statics, speeds)
    return PowerFlow(members, clutches, rolling, losses, tuple(flows), _shared(layout, members), circulating, loop)


def _shared(layout: Layout, members: Mapping[str, Power]) -> dict[tuple[str, ...], Power]:
    gears = _Bodies(layout, ()).gears
    shaft = layout.groups.name_of
    by_ends: dict[tuple[str, str], list[str]] = {}
    for name in members:
        by_ends.setdefault((gears(name.partition(".")[0]), shaft(name)), []).append(name)
    alike = (names for names in by_ends.values() if len({name.partition(".")[0] for name in names}) > 1)
    return {tuple(names): _sum(members[name] for name in names) for names in alike}


def _rolling(layout: Layout, statics: Statics, speeds: Mapping[str, Fraction | None]) -> dict[str, Power]:
    powers: dict[str, Power] = {}
    for pset in layout.sets:
        sun, carrier = speeds[f"{pset.name}.sun"], speeds[f"{pset.name}.carrier"]
        seen = None if sun is None or carrier is None else sun - carrier
        powers[pset.name] = _times(statics.members[f"{pset.name}.sun"], seen)
    return powers


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


class _Bodies:
    """Which shafts are one body while some elements are applied, and which sets are one set of gears."""

    def __init__(self, layout: Layout, engaged: Sequence[str]) -> None:
        self._layout = layout
        self._clutches = [layout.element_named(name) for name in engaged]
        self._groups = layout.groups.copy()
        for element in self._clutches:
            self._groups.join(*element.between)
        while any(self._locked(pset.name) for pset in layout.sets):
            pass
        self._gears = {name: self._first_alike(name) for name in (pset.name for pset in layout.sets)}

    def shaft(self, member: str) -> str:
        """The body that a member belongs to."""
        return f"shaft {self._groups.name_of(member)}"

    def gears(self, set_name: str) -> str:
        """The set of gears that a set belongs to."""
        return f"set {self._gears[set_name]}"

    def clutches_between(self, start: str, end: str) -> tuple[str, ...]:
        """The applied clutches by which power gets from one member to another of the same body, fewest first."""
        name_of = self._layout.groups.name_of
        goal = name_of(end)
        queue: deque[tuple[str, tuple[str, ...]]] = deque([(name_of(start), ())])
        seen = {name_of(start)}
        while queue:
            place, way = queue.popleft()
            if place == goal:
                return way
            for element in self._clutches:
                first, second = map(name_of, element.between)
                for here, there in ((first, second), (second, first)):
                    if here == place and there not in seen:
                        seen.add(there)
                        queue.append((there, (*way, element.name)))
        return ()

    def _locked(self, set_name: str) -> bool:
        """Merge the shafts of a set of which two members turn together; whether that was news."""
        names = [f"{set_name}.{member}" for member in MEMBERS]
        bodies = {self._groups.name_of(name) for name in names}
        if len(bodies) != 2:
            return False
        self._groups.join(names[0], names[1])
        self._groups.join(names[0], names[2])
        return True

    def _first_alike(self, set_name: str) -> str:
        # Only what is joined for good: two sets whose carriers a clutch joins are still two sets of gears.
        shared = self._layout.groups.name_of
        carrier = shared(f"{set_name}.carrier")
        for pset in self._layout.sets:
            on_it = shared(f"{pset.name}.carrier") == carrier
            if on_it and any(shared(f"{pset.name}.{gear}") == shared(f"{set_name}.{gear}") for gear in ("sun", "ring")):
                return pset.name
        return set_name


def circulating_power(
    layout: Layout,
    engaged: Sequence[str],
    members: Mapping[str, Power],
    machines: Mapping[str, tuple[str, Fraction]] | None = None,
) -> tuple[Fraction, tuple[str, ...]]:
    """Return the largest power that comes back to where it left, and the members, clutches and machines on its way.

    Args:
        layout: the layout.
        engaged: names of the engaged elements.
        members: power that each member brings into its set.
        machines: machine -> (what it turns, power that it puts on its shaft); all meet in one electrical place.
    """
    bodies = _Bodies(layout, engaged)
    net: dict[tuple[str, str], Fraction] = {}
    through: dict[tuple[str, str], list[str]] = {}
    carries = [
        (member, member, bodies.gears(member.partition(".")[0]), power or Fraction(0)) for member, power in members.items()
    ]
    carries += [(name, shaft, "electrical", -power) for name, (shaft, power) in (machines or {}).items()]
    sizes = {name: abs(power) for name, _, _, power in carries}
    on = {name: shaft for name, shaft, _, _ in carries}
    for name, shaft, place, power in carries:
        ends = (bodies.shaft(shaft), place)
        net[ends] = net.get(ends, Fraction(0)) + power
        through.setdefault(ends, []).append(name)
    scale = lcm(*(power.denominator for power in net.values()))
    arcs: Arcs = {}
    carried: dict[tuple[str, str], str] = {}
    for (shaft, gears), power in net.items():
        if power:
            start, end = (shaft, gears) if power > 0 else (gears, shaft)
            arcs.setdefault(start, {})[end] = int(abs(power) * scale)
            carried[start, end] = max(through[shaft, gears], key=lambda name: sizes[name])
    best, best_arc = 0, ("", "")
    for start, ends_of in arcs.items():
        for end, amount in ends_of.items():
            # Only an arc that carries more than the best so far can do better.
            if amount > best and (back := _largest_flow(arcs, end, start, amount)) > best:
                best, best_arc = back, (start, end)
    if not best:
        return Fraction(0), ()
    start, end = best_arc
    loop: list[str] = []
    for step in pairwise([start, *(_way(arcs, end, start) or ())]):
        # Power that a body hands on may pass clutches inside it; they belong on the way that is told.
        if loop and step[0].startswith("shaft"):
            loop += bodies.clutches_between(on[loop[-1]], on[carried[step]])
        loop.append(carried[step])
    if start.startswith("shaft"):
        loop += bodies.clutches_between(on[loop[-1]], on[loop[0]])
    return Fraction(best, scale), tuple(loop)


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
