"""Where everything goes in a stick diagram, found by search, stored with the layout, made anew when the layout changes.

Place once and store: a stored placement carries a hash of the layout's structure (sets, joins, elements; not tooth
counts or ranges) and is used only while that hash is right and the places really do not clash.
"""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from gearkit.draw.stick.routing import EXIT_COST, Faults, Grid, Level, Plan, Router, Wiring, columns_of, judge
from gearkit.draw.stick.stick_hung import wired_parts
from gearkit.draw.stick.stick_nets import Nets, nets_of, seats_of
from gearkit.draw.stick.stick_search import found_plan
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError


@dataclass(frozen=True)
class Placement:
    """Where everything goes, with the lines that follow from it.

    Args:
        structure: hash of the layout that it was made for.
        nets: the wiring task.
        grid: columns and rows.
        plan: ports, lanes and slots.
        wiring: the lines.
        faults: crossings and clashes; a placement that is handed out has no clash.
    """

    structure: str
    nets: Nets
    grid: Grid
    plan: Plan
    wiring: Wiring
    faults: Faults

    @property
    def sets(self) -> tuple[tuple[int, ...], ...]:
        """Numbers of the sets in each seat, from left to right; two where two sets are built as one."""
        return tuple(self.nets.seats[seat] for seat in self.plan.order)

    def columns(self, place: int) -> dict[int, int]:
        """Return number of a set -> the column under its own sun, for the seat at a place from the left."""
        middle, sets = self.grid.middle(place), self.sets[place]
        return {sets[0]: middle} if len(sets) == 1 else {sets[0]: middle - 1, sets[1]: middle + 1}

    def table(self, layout: Layout) -> dict[str, Any]:
        """Return the placement as it is stored in a layout file, under [placement].

        Args:
            layout: the layout that it was made for.
        """
        return {"structure": self.structure, **self.plan_table(layout)}

    def plan_table(self, layout: Layout) -> dict[str, Any]:
        """Return the places alone, as they are stored.

        Args:
            layout: the layout that it was made for.
        """
        plan, names = self.plan, [pset.name for pset in layout.sets]
        inner, outer = plan.lanes
        return {
            "grid": [self.grid.slots, self.grid.lanes],
            "sets": [names[self.nets.seats[seat][0]] for seat in plan.order],
            "ports": list(plan.ports),
            "shafts": [[net, inner[net], outer[net], plan.risers[net]] for net in self.nets.wired],
            "elements": [[slot, *ends] for slot, ends in zip(plan.slots, plan.ends, strict=True)],
            "output": plan.exit,
        }


def structure_of(layout: Layout) -> str:
    """Return a hash of all that the places depend on: sets and their kinds, joins, elements; not tooth counts."""
    parts = [f"{pset.name} {pset.pinions.value}" for pset in layout.sets]
    parts += [" ".join(shaft) for shaft in layout.shafts]
    parts += [f"one seat {seat}" for seat in seats_of(layout) if len(seat) == 2]
    parts += [f"{part.name} {part.kind.value} {' '.join(part.between)}" for part in wired_parts(layout)]
    return sha256("\n".join(["places 1", *parts]).encode()).hexdigest()[:16]


def placed(layout: Layout, seed: int = 1) -> Placement:
    """Return the placement stored with a layout if it still fits, else a new one.

    Args:
        layout: any layout.
        seed: for the new one.
    """
    stored = read(layout)
    return stored if stored is not None else place(layout, seed)


def fitting(layout: Layout, given: Placement | None) -> Placement:
    """Return the placement to draw a layout with; one of another layout would put letters to wrong places.

    Args:
        layout: any layout.
        given: one that was made before, None for the layout's own.

    Raises:
        UsageError: the given one was made for a layout with other sets, joins or elements.
    """
    if given is None:
        return placed(layout)
    if given.structure != structure_of(layout):
        raise UsageError(f"{layout.name}: this placement belongs to a layout whose sets, joins or elements are others.")
    return given


def place(layout: Layout, seed: int = 1, effort: float = 1.0) -> Placement:
    """Return a new placement; the same layout, seed and effort always give the same one.

    Args:
        layout: any layout.
        seed: start of the search.
        effort: share of the usual number of trials, above 0; less is faster and leaves more crossings.
    """
    if effort <= 0:
        raise UsageError(f"Placement of {layout.name}: effort {effort}; give a number above 0, such as 1.")
    nets = nets_of(layout)
    grid, plan = found_plan(nets, seed, effort)
    return _checked(structure_of(layout), nets, grid, plan.copy())


def best_of(layout: Layout, tries: int) -> Placement:
    """Return the best of some new placements.

    Args:
        layout: any layout.
        tries: how many searches to choose from, 1 or more; each takes about as long as `place`.
    """
    return min((place(layout, seed) for seed in range(1, tries + 1)), key=lambda made: made.faults.cost)


def read(layout: Layout) -> Placement | None:
    """Return the placement stored with a layout; None if there is none, or it does not fit the layout any more."""
    table = layout.placement
    structure = structure_of(layout)
    if not table or table.get("structure") != structure:
        return None
    nets = nets_of(layout)
    try:
        made = read_plan(table, layout, nets)
    except (KeyError, TypeError, ValueError, IndexError):
        return None
    return None if made.faults.clashes else made


def read_plan(table: Any, layout: Layout, nets: Nets) -> Placement:
    """Return places that were stored, with the lines that follow from them.

    Args:
        table: from `Placement.plan_table`.
        layout: the layout that it was made for.
        nets: what is to be joined.

    Raises:
        KeyError, TypeError, ValueError, IndexError: they do not fit the layout.
    """
    grid = Grid(len(nets.seats), int(table["grid"][0]), int(table["grid"][1]))
    names = [pset.name for pset in layout.sets]
    inner, outer, risers = ([0] * nets.count for _ in range(3))
    for net, low, high, riser in table["shafts"]:
        if not (0 <= low < grid.lanes and 0 <= high < grid.lanes and 0 < riser < grid.last):
            raise ValueError("a lane off the grid")
        inner[net], outer[net], risers[net] = low, high, riser
    slots = [slot for slot, _, _ in table["elements"]]
    ends = [[int(a), int(b)] for _, a, b in table["elements"]]
    firsts = [names[seat[0]] for seat in nets.seats]
    order = [firsts.index(name) for name in table["sets"]]
    if sorted(order) != list(range(len(firsts))) or len(slots) != len(nets.elements):
        raise ValueError("not this layout's sets and elements")
    off = any(slot not in able for slot, able in zip(slots, columns_of(nets, grid), strict=True))
    if off or any(side not in (0, 1) for pair in ends for side in pair):
        raise ValueError("an element off the grid")
    ports = [int(port) for port in table["ports"]]
    if any(port < 0 for port in ports) or table["output"] not in EXIT_COST:
        raise ValueError("no such port")
    return _checked(structure_of(layout), nets, grid, Plan(order, ports, (inner, outer), risers, slots, ends, table["output"]))


def _checked(structure: str, nets: Nets, grid: Grid, plan: Plan) -> Placement:
    wiring = Router(nets, grid).wire(plan)
    faults = judge(wiring, grid)
    # An arm that lies within its shaft's link to the next set would be drawn twice, and fill the gaps of its dashes.
    levels = list(dict.fromkeys(wiring.levels))
    wiring.levels = [level for level in levels if not any(_lies_in(level, other) for other in levels)]
    return Placement(structure, nets, grid, plan, wiring, faults)


def _lies_in(level: Level, other: Level) -> bool:
    row, first, last, net = level
    return level != other and (row, net) == (other[0], other[3]) and other[1] <= first and last <= other[2]
