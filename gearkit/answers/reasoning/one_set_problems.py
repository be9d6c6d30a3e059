"""Problems about one set that need no layout: a speed, a ratio, a gap, an efficiency."""

from __future__ import annotations

from fractions import Fraction

from gearkit.answers.comparison.exact import PI, sine
from gearkit.answers.draw_numbers import pool
from gearkit.answers.draw_numbers.pool import Teeth
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.reasoning.worked import Problem, Stage, Values, Working, bracketed, product, told

_RPM = "r/min"


def _drawn(seeded: SeededRandom) -> Teeth:
    return seeded.pick(pool.pool())


def _named(teeth: Teeth) -> str:
    return f"A set has $S = {teeth.sun}$ and $R = {teeth.ring}$ teeth."


def third_speed(seeded: SeededRandom) -> Problem | None:
    """The speed of one member of a set from those of the two others.

    Args:
        seeded: the set, the speeds and which member is asked.
    """
    teeth = _drawn(seeded)
    both = teeth.sun + teeth.ring
    asked = seeded.pick(("sun", "ring", "carrier"))
    weight = {"sun": teeth.sun, "ring": teeth.ring, "carrier": both}
    written = {"sun": f"{teeth.sun}", "ring": f"{teeth.ring}", "carrier": f"({teeth.sun} + {teeth.ring})"}
    known = [member for member in weight if member != asked]
    speed = {
        known[0]: Fraction(100 * (4 + seeded.below(17))),
        known[1]: Fraction(50 * (2 + seeded.below(12)) * (1 - 2 * seeded.below(2))),
    }
    if speed[known[0]] == speed[known[1]]:
        return None

    def term(member: str, teeth_taken: int, shown: str) -> Working:
        found = teeth_taken * speed[member]
        return lambda _: (f"the term of the {member} is {product(shown, bracketed(speed[member]))} = {told(found)}", found)

    def wrong_terms(member: str) -> dict[str, Working]:
        if member == "carrier":
            return {
                "DOUBLE": term(member, teeth.ring - teeth.sun, f"({teeth.ring} − {teeth.sun})"),
                "NOONE": term(member, teeth.ring, str(teeth.ring)),
            }
        other = "ring" if member == "sun" else "sun"
        return {"SWAP": term(member, weight[other], written[other])}

    one, two = known
    plus = asked == "carrier"

    def rest(sign: int) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            first, second = (values[two], values[one]) if two == "carrier" else (values[one], values[two])
            found = first + sign * second
            return (
                f"so the term of the {asked} is {told(first)} {'+' if sign > 0 else '−'} {bracketed(second)} = {told(found)}",
                found,
            )

        return work

    def last(teeth_taken: int, shown: str) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            found = values["rest"] / teeth_taken
            return f"divided by {shown}: the {asked} turns at {told(found, _RPM)}", found

        return work

    divided = {
        "carrier": {"NOONE": last(teeth.ring, str(teeth.ring))},
        "sun": {"SWAP": last(teeth.ring, str(teeth.ring))},
        "ring": {"SWAP": last(teeth.sun, str(teeth.sun))},
    }[asked]
    stages = (
        Stage(
            one,
            f"the term of the {one}: its number of teeth times its speed",
            term(one, weight[one], written[one]),
            wrong_terms(one),
        ),
        Stage(
            two,
            f"the term of the {two}: its {'number of teeth' if two != 'carrier' else 'sun and ring teeth together,'} times its speed",
            term(two, weight[two], written[two]),
            wrong_terms(two),
        ),
        Stage(
            "rest",
            f"the term of the {asked}, from the two others",
            rest(1 if plus else -1),
            {"SIGN": rest(-1 if plus else 1)},
            (one, two),
        ),
        Stage("speed", f"the speed of the {asked}", last(weight[asked], written[asked]), divided, ("rest",), _RPM),
    )
    return Problem(
        f"{_named(teeth)} The {one} turns at {told(speed[one], _RPM)}, the {two} at {told(speed[two], _RPM)}. How fast "
        f"does the {asked} turn? (In the speed equation $S\\,n_s + R\\,n_r = (S + R)\\,n_c$ every member has one term.)",
        stages,
    )


_OTHER = {
    ("sun", "ring"): "carrier",
    ("carrier", "ring"): "sun",
    ("ring", "sun"): "carrier",
    ("carrier", "sun"): "ring",
    ("sun", "carrier"): "ring",
    ("ring", "carrier"): "sun",
}
_LETTER = {"sun": "n_s", "ring": "n_r", "carrier": "n_c"}


