"""The search for a good plan of a stick diagram: simulated annealing, many short starts and reheats of the best.

Many short starts and some reheats of the best end cheaper than a few long runs at the same number of trials (measured on seven
layouts). A third of the starts have the sets in the file's own order. More than four sets start in the order in which shafts lead
from one to the next, and what still crosses is searched on round its crossings: in a long chain the fault is one set among many good
ones. With up to four sets neither brought anything (60 layouts). The number of trials never depends on the clock, so the same layout
always gets the same plan.
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
from gearkit.draw.stick.stick_nets import INNER, SET_COLUMNS, STAYS, TO_LEFT, Nets

START_STEPS, REHEAT_STEPS = 1200, 3000
# Starts, reheats, and repairs in a row that bring nothing: of few sets, and of many, where one crossing goes after the other.
FEW_SEATS, FOR_FEW, FOR_MANY = 4, (12, 5, 0), (8, 3, 6)
HOT, WARM, MILD, COLD = 25.0, 15.0, 5.0, 0.3
# How many of the cheapest plans are polished before one is chosen, and how many changes of a repair concern what crosses.
FINALISTS, NEAR_SHARE = 2, 0.9
# What a clash and a crossing cost while a search looks round. Plans are chosen by their full cost, but with that from the
# start a search settles too early: 25 crossings instead of 21 on the same 12 layouts.
Weights = tuple[float, float]
SOFT: Weights = (60.0, 10.0)
FULL: Weights = (CLASH, CROSSING)
MOST_ROUNDS = 3
ALONE = 2
# In how many starts a further output begins anywhere, and not innermost at its own side.
ELSEWHERE = 0.3
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
    starts, reheats, repairs = _tries(nets)
    return round(_size(nets) * (starts * START_STEPS + (reheats + repairs) * REHEAT_STEPS))


def _tries(nets: Nets) -> tuple[int, int, int]:
    return FOR_FEW if len(nets.seats) <= FEW_SEATS else FOR_MANY


def _size(nets: Nets) -> float:
    return 0.5 + len(nets.kinds) / 8


def _round(router: Router, draw: random.Random, size: float, looking: Weights, any_clear: bool) -> Plan:
    first, again = max(20, round(size * START_STEPS)), max(50, round(size * REHEAT_STEPS))
    starts, reheats, repairs = _tries(router.nets)
    plans: list[tuple[float, Plan]] = []
    for number in range(starts):
        order = _order(router.nets, draw, number)
        plans.append(_annealed(router, draw, _start(router, draw, order), first, HOT, looking))
        if any_clear and _is_clear(router, plans[-1][1]):
            break
    lowest = min(plans, key=itemgetter(0))
    for _ in range(reheats):
        plans.append(_annealed(router, draw, lowest[1], again, WARM, looking))
        # The search goes on from what looks best by its own weights, even where another plan costs less in full.
        lowest = min(lowest, plans[-1], key=itemgetter(0))
        if any_clear and _is_clear(router, lowest[1]):
            break
    ends = sorted((_cost(router, plan), number) for number, (_, plan) in enumerate(plans))
    finalists = ends[: 1 if any_clear else FINALISTS]
    plan = min((_polished(router, plans[number][1], cost) for cost, number in finalists), key=lambda plan: _cost(router, plan))
    fruitless = 0
    while fruitless < repairs and (crossed := _crossed(router, plan)):
        # Gently at first, then warmer, because some ways lie behind a worse plan.
        heat = WARM if fruitless % 2 else MILD
        _, changed = _annealed(router, draw, plan, again, heat, looking, _changes_round(router, plan, crossed))
        changed = _polished(router, changed, _cost(router, changed))
        fruitless = 0 if len(_crossed(router, changed)) < len(crossed) else fruitless + 1
        plan = min(plan, changed, key=lambda plan: _cost(router, plan))
    return plan


def _crossed(router: Router, plan: Plan) -> tuple[tuple[int, int], ...]:
    return judge(router.wire(plan), router.grid).crossings


def _changes_round(router: Router, plan: Plan, crossed: tuple[tuple[int, int], ...]) -> list[tuple[str, int, int]]:
    """Return the single changes of the shafts of the sets beside places where lines cross, and of what sits on them."""
    nets, grid, near = router.nets, router.grid, set[int]()
    wide = SET_COLUMNS + grid.slots
    for place, seat in enumerate(plan.order):
        if any(abs(grid.middle(place) - column) <= wide for column, _ in crossed):
            near |= {nets.members[3 * index + member] for index in nets.seats[seat] for member in range(3)}
    near.discard(-1)

    def concerns(part: str, index: int) -> bool:
        match part:
            case "port":
                return nets.members[index] in near
            case "slot" | "end":
                return not near.isdisjoint(nets.elements[index])
            case "exit":
                return nets.output in near
            case "seat":
                return True
            case _:
                return index in near

    return [change for change in _single_changes(router) if concerns(*change[:2])]


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


def _annealed(
    router: Router, draw: random.Random, plan: Plan, steps: int, heat: float, weights: Weights,
    near: list[tuple[str, int, int]] | None = None,
) -> tuple[float, Plan]:  # fmt: skip
    """Return the best plan met on the way, and what it costs by these weights; most changes are drawn from those near, if any."""
    cost = _cost(router, plan, weights=weights)
    best, best_cost = plan, cost
    cooling = (COLD / heat) ** (1 / steps)
    for _ in range(steps):
        heat *= cooling
        trial = plan.copy()
        if near and draw.random() < NEAR_SHARE:
            _apply(router.grid, trial, *draw.choice(near))
        else:
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


def _order(nets: Nets, draw: random.Random, start: int) -> list[int]:
    """Return the seats in the file's own order for each third start, else in any; of many in the order in which shafts lead on.

    Of many seats no order drawn at random is near a good one.
    """
    own = list(range(len(nets.seats)))
    if start % 3 == 0:
        return own
    if len(own) <= FEW_SEATS:
        draw.shuffle(own)
        return own
    on = [{nets.members[3 * index + member] for index in seat for member in range(3)} - {-1} for seat in nets.seats]
    order: list[int] = []
    reached = {nets.input}
    while own:
        last = on[order[-1]] if order else reached
        pulls = {
            seat: 2.0 * (not last.isdisjoint(on[seat])) + len(reached & on[seat]) + 0.5 * draw.random()
            + 0.4 * sum([(a in reached and b in on[seat]) or (b in reached and a in on[seat]) for a, b in nets.elements])
            for seat in own
        }  # fmt: skip
        order.append(max(own, key=lambda seat: pulls[seat]))
        own.remove(order[-1])
        reached |= on[order[-1]]
    return order


def _start(router: Router, draw: random.Random, order: list[int]) -> Plan:
    """Anything anywhere, with the seats in a given order; outputs at the side that their names tell, mostly innermost."""
    grid, nets, gaps = router.grid, router.nets, router.grid.gap_columns
    plan = Plan(
        order,
        [draw.randrange(len(ports)) for ports in router.ports],
        ([draw.randrange(grid.lanes) for _ in range(nets.count)], [draw.randrange(grid.lanes) for _ in range(nets.count)]),
        [draw.choice(gaps) for _ in range(nets.count)],
        [draw.choice(columns) for columns in router.columns],
        [[draw.randrange(2), draw.randrange(2)] for _ in nets.elements],
    )
    for number, leaves in enumerate(nets.leaves):
        if leaves == STAYS or draw.random() < ELSEWHERE:
            continue
        # A shaft that goes on through hollow ones, as an axle shaft does, is reached by no single change.
        inner, net = plan.lanes[INNER], max(nets.elements[number])
        plan.slots[number], plan.ends[number] = (0 if leaves == TO_LEFT else grid.last), [INNER, INNER]
        inner[:] = [max(1, lane) for lane in inner]
        inner[net] = 0
    return plan


def _change(router: Router, plan: Plan, draw: random.Random) -> None:
    """Change one thing anywhere; the shares reflect how often each kind of change helps."""
    grid, nets = router.grid, router.nets
    which = draw.random()
    # Many sets stand in a good order from the start; a repair may still change it.
    if which < 0.10 and 1 < grid.sets <= FEW_SEATS:
        a, b = draw.randrange(grid.sets), draw.randrange(grid.sets)
        plan.order[a], plan.order[b] = plan.order[b], plan.order[a]
    elif which < 0.35:
        member = draw.randrange(len(plan.ports))
        plan.ports[member] = draw.randrange(len(router.ports[member]))
    elif which < 0.60 and plan.slots:
        element = draw.randrange(len(plan.slots))
        if draw.random() < 0.6:
            plan.slots[element] = draw.choice(router.columns[element])
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


def _move_seat(grid: Grid, plan: Plan, start: int, end: int, side: int) -> None:
    """Move a seat to another place with what stands in the gap on its left (0) or right (1), or alone (2)."""
    plan.order.insert(end, plan.order.pop(start))
    if side == ALONE:
        return
    places = list(range(grid.sets))
    places.insert(end, places.pop(start))
    columns = {
        grid.gap_columns[(old + side) * grid.slots + slot]: grid.gap_columns[(new + side) * grid.slots + slot]
        for new, old in enumerate(places) for slot in range(grid.slots)
    }  # fmt: skip
    plan.slots[:] = [columns.get(column, column) for column in plan.slots]
    plan.risers[:] = [columns.get(column, column) for column in plan.risers]


def _shift(router: Router, plan: Plan, draw: random.Random) -> None:
    """Change something to a place nearby, or two things that belong together."""
    grid, nets = router.grid, router.nets
    which = draw.random()
    if which < 0.45 and plan.slots:
        element = draw.randrange(len(plan.slots))
        columns = router.columns[element]
        if which < 0.28:
            place = columns.index(plan.slots[element]) + draw.choice((-2, -1, 1, 2))
            plan.slots[element] = columns[max(0, min(len(columns) - 1, place))]
        else:
            other = draw.randrange(len(plan.slots))
            # Only a further output can take the place of one that leaves at a side.
            if plan.slots[other] in columns and plan.slots[element] in router.columns[other]:
                plan.slots[element], plan.slots[other] = plan.slots[other], plan.slots[element]
    elif which < 0.70:
        lanes, net = plan.lanes[draw.randrange(2)], draw.choice(nets.wired)
        lanes[net] = max(0, min(grid.lanes - 1, lanes[net] + draw.choice((-1, 1))))
    elif which < 0.85 and plan.slots:
        element = draw.randrange(len(plan.slots))
        plan.slots[element] = draw.choice(router.columns[element])
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
        # Where the riser of a shaft would stand is all the same while it has none in use.
        risers = router.wire(plan).risers
        useful = changes if risers else [change for change in changes if change[0] != "riser"]
        for part, index, value in useful:
            if part == "riser" and index not in risers:
                continue
            trial = plan.copy()
            _apply(router.grid, trial, part, index, value)
            if trial == plan:
                continue
            trial_cost = _cost(router, trial, cost)
            if trial_cost < cost - 1e-9:
                plan, cost, risers = trial, trial_cost, router.wire(trial).risers
        if cost >= before - 1e-9:
            return plan


def _single_changes(router: Router) -> list[tuple[str, int, int]]:
    """Return every single change as (part of the plan, index, value)."""
    grid, nets, gaps = router.grid, router.nets, router.grid.gap_columns
    wired_members = [member for member, net in enumerate(nets.members) if net >= 0]
    return [
        *(("port", member, port) for member in wired_members for port in range(len(router.ports[member]))),
        *(("slot", element, slot) for element, columns in enumerate(router.columns) for slot in columns),
        *(("end", element, side) for element in range(len(nets.elements)) for side in (0, 1)),
        *(("inner", net, lane) for net in nets.wired for lane in range(grid.lanes)),
        *(("outer", net, lane) for net in nets.wired for lane in range(grid.lanes)),
        *(("riser", net, slot) for net in nets.wired for slot in gaps),
        *(("exit", 0, way) for way in EXIT_COST),
        *(("seat", place, side) for place in range(grid.sets - 1) for side in (0, 1, ALONE)),
    ]


def _apply(grid: Grid, plan: Plan, part: str, index: int, value: int) -> None:
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
        case "seat":
            _move_seat(grid, plan, index, index + 1, value)
        case _:
            plan.exit = value
