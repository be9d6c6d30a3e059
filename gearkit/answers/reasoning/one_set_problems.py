"""Problems about one set that need no layout: a speed, a ratio, a gap, an efficiency."""

from __future__ import annotations

from fractions import Fraction

from gearkit.answers.comparison.exact import PI, sine
from gearkit.answers.draw_numbers import pool
from gearkit.answers.draw_numbers.pool import Teeth
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.reasoning.worked import Problem, Stage, Values, Working, bracketed, product, told
from gearkit.words.say import say

RPM = "r/min"


def drawn_set(seeded: SeededRandom) -> Teeth:
    """Return the tooth counts of a set from the pool."""
    return seeded.pick(pool.pool())


def teeth_named(teeth: Teeth) -> str:
    """Return the sentence that gives a set's tooth counts."""
    return say("A set has $S = {sun}$ and $R = {ring}$ teeth.", sun=teeth.sun, ring=teeth.ring)


def third_speed(seeded: SeededRandom) -> Problem | None:
    """The speed of one member of a set from those of the two others.

    Args:
        seeded: the set, the speeds and which member is asked.
    """
    teeth = drawn_set(seeded)
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
        value = teeth_taken * speed[member]
        return lambda _: (
            say(
                "the term of the {member} is {product} = {told}",
                member=member,
                product=product(shown, bracketed(speed[member])),
                told=told(value),
            ),
            value,
        )

    def wrong_terms(member: str) -> dict[str, Working]:
        if member == "carrier":
            return {
                "DOUBLE": term(member, teeth.ring - teeth.sun, f"({teeth.ring} − {teeth.sun})"),
                "NOONE": term(member, teeth.ring, str(teeth.ring)),
            }
        other = "ring" if member == "sun" else "sun"
        return {"SWAP": term(member, weight[other], written[other])}

    first_known, two = known
    plus = asked == "carrier"

    def rest(sign: int) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            first, second = (values[two], values[first_known]) if two == "carrier" else (values[first_known], values[two])
            value = first + sign * second
            return (
                say(
                    "so the term of the {asked} is {told} {value} {bracketed} = {told2}",
                    asked=asked,
                    told=told(first),
                    value="+" if sign > 0 else "−",
                    bracketed=bracketed(second),
                    told2=told(value),
                ),
                value,
            )

        return work

    def last(teeth_taken: int, shown: str) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            value = values["rest"] / teeth_taken
            return say(
                "divided by {shown}: the {asked} turns at {told}", shown=shown, asked=asked, told=told(value, RPM)
            ), value

        return work

    divided = {
        "carrier": {"NOONE": last(teeth.ring, str(teeth.ring))},
        "sun": {"SWAP": last(teeth.ring, str(teeth.ring))},
        "ring": {"SWAP": last(teeth.sun, str(teeth.sun))},
    }[asked]
    stages = (
        Stage(
            first_known,
            say("the term of the {one_}: its number of teeth times its speed", one_=first_known),
            term(first_known, weight[first_known], written[first_known]),
            wrong_terms(first_known),
        ),
        Stage(
            two,
            (
                say("the term of the {two}: its number of teeth times its speed", two=two)
                if two != "carrier"
                else say("the term of the {two}: its sun and ring teeth together, times its speed", two=two)
            ),
            term(two, weight[two], written[two]),
            wrong_terms(two),
        ),
        Stage(
            "rest",
            say("the term of the {asked}, from the two others", asked=asked),
            rest(1 if plus else -1),
            {"SIGN": rest(-1 if plus else 1)},
            (first_known, two),
        ),
        Stage(
            "speed", say("the speed of the {asked}", asked=asked), last(weight[asked], written[asked]), divided, ("rest",), RPM
        ),
    )
    return Problem(
        say(
            "{teeth} The {one_} turns at {told}, the {two} at {told2}. How fast does the {asked} turn? (In the speed equation $S\\,n_s + R\\,n_r = (S + R)\\,n_c$ every member has one term.)",
            teeth=teeth_named(teeth),
            one_=first_known,
            told=told(speed[first_known], RPM),
            two=two,
            told2=told(speed[two], RPM),
            asked=asked,
        ),
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
    teeth = drawn_set(seeded)
    drive, hold = seeded.pick(tuple(_OTHER))
    out = _OTHER[drive, hold]
    weight = {"sun": teeth.sun, "ring": teeth.ring, "carrier": -(teeth.sun + teeth.ring)}
    first, second = [member for member in ("sun", "ring", "carrier") if member != hold]

    def left(taken: dict[str, int], shown: str) -> Working:
        quotient = Fraction(-taken[second], taken[first])
        return lambda _: (
            say("the {hold} is held, so its speed is 0 and this is left: {shown}", hold=hold, shown=shown),
            quotient,
        )

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
            return say(
                "so while the {second} makes one turn the {first} makes {told} turns",
                second=second,
                first=first,
                told=told(value),
            ), value

        return work

    def ratio(upside_down: bool) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            straight = (drive == first) != upside_down
            value = values["turns"] if straight else 1 / values["turns"]
            how = "" if straight else f"1 / {bracketed(values['turns'])} = "
            return say(
                "the {drive} drives and the {out} is driven, so the ratio is {how}{told}",
                drive=drive,
                out=out,
                how=how,
                told=told(value),
            ), value

        return work

    stages = (
        Stage(
            "left",
            say("what is left of the speed equation with the {hold} held", hold=hold),
            left(weight, equation(weight)),
            wrong,
        ),
        Stage(
            "turns",
            say("turns of the {first} for one turn of the {second}", first=first, second=second),
            turns(False),
            {"RECIP": turns(True)},
            ("left",),
        ),
        Stage("ratio", say("the ratio: input speed over output speed"), ratio(False), {"RECIP": ratio(True)}, ("turns",)),
    )
    return Problem(
        say(
            "{teeth} The {drive} drives, the {hold} is held, the {out} is the output. What is the ratio? (The speed equation is $S\\,n_s + R\\,n_r = (S + R)\\,n_c$.)",
            teeth=teeth_named(teeth),
            drive=drive,
            hold=hold,
            out=out,
        ),
        stages,
    )


def gap_of_planets(seeded: SeededRandom) -> Problem | None:
    """The gap between the tips of neighbouring planets.

    Args:
        seeded: the set and its module.
    """
    teeth, module = drawn_set(seeded), Fraction(2 + seeded.below(5), 2)
    mm = "mm"

    def radius(half: bool) -> Working:
        value = module * (teeth.sun + teeth.planet) / (2 if half else 1)
        return lambda _: (
            say(
                "the planet centres lie on a circle of radius {told} × ({sun} + {planet}){value} = {told2}",
                told=told(module),
                sun=teeth.sun,
                planet=teeth.planet,
                value=" / 2" if half else "",
                told2=told(value, mm),
            ),
            value,
        )

    def chord(of: int) -> Working:
        factor = 2 * sine(PI * of / 180 / teeth.planets)
        return lambda values: (
            say(
                "neighbouring centres are 2 × {told} × sin({of}° / {planets}) = {told2} apart",
                told=told(values["radius"]),
                of=of,
                planets=teeth.planets,
                told2=told(values["radius"] * factor, mm),
            ),
            values["radius"] * factor,
        )

    def tip(with_teeth: bool) -> Working:
        value = module * (teeth.planet + (2 if with_teeth else 0))
        size = f"({teeth.planet} + 2)" if with_teeth else str(teeth.planet)
        return lambda _: (
            say(
                "half a planet on each side takes together {told} × {size} = {told2}",
                told=told(module),
                size=size,
                told2=told(value, mm),
            ),
            value,
        )

    def gap(sign: int) -> Working:
        def work(values: Values) -> tuple[str, Fraction]:
            value = values["chord"] + sign * values["tip"]
            return (
                say(
                    "the gap is {told} {value} {told2} = {told3}",
                    told=told(values["chord"]),
                    value="+" if sign > 0 else "−",
                    told2=told(values["tip"]),
                    told3=told(value, mm),
                ),
                value,
            )

        return work

    stages = (
        Stage(
            "radius",
            say("the radius of the circle on which the planet centres lie"),
            radius(True),
            {"UNIT": radius(False)},
            (),
            mm,
        ),
        Stage("chord", say("the distance of neighbouring planet centres"), chord(180), {"SPACE": chord(360)}, ("radius",), mm),
        Stage("tip", say("what the two half planets between the centres take"), tip(True), {"TIP": tip(False)}, (), mm),
        Stage("gap", say("the gap"), gap(-1), {"SIGN": gap(1)}, ("chord", "tip"), mm),
    )
    return Problem(
        say(
            "A set has $S = {sun}$, $P = {planet}$, {planets} planets, module {told} mm, teeth of standard height. How wide is the gap between the tips of neighbouring planets?",
            sun=teeth.sun,
            planet=teeth.planet,
            planets=teeth.planets,
            told=told(module),
        ),
        stages,
    )
