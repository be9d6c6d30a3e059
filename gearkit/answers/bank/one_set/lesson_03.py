"""Lesson 3: what one set can do: six ratios, direct, neutral."""

from __future__ import annotations

from gearkit.answers.bank.common import BEFORE, HALF_PERCENT, HALF_RPM, ONE_UNEVEN_SET, one_of
from gearkit.answers.item import AnswerKind, Draw, Field, Item, NamedMistake, Version
from gearkit.answers.judge.claims import Relation

_CELL = AnswerKind.EXACT_RATIO
_THEN = (
    "A clutch joins <pair> of a first set with $S_1 = <S>$ and $R_1 = <R>$; the input drives these two. The third member "
    "drives the {} of a second set with $S_2 = <S2>$ and $R_2 = <R2>$, whose {} is held; its carrier is the output. What is "
    "the whole ratio?"
)
_ALONG = NamedMistake("LOCKFREE", "0", "Two members joined do not set the third free; they take it along.")

ITEMS: tuple[Item, ...] = (
    Item(
        id="L03-01",
        kind=AnswerKind.RATIO_TABLE,
        marks=6,
        prompt="A set has $S = <S>$ and $R = <R>$. Give the ratio (input speed over output speed, with its sign) of "
        "each of the six cases, as a fraction or as a decimal with at least three figures.",
        draw=ONE_UNEVEN_SET,
        fields={
            "S_R_C": Field("sun in, ring held, carrier out", _CELL),
            "C_R_S": Field("carrier in, ring held, sun out", _CELL),
            "R_S_C": Field("ring in, sun held, carrier out", _CELL),
            "C_S_R": Field("carrier in, sun held, ring out", _CELL),
            "S_C_R": Field("sun in, carrier held, ring out", _CELL),
            "R_C_S": Field("ring in, carrier held, sun out", _CELL),
        },
        answer={
            "S_R_C": "1 + R/S",
            "C_R_S": "S/(S + R)",
            "R_S_C": "1 + S/R",
            "C_S_R": "R/(S + R)",
            "S_C_R": "-R/S",
            "R_C_S": "-S/R",
        },
        carry={"C_R_S": "1/S_R_C", "C_S_R": "1/R_S_C", "R_C_S": "1/S_C_R"},
        named_mistakes=(
            NamedMistake(
                "NOONE",
                {"S_R_C": "R/S", "C_R_S": "S/R", "R_S_C": "S/R", "C_S_R": "R/S"},
                "The pair with the held carrier is right, but you used the same sizes where the carrier turns.",
                right_too=("S_C_R", "R_C_S"),
            ),
            NamedMistake(
                "RECIP",
                {
                    "S_R_C": "S/(S + R)",
                    "C_R_S": "1 + R/S",
                    "R_S_C": "R/(S + R)",
                    "C_S_R": "1 + S/R",
                    "S_C_R": "-S/R",
                    "R_C_S": "-R/S",
                },
            ),
            NamedMistake(
                "SWAP",
                {
                    "S_R_C": "1 + S/R",
                    "C_R_S": "R/(S + R)",
                    "R_S_C": "1 + R/S",
                    "C_S_R": "S/(S + R)",
                    "S_C_R": "-S/R",
                    "R_C_S": "-R/S",
                },
            ),
            NamedMistake("SIGN", {"S_C_R": "R/S", "R_C_S": "S/R"}, "With the carrier held the output turns the other way."),
        ),
        hints=(
            "Begin with the two cases where the carrier is held.",
            "In the other four, put the one zero into the speed equation.",
            "Drive and driven swapped give the reciprocal, so three cases give you all six.",
        ),
    ),
    Item(
        id="L03-02",
        kind=AnswerKind.EXACT_RATIO,
        marks=2,
        prompt="The sun drives, the ring is held, the carrier is the output; $S = <S>$, $R = <R>$. What is the ratio, with its sign? "
        "A fraction is best.",
        draw=ONE_UNEVEN_SET,
        answer="1 + R/S",
        named_mistakes=(
            NamedMistake("NOONE", "R/S"),
            NamedMistake("SWAP", "1 + S/R"),
            NamedMistake("RECIP", "S/(S + R)"),
            NamedMistake(
                "CARTEETH",
                "-(S + R)/S",
                "The size is right. A carrier meshes with nothing, though, so where would a reversal come from?",
                says=(Relation.NEGATIVE,),
            ),
        ),
        hints=(
            "A held ring means $n_r = 0$ in the speed equation.",
            "What is left is $S\\,n_s = (S + R)\\,n_c$.",
            "Divide so that you get input speed over output speed.",
        ),
    ),
    Item(
        id="L03-03",
        kind=AnswerKind.EXACT_RATIO,
        marks=2,
        prompt="The carrier drives, the sun is held, the ring is the output; $S = <S>$, $R = <R>$. What is the ratio, with its sign?",
        draw=ONE_UNEVEN_SET,
        answer="R/(S + R)",
        named_mistakes=(
            NamedMistake("RECIP", "(S + R)/R"),
            NamedMistake("SWAP", "S/(S + R)", "That belongs to the held ring with the sun as output."),
            NamedMistake("NOONE", "R/S"),
            NamedMistake(
                "SIGN",
                "-R/(S + R)",
                "The size is right. Only the cases with a held carrier reverse.",
                says=(Relation.NEGATIVE,),
            ),
        ),
        hints=(
            "A held sun means $n_s = 0$ in the speed equation.",
            "What is left is $R\\,n_r = (S + R)\\,n_c$.",
            "The input is the carrier, the output the ring.",
        ),
    ),
    Item(
        id="L03-04",
        kind=AnswerKind.MEMBER_CHOICE,
        marks=3,
        prompt="You want <goal> from one set with $S = <S>$ and $R = <R>$. Which member do you drive, which do you "
        "hold, and which is the output? (Of two, the milder one is nearer to direct drive, and the stronger one is further from it.)",
        draw=Draw(sets=("",), numbers={"goal": ("1", "6", "1")}),
        rule="member_goal",
        named_mistakes=(
            NamedMistake("SWAP", "", "Sun and ring are swapped: which of the two cases gives the larger ratio?"),
            NamedMistake("RECIP", "", "Drive and output are swapped: that turns a reduction into an overdrive."),
        ),
        hints=(
            "Carrier as output reduces, carrier as input overdrives, carrier held reverses.",
            "R is larger than S: which case gives the larger number?",
            "Compare 1 + R/S with 1 + S/R: one is above 2, the other below.",
        ),
    ),
    Item(
        id="L03-05",
        kind=AnswerKind.DECIMAL,
        marks=3,
        prompt="The carrier drives, the sun is held and the ring is the output. The ratio is to be <q>, an overdrive. Which quotient R/S "
        "does the set need?",
        draw=Draw(numbers={"q": ("0.60", "0.77", "0.01")}),
        answer="q/(1 - q)",
        tolerance=HALF_PERCENT,
        named_mistakes=(
            NamedMistake("RECIP", "(1 - q)/q", "That is S/R; asked for is R/S."),
            NamedMistake("SWAP", "1/(1 - q)", "That is (S + R)/S; asked for is R/S."),
        ),
        hints=(
            "The ratio of this case is R/(S + R).",
            "Divide above and below by S and call R/S by one letter, x.",
            "Put x/(1 + x) equal to the wanted ratio and solve for x.",
        ),
    ),
    Item(
        id="L03-06",
        kind=AnswerKind.EXACT_RATIO,
        marks=2,
        prompt="A clutch joins <pair> of a set with $S = <S>$ and $R = <R>$; the input drives these two. The "
        "third member is the output. What is the ratio?",
        draw=Draw(
            sets=("",),
            numbers={"pair": ("1", "3", "1"), "S2": ("24", "40", "1"), "R2": ("66", "96", "1"), **one_of(3)},
            later={"S2": "30", "R2": "70", **BEFORE},
            keep=("R2 != 2*S2", "R2 != R", "S2 != S"),
        ),
        words={"pair": ("sun and carrier", "sun and ring", "carrier and ring")},
        answer="1",
        named_mistakes=(
            _ALONG,
            NamedMistake("NOONE", "1 + R/S", "That belongs to a held ring. Nothing is held here; two members are joined."),
            NamedMistake("CARTEETH", "(S + R)/R", "That belongs to a held sun. No member is held here."),
        ),
        hints=(
            "Put the two joined speeds equal in the speed equation.",
            "What does the third speed have to be?",
            "Whichever two members are joined, the ratio is the same. Where a second set follows, multiply by the ratio of that set.",
        ),
        versions=(
            Version(
                prompt=_THEN.format("sun", "ring"),
                answer="1 + R2/S2",
                named_mistakes=(
                    _ALONG,
                    NamedMistake(
                        "MULT",
                        "(1 + R/S)*(1 + R2/S2)",
                        "Nothing is held in the first set, two of its members are joined: what is its ratio then?",
                    ),
                    NamedMistake("NOONE", "R2/S2"),
                ),
            ),
            Version(
                prompt=_THEN.format("ring", "sun"),
                answer="1 + S2/R2",
                named_mistakes=(
                    _ALONG,
                    NamedMistake(
                        "MULT",
                        "(1 + R/S)*(1 + S2/R2)",
                        "Nothing is held in the first set, two of its members are joined: what is its ratio then?",
                    ),
                    NamedMistake("SWAP", "1 + R2/S2", "That would be the second set with its ring held; here its sun is held."),
                ),
            ),
        ),
    ),
    Item(
        id="L03-07",
        kind=AnswerKind.DECIMAL,
        marks=3,
        prompt="Neutral: the engine turns the sun at <n> r/min, the standing vehicle keeps the carrier at rest, and "
        "the ring is free. $S = <S>$, $R = <R>$. How fast does the ring turn (r/min, with its sign)?",
        draw=Draw(sets=("",), numbers={"n": ("600", "1000", "25")}),
        answer="-n*S/R",
        tolerance=HALF_RPM,
        unit="r/min",
        named_mistakes=(
            NamedMistake("LOCKFREE", "0", "Neutral does not mean that nothing moves: what is free spins."),
            NamedMistake("LOCKFREE", "n", "That would be direct drive, with the set locked."),
            NamedMistake("SWAP", "-n*R/S"),
            NamedMistake(
                "SIGN",
                "n*S/R",
                "The size is right. With the carrier at rest, which way does the ring go?",
                says=(Relation.NEGATIVE,),
            ),
        ),
        hints=(
            "Which member stands still here, and what keeps it so?",
            "With the carrier at rest the planets are plain idlers.",
            "Use $n_r = -n_s\\,S/R$.",
        ),
    ),
    Item(
        id="L03-08",
        kind=AnswerKind.DECIMAL,
        marks=3,
        prompt="The sun turns at <ns> r/min. The ring is not held: another set turns it at <nr> r/min. $S = <S>$, "
        "$R = <R>$. How fast does the carrier turn (r/min, with its sign)?",
        draw=Draw(
            sets=("",),
            numbers={"ns": ("600", "3000", "100"), "nr": ("-900", "900", "50")},
            keep=("nr != 0", "ns != nr"),
        ),
        answer="(S*ns + R*nr)/(S + R)",
        tolerance=HALF_RPM,
        unit="r/min",
        named_mistakes=(
            NamedMistake("HELDMOVES", "S*ns/(S + R)", "You left the ring at zero, but it turns: its speed comes in as well."),
            NamedMistake("MULT", "(ns + nr)*S/(S + R)", "The ring's speed goes with the ring's teeth, not with the sun's."),
            NamedMistake("SWAP", "(R*ns + S*nr)/(S + R)", "Each speed has the other's weight: sun with S, ring with R."),
        ),
        hints=(
            "There is no zero in the speed equation this time.",
            "The carrier runs at a weighted average of sun and ring.",
            "The weights are the tooth counts.",
        ),
    ),
    Item(
        id="L03-09",
        kind=AnswerKind.ORDERING,
        marks=2,
        prompt="Put the six ratios of a set with $S = <S>$ and $R = <R>$ in order of size, smallest first; leave signs "
        "aside. Answer with the letters.\n\n<list>",
        draw=ONE_UNEVEN_SET,
        rule="order_six",
        named_mistakes=(NamedMistake("SWAP", "", "That is the order for a sun larger than the ring."),),
        hints=(
            "Find the two overdrives with the carrier as input first.",
            "S/(S + R) is always the smallest.",
            "S/R and R/(S + R) change places near R/S = 1.618: which side are you on?",
        ),
    ),
)
