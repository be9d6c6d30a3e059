"""Where the parts go when they are solid: no line may cross another, and what is fixed to the housing has to reach it.

A stick diagram may let one shaft pass under another; two solid bodies cannot. So crossings cost more in this search, and a
member that is joined to the housing for good is wired to it like a brake that is always applied.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from gearkit.draw.core.wording import shaft_words
from gearkit.draw.stick.placement import Placement, read, structure_of
from gearkit.draw.stick.routing import Router, judge
from gearkit.draw.stick.stick_nets import Nets, nets_of
from gearkit.draw.stick.stick_search import found_plan
from gearkit.train.layout import Layout
from gearkit.words.errors import GearkitError
from gearkit.words.terms import HOUSING

# With the usual 10, 10 of 31 layouts kept a crossing; with 55, 2 of them.
CROSSING = 55.0
SEARCHES = 6


class NotSolidError(GearkitError):
    """A layout whose bodies would have to pass through each other."""


@dataclass(frozen=True)
class SolidPlacement:
    """A placement without crossings, in which every member that is fixed to the housing reaches it.

    Args:
        placement: where everything goes; its elements from ``fixings`` on are fixings to the housing.
        fixings: how many elements the layout itself has.
        bodies: for every net of the placement, the shaft of the layout that it belongs to; 0 is the housing.
    """

    placement: Placement
    fixings: int
    bodies: tuple[int, ...]


def solid_placement(layout: Layout) -> SolidPlacement:
    """Return where the parts of a layout go as solid bodies; the same layout always gets the same answer.

    Args:
        layout: any layout.

    Raises:
        NotSolidError: every search left a crossing; says which shafts cross and what to look at instead.
    """
    plain = nets_of(layout)
    nets, bodies = _with_fixings(layout, plain)
    stored = read(layout)
    if stored is not None and nets is plain and not stored.faults.crossings:
        return SolidPlacement(stored, len(layout.elements), bodies)
    best: Placement | None = None
    for seed in range(1, SEARCHES + 1):
        grid, plan = found_plan(nets, seed, 1.0, CROSSING)
        wiring = Router(nets, grid).wire(plan)
        found = Placement(structure_of(layout), nets, grid, plan.copy(), wiring, judge(wiring, grid))
        if best is None or len(found.faults.crossings) < len(best.faults.crossings):
            best = found
        if not best.faults.crossings:
            return SolidPlacement(best, len(layout.elements), bodies)
    assert best is not None
    raise NotSolidError(_refusal(layout, best, bodies))


def _with_fixings(layout: Layout, nets: Nets) -> tuple[Nets, tuple[int, ...]]:
    """Give every member on the housing a net and an always applied brake of its own."""
    shared = {seat[1] for seat in nets.seats if len(seat) == 2}
    members, elements, bodies = list(nets.members), list(nets.elements), list(range(nets.count))
    for number, grounded in enumerate(nets.grounded):
        # Carrier and ring of two sets built as one are there once, with the first of the two.
        if grounded and not (number // 3 in shared and number % 3):
            members[number] = len(bodies)
            elements.append((0, len(bodies)))
            bodies.append(0)
    if len(bodies) == nets.count:
        return nets, tuple(bodies)
    wired = tuple(sorted({*nets.wired, *range(nets.count, len(bodies))}))
    return replace(nets, members=tuple(members), elements=tuple(elements), wired=wired, count=len(bodies)), tuple(bodies)


def _refusal(layout: Layout, best: Placement, bodies: tuple[int, ...]) -> str:
    column, row = best.faults.crossings[0]
    over = next(net for at, first, last, net in best.wiring.levels if at == row and first < column < last)
    under = next(net for at, low, high, net in best.wiring.uprights if at == column and low < row < high)
    names = " and ".join(f"the shaft of {shaft_words(_named(layout, bodies[net]))}" for net in sorted((over, under)))
    least = len(best.faults.crossings)
    times = "once" if least == 1 else f"{least} times"
    return (
        f"{layout.name}: as solid bodies its shafts would have to pass through each other. The best of {SEARCHES} arrangements "
        f"still crosses {times}: {names}. The stick diagram shows the same train (--what stick). An element that joins other "
        "shafts, or an output on another member, may free the way."
    )


def _named(layout: Layout, shaft: int) -> tuple[str, ...]:
    return (HOUSING,) if shaft == 0 else layout.shafts[shaft]
