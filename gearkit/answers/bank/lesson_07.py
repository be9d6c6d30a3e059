"""Lesson 7: degrees of freedom: neutral, range, tie-up; reverse and park."""

from __future__ import annotations

from gearkit.answers.bank.common import BEFORE, HALF_RPM, Q36, one_of
from gearkit.answers.item import AnswerKind, Draw, Item, NamedMistake, Version
from gearkit.answers.judge.claims import Relation

ITEMS: tuple[Item, ...] = (
    Item(
        id="L07-01",
        kind=AnswerKind.EXPRESSION,
        marks=3,
        prompt="A train of $k$ simple sets has $j$ joins (joins between members only), input and output are members, and "
        "$e$ independent elements are applied. How many freedoms are left (the motion of the engine is one of them)? Answer "
        "in `k`, `j`, `e`. (To try it: k = <k>, j = <j>, e = <e>.)",
        draw=Draw(
            numbers={"k": ("2", "4", "1"), "j": ("2", "5", "1"), "e": ("0", "3", "1"), **one_of(4)},
            later=BEFORE,
            keep=("2*k - j - e >= 0",),
        ),
        symbols=("k", "j", "e"),
        answer="2*k - j - e",
        named_mistakes=(
            NamedMistake("COUNT", "3*k - j - e", "Each set has a speed equation of its own: that takes a freedom too."),
            NamedMistake("COUNT", "2*k - j + e", "Does an applied element add a freedom, or does it take one away?"),
            NamedMistake("LEFTOUT", "2*k - e", "The joins are missing: they take freedoms too."),
        ),
        hints=(
            "Count the shafts first: three for each set, less the joins.",
            "Each set has one speed equation, and each equation takes one freedom.",
            "Each independent element takes one more. Write the freedoms that are left, then solve for what is asked.",
        ),
        versions=(
            Version(
                prompt="A train of $k$ simple sets has $j$ joins (joins between members only); input and output are members. How "
                "many independent elements have to be applied so that $f$ freedoms are left (the motion of the engine is one of them)? "
                "Answer in `k`, `j`, `f`. (To try it: k = <k>, j = <j>, f = 1.)",
                symbols=("k", "j", "f"),
                answer="2*k - j - f",
                named_mistakes=(
                    NamedMistake("COUNT", "3*k - j - f", "Each set has a speed equation of its own: that takes a freedom too."),
                    NamedMistake("COUNT", "2*k - j + f", "The freedoms that are to be left are no elements: take them off."),
                    NamedMistake("LEFTOUT", "2*k - f", "The joins are missing: they take freedoms too."),
                ),
            ),
            Version(
                prompt="A train of $k$ simple sets has joins between members only; input and output are members. With $e$ "
                "independent elements applied exactly one freedom is left (the motion of the engine). How many joins "
                "has it? Answer in `k`, `e`. (To try it: k = <k>, e = <e>.)",
                symbols=("k", "e"),
                answer="2*k - e - 1",
                named_mistakes=(
                    NamedMistake("COUNT", "3*k - e - 1", "Each set has a speed equation of its own: that takes a freedom too."),
                    NamedMistake("COUNT", "2*k + e - 1", "Does an applied element add a freedom, or does it take one away?"),
                    NamedMistake("LEFTOUT", "2*k - e", "One freedom is to be left: it belongs in the count."),
                ),
            ),
            Version(
                prompt="A train of $k$ simple sets has $j$ joins (joins between members only), none of them listed twice; input and "
                "output are members. While no element is applied, for how many of its shafts can you choose the speed freely, "
                "before the speeds of all others are fixed? Answer in `k`, `j`. (To try it: k = <k>, j = <j>.)",
                symbols=("k", "j"),
                answer="2*k - j",
                named_mistakes=(
                    NamedMistake(
                        "COUNT", "3*k - j", "That is how many shafts there are; each set's speed equation fixes one of them."
                    ),
                    NamedMistake("COUNT", "2*k + j", "Does a join add a shaft, or does it take one away?"),
                    NamedMistake("LEFTOUT", "2*k", "The joins are missing: each makes one shaft out of two."),
                ),
            ),
        ),
    ),
    Item(
        id="L07-02",
        kind=AnswerKind.INTEGER,
        marks=2,
        prompt="A train of <k> simple sets has <j> joins between members; input and output are members. How many "
        "independent elements have to be applied for exactly one range?",
        draw=Draw(numbers={"k": ("2", "4", "1"), "j": ("2", "5", "1")}, keep=("2*k - j - 1 >= 1",)),
        answer="2*k - j - 1",
        named_mistakes=(
            NamedMistake("COUNT", "2*k - j", "With no freedom left nothing could turn at all."),
            NamedMistake("LEFTOUT", "3*k - j - 1", "The speed equations of the sets are missing: each takes a freedom."),
        ),
        hints=(
            "One freedom has to remain, or nothing turns.",
            "So 2k - j - e = 1.",
            "Solve for e.",
        ),
    ),
    Item(
        id="L07-03",
        kind=AnswerKind.CLASSIFICATION_GRID,
        marks=6,
        prompt="Six combinations of applied elements of the Q36. Say for each: neutral, a range, input locked, output "
        "locked, or tie-up.",
        draw=Q36,
        rule="states",
        like=("states",),
        named_mistakes=(
            NamedMistake(
                "COUNT", "", "Three elements need not tie up: look whether one of them only repeats what the others say."
            ),
            NamedMistake(
                "LOCKFREE",
                "",
                "With one element applied, input and output do not depend on each other here: what is that called?",
            ),
        ),
        hints=(
            "Count first: three freedoms, and each independent element takes one.",
            "Then look for elements that say the same thing twice.",
            "In doubt write the speeds: can the input turn, and does the output follow it?",
        ),
    ),
    Item(
        id="L07-04",
        kind=AnswerKind.DECIMAL,
        marks=4,
        prompt="The Q36 is in neutral (only B applied), its input turns at <n> r/min, and the vehicle stands. How fast "
        "does ring 3 turn (r/min, with its sign)?",
        draw=Draw(layout="Q36", numbers={"n": ("600", "900", "20")}),
        like=("neutral-speed", "N", "P3.ring"),
        times="n",
        tolerance=HALF_RPM,
        unit="r/min",
        named_mistakes=(
            NamedMistake(
                "LOCKFREE",
                "0",
                "Neutral does not mean that nothing turns: carrier 1, sun 3 and ring 3 spin while the vehicle stands.",
            ),
            NamedMistake(
                "SIGN",
                "-<answer>",
                "The size is right. Carrier 3 stands with the wheels: which way does ring 3 go?",
                says=(Relation.NEGATIVE,),
            ),
            NamedMistake("HELDMOVES", "n/<alone sun ring P3>", "Sun 3 is on carrier 1, and that is slower than the input."),
            NamedMistake("SWAP", "n*<alone sun ring P3>/<alone ring carrier P1>"),
        ),
        hints=(
            "The output stands and carrier 2 is held: what do the two suns on one shaft do?",
            "Set 1 with its sun at rest gives carrier 1.",
            "Set 3 with its carrier at rest gives ring 3.",
        ),
    ),
    Item(
        id="L07-05",
        kind=AnswerKind.DECIMAL,
        marks=4,
        prompt="The Q24 drives in second (B and E applied) at <n> r/min input speed. How fast does the one-way clutch F "
        "overrun, that is, how fast does carrier 1 turn (r/min, with its sign)?",
        draw=Draw(layout="Q24", numbers={"n": ("1000", "3000", "100")}),
        like=("speed", "2", "P1.carrier"),
        times="n",
        tolerance=HALF_RPM,
        unit="r/min",
        named_mistakes=(
            NamedMistake("LOCKFREE", "0", "F lets go here: carrier 1 turns."),
            NamedMistake(
                "SIGN",
                "-<answer>",
                "The size is right. If carrier 1 turned backward, F would hold it and you would still be in first.",
                says=(Relation.NEGATIVE,),
            ),
            NamedMistake("HELDMOVES", "n/<alone ring carrier P1>", "You let the output turn as fast as the input."),
        ),
        hints=(
            "The output turns at n over the ratio of second.",
            "Sun 1 is held: carrier 1 turns R1/(S1 + R1) times as fast as ring 1, the output.",
            "Put both together; forward means that F overruns.",
        ),
    ),
    Item(
        id="L07-06",
        kind=AnswerKind.CHOICE_GRID,
        marks=4,
        prompt="Look at the one-way clutch F of the Q24 in ranges 1, 2, 3, 4 and R, while the engine drives. Is F holding, is it "
        "overrunning, or is it idle because another element holds its member? Application chart:\n\n<chart>",
        draw=Draw(layout="Q24", numbers=one_of(2, 2), later=BEFORE),
        rule="one_way_states",
        like=("one-way", "F"),
        named_mistakes=(NamedMistake("OWC", "", "In reverse the reaction pushes carrier 1 forward. Can F hold that?"),),
        versions=(
            Version(
                prompt="The chart shows six ranges of the Q24 without their names:\n\n<chart>\n\nLook at the one-way clutch F "
                "while the engine drives. In which rows is it holding, in which is it overrunning, and in which is it idle because another "
                "element holds its member? Tick in each group all rows that belong there. (A wrong tick takes off at least "
                "what a right one earns; half of a group's marks are for a faultless group.)",
                rule="one_way_groups",
                named_mistakes=(NamedMistake("OWC", "", "In reverse the reaction pushes carrier 1 forward. Can F hold that?"),),
            ),
        ),
        hints=(
            "First find the speed of carrier 1 in each range.",
            "Where it stands: which way does the reaction push it, and what else is applied to it?",
            "Where it turns forward, F overruns.",
        ),
    ),
    Item(
        id="L07-07",
        kind=AnswerKind.DECIMAL,
        marks=3,
        prompt="A vehicle with an open differential has its output shaft locked by park. One drive wheel is off the "
        "ground and is turned forward by hand, <x> turns. How many turns does the other wheel make if it is free "
        "(minus for backward)?",
        draw=Draw(numbers={"x": ("2", "6", "1")}),
        answer="-x",
        unit="turns",
        named_mistakes=(
            NamedMistake("LOCKFREE", "0", "Park locks the output shaft. Does it lock each wheel?"),
            NamedMistake("SIGN", "x", "The ring gear of the differential stands still: do the two wheels then turn alike?"),
        ),
        hints=(
            "The two wheel speeds add up to twice the speed of the differential's ring gear.",
            "Park stops the ring gear.",
            "So the two add up to zero.",
        ),
    ),
    Item(
        id="L07-08",
        kind=AnswerKind.CHOICE,
        marks=2,
        prompt="<question>\n\n<list>\n\n*Follow the maker's procedure, local codes and the rules of your workshop.*",
        draw=Draw(numbers={"v": ("1", "4", "1")}),
        rule="safety_park",
        named_mistakes=(
            NamedMistake(
                "LOCKFREE",
                "",
                "Park is one pawl in one shaft. What keeps the vehicle if that shaft can turn or a wheel is free?",
            ),
        ),
        hints=(
            "What exactly does the pawl hold?",
            "What happens if one wheel is off the ground?",
            "Think of what holds the wheels and what holds the vehicle up.",
        ),
    ),
)
