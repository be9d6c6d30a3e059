"""Lesson 5: two sets together: series, shared members, trade types."""

from __future__ import annotations

from gearkit.answers.bank.common import HALF_RPM, TWO_SETS
from gearkit.answers.item import AnswerKind, Draw, Item, NamedMistake
from gearkit.answers.judge.claims import Relation

_RATIO = AnswerKind.EXACT_RATIO
_TEETH = "$S_1 = <S1>$, $R_1 = <R1>$, $S_2 = <S2>$, $R_2 = <R2>$"
_COMMON_SUN = (
    f"Two sets have their suns on one shaft; carrier 1, ring 2 and the output are joined too (a Simpson-type pair). {_TEETH}. "
)
_TWO_SUNS = (
    "Two suns share one carrier and one ring (a Ravigneaux-type set): the small sun has <a> teeth and works "
    "through short and long planets, the large sun has <b> teeth and works through the long planets only; the "
    "ring has <R> teeth. "
)
_CROSSED = f"Two sets are joined crosswise: carrier 1 with ring 2, and ring 1 with carrier 2, which is the output. {_TEETH}. "
# The long planets' tips have to clear the small sun, hence the difference of 5; even differences give whole planets.
_TWO_SUN_DRAW = Draw(
    numbers={"a": ("24", "34", "1"), "b": ("30", "44", "1"), "R": ("74", "100", "1")},
    keep=("b - a >= 5", "R - b >= 36", "floor((R - b)/2)*2 == R - b", "floor((R - a)/2)*2 == R - a"),
)

