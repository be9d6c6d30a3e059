"""Lesson 2: one planetary set, its members and its speed equation."""

from __future__ import annotations

from gearkit.answers.bank.common import BEFORE, HALF_RPM, one_of
from gearkit.answers.items import AnswerKind, Draw, Field, Item, Slip, Version

_FOUR = Draw(sets=("",), numbers=one_of(4), later=BEFORE)
_TRY = " (To try your formula: a set with $S = <S>$, $R = <R>$.)"
_TRY_PLANET = " (To try your formula: a set with $S = <S>$, $P = <P>$.)"
# Minus one where "way" is 1, nothing where it is 2 to 6, one where it is 7.
_WAY = "(sign(way - 1) - 1 + floor((way - 1)/6))"
_LEVER = "On the lever diagram of a simple set the {} is at place 0 and the {} at place 1. At which place is the {}? "
_LEVER_END = "Answer in $S$ and $R$. (To try it: $S = <S>$, $R = <R>$.)"
_BASIC = "Write the ratio {} of a simple set with the carrier held, that is, {}, in ${}$ and ${}$. (To try it: ${} = <{}>$, ${} = <{}>$.)"

ITEMS: tuple[Item, ...] = (
    Item(
        id="L02-01",
        kind=AnswerKind.EXPRESSION,
        marks=4,
        prompt="The sun turns at $n_s$ and the ring at $n_r$; nothing is held. Write the speed $n_c$ of the carrier in "
        "the letters $S$, $R$, `ns`, `nr`. (To try your formula: a set with $S = <S>$, $R = <R>$.)",
        draw=_FOUR,
        symbols=("S", "R", "ns", "nr"),
        answer="(S*ns + R*nr)/(S + R)",
        slips=(
            Slip(
                "SWAP",
                "(R*ns + S*nr)/(S + R)",
                "Each speed has the other's weight: the ring has more teeth, so its speed counts for more.",
            ),
            Slip(
                "HALF",
                "(ns + nr)/2",
                "A plain average would need as many teeth on the sun as on the ring. Weight each speed with its teeth.",
            ),
            Slip(
                "SIGN",
                "(S*ns - R*nr)/(S + R)",
                "When sun and ring both turn forward, both take the carrier along: look at the sign between them.",
            ),
        ),
        hints=(
            "Start from what both gears of a mesh do as seen from the carrier: take $n_c$ off every speed.",
            "Sun and ring give $S(n_s - n_c) + R(n_r - n_c) = 0$; sun and planet give $S(n_s - n_c) + P(n_p - n_c) = 0$.",
            "Multiply out, bring every term with the speed that is asked to one side, and divide.",
        ),
        versions=(
            Version(
                prompt="The sun turns at $n_s$ and the carrier at $n_c$; nothing is held. Write the speed $n_r$ of the ring in "
                "the letters $S$, $R$, `ns`, `nc`." + _TRY,
                symbols=("S", "R", "ns", "nc"),
                answer="((S + R)*nc - S*ns)/R",
                slips=(
                    Slip("HELDMOVES", "-S*ns/R", "That belongs to a carrier that stands still, but this one turns."),
                    Slip(
                        "SWAP", "((S + R)*nc - R*ns)/S", "Sun and ring have changed places: each speed goes with its own teeth."
                    ),
                    Slip(
                        "SIGN",
                        "((S + R)*nc + S*ns)/R",
                        "Check the step across the equals sign: the sun's term changes its sign there.",
                    ),
                ),
            ),
            Version(
                prompt="The ring turns at $n_r$ and the carrier at $n_c$; nothing is held. Write the speed $n_s$ of the sun in "
                "the letters $S$, $R$, `nr`, `nc`." + _TRY,
                symbols=("S", "R", "nr", "nc"),
                answer="((S + R)*nc - R*nr)/S",
                slips=(
                    Slip("HELDMOVES", "-R*nr/S", "That belongs to a carrier that stands still, but this one turns."),
                    Slip(
                        "SWAP", "((S + R)*nc - S*nr)/R", "Sun and ring have changed places: each speed goes with its own teeth."
                    ),
                    Slip(
                        "SIGN",
                        "((S + R)*nc + R*nr)/S",
                        "Check the step across the equals sign: the ring's term changes its sign there.",
                    ),
                ),
            ),
            Version(
                prompt="The sun turns at $n_s$ and the carrier at $n_c$; nothing is held. Write the speed $n_p$ of a planet, seen "
                "from the housing, in the letters $S$, $P$, `ns`, `nc`." + _TRY_PLANET,
                symbols=("S", "P", "ns", "nc"),
                answer="nc - (ns - nc)*S/P",
                slips=(
                    Slip("REL", "-(ns - nc)*S/P"),
                    Slip("HELDMOVES", "-ns*S/P", "That belongs to a carrier that stands still, but this one turns."),
                    Slip(
                        "SIGN",
                        "nc + (ns - nc)*S/P",
                        "Sun and planet mesh externally: seen from the carrier they turn opposite ways.",
                    ),
                ),
            ),
        ),
    ),
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
        slips=(
            Slip("HELDMOVES", "-S*ns/R", "Your ring speed belongs to a carrier that stands still, but this one turns."),
            Slip(
                "SIGN", "((S + R)*nc + S*ns)/R", "Check the step across the equals sign: the sun's term changes its sign there."
            ),
            Slip("SWAP", "((S + R)*nc - R*ns)/S"),
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
        "for sun and planet, in r/min.",
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
        slips=(
            Slip(
                "NOONE",
                {"sun": "nc*R/S", "planet": "-nc*R/P"},
                "Your totals leave out row 1, in which everything turns together.",
            ),
            Slip(
                "SIGN",
                {"sun_still": "-nc*R/S", "planet_still": "nc*R/P", "sun": "nc*(1 - R/S)", "planet": "nc*(1 + R/P)"},
                "In row 2 sun and ring turn opposite ways, and the planet goes the ring's way.",
            ),
            Slip("SWAP", {"sun_still": "nc*S/R", "planet_still": "-nc*S/P", "sun": "nc*(1 + S/R)", "planet": "nc*(1 - S/P)"}),
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
        slips=(
            Slip("REL", "-(ns - nc)*S/P"),
            Slip(
                "SIGN", "nc + (ns - nc)*S/P", "Sun and planet mesh externally: seen from the carrier they turn opposite ways."
            ),
            Slip("SWAP", "nc - (ns - nc)*P/S", "The sun drives the planet: the quotient of their teeth is the other way up."),
        ),
        hints=(
            "Ride on the carrier: how fast does the sun turn past you?",
            "Seen from there, the planet turns at $-(n_s - n_c)\\,S/P$.",
            "Add the carrier's own speed to come back to the housing.",
        ),
    ),
    Item(
        id="L02-05",
        kind=AnswerKind.EXPRESSION,
        marks=3,
        prompt="On the lever diagram of a simple set the sun is at place 0 and the ring at place 1. At which place is "
        "the carrier? Answer in $S$ and $R$. (To try it: $S = <S>$, $R = <R>$.)",
        draw=_FOUR,
        symbols=("S", "R"),
        answer="R/(S + R)",
        slips=(
            Slip("SWAP", "S/(S + R)", "The carrier lies nearer to the ring: the arm on the sun's side is the longer one."),
            Slip("NOONE", "S/R", "S/R compares the two arms; asked for is the place along the whole lever."),
            Slip("HALF", "1/2", "In the middle it would need a sun as large as the ring."),
        ),
        hints=(
            "The lever has to give back $n_c = (S\\,n_s + R\\,n_r)/(S + R)$.",
            "So the carrier lies between sun and ring, and its distances from sun and ring stand as $R$ to $S$.",
            "Draw the three points with these distances, put 0 and 1 where the question has them, and read off the third.",
        ),
        versions=(
            Version(
                prompt=_LEVER.format("ring", "sun", "carrier") + _LEVER_END,
                answer="S/(S + R)",
                slips=(
                    Slip("SWAP", "R/(S + R)", "The carrier lies nearer to the ring, and the ring is at 0 here."),
                    Slip("NOONE", "S/R", "S/R compares the two arms; asked for is the place along the whole lever."),
                    Slip("HALF", "1/2", "In the middle it would need a sun as large as the ring."),
                ),
            ),
            Version(
                prompt=_LEVER.format("carrier", "sun", "ring") + _LEVER_END,
                answer="-S/R",
                slips=(
                    Slip("SWAP", "-R/S", "The arm on the sun's side is the longer one, and it has the length 1 here."),
                    Slip(
                        "NOONE", "S/(S + R)", "The whole lever has the length 1 in your answer; here the sun's arm alone has."
                    ),
                    Slip("SIGN", "S/R", "Sun and ring lie on different sides of the carrier."),
                ),
            ),
            Version(
                prompt=_LEVER.format("carrier", "ring", "sun") + _LEVER_END,
                answer="-R/S",
                slips=(
                    Slip("SWAP", "-S/R", "The arm on the ring's side is the shorter one, and it has the length 1 here."),
                    Slip(
                        "NOONE", "R/(S + R)", "The whole lever has the length 1 in your answer; here the ring's arm alone has."
                    ),
                    Slip("SIGN", "R/S", "Sun and ring lie on different sides of the carrier."),
                ),
            ),
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
        slips=(
            Slip("HELDMOVES", "-ns", "Sun forward, ring in reverse: so it is while the carrier stands still. Here it turns."),
            Slip("SWAP", "(S + R)*nc - R*ns", "The sun's speed goes with S and the ring's with R; yours are changed over."),
        ),
        hints=(
            "At one speed of the carrier the ring would just stand still. Which one?",
            "That speed is $S\\,n_s/(S + R)$.",
            "Is this carrier faster than that, slower, or just so fast?",
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
        slips=(
            Slip(
                "SIGN",
                "",
                "That one fits: put it into $S(n_s - n_c) + R(n_r - n_c)$ again and mind the plus sign "
                "between the two brackets.",
            ),
        ),
        hints=(
            "Put each reading into $S(n_s - n_c) + R(n_r - n_c)$.",
            "Two of them give nearly nothing (rounding leaves a little).",
            "One result is far from nothing: that reading is the odd one.",
        ),
    ),
    Item(
        id="L02-08",
        kind=AnswerKind.EXPRESSION,
        marks=2,
        prompt="Write the basic ratio of a simple set, that is, its ratio sun to ring with the carrier held, "
        "$(n_s - n_c)/(n_r - n_c)$, in $S$ and $R$. (To try it: $S = <S>$, $R = <R>$.)",
        draw=_FOUR,
        symbols=("S", "R"),
        answer="-R/S",
        slips=(
            Slip("SIGN", "R/S", "Between sun and ring lie one external and one internal mesh: how often is it reversed?"),
            Slip("SWAP", "-S/R"),
            Slip("NOONE", "1 + R/S", "That belongs to a held ring; here the carrier is held."),
        ),
        hints=(
            "Hold the carrier: what is left is a plain gear train, sun, planet, ring.",
            "Between two gears that mesh the ratio is driven teeth over driving teeth; a gear in between cancels.",
            "Count the reversals: sun and planet mesh externally, planet and ring internally.",
        ),
        versions=(
            Version(
                prompt=_BASIC.format("ring to sun", "$(n_r - n_c)/(n_s - n_c)$", "S", "R", "S", "S", "R", "R"),
                symbols=("S", "R"),
                answer="-S/R",
                slips=(
                    Slip(
                        "SIGN", "S/R", "Between ring and sun lie one internal and one external mesh: how often is it reversed?"
                    ),
                    Slip("SWAP", "-R/S"),
                    Slip("NOONE", "1 + S/R", "That belongs to a held sun; here the carrier is held."),
                ),
            ),
            Version(
                prompt=_BASIC.format("sun to planet", "$(n_s - n_c)/(n_p - n_c)$", "S", "P", "S", "S", "P", "P"),
                symbols=("S", "P"),
                answer="-P/S",
                slips=(
                    Slip("SIGN", "P/S", "Sun and planet mesh externally: do they turn the same way?"),
                    Slip("RECIP", "-S/P"),
                    Slip("NOONE", "1 + P/S", "No turn of the carrier comes on top: it is held."),
                ),
            ),
            Version(
                prompt=_BASIC.format("planet to ring", "$(n_p - n_c)/(n_r - n_c)$", "P", "R", "P", "P", "R", "R"),
                symbols=("P", "R"),
                answer="R/P",
                slips=(
                    Slip("SIGN", "-R/P", "A planet runs inside the ring: does that mesh reverse?"),
                    Slip("RECIP", "P/R"),
                    Slip("NOONE", "1 + R/P", "No turn of the carrier comes on top: it is held."),
                ),
            ),
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
        slips=(
            Slip("REL", "w"),
            Slip("SIGN", "w - nc", "Whoever rides along turns with the carrier: is its speed added or taken off?"),
        ),
        hints=(
            "What does somebody on the carrier see of the housing?",
            "Every speed seen from the carrier is the real one less the carrier's.",
            "So the real one is what is seen, and the carrier's speed comes on top.",
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
        slips=(
            Slip("REL", "-nc*R/P"),
            Slip("SIGN", "nc + nc*R/P", "Seen from the carrier, which way does the ring go? The planet goes the same way."),
        ),
        hints=(
            "Seen from the carrier, the held ring turns backward.",
            "Planet and ring mesh internally: seen from the carrier they turn the same way, the planet R/P times as fast.",
            "Then add the carrier's own speed.",
        ),
    ),
)
