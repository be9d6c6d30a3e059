"""Where the parts go when they are solid: no line may cross another, and what is fixed to the housing has to reach it.

A stick diagram may let one shaft pass under another; two solid bodies cannot. So only places without a crossing serve, and a
member that is joined to the housing for good is wired to it like a brake that is always applied.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from gearkit.draw.core.wording import shaft_words
from gearkit.draw.cutaway.meetings import OUTSIDE, in_one_plane, knot, meetings, thirds
from gearkit.draw.stick.placement import Placement, read, read_plan, structure_of
from gearkit.draw.stick.routing import Router, judge
from gearkit.draw.stick.stick_nets import STAYS, Nets, nets_of
from gearkit.draw.stick.stick_search import found_plan, trials
from gearkit.text.phrases import listed
from gearkit.train.layout import Layout
from gearkit.words.errors import GearkitError
from gearkit.words.say import say
from gearkit.words.terms import HOUSING

SEARCHES = 6
# Plans that are tried where somebody waits for a whole unit: two searches for up to three sets, one for four.
FEW_TRIALS = 52_000
# Here a crossing is as bad as lines that touch.
LOOKING = (60.0, 55.0)
# Names of what is stored for solid bodies begin with this.
KEPT = "solid_"
_ONES, _OTHERS = (1, 2, 3), ("a", "b", "c")


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


def solid_placement(layout: Layout, searches: int = SEARCHES) -> SolidPlacement:
    """Return where the parts of a layout go as solid bodies; the same layout and searches always get the same answer.

    Args:
        layout: any layout.
        searches: after how many to give up, counted and not timed; what fewer find, more find alike.

    Raises:
        NotSolidError: there is no arrangement, or every search left a crossing; says why and what to look at instead.
    """
    stored = stored_placement(layout)
    if stored is not None:
        return stored
    _, bodies = _with_fixings(nets_of(layout))
    return SolidPlacement(_searched(layout, searches), len(layout.elements), bodies)


def few_searches(layout: Layout) -> int:
    """Return how many searches do where somebody waits; at least one, fewer for many sets, so that none waits much longer.

    Args:
        layout: any layout.
    """
    return max(1, min(SEARCHES, FEW_TRIALS // trials(nets_of(layout))))


def is_impossible(layout: Layout) -> bool:
    """Return whether it is proved that no arrangement exists; else more searches may find one.

    Args:
        layout: any layout.
    """
    return bool(_impossible(layout))


def stored_placement(layout: Layout) -> SolidPlacement | None:
    """Return where the layout's file says that the parts go as solid bodies; None where it does not, and a search would be needed.

    Args:
        layout: any layout.
    """
    plain = nets_of(layout)
    nets, bodies = _with_fixings(plain)
    # What is stored for solid bodies comes first: a new stick diagram leaves a train that was printed as it is.
    kept = _kept(layout, nets)
    if kept is None and nets is plain:
        stored = read(layout)
        kept = None if stored is None or stored.faults.crossings else stored
    return None if kept is None else SolidPlacement(kept, len(layout.elements), bodies)


def arrangements(layout: Layout) -> Iterator[SolidPlacement]:
    """Yield different arrangements of a layout as solid bodies, its own one first; the same layout always gets the same ones.

    Args:
        layout: any layout.

    Raises:
        NotSolidError: as in `solid_placement`.
    """
    own = solid_placement(layout)
    yield own
    nets, bodies = _with_fixings(nets_of(layout))
    seen = [own.placement.plan_table(layout)]
    for seed in range(1, SEARCHES + 1):
        placement = _clear_or_refused(layout, nets, seed)
        table = placement.plan_table(layout)
        if not placement.faults.crossings and table not in seen:
            seen.append(table)
            yield SolidPlacement(placement, len(layout.elements), bodies)


def kept_table(layout: Layout, searches: int = SEARCHES) -> dict[str, Any]:
    """Return what is stored in a layout's placement beside the stick diagram's places; nothing where these serve, or none do.

    Nothing either for a train with machines, several outputs or a converter, which is not cut open so far.

    Args:
        layout: any layout, with its stick diagram's placement.
        searches: as in `solid_placement`.
    """
    if not layout.plain:
        return {}
    try:
        solid = solid_placement(layout, searches)
    except NotSolidError:
        return {}
    stick, table = read(layout), solid.placement.plan_table(layout)
    if stick is not None and table == stick.plan_table(layout):
        return {}
    return {KEPT + key: value for key, value in table.items()}


def _kept(layout: Layout, nets: Nets) -> Placement | None:
    """The places stored for solid bodies, if they still fit."""
    table = layout.placement or {}
    if table.get("structure") != structure_of(layout) or KEPT + "grid" not in table:
        return None
    try:
        placement = read_plan({key.removeprefix(KEPT): table[key] for key in table if key.startswith(KEPT)}, layout, nets)
    except (KeyError, TypeError, ValueError, IndexError):
        return None
    return None if placement.faults.crossings or placement.faults.clashes else placement


@lru_cache(maxsize=64)
def _searched(layout: Layout, searches: int) -> Placement:
    """Search, once for each layout in a process."""
    proof = _impossible(layout)
    if proof:
        raise NotSolidError(proof)
    nets, bodies = _with_fixings(nets_of(layout))
    best: Placement | None = None
    for seed in range(1, searches + 1):
        placement = _clear_or_refused(layout, nets, seed, any_clear=True)
        if best is None or len(placement.faults.crossings) < len(best.faults.crossings):
            best = placement
        if not best.faults.crossings:
            return best
    assert best is not None
    raise NotSolidError(_refusal(layout, best, bodies, searches))


def _clear_or_refused(layout: Layout, nets: Nets, seed: int, *, any_clear: bool = False) -> Placement:
    grid, plan = found_plan(nets, seed, looking=LOOKING, any_clear=any_clear)
    wiring = Router(nets, grid).wire(plan)
    return Placement(structure_of(layout), nets, grid, plan.copy(), wiring, judge(wiring, grid))


def _impossible(layout: Layout) -> str:
    """Why no arrangement exists, where that is proved; else "" """
    if layout.machines or layout.outputs or layout.converter:
        # Proved for one input and one output only.
        return ""
    edges = meetings(layout)
    if in_one_plane(edges):
        return ""
    lines, corners = knot(edges)
    three = thirds(lines, corners)
    names = {corner: say("the outside") if corner == OUTSIDE else shaft_words(_named(layout, corner)) for corner in corners}
    if three:
        ones, others = (
            "; ".join(f"({number}) {names[corner]}" for number, corner in zip(count, side, strict=True))
            for count, side in zip((_ONES, _OTHERS), three, strict=True)
        )
        why = say(
            "each of {ones} would have to reach each of {others}, and in a flat half-section three cannot reach three without crossing",
            ones=ones,
            others=others,
        )
    else:
        each = "; ".join(f"({number}) {name}" for number, name in enumerate(names.values(), 1))
        why = say(
            "each of {each} would have to reach each other, and in a flat half-section five cannot without crossing", each=each
        )
    freeing = [
        element.name for element in layout.elements
        if in_one_plane(meetings(replace(layout, elements=tuple(e for e in layout.elements if e != element), ranges=())))
    ]  # fmt: skip
    change = (say("Without element {freeing} there would be a way.", freeing=listed(freeing, "or")) + " ") if freeing else ""
    return say(
        "{layout}: as solid bodies its shafts would have to pass through each other, whatever their arrangement: {why}. {change}The stick diagram shows the same train (gearkit draw LAYOUT --what stick).",
        layout=layout.said_name,
        why=why,
        change=change,
    )


def _with_fixings(nets: Nets) -> tuple[Nets, tuple[int, ...]]:
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
    leaves = (*nets.leaves, *(STAYS for _ in bodies[nets.count :]))
    fixed = replace(nets, members=tuple(members), elements=tuple(elements), leaves=leaves, wired=wired, count=len(bodies))
    return fixed, tuple(bodies)


def _refusal(layout: Layout, best: Placement, bodies: tuple[int, ...], searches: int) -> str:
    column, row = best.faults.crossings[0]
    over = next(net for at, first, last, net in best.wiring.levels if at == row and first < column < last)
    under = next(net for at, low, high, net in best.wiring.uprights if at == column and low < row < high)
    names = " and ".join(
        say("the shaft of {shaft}", shaft=shaft_words(_named(layout, bodies[net]))) for net in sorted((over, under))
    )
    least = len(best.faults.crossings)
    times = "once" if least == 1 else say("{least} times", least=least)
    return say(
        "{layout}: as solid bodies its shafts would have to pass through each other. The best of {searches} arrangements still crosses {times}: {names}. The stick diagram shows the same train (gearkit draw LAYOUT --what stick). An element that joins other shafts, or an output on another member, may free the way.",
        layout=layout.said_name,
        searches=searches,
        times=times,
        names=names,
    )


def _named(layout: Layout, shaft: int) -> tuple[str, ...]:
    return (HOUSING,) if shaft == 0 else layout.shafts[shaft]