def ratio_of_a_case(seeded: SeededRandom) -> Problem | None:
    """The ratio of one set with one member driven and one held.

    Args:
        seeded: the set and the case.
    """
    teeth = _drawn(seeded)
    drive, hold = seeded.pick(tuple(_OTHER))
    out = _OTHER[drive, hold]
    weight = {"sun": teeth.sun, "ring": teeth.ring, "carrier": -(teeth.sun + teeth.ring)}
    first, second = [member for member in ("sun", "ring", "carrier") if member != hold]

    def left(taken: dict[str, int], shown: str) -> Working:
        quotient = Fraction(-taken[second], taken[first])
        return lambda _: (f"the {hold} is held, so its speed is 0 and this is left: {shown}", quotient)

    def equation(taken: dict[str, int], plus: bool = True) -> str:
        a, b = abs(taken[first]), abs(taken[second])
        minus = "−" if hold == "carrier" and plus else ""
        return f"${a}\\,{_LETTER[first]} = {minus}{b}\\,{_LETTER[second]}$"

    exchanged = {"sun": teeth.ring, "ring": teeth.sun, "carrier": weight["carrier"]}
    # Without the one turn of the carrier the two gears would stand as with a held carrier.
    no_one = {**weight, "carrier": -weight[hold]} if hold != "carrier" else weight
    wrong = {"SWAP": left(exchanged, equation(exchanged))}
    if hold == "carrier":
        turned = {**weight, second: -weight[second]}
        wrong["SIGN"] = left(turned, equation(weight, plus=False))
    else:
        wrong["NOONE"] = left(no_one, equation(no_one))

    def turns(upside_down: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            value = 1 / values["left"] if upside_down else values["left"]
            return f"so while the {second} makes one turn the {first} makes {told(value)} turns", value

        return work

    def ratio(upside_down: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            straight = (drive == first) != upside_down
            value = values["turns"] if straight else 1 / values["turns"]
            how = "" if straight else f"1 / {bracketed(values['turns'])} = "
            return f"the {drive} drives and the {out} is driven, so the ratio is {how}{told(value)}", value

        return work

    stages = (
        Stage("left", f"what is left of the speed equation with the {hold} held", left(weight, equation(weight)), wrong),
        Stage("turns", f"turns of the {first} for one turn of the {second}", turns(False), {"RECIP": turns(True)}, ("left",)),
        Stage("ratio", "the ratio: input speed over output speed", ratio(False), {"RECIP": ratio(True)}, ("turns",)),
    )
    return Problem(
        f"{_named(teeth)} The {drive} drives, the {hold} is held, the {out} is the output. What is the ratio? (The speed "
        "equation is $S\\,n_s + R\\,n_r = (S + R)\\,n_c$.)",
        stages,
    )


def gap_of_planets(seeded: SeededRandom) -> Problem | None:
    """The gap between the tips of neighbouring planets.

    Args:
        seeded: the set and its module.
    """
    teeth, module = _drawn(seeded), Fraction(2 + seeded.below(5), 2)
    mm = "mm"

    def radius(half: bool) -> Working:
        found = module * (teeth.sun + teeth.planet) / (2 if half else 1)
        return lambda _: (
            f"the planet centres lie on a circle of radius {told(module)} × ({teeth.sun} + {teeth.planet})"
            f"{' / 2' if half else ''} = {told(found, mm)}",
            found,
        )

    def chord(of: int) -> Working:
        factor = 2 * sine(PI * of / 180 / teeth.planets)
        return lambda values: (
            f"neighbouring centres are 2 × {told(values['radius'])} × sin({of}° / {teeth.planets}) = "
            f"{told(values['radius'] * factor, mm)} apart",
            values["radius"] * factor,
        )

    def tip(with_teeth: bool) -> Working:
        found = module * (teeth.planet + (2 if with_teeth else 0))
        size = f"({teeth.planet} + 2)" if with_teeth else str(teeth.planet)
        return lambda _: (f"half a planet on each side takes together {told(module)} × {size} = {told(found, mm)}", found)

    def gap(sign: int) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            found = values["chord"] + sign * values["tip"]
            return (
                f"the gap is {told(values['chord'])} {'+' if sign > 0 else '−'} {told(values['tip'])} = {told(found, mm)}",
                found,
            )

        return work

    stages = (
        Stage(
            "radius", "the radius of the circle on which the planet centres lie", radius(True), {"UNIT": radius(False)}, (), mm
        ),
        Stage("chord", "the distance of neighbouring planet centres", chord(180), {"SPACE": chord(360)}, ("radius",), mm),
        Stage("tip", "what the two half planets between the centres take", tip(True), {"TIP": tip(False)}, (), mm),
        Stage("gap", "the gap", gap(-1), {"SIGN": gap(1)}, ("chord", "tip"), mm),
    )
    return Problem(
        f"A set has $S = {teeth.sun}$, $P = {teeth.planet}$, {teeth.planets} planets, module {told(module)} mm, teeth of "
        "standard height. How wide is the gap between the tips of neighbouring planets?",
        stages,
    )


def efficiency_of_a_set(seeded: SeededRandom) -> Problem | None:
    """The efficiency of a set with one gear held, by its torques.

    Args:
        seeded: the set, its basic efficiency, which gear drives, and the torque.
    """
    teeth, e, torque = _drawn(seeded), Fraction(92 + seeded.below(7), 100), Fraction(50 + 10 * seeded.below(16))
    drive, hold = seeded.pick((("sun", "ring"), ("ring", "sun")))
    count = {"sun": teeth.sun, "ring": teeth.ring}
    unit = "N·m"

    def held(turned: bool) -> Working:
        a, b = (count[drive], count[hold]) if turned else (count[hold], count[drive])
        found = torque * a / b
        return lambda _: (f"without losses the {hold} has {product(told(torque), str(a))} / {b} = {told(found, unit)}", found)

    def lost(upside_down: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            found = values["held"] / e if upside_down else values["held"] * e
            return (
                f"with the loss in the teeth it has {told(values['held'])} {'/' if upside_down else '×'} {told(e)} = "
                f"{told(found, unit)}",
                found,
            )

        return work

    def carrier(sign: int) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            found = abs(torque + sign * values["lost"])
            return (
                f"the carrier hands on both together: {told(torque)} {'+' if sign > 0 else '−'} {told(values['lost'])} = "
                f"{told(torque + sign * values['lost'], unit)}",
                found if sign > 0 else torque + sign * values["lost"],
            )

        return work

    def ideal(with_one: bool) -> Working:
        a, b = count[hold], count[drive]
        found = torque * (1 + Fraction(a, b)) if with_one else torque * a / b
        inner = f"(1 + {a}/{b})" if with_one else f"{a}/{b}"
        return lambda values: (
            f"for comparison: without losses the carrier would hand on {told(torque)} × {inner} = {told(found, unit)}, "
            f"in place of {told(values['carrier'], unit)}",
            found,
        )

    def quotient(upside_down: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            a, b = values["carrier"], values["ideal"]
            a, b = (b, a) if upside_down else (a, b)
            return f"the efficiency is {told(a)} / {told(b)} = {told(a / b)}", a / b

        return work

    stages = (
        Stage("held", f"the torque on the {hold} without losses", held(False), {"SWAP": held(True)}, (), unit),
        Stage(
            "lost", f"the torque on the {hold} with the loss in the teeth", lost(False), {"RECIP": lost(True)}, ("held",), unit
        ),
        Stage("carrier", "the torque that the carrier hands on", carrier(1), {"SIGN": carrier(-1)}, ("lost",), unit),
        Stage(
            "ideal",
            "for comparison, what the carrier would hand on without losses",
            ideal(True),
            {"NOONE": ideal(False)},
            ("carrier",),
            unit,
        ),
        Stage("efficiency", "the efficiency", quotient(False), {"RECIP": quotient(True)}, ("carrier", "ideal")),
    )
    return Problem(
        f"{_named(teeth)} The {drive} drives with {told(torque, unit)}, the {hold} is held, the carrier is the output; the "
        f"basic efficiency (carrier held) is {told(e)}. What is the efficiency?",
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
        found = output / ratio if upside_down else output * ratio
        return lambda _: (
            f"without slip the input would turn at {told(output)} {'/' if upside_down else '×'} {told(ratio)} = "
            f"{told(found, _RPM)}",
            found,
        )

    def slip(of_output: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            taken = output if of_output else values["without"]
            return (
                f"it really turns at {told(n)}, so it slips by {told(n)} − {told(taken)} = {told(n - taken, _RPM)}",
                n - taken,
            )

        return work

    def share(of_other: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            base = values["without"] if of_other else n
            found = 100 * values["slip"] / base
            return (
                f"as a share of the input speed: 100 × {bracketed(values['slip'])} / {told(base)} = {told(found)} percent",
                found,
            )

        return work

    stages = (
        Stage(
            "without",
            "the input speed that would fit the output without slip",
            without(False),
            {"RECIP": without(True)},
            (),
            _RPM,
        ),
        Stage("slip", "the slip, in r/min", slip(False), {"SLIPABS": slip(True)}, ("without",), _RPM),
        Stage("share", "the slip as a share of the input speed", share(False), {"LEFTOUT": share(True)}, ("slip",), "percent"),
    )
    return Problem(
        f"A range with the ratio {told(ratio)} is commanded. The input turns at {told(n, _RPM)}, the output at "
        f"{told(output, _RPM)}. How much does it slip, in percent of the input speed?",
        stages,
    )
