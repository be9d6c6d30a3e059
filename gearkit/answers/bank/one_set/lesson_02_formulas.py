"""Lesson 2, what is asked as a formula: the speed equation solved, places on the lever, the basic ratio."""

from __future__ import annotations

from gearkit.answers.bank.common import BEFORE, one_of
from gearkit.answers.item import AnswerKind, Draw, Item, NamedMistake, Version

_FOUR = Draw(sets=("",), numbers=one_of(4), later=BEFORE)
_TRY = " (To try your formula: a set with $S = <S>$, $R = <R>$.)"
_TRY_PLANET = " (To try your formula: a set with $S = <S>$, $P = <P>$.)"
_LEVER = "On the lever diagram of a simple set the {} is at place 0 and the {} at place 1. At which place is the {} (on the far side of the zero a place is negative)? "
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
        named_mistakes=(
            NamedMistake(
                "SWAP",
                "(R*ns + S*nr)/(S + R)",
                "Each speed has the other's weight: the ring has more teeth, so its speed counts for more.",
            ),
            NamedMistake(
                "HALF",
                "(ns + nr)/2",
                "A plain average would need as many teeth on the sun as on the ring. Weight each speed with its teeth.",
            ),
            NamedMistake(
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
                named_mistakes=(
                    NamedMistake("HELDMOVES", "-S*ns/R", "That belongs to a carrier that stands still, but this one turns."),
                    NamedMistake(
                        "SWAP", "((S + R)*nc - R*ns)/S", "Sun and ring have changed places: each speed goes with its own teeth."
                    ),
                    NamedMistake(
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
                named_mistakes=(
                    NamedMistake("HELDMOVES", "-R*nr/S", "That belongs to a carrier that stands still, but this one turns."),
                    NamedMistake(
                        "SWAP", "((S + R)*nc - S*nr)/R", "Sun and ring have changed places: each speed goes with its own teeth."
                    ),
                    NamedMistake(
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
                named_mistakes=(
                    NamedMistake("REL", "-(ns - nc)*S/P"),
                    NamedMistake("HELDMOVES", "-ns*S/P", "That belongs to a carrier that stands still, but this one turns."),
                    NamedMistake(
                        "SIGN",
                        "nc + (ns - nc)*S/P",
                        "Sun and planet mesh externally: seen from the carrier they turn opposite ways.",
                    ),
                ),
            ),
        ),
    ),
    Item(
        id="L02-05",
        kind=AnswerKind.EXPRESSION,
        marks=3,
        prompt="On the lever diagram of a simple set the sun is at place 0 and the ring at place 1. At which place is "
        "the carrier (on the far side of the zero a place is negative)? Answer in $S$ and $R$. (To try it: $S = <S>$, $R = <R>$.)",
        draw=_FOUR,
        symbols=("S", "R"),
        answer="R/(S + R)",
        named_mistakes=(
            NamedMistake(
                "SWAP", "S/(S + R)", "The carrier lies nearer to the ring: the arm on the sun's side is the longer one."
            ),
            NamedMistake("NOONE", "S/R", "S/R compares the two arms; asked for is the place along the whole lever."),
            NamedMistake("HALF", "1/2", "In the middle it would need a sun as large as the ring."),
        ),
        hints=(
            "The lever has to give back $n_c = (S\\,n_s + R\\,n_r)/(S + R)$.",
            "So the carrier lies between sun and ring, and its distances from sun and ring are in the proportion $R$ to $S$.",
            "Draw the three points with these distances, put 0 and 1 where the question has them, and read off the third.",
        ),
        versions=(
            Version(
                prompt=_LEVER.format("ring", "sun", "carrier") + _LEVER_END,
                answer="S/(S + R)",
                named_mistakes=(
                    NamedMistake("SWAP", "R/(S + R)", "The carrier lies nearer to the ring, and the ring is at 0 here."),
                    NamedMistake("NOONE", "S/R", "S/R compares the two arms; asked for is the place along the whole lever."),
                    NamedMistake("HALF", "1/2", "In the middle it would need a sun as large as the ring."),
                ),
            ),
            Version(
                prompt=_LEVER.format("carrier", "sun", "ring") + _LEVER_END,
                answer="-S/R",
                named_mistakes=(
                    NamedMistake("SWAP", "-R/S", "The arm on the sun's side is the longer one, and it has the length 1 here."),
                    NamedMistake(
                        "NOONE", "S/(S + R)", "The whole lever has the length 1 in your answer; here the sun's arm alone has."
                    ),
                    NamedMistake("SIGN", "S/R", "Sun and ring lie on different sides of the carrier."),
                ),
            ),
            Version(
                prompt=_LEVER.format("carrier", "ring", "sun") + _LEVER_END,
                answer="-R/S",
                named_mistakes=(
                    NamedMistake(
                        "SWAP", "-S/R", "The arm on the ring's side is the shorter one, and it has the length 1 here."
                    ),
                    NamedMistake(
                        "NOONE", "R/(S + R)", "The whole lever has the length 1 in your answer; here the ring's arm alone has."
                    ),
                    NamedMistake("SIGN", "R/S", "Sun and ring lie on different sides of the carrier."),
                ),
            ),
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
        named_mistakes=(
            NamedMistake(
                "SIGN", "R/S", "Between sun and ring lie one external and one internal mesh: how often is it reversed?"
            ),
            NamedMistake("SWAP", "-S/R"),
            NamedMistake("NOONE", "1 + R/S", "That belongs to a held ring; here the carrier is held."),
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
                named_mistakes=(
                    NamedMistake(
                        "SIGN", "S/R", "Between ring and sun lie one internal and one external mesh: how often is it reversed?"
                    ),
                    NamedMistake("SWAP", "-R/S"),
                    NamedMistake("NOONE", "1 + S/R", "That belongs to a held sun; here the carrier is held."),
                ),
            ),
            Version(
                prompt=_BASIC.format("sun to planet", "$(n_s - n_c)/(n_p - n_c)$", "S", "P", "S", "S", "P", "P"),
                symbols=("S", "P"),
                answer="-P/S",
                named_mistakes=(
                    NamedMistake("SIGN", "P/S", "Sun and planet mesh externally: do they turn the same way?"),
                    NamedMistake("RECIP", "-S/P"),
                    NamedMistake("NOONE", "1 + P/S", "No turn of the carrier is added: it is held."),
                ),
            ),
            Version(
                prompt=_BASIC.format("planet to ring", "$(n_p - n_c)/(n_r - n_c)$", "P", "R", "P", "P", "R", "R"),
                symbols=("P", "R"),
                answer="R/P",
                named_mistakes=(
                    NamedMistake("SIGN", "-R/P", "A planet runs inside the ring: does that mesh reverse?"),
                    NamedMistake("RECIP", "P/R"),
                    NamedMistake("NOONE", "1 + R/P", "No turn of the carrier is added: it is held."),
                ),
            ),
        ),
    ),
)
