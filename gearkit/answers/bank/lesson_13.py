"""Lesson 13: capstone: design, check and build a bench model."""

from __future__ import annotations

from fractions import Fraction

from gearkit.answers.bank.common import BEFORE, HUNDREDTH, ONE_PERCENT, one_of
from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.item import AnswerKind, Constraint, Draw, Field, Item, NamedMistake, Version

_N = AnswerKind.DECIMAL
_COUNT = AnswerKind.INTEGER
_MODULE = ("1.5", "3.0", "0.5")
_SET_AND_MODULE = Draw(sets=("",), numbers={"m": _MODULE})
_CROSSED = "carrier 1 joined with ring 2, ring 1 with carrier 2, which is the output"

_RANGES = {
    "first": "first (sun 2 in, carrier 1 held)",
    "second": "second (sun 2 in, sun 1 held)",
    "fourth": "fourth (carrier 1 in, sun 1 held)",
    "reverse": "reverse (sun 1 in, carrier 1 held; its ratio is negative)",
}


def _crosswise(forward: str, i: str, other: str, x: str) -> Version:
    """The two ranges that are not given, from a forward range with the ratio i and from reverse (-x) or fourth (x)."""
    # With sun 1 held carrier 1 has the share R1/(S1 + R1) of the output's speed, which is the ratio of fourth.
    share = f"{x}/(1 + {x})" if other == "reverse" else x
    rest = f"1/(1 + {x})" if other == "reverse" else f"(1 - {x})"
    asked = ("second" if forward == "first" else "first", "fourth" if other == "reverse" else "reverse")
    answer = {
        asked[0]: f"1 + ({i} - 1)*{rest}" if forward == "first" else f"1 + ({i} - 1)/({rest})",
        asked[1]: share if other == "reverse" else f"-{x}/(1 - {x})",
    }
    wrong_one = {asked[0]: f"{i}*{rest}" if forward == "first" else f"{i}/({rest})"}
    turned = {asked[1]: f"1/({answer[asked[1]]})"}
    swapped = {asked[0]: f"1 + ({i} - 1)*{share}" if forward == "first" else f"1 + ({i} - 1)/({share})"}
    ratio = f"the {other} ratio ${'-' if other == 'reverse' else ''}{x}$"
    named = {"i1": "i_1", "i2": "i_2"}.get(i, i)
    return Version(
        prompt=f"Two sets are joined crosswise ({_CROSSED}). Given are the {forward} ratio ${named}$ and {ratio}. Write the ratios of "
        f"{_RANGES[asked[0]]} and of {_RANGES[asked[1]]} in `{i}` and `{x}`. (Given ranges: {_RANGES[forward]}; "
        f"{_RANGES[other]}.)",
        fields={name: Field(name, AnswerKind.EXPRESSION, "2") for name in asked},
        symbols=(i, x),
        answer=answer,
        named_mistakes=(
            NamedMistake(
                "MULT", wrong_one, "The one turn of the whole set is not shared: take it off, divide the rest, add it again."
            ),
            NamedMistake("RECIP", turned),
            NamedMistake(
                "NOONE", swapped, "With sun 1 held, which share of ring 1's speed does carrier 1 have, and what is left over?"
            ),
        ),
    )


def _assembly(number: int, near: str) -> tuple[Constraint, ...]:
    """What one set has to meet, in a set whose own ratio comes near: otherwise one set written twice would earn most."""
    k = number
    whole = (f"S{k} >= 24", f"P{k} >= 17", f"R{k} <= 99", f"S{k} == floor(S{k})", f"P{k} == floor(P{k})")
    return (
        Constraint(
            f"set {k}: concentric, whole teeth within the limits, ratio within 10 percent",
            (f"R{k} == S{k} + 2*P{k}", *whole, near),
            "1",
            "Draw a diameter and count, read the limits again, and look whether the set comes near its ratio.",
        ),
        Constraint(
            f"set {k}: equal spacing, ratio within 10 percent",
            (f"floor((S{k} + R{k})/N{k})*N{k} == S{k} + R{k}", f"N{k} >= 3", f"N{k} == floor(N{k})", near),
            "1",
            "Sun and ring teeth together, over N, at least three planets, in a set that comes near its ratio.",
        ),
        Constraint(
            f"set {k}: planets clear each other, ratio within 10 percent",
            (f"(S{k} + P{k})*sin(pi/N{k}) > P{k} + 2", f"N{k} >= 3", near),
            "1",
            "Compare the chord with P + 2, in a set that comes near its ratio.",
        ),
    )


