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
from gearkit.words.say import say

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
        value = torque / i if divided else torque * i
        return lambda _: (
            say(
                "at the output the train hands on {told} {value} {bracketed} = {told2}",
                told=told(torque),
                value="/" if divided else "×",
                bracketed=bracketed(i),
                told2=told(value, _NM),
            ),
            value,
        )

    def load(sign: int) -> Working:
        return lambda values: (
            say("so the load acts on the train with {told}", told=told(sign * values["output"], _NM)),
            sign * values["output"],
        )

    def housing(with_input: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            value = -values["load"] - (torque if with_input else 0)
            terms = f"{told(torque)} + " if with_input else ""
            return (
                say(
                    "the torques from outside add up to zero: {terms}{bracketed} + housing = 0, so the housing acts with {told}",
                    terms=terms,
                    bracketed=bracketed(values["load"]),
                    told=told(value, _NM),
                ),
                value,
            )

        return work

    def share(upside_down: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            a, b = (torque, values["housing"]) if upside_down else (values["housing"], torque)
            return (
                say(
                    "for each newton metre at the input the housing acts with {bracketed} / {bracketed2} = {told}",
                    bracketed=bracketed(a),
                    bracketed2=bracketed(b),
                    told=told(a / b, _NM),
                ),
                a / b,
            )

        return work

    stages = (
        Stage(
            "output", say("the torque that the train hands on at its output"), output(False), {"TSPEED": output(True)}, (), _NM
        ),
        Stage("load", say("the torque with which the load acts on the train"), load(-1), {"SIGN": load(1)}, ("output",), _NM),
        Stage(
            "housing",
            say("the torque with which the housing acts on the train"),
            housing(True),
            {"REACT": housing(False)},
            ("load",),
            _NM,
        ),
        Stage(
            "share",
            say("the housing's torque for each newton metre at the input"),
            share(False),
            {"RECIP": share(True)},
            ("housing",),
            _NM,
        ),
    )
    return Problem(
        say(
            "In {row} the ratio is {told} and the input torque {told2}, without losses. With which torque does the housing act on the train, in all? (Torques count positive in the direction of the input torque.)",
            row=row.words,
            told=told(i),
            told2=told(torque, _NM),
        ),
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
        value = n * i if times else n / i
        return lambda _: (
            say(
                "the propeller shaft turns at {told} {value} {told2} = {told3}",
                told=told(n),
                value="×" if times else "/",
                told2=told(i),
                told3=told(value, _RPM),
            ),
            value,
        )

    def wheel(with_final_drive: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            value = values["shaft"] / (f if with_final_drive else 1)
            how = f"{told(values['shaft'])} / {told(f)} = " if with_final_drive else ""
            return say("the wheels turn at {how}{told}", how=how, told=told(value, _RPM)), value

        return work

    def metres(round_once: int) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            value = values["wheel"] * round_once * PI * r
            way = "2 × π" if round_once == 2 else "π"
            return say(
                "in a minute they roll {told} × {way} × {told2} = {told3}",
                told=told(values["wheel"]),
                way=way,
                told2=told(r),
                told3=told(value, "m"),
            ), value

        return work

    def speed(per: int) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            value = values["metres"] * per / 1000
            return say(
                "in an hour that is {told} × {per} / 1000 = {told2}",
                told=told(values["metres"]),
                per=per,
                told2=told(value, "km"),
            ), value

        return work

    stages = (
        Stage("shaft", say("the speed of the propeller shaft"), shaft(False), {"RECIP": shaft(True)}, (), _RPM),
        Stage("wheel", say("the speed of the wheels"), wheel(True), {"FD": wheel(False)}, ("shaft",), _RPM),
        Stage("metres", say("how far the wheels roll in a minute"), metres(2), {"HALF": metres(1)}, ("wheel",), "m"),
        Stage("speed", say("how far the vehicle goes in an hour"), speed(60), {"UNIT": speed(3600)}, ("metres",), "km"),
    )
    return Problem(
        say(
            "In {row} the ratio is {told}; the engine turns at {told2}, the final drive is {told3}, the rolling radius {told4} m, and nothing slips. How far does the vehicle go in an hour, in km?",
            row=row.words,
            told=told(i),
            told2=told(n, _RPM),
            told3=told(f),
            told4=told(r),
        ),
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
        value = n * a if times else n / a
        return lambda _: (
            say(
                "before the shift the output turns at {told} {value} {told2} = {told3}",
                told=told(n),
                value="×" if times else "/",
                told2=told(a),
                told3=told(value, _RPM),
            ),
            value,
        )

    def after(divided: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            value = values["output"] / b if divided else values["output"] * b
            return (
                say(
                    "the output keeps its speed, so after the shift the engine turns at {told} {value} {told2} = {told3}",
                    told=told(values["output"]),
                    value="/" if divided else "×",
                    told2=told(b),
                    told3=told(value, _RPM),
                ),
                value,
            )

        return work

    def drop(sign: int) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            value = n - sign * values["after"]
            return say(
                "it comes down by {told} {value} {told2} = {told3}",
                told=told(n),
                value="−" if sign > 0 else "+",
                told2=told(values["after"]),
                told3=told(value, _RPM),
            ), value

        return work

    def share(of_after: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            base = values["after"] if of_after else n
            value = 100 * values["drop"] / base
            return (
                say(
                    "as a share of its speed before: 100 × {bracketed} / {told} = {told2} percent",
                    bracketed=bracketed(values["drop"]),
                    told=told(base),
                    told2=told(value),
                ),
                value,
            )

        return work

    stages = (
        Stage("output", say("the speed of the output before the shift"), output(False), {"RECIP": output(True)}, (), _RPM),
        Stage(
            "after", say("the speed of the engine after the shift"), after(False), {"UPSHIFT": after(True)}, ("output",), _RPM
        ),
        Stage("drop", say("by how much the engine comes down"), drop(1), {"SIGN": drop(-1)}, ("after",), _RPM),
        Stage(
            "share", say("that as a share of its speed before"), share(False), {"LEFTOUT": share(True)}, ("drop",), "percent"
        ),
    )
    return Problem(
        say(
            "An upshift goes from range {low} (ratio {told}) to range {high} (ratio {told2}) with the engine at {told3}; the road speed does not change. By how many percent does the engine come down?",
            low=low.name,
            told=told(a),
            high=high.name,
            told2=told(b),
            told3=told(n, _RPM),
        ),
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
    problems = {row.name: ratio_set_by_set(train.layout, row) for row in train.rows}
    return tuple(name for name, problem in problems.items() if problem is not None and len(problem.stages) > 2)


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
