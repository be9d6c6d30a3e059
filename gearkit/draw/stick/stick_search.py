"""The search for a good plan of a stick diagram: simulated annealing, many short starts and reheats of the best.

Many short starts and five reheats of the best end cheaper than a few long runs at the same number of trials (measured on seven
layouts). A third of the starts have the sets in the file's own order. The number of trials depends on the layout's size only, never on the
clock, so the same layout always gets the same plan.
"""

from __future__ import annotations

import math
import random
from functools import lru_cache
from operator import itemgetter

from gearkit.draw.stick.routing import (
    CLASH,
    CROSSING,
    EXIT_COST,
    LEFT_OUTER,
    RIGHT_INNER,
    RIGHT_OUTER,
    Grid,
    Plan,
    Router,
    judge,
)
from gearkit.draw.stick.stick_nets import Nets

STARTS, START_STEPS = 12, 1200
REHEATS, REHEAT_STEPS = 5, 3000
HOT, WARM, COLD = 25.0, 15.0, 0.3
# What a clash and a crossing cost while a search looks round. Plans are chosen by their full cost, but with that from the
# start a search settles too early: 25 crossings instead of 21 on the same 12 layouts.
Weights = tuple[float, float]
SOFT: Weights = (60.0, 10.0)
FULL: Weights = (CLASH, CROSSING)
MOST_ROUNDS = 3
MOST_LANES = 8
SLOTS = 4


@lru_cache(maxsize=64)
def found_plan(
    nets: Nets, seed: int, effort: float = 1.0, looking: Weights = SOFT, *, any_clear: bool = False
) -> tuple[Grid, Plan]:
    """Return a plan without clashes; copy it before changing anything.

    Args:
        nets: the wiring task.
        seed: start of the search; the same seed always gives the same plan.
        effort: share of the usual number of trials, above 0; less is faster and leaves more crossings.
        looking: what a clash and a crossing cost while it looks round; more for a crossing where only a plan without serves.
        any_clear: whether the first plan without a crossing is enough; it is then only made shorter.
    """
    grid = Grid(len(nets.seats), SLOTS, max(2, min(MOST_LANES, len(nets.wired))))
    router, draw = Router(nets, grid), random.Random(seed)
    size = effort * _size(nets)
    for _ in range(MOST_ROUNDS):
        plan = _round(router, draw, size, looking, any_clear)
        if not judge(router.wire(plan), grid).clashes:
            return grid, plan
    return safe_plan(nets)


def trials(nets: Nets) -> int:
    """Return how many plans one search tries, to reckon its work without a clock.

    Args:
        nets: the wiring task.
    """
    return round(_size(nets) * (STARTS * START_STEPS + REHEATS * REHEAT_STEPS))


def _size(nets: Nets) -> float:
    return 0.5 + len(nets.kinds) / 8


def _round(router: Router, draw: random.Random, size: float, looking: Weights, any_clear: bool) -> Plan:
    first, again = max(20, round(size * START_STEPS)), max(50, round(size * REHEAT_STEPS))
    plans: list[tuple[float, Plan]] = []
    for number in range(STARTS):
        plans.append(_annealed(router, draw, _start(router, draw, own=number % 3 == 0), first, HOT, looking))
        if any_clear and _is_clear(router, plans[-1][1]):
            break
    lowest = min(plans, key=itemgetter(0))
    for _ in range(REHEATS):
        plans.append(_annealed(router, draw, lowest[1], again, WARM, looking))
        # The search goes on from what looks best by its own weights, even where another plan costs less in full.
        lowest = min(lowest, plans[-1], key=itemgetter(0))
        if any_clear and _is_clear(router, lowest[1]):
            break
    plan = min((plan for _, plan in plans), key=lambda plan: _cost(router, plan))
    return _polished(router, plan, _cost(router, plan))


def _is_clear(router: Router, plan: Plan) -> bool:
    faults = judge(router.wire(plan), router.grid)
    return not faults.crossings and not faults.clashes


def safe_plan(nets: Nets) -> tuple[Grid, Plan]:
    """Return a plan that cannot clash, whatever it crosses: a row for every lane, a column for every upright.

    Args:
        nets: any wiring task.
    """
    sets, elements = len(nets.seats), len(nets.elements)
    # One row more than lanes: the brakes need the top row free of foreign lines.
    lanes = nets.count + 1
    grid = Grid(sets, math.ceil((elements + nets.count) / (sets + 1)), lanes)
    gaps = grid.gap_columns
    own = list(range(nets.count))
    return grid, Plan(
        list(range(sets)), [0] * (3 * len(nets.kinds)), (own[:], own[:]), list(gaps[: nets.count]),
        list(gaps[nets.count : nets.count + elements]), [[1, 1] for _ in range(elements)],
    )  # fmt: skip


def _cost(router: Router, plan: Plan, limit: float = math.inf, weights: Weights = FULL) -> float:
    return judge(router.wire(plan), router.grid, limit, *weights).cost


def _annealed(router: Router, draw: random.Random, plan: Plan, steps: int, heat: float, weights: Weights) -> tuple[float, Plan]:
    """Return the best plan met on the way, and what it costs by these weights."""
    cost = _cost(router, plan, weights=weights)
    best, best_cost = plan, cost
    cooling = (COLD / heat) ** (1 / steps)
    for _ in range(steps):
        heat *= cooling
        trial = plan.copy()
        (_shift if draw.random() < 0.25 else _change)(router, trial, draw)
        # A worse plan is taken with chance exp(−rise / heat): drawn first, so that hopeless plans are left half judged.
        limit = cost - heat * math.log(1.0 - draw.random())
        if trial == plan:
            continue
        trial_cost = _cost(router, trial, limit, weights)
        if trial_cost <= limit:
            plan, cost = trial, trial_cost
            if cost < best_cost:
                best, best_cost = plan, cost
    return best_cost, best