ITEMS: tuple[Item, ...] = (
    Item(
        id="L13-01",
        kind=AnswerKind.EXPRESSION,
        marks=4,
        prompt=f"Two sets joined crosswise ({_CROSSED}) have the first ratio $i_1$ (sun 2 in, carrier 1 held) and the "
        "reverse ratio $-r$ (sun 1 in, carrier 1 held). Write second (sun 2 in, sun 1 held) and fourth (carrier 1 "
        "in, sun 1 held) in `i1` and `r`. (To try it: i1 = <i1>, r = <r>.)",
        draw=Draw(numbers={"i1": ("2.4", "3.2", "0.05"), "r": ("1.9", "3.1", "0.05"), **one_of(12)}, later=BEFORE),
        fields={
            "second": Field("second", AnswerKind.EXPRESSION, "2"),
            "fourth": Field("fourth", AnswerKind.EXPRESSION, "2"),
        },
        symbols=("i1", "r"),
        versions=(
            *(_crosswise("first", i, "reverse", x) for i, x in (("a", "q"), ("c", "u"))),
            *(_crosswise("second", i, "reverse", x) for i, x in (("i2", "r"), ("b", "q"), ("d", "u"))),
            *(_crosswise("first", i, "fourth", x) for i, x in (("i1", "g"), ("a", "h"), ("c", "w"))),
            *(_crosswise("second", i, "fourth", x) for i, x in (("i2", "g"), ("b", "h"), ("d", "w"))),
        ),
        answer={"second": "1 + (i1 - 1)/(1 + r)", "fourth": "r/(1 + r)"},
        named_mistakes=(
            NamedMistake("MULT", {"second": "i1/(1 + r)"}, "Second is one and a share of i1 - 1, not a share of i1."),
            NamedMistake("RECIP", {"fourth": "(1 + r)/r"}, "Fourth is an overdrive: is yours below 1?"),
            NamedMistake(
                "NOONE",
                {"second": "1 + (i1 - 1)*r/(1 + r)", "fourth": "1/(1 + r)"},
                "With sun 1 held, which share of ring 1's speed does carrier 1 have, and what is left over?",
            ),
        ),
        hints=(
            "First is $1 + R_2/S_2$, reverse $-R_1/S_1$, fourth $R_1/(S_1 + R_1)$, second $1 + (R_2/S_2)\\,S_1/(S_1 + R_1)$.",
            "Let what is given say how large $R_1/S_1$ and $R_2/S_2$ are.",
            "Put both into the formulas for what is asked; note that $S_1/(S_1 + R_1) = 1/(1 + R_1/S_1)$.",
        ),
    ),
    Item(
        id="L13-02",
        kind=AnswerKind.DESIGN,
        marks=10,
        prompt="Design a Q24 of your own: first within 2 percent of <i1>, reverse within 2 percent of −<r>. Both sets "
        "have to go together; suns at least 24 teeth, planets at least 17, rings at most 99, three planets or more. "
        "Give sun, planet and ring teeth and the number of planets of both sets. (Each ratio has 2 of the 10 marks; "
        "what else a set has to meet counts where its ratio is within 10 percent.)",
        draw=Draw(
            layout="Q24",
            shown={"i1": ("1 + R2/S2", 2), "r": ("R1/S1", 2)},
            hidden=("S1", "P1", "R1", "N1", "S2", "P2", "R2", "N2"),
        ),
        fields={
            f"{letter}{number}": Field(f"set {number}: {what}", _COUNT)
            for number in (1, 2)
            for letter, what in (("S", "sun teeth"), ("P", "planet teeth"), ("R", "ring teeth"), ("N", "planets"))
        },
        answer={f"{letter}{number}": f"{letter}{number}" for number in (1, 2) for letter in "SPRN"},
        constraints=(
            *_assembly(1, "abs(R1/S1 - r) <= r/10"),
            *_assembly(2, "abs(1 + R2/S2 - i1) <= i1/10"),
            Constraint("first within 2 percent", ("abs(1 + R2/S2 - i1) <= i1/50",), "2", "Which set makes first, and how?"),
            Constraint("reverse within 2 percent", ("abs(R1/S1 - r) <= r/50",), "2", "Which set makes reverse?"),
        ),
        named_mistakes=(
            NamedMistake(
                "NOONE",
                {"R2": "floor(i1*S2 + 1/2)"},
                "Your R2/S2 is the wanted first ratio, but first is more than that.",
                "abs(R2/S2 - i1) <= i1/50",
            ),
            NamedMistake(
                "SWAP",
                {"S1": "S2", "P1": "P2", "R1": "R2", "N1": "N2", "S2": "S1", "P2": "P1", "R2": "R1", "N2": "N1"},
                "Sets 1 and 2 have changed places.",
                "abs(R2/S2 - r) + abs(1 + R1/S1 - i1) <= r/50 + i1/50",
            ),
        ),
        hints=(
            "Reverse fixes R1/S1, and first fixes R2/S2.",
            "Choose S, then the R next to the wanted quotient that leaves R - S even.",
            "Then N: it has to divide S + R, and the tips have to clear.",
        ),
    ),
    Item(
        id="L13-03",
        kind=AnswerKind.CHOICE,
        marks=3,
        prompt="A ring gear with $R = <R>$ teeth and <wl> mm of wall beyond its roots has to fit into a housing of <D> mm inside diameter. Which is the "
        "largest usual module that fits? (Roots lie 1.25 modules beyond the pitch circle; modules 1, 1.25, 1.5, 2, "
        "2.5, 3.)",
        draw=Draw(sets=("",), numbers={"wl": ("6", "10", "1"), "D": ("110", "220", "10")}, keep=("(D - 2*wl)/(R + 2.5) >= 1",)),
        rule="module_choice",
        named_mistakes=(
            NamedMistake("UNIT", "D - wl", "There is wall on both sides."),
            NamedMistake("TIP", "D - 2*wl", "The roots lie beyond the pitch circle, on each side."),
        ),
        hints=(
            "The outside is m(R + 2.5) and two walls.",
            "Solve for m.",
            "Round down to the list.",
        ),
    ),
    Item(
        id="L13-04",
        kind=AnswerKind.DIMENSION_TABLE,
        marks=6,
        prompt="Module <m> mm, $S = <S>$, $P = <P>$, $R = <R>$, teeth of standard height. Give in mm: the pitch diameters "
        "of sun, planet and ring, the centre distance from sun to planet, and the ring's tip and root diameters "
        "(1 module and 1.25 modules from the pitch circle).",
        draw=_SET_AND_MODULE,
        fields={
            "dS": Field("sun, pitch diameter", _N, "1", "mm"),
            "dP": Field("planet, pitch diameter", _N, "1", "mm"),
            "dR": Field("ring, pitch diameter", _N, "1", "mm"),
            "a": Field("centre distance", _N, "1", "mm"),
            "tipR": Field("ring, tip diameter", _N, "1", "mm"),
            "rootR": Field("ring, root diameter", _N, "1", "mm"),
        },
        carry={"a": "(dS + dP)/2", "tipR": "dR - 2*m", "rootR": "dR + 2.5*m"},
        answer={"dS": "m*S", "dP": "m*P", "dR": "m*R", "a": "m*(S + P)/2", "tipR": "m*(R - 2)", "rootR": "m*(R + 2.5)"},
        tolerance=HUNDREDTH,
        named_mistakes=(
            NamedMistake(
                "SIGN",
                {"tipR": "m*(R + 2)", "rootR": "m*(R - 2.5)"},
                "The teeth of a ring point inward: which of its circles is the smaller?",
            ),
            NamedMistake(
                "UNIT",
                {"dS": "m*S/2", "dP": "m*P/2", "dR": "m*R/2", "tipR": "m*(R - 2)/2", "rootR": "m*(R + 2.5)/2"},
                "Those are radii.",
            ),
        ),
        hints=(
            "A pitch diameter is m z.",
            "The centre distance is half the sum of two pitch diameters.",
            "Ring teeth point inward: the tip circle is smaller by 2 m, the root circle larger by 2.5 m.",
        ),
    ),
    Item(
        id="L13-05",
        kind=_N,
        marks=3,
        prompt="How wide is the gap between the tips of neighbouring planets, in mm: $S = <S>$, $P = <P>$, <N> planets, "
        "module <m> mm? (A printed model should have 1.5 mm at least.)",
        draw=_SET_AND_MODULE,
        answer="m*((S + P)*sin(pi/N) - (P + 2))",
        tolerance=Tolerance(absolute=Fraction(1, 20)),
        unit="mm",
        named_mistakes=(
            NamedMistake("TIP", "m*((S + P)*sin(pi/N) - P)"),
            NamedMistake("UNIT", "(S + P)*sin(pi/N) - (P + 2)", "That is in modules."),
        ),
        hints=(
            "First work in modules.",
            "The chord between neighbours is (S + P) sin(180°/N); take off one tip diameter.",
            "Multiply by the module.",
        ),
    ),
    Item(
        id="L13-06",
        kind=_COUNT,
        marks=3,
        prompt="At the pitch circle a tooth is $\\pi m/2$ thick, less half of the whole backlash of <j> mm. The printer "
        "draws lines <w> mm wide. How many whole lines fit across one tooth at module <m> mm? (At least three "
        "are needed for a hand-turned model.)",
        draw=Draw(numbers={"m": _MODULE, "j": ("0.2", "0.4", "0.1"), "w": ("0.40", "0.60", "0.04")}),
        answer="floor((pi*m/2 - j/2)/w)",
        named_mistakes=(
            NamedMistake("UNIT", "floor((pi*m - j)/w)", "Pi m is a whole pitch, one tooth and one gap."),
            NamedMistake("TIP", "floor(m/w)", "The module is not the thickness of a tooth."),
        ),
        hints=(
            "Half a pitch is tooth, half is gap.",
            "Take half of the backlash off.",
            "Divide by the line width and round down.",
        ),
    ),
    Item(
        id="L13-07",
        kind=_N,
        marks=3,
        prompt="You crank your model of the Q24 in first (E applied, carrier 1 held). How many turns of the crank make <t> "
        "turns of the output?",
        draw=Draw(layout="Q24", numbers={"t": ("5", "25", "5")}),
        like=("ratio", "1"),
        times="t",
        tolerance=Tolerance(absolute=Fraction(1, 50)),
        unit="turns",
        named_mistakes=(
            NamedMistake("RECIP", "t/<ratio 1>", "First is a reduction: which turns more often, crank or output?"),
            NamedMistake(
                "NOONE", "t*<ratio 1> - t", "R2/S2 leaves out the one turn that the whole set makes with its carrier."
            ),
        ),
        hints=(
            "The ratio is crank turns over output turns.",
            "First is 1 + R2/S2.",
            "Multiply.",
        ),
    ),
    Item(
        id="L13-08",
        kind=_N,
        marks=3,
        prompt="A hand puts <T> N·m on a sun with <S> teeth, module <m> mm; <N> planets share the load equally. How large "
        "is the tooth force at each planet, in newtons?",
        draw=Draw(sets=("",), numbers={"T": ("2", "8", "1"), "m": _MODULE}),
        answer="2000*T/(m*S*N)",
        tolerance=ONE_PERCENT,
        unit="N",
        named_mistakes=(
            NamedMistake("UNIT", "1000*T/(m*S*N)", "Radius, not diameter: at which distance from the axis does the force act?"),
            NamedMistake("COUNT", "2000*T/(m*S)", "The planets share the force."),
            NamedMistake("UNIT", "2*T/(m*S*N)", "The module is in millimetres, the torque in newton metres."),
        ),
        hints=(
            "The whole force at the pitch circle is torque over radius.",
            "The radius is m S/2, in mm.",
            "Divide it by the number of planets. (Real planets share less evenly.)",
        ),
    ),
)
