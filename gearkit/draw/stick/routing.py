"""From a plan (which port, lane and slot everything takes) to lines on the grid, and what is wrong with them.

A crossing is a level line over an upright one of another shaft; it is drawn as a hop and costs a little. A clash is
anything a reader could take for a joint that is none: lines of two shafts on top of each other or touching. The plates
of a clutch sit between two rows, where no line can run, so no foreign shaft can go through them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property

from gearkit.draw.stick.stick_nets import (
    INNER,
    MIDDLE,
    OUTER,
    RING_ROW,
    SET_COLUMNS,
    STAYS,
    SUN_ROW,
    TO_LEFT,
    Nets,
    Port,
    ports_of,
)
from gearkit.words.terms import MEMBERS, PinionKind

# What a plan costs, for every use: paper may let a line pass under another, solid bodies cannot, so a crossing is dear. With
# 10 for a crossing 10 of 31 layouts kept one; with 55 two of them, of which one is proved to have no plan without.
CLASH, CROSSING = 120.0, 55.0
LENGTH, LANE, RISER, STUB, LOOP = 0.12, 0.4, 1.0, 3.0, 3.0
# Sets in reading order and the output at the right, inside, help a reader more than a shorter line does.
TURNED_PAIR = 0.7
RIGHT_INNER, RIGHT_OUTER, LEFT_OUTER = 0, 1, 2
EXIT_COST = {RIGHT_INNER: 0.0, RIGHT_OUTER: 1.0, LEFT_OUTER: 6.0}
# A further output leaves at the side that its name tells, else through the housing, at worst at the other side.
THROUGH_HOUSING, WRONG_SIDE = 4.0, 8.0

# Plates sit between two rows; the uprights to them end this far above the lower row.
BELOW_PLATES, ABOVE_PLATES = 0.4, 0.6

Level = tuple[int, int, int, int]  # row, first column, last column, net
Upright = tuple[int, float, float, int]  # column, lower end, upper end (rows, or beside plates), net
Plates = tuple[int, int, int, int, int]  # column, row below the plates, element, net below, net above (0: housing)
_Joint = tuple[list[int], list[int]]  # columns where something sits on the inner and on the outer lane of a net
# A port at its place: the link to the left or its arms, and its legs (column, lane, row where it starts).
_Piece = tuple[Level | None, tuple[Level, ...], tuple[tuple[int, int, int], ...]]


@dataclass(frozen=True)
class Grid:
    """Columns and rows of the drawing plane.

    Args:
        sets: how many seats.
        slots: slots in the gap beside each set.
        lanes: inner lanes, and outer lanes.
    """

    sets: int
    slots: int
    lanes: int

    @cached_property
    def last(self) -> int:
        """Column of the right-hand end; the left-hand one is 0."""
        return self.sets * (SET_COLUMNS + self.slots) + self.slots + 1

    @cached_property
    def gear(self) -> int:
        """Row of the suns; pins and rings follow."""
        return self.lanes

    @cached_property
    def housing(self) -> int:
        """Row of the housing."""
        return 2 * self.lanes + 3

    def middle(self, place: int) -> int:
        """Return the column of the middle of the set at a place, counted from the left."""
        return 1 + place * (SET_COLUMNS + self.slots) + self.slots + MIDDLE

    @cached_property
    def gap_columns(self) -> tuple[int, ...]:
        """The columns that elements and risers can take."""
        step = SET_COLUMNS + self.slots
        return tuple(1 + gap * step + slot for gap in range(self.sets + 1) for slot in range(self.slots))


@dataclass
class Plan:
    """One way to draw a layout, on a grid.

    Args:
        order: seats from left to right.
        ports: for every member, the number of its port.
        lanes: for every net, its inner and its outer lane, counted from the axis.
        risers: for every net, the column where its lanes are joined if nothing else joins them.
        slots: for every element, its column; the first or the last column where a further output leaves at a side.
        ends: for every element, whether its first and second end sit on the inner or outer lane.
        exit: where the output leaves.
    """

    order: list[int]
    ports: list[int]
    lanes: tuple[list[int], list[int]]
    risers: list[int]
    slots: list[int]
    ends: list[list[int]]
    exit: int = RIGHT_INNER

    def copy(self) -> Plan:
        """Return a plan that can be changed without touching this one."""
        inner, outer = self.lanes
        return Plan(
            self.order[:], self.ports[:], (inner[:], outer[:]), self.risers[:], self.slots[:],
            [pair[:] for pair in self.ends], self.exit,
        )  # fmt: skip


@dataclass
class Wiring:
    """Lines on the grid.

    Args:
        levels: level lines.
        uprights: upright lines.
        plates: clutches and brakes.
        entry: lane row where the input comes in, None where the input is on the housing.
        leaving: column and row where the output leaves, None as above.
        aside: column, row and element of every further output that leaves at a side.
        bad: links to a neighbour that is none, and lanes that would run into each other.
        stubs: legs that lead nowhere.
        loops: ways between the two lanes of a shaft beyond the one that it needs.
        risers: the shafts whose two lanes had to be joined by a line of their own.
        style: what the order of the sets and the end of the output cost.
    """

    levels: list[Level] = field(default_factory=list)
    uprights: list[Upright] = field(default_factory=list)
    plates: list[Plates] = field(default_factory=list)
    entry: int | None = None
    leaving: tuple[int, int] | None = None
    aside: list[tuple[int, int, int]] = field(default_factory=list)
    bad: int = 0
    stubs: int = 0
    loops: int = 0
    risers: list[int] = field(default_factory=list)
    style: float = 0.0


def columns_of(nets: Nets, grid: Grid) -> list[tuple[int, ...]]:
    """Return for every element the columns that it can take, from left to right.

    Args:
        nets: the wiring task.
        grid: the drawing plane.
    """
    return [grid.gap_columns if leaves == STAYS else (0, *grid.gap_columns, grid.last) for leaves in nets.leaves]


class Router:
    """Wires one layout; built once and used for many plans.

    Args:
        nets: the wiring task.
        grid: columns and rows.
    """

    def __init__(self, nets: Nets, grid: Grid) -> None:
        self.nets, self.grid = nets, grid
        self.columns = columns_of(nets, grid)
        pairs = {index for seat in nets.seats if len(seat) == 2 for index in seat}
        self.ports: list[tuple[Port, ...]] = [
            ports_of(kind, member, shared=index in pairs) for index, kind in enumerate(nets.kinds) for member in MEMBERS
        ]
        # Worked out once, because a search wires some 30,000 plans: which members of a seat have a net, the lines of every
        # port at every place, and the set to whose members the next seat can be linked, -1 for none.
        self._wired = [
            [(number, nets.members[number]) for index in sets for number in range(3 * index, 3 * index + 3)
             if nets.members[number] >= 0] for sets in nets.seats
        ]  # fmt: skip
        self._pieces = [
            [[self._piece(port, grid.middle(place), nets.members[number]) for port in ports]
             for number, ports in enumerate(self.ports)] for place in range(grid.sets)
        ]  # fmt: skip
        # Only the members of a plain set on the left stand where a level link would meet them.
        self._linking = [
            sets[0] if len(sets) == 1 and nets.kinds[sets[0]] is not PinionKind.BEVEL else -1 for sets in nets.seats
        ]

    def _piece(self, port: Port, middle: int, net: int) -> _Piece:
        gear = self.grid.gear
        if port.row is not None:
            across = (gear + port.row, middle - SET_COLUMNS - self.grid.slots, middle, net)
            return across, (), ()
        arms = tuple((gear + row, middle + first, middle + last, net) for row, first, last in port.arms)
        return None, arms, tuple((middle + column, side, gear + row) for column, side, row in port.legs)

    def wire(self, plan: Plan) -> Wiring:
        """Return the lines of a plan."""
        order = plan.order
        turned = sum([a > b for place, a in enumerate(order) for b in order[place + 1 :]])
        made = Wiring(style=TURNED_PAIR * turned + EXIT_COST[plan.exit])
        joints: list[_Joint] = [([], []) for _ in range(self.nets.count)]
        bridged = [0] * self.nets.count
        self._members(plan, made, joints, bridged)
        self._elements(plan, made, joints)
        self._ends(plan, made, joints)
        self._lanes(plan, made, joints, bridged)
        return made

    def _row(self, plan: Plan, net: int, side: int) -> int:
        return plan.lanes[side][net] + (0 if side == INNER else self.grid.lanes + 3)

    def _members(self, plan: Plan, made: Wiring, joints: list[_Joint], bridged: list[int]) -> None:
        nets, rise = self.nets.members, self.grid.lanes + 3
        (inner, outer), ports = plan.lanes, plan.ports
        levels, uprights = made.levels, made.uprights
        before = -1
        for pieces, seat in zip(self._pieces, plan.order, strict=True):
            for number, net in self._wired[seat]:
                across, arms, legs = pieces[number][ports[number]]
                if across is not None:
                    if before < 0 or nets[3 * before + number % 3] != net:
                        made.bad += 1
                    else:
                        levels.append(across)
                    continue
                levels += arms
                for column, side, row in legs:
                    joints[net][side].append(column)
                    uprights.append((column, inner[net], row, net) if side == INNER else (column, row, outer[net] + rise, net))
                if len(legs) == 2:
                    bridged[net] += 1
            before = self._linking[seat]

    def _elements(self, plan: Plan, made: Wiring, joints: list[_Joint]) -> None:
        for number, (first, second) in enumerate(self.nets.elements):
            column, (a, b) = plan.slots[number], plan.ends[number]
            if first == 0:
                first, second, a = second, first, b
            low = self._row(plan, first, a)
            joints[first][a].append(column)
            if self.nets.leaves[number] != STAYS and self._leaves(made, number, (column, low)):
                continue
            if second == 0:
                top = self.grid.housing - 1
                made.uprights.append((column, low, top + BELOW_PLATES, first))
                made.plates.append((column, top, number, first, 0))
                continue
            high = self._row(plan, second, b)
            joints[second][b].append(column)
            if low > high:
                low, high, first, second = high, low, second, first
            if low == high:
                # Both lanes in one row: they would run into each other.
                made.bad += 1
                continue
            between = (low + high - 1) // 2
            if low < self.grid.gear and high > self.grid.gear + 2:
                between = self.grid.gear + SUN_ROW
            made.uprights.append((column, low, between + BELOW_PLATES, first))
            made.uprights.append((column, between + ABOVE_PLATES, high, second))
            made.plates.append((column, between, number, first, second))

    def _leaves(self, made: Wiring, number: int, place: tuple[int, int]) -> bool:
        """Let a further output leave at a side, if its column is there; return whether it does."""
        column, row = place
        if column not in (0, self.grid.last):
            made.style += THROUGH_HOUSING
            return False
        made.style += 0.0 if (column == 0) == (self.nets.leaves[number] == TO_LEFT) else WRONG_SIDE
        made.aside.append((column, row, number))
        return True

    def _ends(self, plan: Plan, made: Wiring, joints: list[_Joint]) -> None:
        if self.nets.input:
            joints[self.nets.input][INNER].append(0)
            made.entry = self._row(plan, self.nets.input, INNER)
        if self.nets.output:
            side = INNER if plan.exit == RIGHT_INNER else OUTER
            column = 0 if plan.exit == LEFT_OUTER else self.grid.last
            joints[self.nets.output][side].append(column)
            made.leaving = (column, self._row(plan, self.nets.output, side))
        if made.aside:
            places = [(0, made.entry), made.leaving, *((column, row) for column, row, _ in made.aside)]
            # Two ends of one shaft in one place would be one arrow on top of the other.
            made.bad += len(places) - len(set(places))

    def _lanes(self, plan: Plan, made: Wiring, joints: list[_Joint], bridged: list[int]) -> None:
        for net in self.nets.wired:
            inner, outer = joints[net]
            if inner and outer and not bridged[net]:
                column = plan.risers[net]
                made.uprights.append((column, self._row(plan, net, INNER), self._row(plan, net, OUTER), net))
                inner, outer = [*inner, column], [*outer, column]
                made.risers.append(net)
            made.loops += max(0, bridged[net] - 1)
            for side, columns in ((INNER, inner), (OUTER, outer)):
                if not columns:
                    continue
                first, last = min(columns), max(columns)
                if first != last:
                    made.levels.append((self._row(plan, net, side), first, last, net))
                elif bridged[net] or len(inner) + len(outer) == 1:
                    made.stubs += 1


@dataclass(frozen=True)
class Faults:
    """What is wrong with a wiring.

    Args:
        crossings: points (column, row) where an upright passes under a level line of another shaft.
        clashes: how many places could be taken for a joint that is none.
        cost: all that a search makes small: also length, loops, the order of the sets and where the output leaves.
    """

    crossings: tuple[tuple[int, int], ...]
    clashes: int
    cost: float


def judge(made: Wiring, grid: Grid, limit: float = math.inf, clash: float = CLASH, crossing: float = CROSSING) -> Faults:
    """Return the crossings, the clashes and the cost of a wiring.

    Args:
        made: the lines.
        grid: its columns and rows.
        limit: where the cost is sure to pass this, stop counting; it is then too low, but above the limit.
        clash: what each clash costs; less only while a search still looks round.
        crossing: what each crossing costs, likewise.
    """
    crossings: list[tuple[int, int]] = []
    # What is known before any two lines are compared: most plans of a search are given up by it.
    clashes = loops = 0
    known = clash * made.bad + made.style + RISER * len(made.risers) + STUB * made.stubs + LOOP * made.loops
    limit += 1e-9
    if known > limit:
        return Faults((), made.bad, known)
    length = 0.0
    # A list by row, not a dictionary: this is the innermost loop of the search.
    by_row: list[list[Level]] = [[] for _ in range(grid.housing + 1)]
    for level in made.levels:
        number, left, right, net = level
        length += right - left
        row = by_row[number]
        for _, first, last, other in row:
            if other != net and first <= right and left <= last:
                clashes += 1
        row.append(level)
    by_column: dict[int, list[Upright]] = {}
    for upright in made.uprights:
        if known + LENGTH * length + clash * clashes + crossing * len(crossings) > limit:
            break
        column, low, high, net = upright
        length += high - low
        stack = by_column.get(column)
        if stack is None:
            by_column[column] = [upright]
        else:
            for _, bottom, top, other in stack:
                # Pieces of one shaft may meet end to end, as at a lane; one on top of the other would hide it.
                if (bottom < high and low < top) or (other != net and bottom <= high and low <= top):
                    clashes += 1
            stack.append(upright)
        start = int(low + 0.5)
        for number, row in enumerate(by_row[start : int(high + 0.5) + 1], start):
            for _, first, last, other in row:
                if first <= column <= last:
                    if other == net:
                        # Joined at its end already, it would be joined here once more.
                        loops += low < number < high
                    elif low < number < high and first < column < last:
                        crossings.append((column, number))
                    else:
                        clashes += 1
    lanes = sum([bool(row) for row in by_row[: grid.gear]]) + sum([bool(row) for row in by_row[grid.gear + RING_ROW + 1 :]])
    cost = clash * (clashes + made.bad) + crossing * len(crossings) + LENGTH * length + LANE * lanes + made.style
    cost += RISER * len(made.risers) + STUB * made.stubs + LOOP * (made.loops + loops)
    return Faults(tuple(crossings), clashes + made.bad, cost)