def _start(router: Router, draw: random.Random, *, own: bool) -> Plan:
    """Anything anywhere, with the sets in the file's own order or in any."""
    grid, nets, gaps = router.grid, router.nets, router.grid.gap_columns
    order = list(range(grid.sets))
    if not own:
        draw.shuffle(order)
    return Plan(
        order,
        [draw.randrange(len(ports)) for ports in router.ports],
        ([draw.randrange(grid.lanes) for _ in range(nets.count)], [draw.randrange(grid.lanes) for _ in range(nets.count)]),
        [draw.choice(gaps) for _ in range(nets.count)],
        [draw.choice(gaps) for _ in nets.elements],
        [[draw.randrange(2), draw.randrange(2)] for _ in nets.elements],
    )


def _change(router: Router, plan: Plan, draw: random.Random) -> None:
    """Change one thing anywhere; the shares reflect how often each kind of change helps."""
    grid, nets = router.grid, router.nets
    which = draw.random()
    if which < 0.10 and grid.sets > 1:
        a, b = draw.randrange(grid.sets), draw.randrange(grid.sets)
        plan.order[a], plan.order[b] = plan.order[b], plan.order[a]
    elif which < 0.35:
        member = draw.randrange(len(plan.ports))
        plan.ports[member] = draw.randrange(len(router.ports[member]))
    elif which < 0.60 and plan.slots:
        element = draw.randrange(len(plan.slots))
        if draw.random() < 0.6:
            plan.slots[element] = draw.choice(grid.gap_columns)
        else:
            plan.ends[element][draw.randrange(2)] ^= 1
    elif which < 0.88:
        lanes, net = plan.lanes[draw.randrange(2)], draw.choice(nets.wired)
        if draw.random() < 0.5:
            lanes[net] = draw.randrange(grid.lanes)
        else:
            other = draw.choice(nets.wired)
            lanes[net], lanes[other] = lanes[other], lanes[net]
    elif which < 0.95:
        plan.risers[draw.choice(nets.wired)] = draw.choice(grid.gap_columns)
    else:
        plan.exit = draw.choice((RIGHT_INNER, RIGHT_INNER, RIGHT_OUTER, LEFT_OUTER))


def _shift(router: Router, plan: Plan, draw: random.Random) -> None:
    """Change something to a place nearby, or two things that belong together."""
    grid, nets, gaps = router.grid, router.nets, router.grid.gap_columns
    which = draw.random()
    if which < 0.45 and plan.slots:
        element = draw.randrange(len(plan.slots))
        if which < 0.28:
            place = gaps.index(plan.slots[element]) + draw.choice((-2, -1, 1, 2))
            plan.slots[element] = gaps[max(0, min(len(gaps) - 1, place))]
        else:
            other = draw.randrange(len(plan.slots))
            plan.slots[element], plan.slots[other] = plan.slots[other], plan.slots[element]
    elif which < 0.70:
        lanes, net = plan.lanes[draw.randrange(2)], draw.choice(nets.wired)
        lanes[net] = max(0, min(grid.lanes - 1, lanes[net] + draw.choice((-1, 1))))
    elif which < 0.85 and plan.slots:
        element = draw.randrange(len(plan.slots))
        plan.slots[element] = draw.choice(gaps)
        plan.ends[element] = [draw.randrange(2), draw.randrange(2)]
    else:
        member = draw.randrange(len(plan.ports))
        plan.ports[member] = draw.randrange(len(router.ports[member]))
        net = nets.members[member]
        if net > 0:
            plan.lanes[0][net], plan.lanes[1][net] = draw.randrange(grid.lanes), draw.randrange(grid.lanes)


def _polished(router: Router, plan: Plan, cost: float) -> Plan:
    """Try every single change in turn, keeping what helps, until a whole round brings nothing."""
    changes = _single_changes(router)
    while True:
        before = cost
        for part, index, value in changes:
            trial = plan.copy()
            _apply(trial, part, index, value)
            trial_cost = _cost(router, trial, cost)
            if trial_cost < cost - 1e-9:
                plan, cost = trial, trial_cost
        if cost >= before - 1e-9:
            return plan


def _single_changes(router: Router) -> list[tuple[str, int, int]]:
    """Return every single change as (part of the plan, index, value)."""
    grid, nets, gaps = router.grid, router.nets, router.grid.gap_columns
    wired_members = [member for member, net in enumerate(nets.members) if net >= 0]
    return [
        *(("port", member, port) for member in wired_members for port in range(len(router.ports[member]))),
        *(("slot", element, slot) for element in range(len(nets.elements)) for slot in gaps),
        *(("end", element, side) for element in range(len(nets.elements)) for side in (0, 1)),
        *(("inner", net, lane) for net in nets.wired for lane in range(grid.lanes)),
        *(("outer", net, lane) for net in nets.wired for lane in range(grid.lanes)),
        *(("riser", net, slot) for net in nets.wired for slot in gaps),
        *(("exit", 0, way) for way in EXIT_COST),
    ]


def _apply(plan: Plan, part: str, index: int, value: int) -> None:
    match part:
        case "port":
            plan.ports[index] = value
        case "slot":
            plan.slots[index] = value
        case "end":
            plan.ends[index][value] ^= 1
        case "inner":
            plan.lanes[0][index] = value
        case "outer":
            plan.lanes[1][index] = value
        case "riser":
            plan.risers[index] = value
        case _:
            plan.exit = value
