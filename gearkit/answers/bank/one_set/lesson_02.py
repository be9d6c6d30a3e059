"""Lesson 2: one planetary set, its members and its speed equation."""

from __future__ import annotations

from gearkit.answers.bank.common import HALF_RPM
from gearkit.answers.item import AnswerKind, Draw, Field, Item, NamedMistake

# Minus one where "way" is 1, nothing where it is 2 to 6, one where it is 7.
_WAY = "(sign(way - 1) - 1 + floor((way - 1)/6))"

ITEMS: tuple[Item, ...] = (
    Item(
        id="L02-02",
        kind=AnswerKind.DECIMAL,
        marks=3,
        prompt="A set has $S = <S>$ and $R = <R>$ teeth. The sun turns at <ns> r/min and the carrier at <nc> r/min "
        "(a minus sign means reverse). How fast does the ring turn, in r/min?",
        draw=Draw(
            sets=("",),
            numbers={"ns": ("-2000", "2000", "100"), "nc": ("-1500", "1500", "100")},
            keep=("ns != nc", "nc != 0", "ns != 0"),
        ),
        answer="((S + R)*nc - S*ns)/R",
        tolerance=HALF_RPM,
        unit="r/min",
        named_mistakes=(
            NamedMistake("HELDMOVES", "-S*ns/R", "Your ring speed belongs to a carrier that stands still, but this one turns."),
            NamedMistake(
                "SIGN", "((S + R)*nc + S*ns)/R", "Check the step across the equals sign: the sun's term changes its sign there."
            ),
            NamedMistake("SWAP", "((S + R)*nc - R*ns)/S"),
        ),
        hints=(
            "Put both known speeds into the speed equation.",
            "Solve for the ring's term: $R\\,n_r = (S + R)\\,n_c - S\\,n_s$.",
            "Divide by $R$, and carry the sign to the end.",
        ),
    ),
    Item(
        id="L02-03",
        kind=AnswerKind.SPEED_TABLE,
        marks=5,
        prompt="The ring of a set with $S = <S>$, $P = <P>$, $R = <R>$ is held, and the carrier turns at <nc> r/min. "
        "Use the table: in row 1 everything turns together at <nc>; in row 2 the carrier stands still and the "
        "ring turns back, so that the ring's total is 0. Give row 2 for sun, ring and planet, and the totals "
        "for sun and planet, in r/min (a minus sign means reverse).",
        draw=Draw(sets=("",), numbers={"nc": ("200", "1500", "50")}),
        fields={
            "ring_still": Field("ring, row 2 (carrier still)", AnswerKind.DECIMAL, "1", "r/min"),
            "sun_still": Field("sun, row 2 (carrier still)", AnswerKind.DECIMAL, "1", "r/min"),
            "planet_still": Field("planet, row 2 (carrier still)", AnswerKind.DECIMAL, "1", "r/min"),
            "sun": Field("sun, total", AnswerKind.DECIMAL, "1", "r/min"),
            "planet": Field("planet, total", AnswerKind.DECIMAL, "1", "r/min"),
        },
        answer={
            "ring_still": "-nc",
            "sun_still": "nc*R/S",
            "planet_still": "-nc*R/P",
            "sun": "nc*(1 + R/S)",
            "planet": "nc*(1 - R/P)",
        },
        carry={
            "sun_still": "-ring_still*R/S",
            "planet_still": "ring_still*R/P",
            "sun": "nc + sun_still",
            "planet": "nc + planet_still",
        },
        tolerance=HALF_RPM,
        named_mistakes=(
            NamedMistake(
                "NOONE",
                {"sun": "nc*R/S", "planet": "-nc*R/P"},
                "Your totals leave out row 1, in which everything turns together.",
            ),
            NamedMistake(
                "SIGN",
                {"sun_still": "-nc*R/S", "planet_still": "nc*R/P", "sun": "nc*(1 - R/S)", "planet": "nc*(1 + R/P)"},
                "In row 2 sun and ring turn opposite ways, and the planet goes the ring's way.",
            ),
            NamedMistake(
                "SWAP", {"sun_still": "nc*S/R", "planet_still": "-nc*S/P", "sun": "nc*(1 + S/R)", "planet": "nc*(1 - S/P)"}
            ),
        ),
        hints=(
            "Row 1 is easy: every member gets the carrier's speed.",
            "Row 2: the ring gets minus the carrier's speed. Ring and planet mesh inside, planet and sun outside.",
            "Add row 1 and row 2 under each member; the ring's sum has to be 0.",
        ),
    ),
    Item(
        id="L02-04",
        kind=AnswerKind.DECIMAL,
        marks=3,
        prompt="A set has $S = <S>$ and $P = <P>$ teeth. The sun turns at <ns> r/min, the carrier at <nc> r/min. How "
        "fast does a planet pinion turn, seen from the housing (r/min, with its sign)?",
        draw=Draw(
            sets=("",),
            numbers={"ns": ("-1500", "2500", "100"), "nc": ("-800", "800", "50")},
            keep=("ns != nc", "nc != 0"),
        ),
        answer="nc - (ns - nc)*S/P",
        tolerance=HALF_RPM,
        unit="r/min",
        named_mistakes=(
            NamedMistake("REL", "-(ns - nc)*S/P"),
            NamedMistake(
                "SIGN", "nc + (ns - nc)*S/P", "Sun and planet mesh externally: seen from the carrier they turn opposite ways."
            ),
            NamedMistake(
                "SWAP", "nc - (ns - nc)*P/S", "The sun drives the planet: the quotient of their teeth is the other way up."
            ),
        ),
        hints=(
            "Ride on the carrier: how fast does the sun turn past you?",
            "Seen from there, the planet turns at $-(n_s - n_c)\\,S/P$.",
            "Add the carrier's own speed to come back to the housing.",
        ),
    ),
    Item(
        id="L02-06",
        kind=AnswerKind.DIRECTION,
        marks=2,
        prompt="A set has $S = <S>$ and $R = <R>$. The sun turns at <ns> r/min and the carrier at <nc> r/min. Does "
        "the ring turn forward, turn in reverse, or stand still?",
        draw=Draw(
            sets=("",),
            # One draw in three puts the carrier at the speed that leaves the ring standing, one below it, one above. It was
            # one in six, at `free`, and is still for whatever was handed out then ("way" 0). Of five draws with a standing
            # ring one has whole numbers.
            numbers={
                "ns": ("400", "3000", "100"),
                "free": ("100", "1200", "50"),
                "lot": ("1", "6", "1"),
                "way": ("1", "7", "1"),
                "by": ("0.2", "0.5", "0.05"),
            },
            later={"way": "0", "by": "0"},
            shown={
                "nc": (
                    "(1 - sign(way))*(free + (1 - sign(lot - 1))*(S*ns/(S + R) - free)) + sign(way)*("
                    f"(1 - abs({_WAY}))*S*ns/(S + R) + abs({_WAY})*floor(S*ns/(S + R)*(1 + {_WAY}*by)/10)*10)",
                    None,
                )
            },
            hidden=("free", "lot"),
            keep=(
                "ns != 0",
                "(floor(S*ns/(S + R)) - S*ns/(S + R))*sign(way)*(1 - abs(sign(way - 1) - 1 + floor((way - 1)/6))) == 0",
            ),
        ),
        rule="direction",
        answer="(S + R)*nc - S*ns",
        named_mistakes=(
            NamedMistake(
                "HELDMOVES", "-ns", "Sun forward, ring in reverse: so it is while the carrier stands still. Here it turns."
            ),
            NamedMistake("SWAP", "(S + R)*nc - R*ns", "The sun's speed goes with S and the ring's with R; you swapped them."),
        ),
        hints=(
            "At one speed of the carrier the ring would just stand still. Which one?",
            "That speed is $S\\,n_s/(S + R)$.",
            "Is this carrier faster than that, slower, or exactly as fast?",
        ),
    ),
    Item(
        id="L02-07",
        kind=AnswerKind.CHOICE,
        marks=2,
        prompt="Three readings were written down at a set with $S = <S>$ and $R = <R>$; speeds are rounded to whole "
        "r/min. One of the three cannot be right. Which?\n\n<list>",
        draw=Draw(sets=("",), numbers={"err": ("60", "300", "20")}, hidden=("err",)),
        rule="impossible_reading",
        named_mistakes=(
            NamedMistake(
                "SIGN",
                "",
                "That one fits: put it into $S(n_s - n_c) + R(n_r - n_c)$ again and look at the plus sign "
                "between the two brackets.",
            ),
        ),
        hints=(
            "Put each reading into $S(n_s - n_c) + R(n_r - n_c)$.",
            "Two of them give nearly zero (rounding leaves a little).",
            "One result is far from zero: that reading is the odd one.",
        ),
    ),
    Item(
        id="L02-09",
        kind=AnswerKind.DECIMAL,
        marks=2,
        prompt="The carrier turns at <nc> r/min. Somebody who rides on it sees the sun turn at <w> r/min (a minus sign means "
        "backward). How fast does the sun turn, seen from the housing (r/min)?",
        draw=Draw(
            numbers={"nc": ("300", "1500", "50"), "w": ("-2500", "2500", "100")}, keep=("w != 0", "w + nc != 0", "w != nc")
        ),
        answer="w + nc",
        tolerance=HALF_RPM,
        unit="r/min",
        named_mistakes=(
            NamedMistake("REL", "w"),
            NamedMistake("SIGN", "w - nc", "Whoever rides along turns with the carrier: is its speed added or taken off?"),
        ),
        hints=(
            "What does somebody on the carrier see of the housing?",
            "Every speed seen from the carrier is the real one less the carrier's.",
            "So the real one is what is seen, with the carrier's speed added.",
        ),
    ),
    Item(
        id="L02-10",
        kind=AnswerKind.DECIMAL,
        marks=3,
        prompt="The ring of a set with $P = <P>$ and $R = <R>$ is held, and the carrier turns at <nc> r/min. How fast does a planet "
        "turn, seen from the housing (r/min, with its sign)?",
        draw=Draw(sets=("",), numbers={"nc": ("200", "1500", "50")}),
        answer="nc - nc*R/P",
        tolerance=HALF_RPM,
        unit="r/min",
        named_mistakes=(
            NamedMistake("REL", "-nc*R/P"),
            NamedMistake(
                "SIGN", "nc + nc*R/P", "Seen from the carrier, which way does the ring go? The planet goes the same way."
            ),
        ),
        hints=(
            "Seen from the carrier, the held ring turns backward.",
            "Planet and ring mesh internally: seen from the carrier they turn the same way, the planet R/P times as fast.",
            "Then add the carrier's own speed.",
        ),
    ),
)
