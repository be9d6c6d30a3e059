"""Problems about a range of any layout: its ratio set by set, its torques, the vehicle's speed, an upshift.

Each is a function of a layout and of the ranges that may be taken; the solver gives the numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from gearkit.answers.comparison.exact import PI
from gearkit.answers.draw_numbers.seeded_random import Dice
from gearkit.answers.reasoning.worked import (
    Problem,
    Stage,
    Values,
    Working,
    bracketed,
    differs,
    in_four_figures,
    product,
    told,
)
from gearkit.answers.train_words import member_words
from gearkit.explain.chain import SetMove, derive
from gearkit.explain.formulas.forms import member_weights
from gearkit.explain.shafts import Merged
from gearkit.solve import ratios
from gearkit.text.phrases import listed
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.terms import INPUT, MEMBERS, OUTPUT, PinionKind

_RPM, _NM = "r/min", "N·m"
_LETTER = {"sun": "n_s", "ring": "n_r", "carrier": "n_c"}


@dataclass(frozen=True)
class Row:
    """A range that drives.

    Args:
        name: its name.
        engaged: the applied elements.
        ratio: its ratio.
    """

    name: str
    engaged: tuple[str, ...]
    ratio: Fraction

    @property
    def words(self) -> str:
        """The range with its elements."""
        return f"range {self.name} ({listed(self.engaged) or 'no element'} applied)"


@dataclass(frozen=True)
class Train:
    """A layout with its ranges.

    Args:
        layout: the layout with a learner's tooth counts.
        rows: the ranges that drive.
        like: the layout whose structure it has; what hangs on no tooth counts is worked out for that one once.
    """

    layout: Layout
    rows: tuple[Row, ...]
    like: Layout

    def __hash__(self) -> int:
        return hash(self.like.name)

    def __eq__(self, other: object) -> bool:
        # For what is remembered of a structure.
        return isinstance(other, Train) and other.like is self.like


def rows_of(layout: Layout) -> tuple[Row, ...]:
    """Return the ranges that drive; of several with the same elements the first.

    Args:
        layout: any layout.
    """
    found: dict[frozenset[str], Row] = {}
    for one in layout.ranges:
        ratio = ratios.ratio(layout, one.engaged)
        if ratio is not None:
            found.setdefault(frozenset(one.engaged), Row(one.name, tuple(one.engaged), ratio.exact))
    return tuple(found.values())


def ratio_set_by_set(layout: Layout, row: Row) -> Problem | None:
    """The ratio of a range, from end to end, one set after the other; None where sets have to be solved together.

    Args:
        layout: any layout of simple or double-pinion sets.
        row: one of its ranges.
    """
    merged = Merged(layout, row.engaged)
    every = [pset.name for pset in layout.sets]
    for start, goal in ((OUTPUT, INPUT), (INPUT, OUTPUT)):
        known = {merged.root(start): Fraction(1), merged.ground: Fraction(0)}
        moves, speeds = derive(merged, known, every, [merged.root(goal)])
        if moves and merged.root(goal) in speeds and all(isinstance(move, SetMove) for move in moves):
            break
    else:
        return None
    sets = [layout.set_named(move.set_name) for move in moves if isinstance(move, SetMove)]
    if any(one.pinions not in (PinionKind.SINGLE, PinionKind.DOUBLE) or one.sun_teeth is None for one in sets):
        return None
    stages = [_set_stage(merged, move, pset) for move, pset in zip(moves, sets, strict=True) if isinstance(move, SetMove)]
    last = merged.root(goal)

    def ratio(upside_down: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            speed = values[last]
            direct = (start == OUTPUT) != upside_down
            found = speed if direct else 1 / speed
            how = "" if direct else f"1 / {bracketed(speed)} = "
            return f"the {goal} makes {told(speed)} turns for one of the {start}, so the ratio is {how}{told(found)}", found

        return work

    stages.append(Stage("ratio", "the ratio: input speed over output speed", ratio(False), {"RECIP": ratio(True)}, (last,)))
    at_start = _with(merged, merged.root(start), start)
    held = _with(merged, merged.ground, "housing")
    begin = f"Let the {start} make one turn{f'; {at_start} turn{_s(at_start)} with it' if at_start else ''}."
    begin += f" {held[0].upper()}{held[1:]} stand{_s(held)} still." if held else ""
    return Problem(
        f"What is the ratio of {row.words}? {begin} Every set obeys $S\\,n_s + R\\,n_r = (S + R)\\,n_c${_double(sets)}.",
        tuple(stages),
        {root: Fraction(value) for root, value in known.items()},
    )


def _s(names: str) -> str:
    return "" if " and " in names else "s"


def _double(sets: Sequence[PlanetarySet]) -> str:
    names = [one.name.removeprefix("P") for one in sets if one.pinions is PinionKind.DOUBLE]
    return f" (a minus in front of every $R$ in set {listed(names)}, which has double pinions)" if names else ""


def _with(merged: Merged, root: str, end: str) -> str:
    return listed([member_words(member) for member in merged.members(root) if member not in (end, INPUT, OUTPUT)])


def _set_stage(merged: Merged, move: SetMove, pset: PlanetarySet) -> Stage:
    weights, roots = member_weights(pset), merged.roots(move.set_name)
    number = move.set_name.removeprefix("P")
    sun, ring = abs(weights["sun"]), abs(weights["ring"])
    others = [member for member in MEMBERS if member != move.member]
    mates = _with(merged, move.root, f"{move.set_name}.{move.member}")

    def working(a: int, b: int, c: int, zero: str = "") -> Working:
        taken = {"sun": a, "ring": b, "carrier": -c}

        def work(values: Values) -> tuple[str, Fraction]:
            speeds = {member: Fraction(0) if member == zero else values[roots[member]] for member in others}
            found = -sum((taken[member] * speeds[member] for member in others), Fraction(0)) / taken[move.member]
            shown = {member: bracketed(speeds[member]) for member in others} | {move.member: f"${_LETTER[move.member]}$"}
            left = f"{product(str(a), shown['sun'])} {'+' if b > 0 else '−'} {product(str(abs(b)), shown['ring'])}"
            also = f", and {mates} with it" if mates else ""
            return (
                f"set {number}: {left} = {product(str(c), shown['carrier'])}, so {member_words(f'{move.set_name}.{move.member}')} makes "
                f"{told(found)} turns{also}",
                found,
            )

        return work

    sign = 1 if weights["ring"] > 0 else -1
    wrong = {
        "SWAP": working(ring, sign * sun, sun + ring if sign > 0 else sun - ring)
        if sign > 0
        else working(ring, -sun, ring - sun)
    }
    if sign > 0:
        wrong["SIGN"] = working(sun, -ring, sun + ring)
        wrong["DOUBLE"] = working(sun, ring, ring - sun)
    for member in others:
        if move.speeds[member].constant != 0:
            wrong["HELDMOVES"] = working(sun, sign * ring, sun + sign * ring, zero=member)
    needs = tuple(dict.fromkeys(roots[member] for member in others))
    return Stage(
        move.root,
        f"the speed of {member_words(f'{move.set_name}.{move.member}')}, from set {number}",
        working(sun, sign * ring, sun + sign * ring),
        wrong,
        needs,
        "turns",
    )


def torque_of_housing(layout: Layout, row: Row, dice: Dice) -> Problem | None:
    """What the housing has to hold in a range, from input torque and ratio.

    Args:
        layout: any layout.
        row: one of its ranges; not direct drive, where the housing holds nothing.
        dice: the input torque.
    """
    if not differs(row.ratio, Fraction(1)):
        return None
    torque, i = Fraction(80 + 10 * dice.below(23)), in_four_figures(row.ratio)

    def output(divided: bool) -> Working:
        found = torque / i if divided else torque * i
        return lambda _: (
            f"at the output the train hands on {told(torque)} {'/' if divided else '×'} {bracketed(i)} = {told(found, _NM)}",
            found,
        )

    def load(sign: int) -> Working:
        return lambda values: (
            f"so the load acts on the train with {told(sign * values['output'], _NM)}",
            sign * values["output"],
        )

    def housing(with_input: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            found = -values["load"] - (torque if with_input else 0)
            terms = f"{told(torque)} + " if with_input else ""
            return (
                f"the torques from outside add up to nothing: {terms}{bracketed(values['load'])} + housing = 0, so the housing acts "
                f"with {told(found, _NM)}",
                found,
            )

        return work

    def share(upside_down: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            a, b = (torque, values["housing"]) if upside_down else (values["housing"], torque)
            return (
                f"for each newton metre at the input the housing acts with {bracketed(a)} / {bracketed(b)} = {told(a / b, _NM)}",
                a / b,
            )

        return work

    stages = (
        Stage("output", "the torque that the train hands on at its output", output(False), {"TSPEED": output(True)}, (), _NM),
        Stage("load", "the torque with which the load acts on the train", load(-1), {"SIGN": load(1)}, ("output",), _NM),
        Stage(
            "housing",
            "the torque with which the housing acts on the train",
            housing(True),
            {"REACT": housing(False)},
            ("load",),
            _NM,
        ),
        Stage(
            "share",
            "the housing's torque for each newton metre at the input",
            share(False),
            {"RECIP": share(True)},
            ("housing",),
            _NM,
        ),
    )
    return Problem(
        f"In {row.words} the ratio is {told(i)} and the input torque {told(torque, _NM)}, without losses. With which torque "
        "does the housing act on the train, in all? (Torques count positive in the sense of the input torque.)",
        stages,
    )


def road_speed(layout: Layout, row: Row, dice: Dice) -> Problem | None:
    """The vehicle's speed in a forward range.

    Args:
        layout: any layout.
        row: one of its ranges.
        dice: engine speed, final drive and rolling radius.
    """
    if row.ratio <= 0 or not differs(row.ratio, Fraction(1)):
        return None
    i = Fraction(round(row.ratio * 1000), 1000)
    n, f, r = Fraction(1000 + 100 * dice.below(26)), Fraction(28 + dice.below(20), 10), Fraction(28 + dice.below(15), 100)

    def shaft(times: bool) -> Working:
        found = n * i if times else n / i
        return lambda _: (
            f"the propeller shaft turns at {told(n)} {'×' if times else '/'} {told(i)} = {told(found, _RPM)}",
            found,
        )

    def wheel(with_final_drive: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            found = values["shaft"] / (f if with_final_drive else 1)
            how = f"{told(values['shaft'])} / {told(f)} = " if with_final_drive else ""
            return f"the wheels turn at {how}{told(found, _RPM)}", found

        return work

    def metres(round_once: int) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            found = values["wheel"] * round_once * PI * r
            way = "2 × π" if round_once == 2 else "π"
            return f"in a minute they roll {told(values['wheel'])} × {way} × {told(r)} = {told(found, 'm')}", found

        return work

    def speed(per: int) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            found = values["metres"] * per / 1000
            return f"in an hour that is {told(values['metres'])} × {per} / 1000 = {told(found, 'km')}", found

        return work

    stages = (
        Stage("shaft", "the speed of the propeller shaft", shaft(False), {"RECIP": shaft(True)}, (), _RPM),
        Stage("wheel", "the speed of the wheels", wheel(True), {"FD": wheel(False)}, ("shaft",), _RPM),
        Stage("metres", "how far the wheels roll in a minute", metres(2), {"HALF": metres(1)}, ("wheel",), "m"),
        Stage("speed", "how far the vehicle goes in an hour", speed(60), {"UNIT": speed(3600)}, ("metres",), "km"),
    )
    return Problem(
        f"In {row.words} the ratio is {told(i)}; the engine turns at {told(n, _RPM)}, the final drive is {told(f)}, the rolling "
        f"radius {told(r)} m, and nothing slips. How far does the vehicle go in an hour, in km?",
        stages,
    )


def engine_speed_after_an_upshift(layout: Layout, low: Row, high: Row, dice: Dice) -> Problem | None:
    """How far the engine comes down in an upshift.

    Args:
        layout: any layout.
        low: the range before.
        high: the range after, with a smaller ratio.
        dice: the engine speed.
    """
    a, b = (Fraction(round(row.ratio * 1000), 1000) for row in (low, high))
    if not 0 < b < a or not differs(a, b) or not differs(b, Fraction(1)) or not differs(a, Fraction(1)):
        return None
    n = Fraction(2000 + 100 * dice.below(31))

    def output(times: bool) -> Working:
        found = n * a if times else n / a
        return lambda _: (
            f"before the shift the output turns at {told(n)} {'×' if times else '/'} {told(a)} = {told(found, _RPM)}",
            found,
        )

    def after(divided: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            found = values["output"] / b if divided else values["output"] * b
            return (
                f"the output keeps its speed, so after the shift the engine turns at {told(values['output'])} "
                f"{'/' if divided else '×'} {told(b)} = {told(found, _RPM)}",
                found,
            )

        return work

    def drop(sign: int) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            found = n - sign * values["after"]
            return f"it comes down by {told(n)} {'−' if sign > 0 else '+'} {told(values['after'])} = {told(found, _RPM)}", found

        return work

    def share(of_after: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            base = values["after"] if of_after else n
            found = 100 * values["drop"] / base
            return (
                f"as a share of its speed before: 100 × {bracketed(values['drop'])} / {told(base)} = {told(found)} percent",
                found,
            )

        return work

    stages = (
        Stage("output", "the speed of the output before the shift", output(False), {"RECIP": output(True)}, (), _RPM),
        Stage("after", "the speed of the engine after the shift", after(False), {"UPSHIFT": after(True)}, ("output",), _RPM),
        Stage("drop", "by how much the engine comes down", drop(1), {"SIGN": drop(-1)}, ("after",), _RPM),
        Stage("share", "that as a share of its speed before", share(False), {"LEFTOUT": share(True)}, ("drop",), "percent"),
    )
    return Problem(
        f"An upshift goes from range {low.name} (ratio {told(a)}) to range {high.name} (ratio {told(b)}) with the engine at "
        f"{told(n, _RPM)}; the road speed does not change. By how many percent does the engine come down?",
        stages,
    )


Of = Callable[[Train, Dice], Problem | None]


def _one_range(make: Callable[[Layout, Row, Dice], Problem | None]) -> Of:
    def of(train: Train, dice: Dice) -> Problem | None:
        return make(train.layout, dice.pick(train.rows), dice) if train.rows else None

    return of


@lru_cache(maxsize=64)
def _over_two_sets(train: Train) -> tuple[str, ...]:
    """Ranges whose ratio takes at least two sets, one after the other."""
    found = {row.name: ratio_set_by_set(train.layout, row) for row in train.rows}
    return tuple(name for name, problem in found.items() if problem is not None and len(problem.stages) > 2)


def _ratio(train: Train, dice: Dice) -> Problem | None:
    names = _over_two_sets(train)
    if not names:
        return None
    name = dice.pick(names)
    return ratio_set_by_set(train.layout, next(row for row in train.rows if row.name == name))


def _upshift(train: Train, dice: Dice) -> Problem | None:
    rows = [row for row in train.rows if row.ratio > 0]
    shifts = [(low, high) for low, high in pairwise(rows) if low.ratio > high.ratio]
    if not shifts:
        return None
    low, high = dice.pick(shifts)
    return engine_speed_after_an_upshift(train.layout, low, high, dice)


OF_A_LAYOUT: dict[str, Of] = {
    "ratio set by set": _ratio,
    "torque of the housing": _one_range(torque_of_housing),
    "road speed": _one_range(road_speed),
    "upshift": _upshift,
}
