"""Problems about a range of any layout: its ratio set by set, its torques, the vehicle's speed, an upshift.

Each is a function of a layout and of the ranges that may be taken; the solver gives the numbers.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from gearkit.answers.comparison.exact import PI
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.reasoning.layout_rows import Row, Train
from gearkit.answers.reasoning.ratio_problem import ratio_set_by_set
from gearkit.answers.reasoning.worked import (
    Problem,
    Stage,
    Values,
    Working,
    bracketed,
    differs,
    in_four_figures,
    told,
)
from gearkit.train.layout import Layout

_RPM, _NM = "r/min", "N·m"


def torque_of_housing(layout: Layout, row: Row, seeded: SeededRandom) -> Problem | None:
    """What the housing has to hold in a range, from input torque and ratio.

    Args:
        layout: any layout.
        row: one of its ranges; not direct drive, where the housing holds nothing.
        seeded: the input torque.
    """
    if not differs(row.ratio, Fraction(1)):
        return None
    torque, i = Fraction(80 + 10 * seeded.below(23)), in_four_figures(row.ratio)

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


def road_speed(layout: Layout, row: Row, seeded: SeededRandom) -> Problem | None:
    """The vehicle's speed in a forward range.

    Args:
        layout: any layout.
        row: one of its ranges.
        seeded: engine speed, final drive and rolling radius.
    """
    if row.ratio <= 0 or not differs(row.ratio, Fraction(1)):
        return None
    i = Fraction(round(row.ratio * 1000), 1000)
    n, f, r = Fraction(1000 + 100 * seeded.below(26)), Fraction(28 + seeded.below(20), 10), Fraction(28 + seeded.below(15), 100)

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


def engine_speed_after_an_upshift(layout: Layout, low: Row, high: Row, seeded: SeededRandom) -> Problem | None:
    """How far the engine comes down in an upshift.

    Args:
        layout: any layout.
        low: the range before.
        high: the range after, with a smaller ratio.
        seeded: the engine speed.
    """
    a, b = (Fraction(round(row.ratio * 1000), 1000) for row in (low, high))
    if not 0 < b < a or not differs(a, b) or not differs(b, Fraction(1)) or not differs(a, Fraction(1)):
        return None
    n = Fraction(2000 + 100 * seeded.below(31))

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


Of = Callable[[Train, SeededRandom], Problem | None]


def _one_range(make: Callable[[Layout, Row, SeededRandom], Problem | None]) -> Of:
    def of(train: Train, seeded: SeededRandom) -> Problem | None:
        return make(train.layout, seeded.pick(train.rows), seeded) if train.rows else None

    return of


@lru_cache(maxsize=64)
def _over_two_sets(train: Train) -> tuple[str, ...]:
    """Ranges whose ratio takes at least two sets, one after the other."""
    found = {row.name: ratio_set_by_set(train.layout, row) for row in train.rows}
    return tuple(name for name, problem in found.items() if problem is not None and len(problem.stages) > 2)


def _ratio(train: Train, seeded: SeededRandom) -> Problem | None:
    names = _over_two_sets(train)
    if not names:
        return None
    name = seeded.pick(names)
    return ratio_set_by_set(train.layout, next(row for row in train.rows if row.name == name))


def _upshift(train: Train, seeded: SeededRandom) -> Problem | None:
    rows = [row for row in train.rows if row.ratio > 0]
    shifts = [(low, high) for low, high in pairwise(rows) if low.ratio > high.ratio]
    if not shifts:
        return None
    low, high = seeded.pick(shifts)
    return engine_speed_after_an_upshift(train.layout, low, high, seeded)


OF_A_LAYOUT: dict[str, Of] = {
    "ratio set by set": _ratio,
    "torque of the housing": _one_range(torque_of_housing),
    "road speed": _one_range(road_speed),
    "upshift": _upshift,
}