ITEMS: tuple[Item, ...] = (
    Item(
        id="L05-01",
        kind=_RATIO,
        marks=3,
        prompt=f"Two sets stand in series: {_TEETH}. In set 1 the sun drives, the ring is held, and the carrier turns the "
        "sun of set 2, whose ring is held too; its carrier is the output. What is the ratio, with its sign?",
        draw=TWO_SETS,
        answer="(1 + R1/S1)*(1 + R2/S2)",
        named_mistakes=(
            NamedMistake("ADD", "2 + R1/S1 + R2/S2"),
            NamedMistake("NOONE", "(R1/S1)*(R2/S2)"),
            NamedMistake("SWAP", "(1 + S1/R1)*(1 + S2/R2)"),
        ),
        hints=(
            "What does set 2 get from set 1?",
            "Each set has its own held ring, so each has its own ratio.",
            "The second works on what the first has done.",
        ),
    ),
    Item(
        id="L05-02",
        kind=AnswerKind.INTEGER,
        marks=2,
        prompt="A train of <k> simple sets. Number of rigid joins: <j> (each between two members, none of them listed twice). Input and "
        "output are members. How many separate shafts can turn?",
        draw=Draw(numbers={"k": ("2", "4", "1"), "j": ("1", "6", "1")}, keep=("j <= 2*k - 1",)),
        answer="3*k - j",
        named_mistakes=(
            NamedMistake("COUNT", "3*k", "Each join makes one shaft out of two."),
            NamedMistake("COUNT", "3*k + j", "Does a join add a shaft, or does it take one away?"),
            NamedMistake("COUNT", "2*k - j", "How many members of a set can be a shaft? Sun, carrier, and ..."),
        ),
        hints=(
            "A set has three members.",
            "Each join makes one shaft out of two.",
            "So: three for each set, less the joins.",
        ),
    ),
    Item(
        id="L05-03",
        kind=_RATIO,
        marks=5,
        prompt=_COMMON_SUN + "Ring 1 is driven and carrier 2 is held. What is the ratio, with its sign?",
        draw=TWO_SETS,
        answer="1 + S1/R1 + S1*R2/(R1*S2)",
        named_mistakes=(
            NamedMistake(
                "HELDMOVES", "1 + S1/R1", "You held the suns. In this range they turn backward; only carrier 2 is held."
            ),
            NamedMistake("MULT", "(1 + S1/R1)*(R2/S2)"),
            NamedMistake(
                "SIGN", "1 + S1/R1 - S1*R2/(R1*S2)", "The suns turn backward: what does that do to the sign of their term?"
            ),
            NamedMistake("SWAP", "1 + R1/S1 + R1*S2/(S1*R2)"),
        ),
        hints=(
            "Let the output turn once.",
            "Set 2 with its carrier held gives the speed of the suns.",
            "Put that into set 1 and solve for ring 1.",
        ),
    ),
    Item(
        id="L05-04",
        kind=_RATIO,
        marks=2,
        prompt=_COMMON_SUN + "Ring 1 is driven and the suns are held. What is the ratio, with its sign?",
        draw=TWO_SETS,
        answer="1 + S1/R1",
        named_mistakes=(
            NamedMistake("SWAP", "1 + R1/S1"),
            NamedMistake(
                "MULT", "(1 + S1/R1)*(1 + S2/R2)", "Carrier 2 is free in this range, so set 2 turns without passing on torque."
            ),
            NamedMistake("RECIP", "R1/(S1 + R1)"),
        ),
        hints=(
            "Which of the two sets passes on torque?",
            "Carrier 2 is free.",
            "Set 1 alone: ring in, sun held, carrier out.",
        ),
    ),
    Item(
        id="L05-05",
        kind=_RATIO,
        marks=2,
        prompt=_COMMON_SUN + "The suns are driven and carrier 2 is held. What is the ratio, with its sign?",
        draw=TWO_SETS,
        answer="-R2/S2",
        named_mistakes=(
            NamedMistake("SIGN", "R2/S2"),
            NamedMistake("SWAP", "-S2/R2"),
            NamedMistake("MULT", "-(R1/S1)*(R2/S2)", "Ring 1 is free here, so set 1 turns without passing on torque."),
        ),
        hints=(
            "Which set has a held member?",
            "Its carrier is held.",
            "Sun in, ring out.",
        ),
    ),
    Item(
        id="L05-06",
        kind=_RATIO,
        marks=3,
        prompt=_TWO_SUNS
        + "The small sun is driven and the carrier is held. The ring is the output. What is the ratio, with its sign?",
        draw=_TWO_SUN_DRAW,
        answer="R/a",
        named_mistakes=(
            NamedMistake("SIGN", "-R/a", "The small sun works through two planets in a row: count the reversals."),
            NamedMistake("SWAP", "-R/b", "That belongs to the large sun."),
            NamedMistake("NOONE", "1 + R/a", "The carrier is held, so no turn of it is added."),
        ),
        hints=(
            "Count the external meshes from the small sun to the ring.",
            "Sun with short planet, short with long planet: external. Long planet with ring: internal.",
            "Two reversals: which way does the ring turn?",
        ),
    ),
    Item(
        id="L05-07",
        kind=_RATIO,
        marks=5,
        prompt=_TWO_SUNS
        + "The small sun is driven and the large sun is held. The ring is the output. What is the ratio, with its sign?",
        draw=_TWO_SUN_DRAW,
        answer="R*(a + b)/(a*(b + R))",
        named_mistakes=(
            NamedMistake("HELDMOVES", "R/a", "You held the carrier. With the large sun held instead, the carrier turns."),
            NamedMistake("DOUBLE", "R*(b - a)/(a*(b + R))", "Check the sign in the equation of the small sun."),
            NamedMistake("MULT", "(R/a)*(1 + b/R)", "You multiplied two cases of one sun each; they share carrier and ring."),
            NamedMistake("NOONE", "1 + b/R", "That is what the large sun alone would make; the small sun is the input here."),
        ),
        hints=(
            "Let the ring turn once.",
            "With $b$ teeth on the large sun, which is held: $n_c = R/(b + R)$.",
            "For the small sun, with $a$ teeth: $a(n_a - n_c) = R(1 - n_c)$.",
        ),
    ),
    Item(
        id="L05-08",
        kind=_RATIO,
        marks=2,
        prompt=_TWO_SUNS
        + "The large sun is driven and the carrier is held. The ring is the output. What is the ratio, with its sign?",
        draw=_TWO_SUN_DRAW,
        answer="-R/b",
        named_mistakes=(
            NamedMistake("SIGN", "R/b", "Large sun, long planet, ring: how many external meshes is that?"),
            NamedMistake("SWAP", "-R/a", "That has the small sun's teeth in it."),
            NamedMistake("RECIP", "-b/R"),
        ),
        hints=(
            "Only the long planets lie on this path.",
            "There is one external mesh.",
            "One reversal, and the teeth of large sun and ring.",
        ),
    ),
    Item(
        id="L05-09",
        kind=_RATIO,
        marks=5,
        prompt=_CROSSED + "Sun 2 is driven and sun 1 is held. What is the ratio, with its sign?",
        draw=TWO_SETS,
        answer="1 + R2*S1/(S2*(S1 + R1))",
        named_mistakes=(
            NamedMistake("HELDMOVES", "1 + R2/S2", "You held ring 2; it is on one shaft with carrier 1 and turns."),
            NamedMistake("MULT", "(1 + R2/S2)*(1 + S1/R1)"),
            NamedMistake("RECIP", "1/(1 + R2*S1/(S2*(S1 + R1)))"),
            NamedMistake(
                "SWAP", "1 + R2*R1/(S2*(S1 + R1))", "You took carrier 1's own speed for what ring 2 lags behind the output."
            ),
        ),
        hints=(
            "Let the output turn once.",
            "With sun 1 held carrier 1 turns R1/(S1 + R1) times; ring 2 does the same.",
            "Set 2, with $n$ for sun 2: $S_2 n + R_2 n_{C1} = S_2 + R_2$.",
        ),
    ),
    Item(
        id="L05-10",
        kind=_RATIO,
        marks=3,
        prompt=_CROSSED + "Carrier 1 is driven and sun 1 is held; sun 2 is free. What is the ratio, with its sign?",
        draw=TWO_SETS,
        answer="R1/(S1 + R1)",
        named_mistakes=(
            NamedMistake("RECIP", "1 + S1/R1"),
            NamedMistake("SWAP", "S1/(S1 + R1)"),
            NamedMistake("MULT", "(R1/(S1 + R1))*(R2/(S2 + R2))", "Sun 2 is free, so set 2 passes nothing on."),
        ),
        hints=(
            "Which sun is held, which is free?",
            "A set with a free member passes on no torque.",
            "Set 1 alone: carrier in, sun held, ring out.",
        ),
    ),
    Item(
        id="L05-11",
        kind=AnswerKind.DECIMAL,
        marks=2,
        prompt=_TWO_SUNS
        + "The carrier is held, and the large sun is driven at <n> r/min. How fast does the ring turn (r/min, with "
        "its sign)?",
        draw=Draw(numbers={**_TWO_SUN_DRAW.numbers, "n": ("500", "3000", "100")}, keep=_TWO_SUN_DRAW.keep),
        answer="-n*b/R",
        tolerance=HALF_RPM,
        unit="r/min",
        named_mistakes=(
            NamedMistake("SWAP", "-n*a/R", "That takes the small sun's teeth. Which sun is driven?"),
            NamedMistake(
                "SIGN",
                "n*b/R",
                "The size is right. Count the meshes on the way from this sun to the ring.",
                says=(Relation.NEGATIVE,),
            ),
            NamedMistake("RECIP", "-n*R/b", "It is the other way round: the ring is the larger gear."),
        ),
        hints=(
            "Which planets lie between this sun and the ring?",
            "With the carrier held they are plain idlers.",
            "One external and one internal mesh; the size is driver over driven.",
        ),
    ),
)
