"""Lesson 4: geometry and assembly: will it go together?"""

from __future__ import annotations

from fractions import Fraction

from gearkit.answers.bank.common import BEFORE, HUNDREDTH, ONE_SET, one_of
from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.item import AnswerKind, Constraint, Draw, Field, Item, NamedMistake, Version

_COUNT = AnswerKind.INTEGER
_FOUR = Draw(sets=("",), keep=("R != 2*S",), numbers=one_of(4), later=BEFORE)
_SIMPLE_SPACING = (
    "A simple set (single planets) is to have N equally spaced planets. Which number, in ${0}$ and ${1}$, has to be "
    "divisible by N? (To try it: ${0} = <{0}>$, ${1} = <{1}>$.)"
)
# A set that fits together but has another ratio was not designed for this one.
_NEAR = "abs(1 + R/S - i) <= i/12.5"


ITEMS: tuple[Item, ...] = (
    Item(
        id="L04-01",
        kind=AnswerKind.EXPRESSION,
        marks=2,
        prompt="A simple set has $S$ sun teeth and $R$ ring teeth, without profile shift. Write its planet teeth $P$ in "
        "$S$ and $R$. (To try it: $S = <S>$, $R = <R>$.)",
        draw=_FOUR,
        symbols=("S", "R"),
        answer="(R - S)/2",
        named_mistakes=(
            NamedMistake("HALF", "R - S", "Draw one diameter across the set: how many planets does it cross?"),
            NamedMistake("SIGN", "(R + S)/2", "A planet fills the gap between sun and ring: is that a sum or a difference?"),
        ),
        hints=(
            "Draw one diameter through the whole set.",
            "It crosses the sun once, and one planet on each side of it.",
            "So R = S + 2P; solve for what is asked. (A centre distance is half a sum of two tooth counts, in modules.)",
        ),
        versions=(
            Version(
                prompt="A simple set has $S$ sun teeth and $P$ planet teeth, without profile shift. Write its ring teeth $R$ in "
                "$S$ and $P$. (To try it: $S = <S>$, $P = <P>$.)",
                symbols=("S", "P"),
                answer="S + 2*P",
                named_mistakes=(
                    NamedMistake("HALF", "S + P", "Draw one diameter across the set: how many planets does it cross?"),
                    NamedMistake(
                        "SWAP",
                        "2*S + P",
                        "A diameter crosses the sun once and a planet on each side; yours does it the other way.",
                    ),
                ),
            ),
            Version(
                prompt="A simple set has $P$ planet teeth and $R$ ring teeth, without profile shift. Write its sun teeth $S$ in "
                "$P$ and $R$. (To try it: $P = <P>$, $R = <R>$.)",
                symbols=("P", "R"),
                answer="R - 2*P",
                named_mistakes=(
                    NamedMistake("HALF", "R - P", "Draw one diameter across the set: how many planets does it cross?"),
                    NamedMistake(
                        "SIGN", "R + 2*P", "The sun lies inside the ring and the planets: is that a sum or a difference?"
                    ),
                ),
            ),
            Version(
                prompt="A simple set has $S$ sun teeth and $R$ ring teeth, without profile shift. Write the centre distance from "
                "sun to planet, in modules, in $S$ and $R$. (To try it: $S = <S>$, $R = <R>$.)",
                symbols=("S", "R"),
                answer="(S + R)/4",
                named_mistakes=(
                    NamedMistake(
                        "HALF", "(S + R)/2", "A centre distance is made of radii: half of sun and planet teeth together."
                    ),
                    NamedMistake(
                        "SIGN", "(R - S)/2", "That is the number of planet teeth; asked for is the distance of the two centres."
                    ),
                ),
            ),
        ),
    ),
    Item(
        id="L04-02",
        kind=AnswerKind.MULTIPLE_CHOICE,
        marks=4,
        prompt="A set has $S = <S>$, $P = <P>$, $R = <R>$. With which numbers of equally spaced planets, out of 3, 4, 5 "
        "and 6, can it be put together without the planets touching? Tick all that fit. (A wrong tick takes off at least what a right one "
        "earns; three fifths of the marks are for a faultless answer.)",
        draw=ONE_SET,
        rule="allowed_planets",
        named_mistakes=(
            NamedMistake("SPACE", "R", "You tested the ring alone; the sun's teeth have to line up as well."),
            NamedMistake("SPACE", "R - S", "A whole (R - S)/N is the test for a double-pinion set; this one is simple."),
            NamedMistake("TIP", "", "These numbers divide, but with some of them neighbouring planets would touch."),
        ),
        hints=(
            "First the spacing: is (S + R)/N a whole number?",
            "Then the room: is (S + P) sin(180°/N) more than P + 2?",
            "A number has to pass both.",
        ),
    ),
    Item(
        id="L04-03",
        kind=AnswerKind.DECIMAL,
        marks=4,
        prompt="A set with $S = <S>$ and $P = <P>$ has <N> planets with teeth of standard height. How wide is the gap "
        "between the tips of neighbouring planets, in modules?",
        draw=ONE_SET,
        answer="(S + P)*sin(pi/N) - (P + 2)",
        tolerance=Tolerance(absolute=Fraction(1, 50)),
        unit="modules",
        named_mistakes=(
            NamedMistake(
                "TIP", "(S + P)*sin(pi/N) - P", "You measured between the pitch circles; the teeth stand out beyond them."
            ),
            NamedMistake(
                "UNIT",
                "2*(S + P)*sin(pi/N) - (P + 2)",
                "In modules the centre distance is half of S + P: where did the half go?",
            ),
            NamedMistake(
                "SPACE", "(S + P)*sin(2*pi/N) - (P + 2)", "In the chord stands the sine of half the angle between neighbours."
            ),
        ),
        hints=(
            "The planet centres lie on a circle of radius (S + P)/2 modules.",
            "Neighbouring centres are a chord of 2r sin(180°/N) apart.",
            "Take off one tip diameter, P + 2.",
        ),
    ),
    Item(
        id="L04-04",
        kind=_COUNT,
        marks=3,
        prompt="Leave spacing aside and look at the room only: how many planets at most fit into a set with $S = <S>$ "
        "and $P = <P>$ before the tips of neighbours touch?",
        # At S = P + 4 six planets would just touch, and "fit" would be a matter of words.
        draw=Draw(sets=("",), keep=("S != P + 4",)),
        answer="floor(pi/asin((P + 2)/(S + P)))",
        named_mistakes=(
            NamedMistake("TIP", "floor(pi/asin(P/(S + P)))"),
            NamedMistake("UNIT", "floor(2*pi/asin((P + 2)/(S + P)))", "In the chord stands half the angle between neighbours."),
            NamedMistake(
                "SPACE",
                "floor((S + P)/(P + 2)*2*pi)",
                "You divided the circumference; neighbouring planets are a chord apart, and the radius is half of S + P.",
            ),
        ),
        hints=(
            "Set the gap between the tips to zero.",
            "Then sin(180°/N) = (P + 2)/(S + P).",
            "Solve for N and round down.",
        ),
    ),
    Item(
        id="L04-05",
        kind=AnswerKind.DECIMAL,
        marks=3,
        prompt="<N> planets go into a set with $S = <S>$ and $R = <R>$. What is the smallest angle, in degrees, between "
        "two places where a planet drops in?",
        draw=ONE_SET,
        answer="360/(S + R)",
        tolerance=HUNDREDTH,
        unit="degrees",
        named_mistakes=(
            NamedMistake("SPACE", "360/R", "That is one tooth of the ring; the sun has to line up too."),
            NamedMistake("SPACE", "360/S", "That is one tooth of the sun; the ring has to line up too."),
            NamedMistake(
                "SPACE", "360/N", "That is the angle that you want between planets, not the step that the teeth allow."
            ),
        ),
        hints=(
            "Hold the ring and move the carrier by a small angle: how far does the sun turn?",
            "The sun turns (S + R)/S times that angle.",
            "Teeth line up again when the sun has moved by one of its teeth, 360°/S.",
        ),
    ),
    Item(
        id="L04-06",
        kind=AnswerKind.DESIGN,
        marks=5,
        prompt="Find S, P, R and the number N of planets for a set in which the sun drives, the ring is held and the carrier is the output: ratio within 1 "
        "percent of <i>, 3 to 5 planets, S at least 20, P at least 14, R at most 100, and everything fits together. (The ratio has "
        "2 of the 5 marks; spacing and room count for a set whose ratio is within 8 percent.)",
        draw=Draw(
            sets=("",),
            keep=("R <= 100",),
            shown={"i": ("1 + R/S", 2)},
            hidden=("S", "P", "R", "N"),
        ),
        fields={
            "S": Field("sun teeth S", _COUNT),
            "P": Field("planet teeth P", _COUNT),
            "R": Field("ring teeth R", _COUNT),
            "N": Field("number of planets N", _COUNT),
        },
        answer={"S": "S", "P": "P", "R": "R", "N": "N"},
        constraints=(
            Constraint(
                "sun, planet and ring are concentric, whole teeth within the limits",
                ("R == S + 2*P", "S >= 20", "P >= 14", "R <= 100", "S == floor(S)", "P == floor(P)"),
                "1",
                "Draw a diameter and count, and read the limits in the question again.",
            ),
            Constraint(
                "equal spacing of 3 to 5 planets, ratio within 8 percent",
                ("floor((S + R)/N)*N == S + R", "N >= 3", "N <= 5", "N == floor(N)", _NEAR),
                "1",
                "Sun and ring teeth together, over N, in a set whose ratio comes near.",
            ),
            Constraint(
                "planets clear each other, ratio within 8 percent",
                ("(S + P)*sin(pi/N) > P + 2", "N >= 3", "P >= 14", _NEAR),
                "1",
                "Compare the chord with P + 2, in a set whose ratio comes near.",
            ),
            Constraint(
                "ratio within 1 percent", ("abs(1 + R/S - i) <= i/100",), "2", "Which case is it, and what is its ratio?"
            ),
        ),
        named_mistakes=(
            NamedMistake(
                "NOONE",
                {"R": "floor(i*S + 1/2)", "P": "floor((i*S - S)/2)"},
                "Your R/S is the wanted ratio; but here the carrier turns.",
                "abs(R/S - i) <= i/50",
            ),
            NamedMistake("SWAP", {"S": "R", "R": "S"}, "", "abs(1 + S/R - i) <= i/50"),
        ),
        hints=(
            "R/S has to be one less than the wanted ratio.",
            "Try S from 20 upward and take the R next to it that leaves R - S even.",
            "Then look for an N that divides S + R and leaves the tips apart.",
        ),
    ),
    Item(
        id="L04-09",
        kind=AnswerKind.DECIMAL,
        marks=2,
        prompt="Module <m> mm, $S = <S>$, $P = <P>$, $R = <R>$. What is the centre distance from sun to planet, in mm?",
        draw=Draw(sets=("",), numbers={"m": ("1", "4", "1")}),
        answer="m*(S + P)/2",
        tolerance=HUNDREDTH,
        unit="mm",
        named_mistakes=(
            NamedMistake("UNIT", "m*(S + P)", "You worked with diameters; a centre distance is made of radii."),
            NamedMistake("SIGN", "m*(R - S)/2", "Sun and planet are an external pair: do their radii add or subtract?"),
        ),
        hints=(
            "Sun and planet mesh externally.",
            "Add their pitch radii.",
            "A pitch radius is m z/2.",
        ),
    ),
    Item(
        id="L04-10",
        kind=AnswerKind.EXPRESSION,
        marks=3,
        prompt="A double-pinion set is to have N equally spaced pairs of planets. Which number, in $S$ and $R$, has to be "
        "divisible by N? (To try it: $S = <S>$, $R = <R>$.)",
        draw=_FOUR,
        symbols=("S", "R"),
        answer="R - S",
        also=("S - R",),
        named_mistakes=(
            NamedMistake(
                "DOUBLE",
                "R + S",
                "That is the rule for single pinions. With pairs the sun turns the other way when the carrier is moved.",
            ),
            NamedMistake("SPACE", "R", "The ring alone does not do it: the sun has to line up too."),
            NamedMistake("HALF", "(R - S)/2", "No half comes in here: the half belongs to the planet's size in a simple set."),
        ),
        hints=(
            "Hold the ring and move the carrier by 360°/N.",
            "The sun then turns by 360°/N times (S + R)/S, and with pairs of planets by 360°/N times (S - R)/S.",
            "That has to be a whole number of sun teeth; R = S + 2P brings in the planet teeth where they are asked.",
        ),
        versions=(
            Version(
                prompt=_SIMPLE_SPACING.format("S", "R"),
                symbols=("S", "R"),
                answer="S + R",
                named_mistakes=(
                    NamedMistake("DOUBLE", "R - S", "That is the rule for pairs of planets. Here the planets are single."),
                    NamedMistake("SPACE", "R", "The ring alone does not do it: the sun has to line up too."),
                    NamedMistake("HALF", "(S + R)/2", "No half comes in here: the half belongs to the planet's size."),
                ),
            ),
            Version(
                prompt=_SIMPLE_SPACING.format("S", "P"),
                symbols=("S", "P"),
                answer="2*S + 2*P",
                named_mistakes=(
                    NamedMistake("DOUBLE", "2*P", "That is R - S, the rule for pairs of planets. Here the planets are single."),
                    NamedMistake("SPACE", "S + 2*P", "That is the ring alone: the sun has to line up too."),
                    NamedMistake(
                        "HALF", "S + P", "That is half of what it takes: sun and ring teeth together have to be divisible."
                    ),
                ),
            ),
            Version(
                prompt=_SIMPLE_SPACING.format("P", "R"),
                symbols=("P", "R"),
                answer="2*R - 2*P",
                named_mistakes=(
                    NamedMistake("DOUBLE", "2*P", "That is R - S, the rule for pairs of planets. Here the planets are single."),
                    NamedMistake("SPACE", "R", "The ring alone does not do it: the sun has to line up too."),
                    NamedMistake(
                        "HALF", "R - P", "That is half of what it takes: sun and ring teeth together have to be divisible."
                    ),
                ),
            ),
        ),
    ),
)
