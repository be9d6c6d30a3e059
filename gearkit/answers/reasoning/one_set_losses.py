"""Worked problems of one set in use: its efficiency with losses, and a clutch that slips."""

from __future__ import annotations

from fractions import Fraction

from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.reasoning.one_set_problems import RPM, drawn_set, teeth_named
from gearkit.answers.reasoning.worked import Problem, Stage, Values, Working, bracketed, product, told
from gearkit.words.say import say


def efficiency_of_a_set(seeded: SeededRandom) -> Problem | None:
    """The efficiency of a set with one gear held, by its torques.

    Args:
        seeded: the set, its basic efficiency, which gear drives, and the torque.
    """
    teeth, e, torque = drawn_set(seeded), Fraction(92 + seeded.below(7), 100), Fraction(50 + 10 * seeded.below(16))
    drive, hold = seeded.pick((("sun", "ring"), ("ring", "sun")))
    count = {"sun": teeth.sun, "ring": teeth.ring}
    unit = "N·m"

    def held(turned: bool) -> Working:
        a, b = (count[drive], count[hold]) if turned else (count[hold], count[drive])
        value = torque * a / b
        return lambda _: (
            say(
                "without losses the {hold} has {product} / {b} = {told}",
                hold=hold,
                product=product(told(torque), str(a)),
                b=b,
                told=told(value, unit),
            ),
            value,
        )

    def lost(upside_down: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            value = values["held"] / e if upside_down else values["held"] * e
            return (
                say(
                    "with the loss in the teeth it has {told} {value} {told2} = {told3}",
                    told=told(values["held"]),
                    value="/" if upside_down else "×",
                    told2=told(e),
                    told3=told(value, unit),
                ),
                value,
            )

        return work

    def carrier(sign: int) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            value = abs(torque + sign * values["lost"])
            return (
                say(
                    "the carrier hands on both together: {told} {value} {told2} = {told3}",
                    told=told(torque),
                    value="+" if sign > 0 else "−",
                    told2=told(values["lost"]),
                    told3=told(torque + sign * values["lost"], unit),
                ),
                value if sign > 0 else torque + sign * values["lost"],
            )

        return work

    def ideal(with_one: bool) -> Working:
        a, b = count[hold], count[drive]
        value = torque * (1 + Fraction(a, b)) if with_one else torque * a / b
        inner = f"(1 + {a}/{b})" if with_one else f"{a}/{b}"
        return lambda values: (
            say(
                "for comparison: without losses the carrier would hand on {told} × {inner} = {told2}, in place of {told3}",
                told=told(torque),
                inner=inner,
                told2=told(value, unit),
                told3=told(values["carrier"], unit),
            ),
            value,
        )

    def quotient(upside_down: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            a, b = values["carrier"], values["ideal"]
            a, b = (b, a) if upside_down else (a, b)
            return say("the efficiency is {told} / {told2} = {told3}", told=told(a), told2=told(b), told3=told(a / b)), a / b

        return work

    stages = (
        Stage("held", say("the torque on the {hold} without losses", hold=hold), held(False), {"SWAP": held(True)}, (), unit),
        Stage(
            "lost",
            say("the torque on the {hold} with the loss in the teeth", hold=hold),
            lost(False),
            {"RECIP": lost(True)},
            ("held",),
            unit,
        ),
        Stage("carrier", say("the torque that the carrier hands on"), carrier(1), {"SIGN": carrier(-1)}, ("lost",), unit),
        Stage(
            "ideal",
            say("for comparison, what the carrier would hand on without losses"),
            ideal(True),
            {"NOONE": ideal(False)},
            ("carrier",),
            unit,
        ),
        Stage("efficiency", say("the efficiency"), quotient(False), {"RECIP": quotient(True)}, ("carrier", "ideal")),
    )
    return Problem(
        say(
            "{teeth} The {drive} drives with {told}, the {hold} is held, the carrier is the output; the basic efficiency (carrier held) is {told2}. What is the efficiency?",
            teeth=teeth_named(teeth),
            drive=drive,
            told=told(torque, unit),
            hold=hold,
            told2=told(e),
        ),
        stages,
    )


def slip_in_percent(seeded: SeededRandom) -> Problem | None:
    """How much a range slips, from two readings.

    Args:
        seeded: the ratio and the readings.
    """
    ratio, n = Fraction(12 + seeded.below(28), 10), Fraction(1200 + 50 * seeded.below(37))
    output = Fraction(round(10 * n * (1 - Fraction(4 + seeded.below(22), 100)) / ratio), 10)
    # A half that is rounded up on both sides of a difference would leave it one off as it is read.
    if any((2 * taken).denominator == 1 and taken.denominator == 2 for taken in (output, output * ratio, output / ratio)):
        return None

    def without(upside_down: bool) -> Working:
        value = output / ratio if upside_down else output * ratio
        return lambda _: (
            say(
                "if the range held, the input would turn at {told} {value} {told2} = {told3}",
                told=told(output),
                value="/" if upside_down else "×",
                told2=told(ratio),
                told3=told(value, RPM),
            ),
            value,
        )

    def slip(of_output: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            taken = output if of_output else values["without"]
            return (
                say(
                    "it really turns at {told}, so it is too fast by {told} − {told2} = {told3}",
                    told=told(n),
                    told2=told(taken),
                    told3=told(n - taken, RPM),
                ),
                n - taken,
            )

        return work

    def share(of_other: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            base = values["without"] if of_other else n
            value = 100 * values["slip"] / base
            return (
                say(
                    "as a share of the input speed: 100 × {bracketed} / {told} = {told2} percent",
                    bracketed=bracketed(values["slip"]),
                    told=told(base),
                    told2=told(value),
                ),
                value,
            )

        return work

    stages = (
        Stage(
            "without",
            say("the input speed that would fit the output if the range held"),
            without(False),
            {"RECIP": without(True)},
            (),
            RPM,
        ),
        Stage(
            "slip", say("how much too fast the input turns, in r/min"), slip(False), {"SLIPABS": slip(True)}, ("without",), RPM
        ),
        Stage(
            "share",
            say("how much too fast, as a share of the input speed"),
            share(False),
            {"LEFTOUT": share(True)},
            ("slip",),
            "percent",
        ),
    )
    return Problem(
        say(
            "A range with the ratio {told} is commanded. The input turns at {told2}, the output at {told3}. By how much does the input turn too fast, in percent of its speed?",
            told=told(ratio),
            told2=told(n, RPM),
            told3=told(output, RPM),
        ),
        stages,
    )
