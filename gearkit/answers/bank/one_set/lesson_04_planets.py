"""Lesson 4, ratios of sets whose planets are not single and plain: double pinions and stepped planets."""

from __future__ import annotations

from gearkit.answers.bank.common import ONE_UNEVEN_SET
from gearkit.answers.item import AnswerKind, Draw, Item, NamedMistake
from gearkit.answers.judge.claims import Relation

_RATIO = AnswerKind.EXACT_RATIO

_STEPPED = Draw(
    numbers={"S": ("18", "36", "1"), "p1": ("18", "40", "1"), "p2": ("15", "30", "1")},
    keep=("p1 > p2",),
    shown={"R": ("S + p1 + p2", None)},
)

ITEMS: tuple[Item, ...] = (
    Item(
        id="L04-07",
        kind=_RATIO,
        marks=3,
        prompt="A double-pinion set has $S = <S>$ and $R = <R>$. The carrier drives, the sun is held, the ring is the "
        "output. What is the ratio, with its sign?",
        draw=ONE_UNEVEN_SET,
        answer="R/(R - S)",
        named_mistakes=(
            NamedMistake("DOUBLE", "R/(R + S)"),
            NamedMistake("RECIP", "(R - S)/R"),
            NamedMistake(
                "SIGN", "-R/(R - S)", "The size is right. Work the signs through once more.", says=(Relation.NEGATIVE,)
            ),
            NamedMistake("SWAP", "S/(R - S)", "That is no ratio of this set: put the sun's speed to zero in its equation."),
        ),
        hints=(
            "Two pinions in mesh change the sign of the ring's term: $S(n_s - n_c) - R(n_r - n_c) = 0$.",
            "Put $n_s = 0$.",
            "Solve for $n_c/n_r$: the carrier is the input.",
        ),
    ),
    Item(
        id="L04-08",
        kind=_RATIO,
        marks=4,
        prompt="Stepped planets: a sun with <S> teeth meshes with pinions of <p1> teeth; on the same pins sit pinions of "
        "<p2> teeth, which mesh with the ring. All have the same module. The sun drives, the ring is held, the carrier is the output: what is the "
        "ratio?",
        draw=Draw(
            numbers={"S": ("18", "36", "1"), "p1": ("18", "40", "1"), "p2": ("15", "30", "1")},
            keep=("p1 > p2",),
        ),
        answer="1 + ((S + p1 + p2)*p1)/(S*p2)",
        named_mistakes=(
            NamedMistake("STEP2", "1 + (S + p1 + p2)/S"),
            NamedMistake(
                "SWAP", "1 + ((S + p1 + p2)*p2)/(S*p1)", "The two pinions have changed places: which one meets the sun?"
            ),
            NamedMistake("NOONE", "((S + p1 + p2)*p1)/(S*p2)"),
        ),
        hints=(
            "With one module the ring has $R = S + P_1 + P_2$ teeth.",
            "The basic ratio, with the carrier held, is $-(P_1/S)(R/P_2)$.",
            "With the ring held it is one minus that.",
        ),
    ),
    Item(
        id="L04-11",
        kind=AnswerKind.EXACT_RATIO,
        marks=2,
        prompt="A double-pinion set has $S = <S>$ and $R = <R>$. The sun drives, the ring is held, the carrier is the output. What is "
        "the ratio, with its sign?",
        draw=ONE_UNEVEN_SET,
        answer="1 - R/S",
        named_mistakes=(
            NamedMistake("DOUBLE", "1 + R/S"),
            NamedMistake("RECIP", "S/(S - R)"),
            NamedMistake(
                "SIGN",
                "R/S - 1",
                "The size is right. Put the held ring into the equation of a double-pinion set: which way does the carrier go?",
                says=(Relation.NEGATIVE,),
            ),
        ),
        hints=(
            "A double-pinion set obeys $R\\,n_r - S\\,n_s = (R - S)\\,n_c$.",
            "The ring is held, so its term is gone.",
            "Divide so that you get input speed over output speed, and keep the sign.",
        ),
    ),
    Item(
        id="L04-12",
        kind=AnswerKind.EXACT_RATIO,
        marks=3,
        prompt="Stepped planets: a sun with <S> teeth meshes with pinions of <p1> teeth; on the same pins sit pinions of <p2> teeth, "
        "which mesh with a ring of <R> teeth. The carrier is held, the sun drives, the ring is the output. What is the ratio, "
        "with its sign?",
        draw=_STEPPED,
        answer="-(p1*R)/(S*p2)",
        named_mistakes=(
            NamedMistake("STEP2", "-R/S"),
            NamedMistake("RECIP", "-(S*p2)/(p1*R)"),
            NamedMistake(
                "SIGN",
                "(p1*R)/(S*p2)",
                "The size is right. One mesh is external and one internal: which way round is that?",
                says=(Relation.NEGATIVE,),
            ),
        ),
        hints=(
            "With the carrier held this is a train of two meshes.",
            "The two pinions on a pin turn at one speed.",
            "Multiply driven over driver of both meshes, and count the external ones.",
        ),
    ),
    Item(
        id="L04-13",
        kind=AnswerKind.EXACT_RATIO,
        marks=3,
        prompt="Stepped planets: a sun with <S> teeth meshes with pinions of <p1> teeth; on the same pins sit pinions of <p2> teeth, "
        "which mesh with a ring of <R> teeth. The sun is held, the ring drives, the carrier is the output. What is the ratio, with its sign?",
        draw=_STEPPED,
        answer="1 + (S*p2)/(p1*R)",
        named_mistakes=(
            NamedMistake("STEP2", "1 + S/R"),
            NamedMistake("NOONE", "(S*p2)/(p1*R)"),
            NamedMistake("RECIP", "(p1*R)/(p1*R + S*p2)"),
        ),
        hints=(
            "With the carrier held the train turns sun to ring at $-(p_1 R)/(S p_2)$.",
            "Ride on the carrier: the held sun goes backward as fast as the carrier goes forward.",
            "From that the ring's speed as seen from the carrier; add the carrier's own.",
        ),
    ),
)
