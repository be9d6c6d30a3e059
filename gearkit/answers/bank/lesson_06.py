"""Lesson 6: three and more sets, the application chart, every range."""

from __future__ import annotations

from gearkit.answers.bank.common import AS_BEFORE, BEFORE, LETTERS, Q36, Q36_LETTERS, Q48, one_of
from gearkit.answers.item import AnswerKind, Draw, Item, NamedMistake, Version

_RATIO = AnswerKind.EXACT_RATIO

ITEMS: tuple[Item, ...] = (
    Item(
        id="L06-01",
        kind=AnswerKind.CHART_GRID,
        marks=7,
        prompt="Each range applies two of the elements A to E. Fill in the application chart of the Q36: "
        "which two elements give each of the listed ratios?",
        draw=Q36_LETTERS,
        rule="chart",
        like=("chart",),
        # Their prompts say which elements a range applies, or show the whole chart.
        excludes=(
            "L06-03",
            "L06-04",
            "L06-05",
            "L06-06",
            "L06-07",
            "L06-08",
            "L06-09",
            "L08-06",
            "L08-07",
            "L09-08",
            "L10-04",
            "L11-01",
            "L11-05",
            "L12-01",
            "L12-02",
            "L12-03",
            "L12-10",
            "L06-21",
            "L06-23",
            "L06-24",
            "L07-22",
            "L08-21",
            "L10-21",
            "L12-22",
        ),
        named_mistakes=(
            NamedMistake(
                "ROLE", "", "Two brakes only hold; without a clutch or a shaft to the input nothing brings that ratio."
            ),
            NamedMistake(
                "ONERANGE",
                "",
                "This row repeats the one above: from one range to the next exactly one element lets go and one takes hold.",
            ),
        ),
        hints=(
            "From one row to the next one element stays: try the pairs that hold one of the two you have.",
            "Direct drive is a pair without a brake.",
            "Between neighbouring ranges one element lets go and one takes hold.",
        ),
    ),
    Item(
        id="L06-02",
        kind=AnswerKind.CLASSIFICATION_GRID,
        marks=3,
        prompt="Say for each element of the Q24 what it does: joins to the input, joins two members, holds to the "
        "housing, or holds one way only.",
        draw=Draw(layout="Q24", numbers={**LETTERS, **one_of(2, 2)}, later={**AS_BEFORE, **BEFORE}),
        rule="roles",
        like=("roles",),
        # Wherever else the Q24 stands it is told what kind each element is.
        excludes=(
            "L07-05",
            "L07-06",
            "L08-09",
            "L10-02",
            "L11-03",
            "L11-04",
            "L12-05",
            "L12-06",
            "L13-02",
            "L13-07",
            "L05-21",
            "L05-22",
            "L05-23",
            "L08-22",
            "L10-22",
            "L11-22",
        ),
        option="elements without their kind",
        named_mistakes=(
            NamedMistake("ROLE", ""),
            NamedMistake("OWC", "", "The arrow says that it holds in one direction only and lets go in the other."),
        ),
        hints=(
            "Look at the two things that the element touches.",
            "The housing on one side: it can only hold.",
            "An arrow in the symbol means one way only.",
        ),
        # Half of the elements do the same, so that element by element half of the marks could be guessed.
        versions=(
            Version(
                prompt="Sort the elements of the Q24 by what they do: which join to the input, which hold to the housing in both "
                "directions, which hold to the housing in one direction only? Tick in each group all that belong there. <one_way> "
                "(A wrong tick takes off at least what a right one earns; half of a group's marks are for a faultless group.)",
                rule="role_groups",
                named_mistakes=(
                    NamedMistake(
                        "ROLE", "", "Look at the two things that the element touches: an element on the housing can only hold."
                    ),
                    NamedMistake(
                        "OWC",
                        "",
                        "One of the elements that touch the housing holds in one direction only and lets go in the other.",
                    ),
                ),
            ),
        ),
    ),
    Item(
        id="L06-03",
        kind=_RATIO,
        marks=3,
        prompt="What is the ratio of the Q36 in second range (A and C applied), with its sign?",
        draw=Q36,
        like=("ratio", "2"),
        named_mistakes=(
            NamedMistake(
                "MULT", "<alone ring carrier P1>*<answer>", "A joins two members of set 1, so set 1 is locked and adds nothing."
            ),
            NamedMistake("NOONE", "<answer> - 1"),
            NamedMistake("SWAP", "<alone ring carrier P3>"),
            NamedMistake("RECIP", "1/<answer>"),
        ),
        hints=(
            "Which set is locked by A?",
            "How fast does sun 3 turn then?",
            "Ring 3 is held: sun in, carrier out.",
        ),
    ),
    Item(
        id="L06-04",
        kind=_RATIO,
        marks=2,
        prompt="What is the ratio of the Q36 in reverse (A and B applied), with its sign?",
        draw=Q36,
        like=("ratio", "R"),
        named_mistakes=(
            NamedMistake("SIGN", "-<answer>"),
            NamedMistake("SWAP", "1/<answer>"),
            NamedMistake("NOONE", "<answer> - 1", "Carrier 2 is held here, so no turn of the carrier is added."),
            NamedMistake("MULT", "<answer>*<alone sun carrier P3>", "Ring 3 is free in reverse, so set 3 passes nothing on."),
        ),
        hints=(
            "Which member does B hold?",
            "A gives sun 2 the input's speed.",
            "Carrier held: sun in, ring out.",
        ),
    ),
    Item(
        id="L06-05",
        kind=_RATIO,
        marks=6,
        prompt="What is the ratio of the Q36 in first range (B and C applied), with its sign?",
        draw=Q36,
        like=("ratio", "1"),
        named_mistakes=(
            NamedMistake(
                "MULT",
                "<alone ring carrier P1>*<alone sun carrier P3>",
                "You held sun 1. It is on one shaft with sun 2, which turns backward while carrier 2 is held.",
            ),
            NamedMistake(
                "SIGN",
                "<alone ring carrier P1>*<alone sun carrier P3> - <alone ring sun P1>*<alone sun ring P2>",
                "Sun 1 turns backward: look at the sign of its term again.",
            ),
            NamedMistake("ADD", "<alone ring carrier P1> + <alone sun carrier P3>"),
            NamedMistake("HELDMOVES", "<ratio 2>", "Set 1 is not locked in first: A is open."),
        ),
        hints=(
            "Let the output turn once and work back towards the input.",
            "Set 3 with its ring held gives sun 3; set 2 with its carrier held gives the suns 1 and 2.",
            "Set 1: $S_1\\,n_{S1} + R_1\\,n_{R1} = (S_1 + R_1)\\,n_{C1}$, and ring 1 is the input.",
        ),
    ),
    Item(
        id="L06-06",
        kind=_RATIO,
        marks=6,
        prompt="What is the ratio of the Q36 in third range (C and D applied), with its sign?",
        draw=Q36,
        like=("ratio", "3"),
        named_mistakes=(
            NamedMistake(
                "HELDMOVES", "<ratio 1>", "That is first range. In third carrier 2 is not held: it turns with the input."
            ),
            NamedMistake(
                "MULT",
                "<ratio 2>/(1 - <alone sun ring P2>/<alone sun carrier P1>)",
                "The term of sun 2 stands on one side only in your answer; it belongs on both.",
            ),
            NamedMistake("NOONE", "<ratio 2>", "That is second range."),
        ),
        hints=(
            "Take the input at speed 1. Two speeds are unknown: $w$ of the output and $s$ of the two suns on one shaft.",
            "Set 2 with carrier 2 at input speed: $S_2 s + R_2 w = S_2 + R_2$.",
            "Set 1 with ring 1 at input speed and $n_{C1} = (1 + R_3/S_3)\\,w$.",
        ),
    ),
    Item(
        id="L06-07",
        kind=_RATIO,
        marks=6,
        prompt="What is the ratio of the Q36 in fourth range (C and E applied), with its sign?",
        draw=Q36,
        like=("ratio", "4"),
        named_mistakes=(
            NamedMistake("MULT", "<alone ring carrier P1>*<ratio 2>"),
            NamedMistake("HELDMOVES", "<ratio 1>", "That is first range: E joins carrier 2 to carrier 1, it does not hold it."),
            NamedMistake(
                "SIGN",
                "<alone ring carrier P1>*<ratio 2> - <alone ring sun P1>*(<alone sun carrier P2>*<ratio 2> + <alone sun ring P2>)",
                "Look at the sign of the sun's term: in set 1 it is taken off.",
            ),
        ),
        hints=(
            "E puts carrier 2, carrier 1 and sun 3 on one speed.",
            "Call that speed $x = (1 + R_3/S_3)\\,w$, with $w$ for the output.",
            "Set 2 gives the suns from $x$ and $w$; set 1 then gives ring 1.",
        ),
    ),
    Item(
        id="L06-08",
        kind=_RATIO,
        marks=4,
        prompt="What is the ratio of the Q36 in sixth range (B and E applied), with its sign?",
        draw=Q36,
        like=("ratio", "6"),
        named_mistakes=(
            NamedMistake("RECIP", "1/<answer>"),
            NamedMistake("SIGN", "-<answer>", "Each of the two sets reverses once: what do two reversals make?"),
            NamedMistake(
                "NOONE",
                "<alone ring carrier P1>*<alone sun carrier P2>",
                "Both carriers are held, so no turns of a carrier are added.",
            ),
            NamedMistake("ADD", "-<alone ring sun P1> - <alone sun ring P2>"),
        ),
        hints=(
            "E joins carrier 1 to carrier 2, and B holds carrier 2.",
            "With both carriers held there are two plain gear trains in a row.",
            "From ring 1 to sun 1, then from sun 2 to ring 2.",
        ),
    ),
    Item(
        id="L06-09",
        kind=_RATIO,
        marks=2,
        prompt="What is the ratio of the Q36 in fifth range (D and E applied), with its sign?",
        draw=Draw(layout="Q36", numbers={"f": ("2.6", "4.6", "0.1"), **one_of(3)}, later={"f": "3", **BEFORE}),
        like=("ratio", "5"),
        named_mistakes=(
            NamedMistake("LOCKFREE", "0", "Nothing is free here: two joins lock the train, so it turns as one piece."),
            NamedMistake("NOONE", "<ratio 2>", "Is anything held to the housing in this range?"),
        ),
        hints=(
            "D puts carrier 2 on the input's speed, and ring 1 has it already.",
            "E then puts carrier 1 on the same speed.",
            "Two members of set 1 at one speed lock it; follow that on to sets 2 and 3.",
        ),
        versions=(
            Version(
                prompt="The output of the Q36 drives the wheels through a final drive with the ratio <f>. What is the whole ratio, "
                "from the transmission's input to the wheels, in fifth range (D and E applied)?",
                like=("ratio", "5"),
                times="f",
                named_mistakes=(
                    NamedMistake("LOCKFREE", "0", "Nothing is free here: two joins lock the train, so it turns as one piece."),
                    NamedMistake("NOONE", "f*<ratio 2>", "Is anything held to the housing in this range?"),
                    NamedMistake("FD", "1"),
                ),
            ),
            Version(
                prompt="The Q36 drives in fifth range (D and E applied). How many turns does the input make while the output makes "
                "<f> turns?",
                like=("ratio", "5"),
                times="f",
                named_mistakes=(
                    NamedMistake("LOCKFREE", "0", "Nothing is free here: two joins lock the train, so it turns as one piece."),
                    NamedMistake("NOONE", "f*<ratio 2>", "Is anything held to the housing in this range?"),
                    NamedMistake("HELDMOVES", "f/<ratio 2>", "Is anything held to the housing in this range?"),
                ),
            ),
        ),
    ),
    Item(
        id="L06-10",
        kind=_RATIO,
        marks=6,
        prompt="What is the ratio of the Q48 in first range (A and E applied), with its sign?",
        draw=Q48,
        like=("ratio", "1"),
        named_mistakes=(
            NamedMistake(
                "MULT",
                "<alone sun carrier P1>*<alone ring carrier P3>*<alone ring carrier P4>",
                "Ring 1 is on the output shaft and turns: its term is missing.",
            ),
            NamedMistake("ADD", "1 + <alone ring carrier P3> + <alone ring carrier P4>"),
            NamedMistake(
                "SIGN",
                "<alone sun carrier P1>*<alone ring carrier P3>*<alone ring carrier P4> - <alone sun ring P1>",
                "Ring 1 turns forward with the output: look at the sign of its term.",
            ),
        ),
        hints=(
            "Let the output turn once: it is ring 1 and carrier 4.",
            "E holds sun 4: ring 4 and carrier 3 follow. A holds sun 3: ring 3 and carrier 1 follow.",
            "Set 1, with $n$ for sun 1: $S_1 n = (S_1 + R_1)\\,n_{C1} - R_1$.",
        ),
    ),
    Item(
        id="L06-11",
        kind=_RATIO,
        marks=3,
        prompt="What is the ratio of the Q48 in fifth range (E and F applied), with its sign?",
        draw=Q48,
        like=("ratio", "5"),
        named_mistakes=(
            NamedMistake("SWAP", "<alone sun carrier P4>"),
            NamedMistake("RECIP", "1/<answer>"),
            NamedMistake(
                "MULT", "<answer>*<alone ring carrier P3>", "F puts the input straight on ring 4, so set 3 passes nothing on."
            ),
        ),
        hints=(
            "F joins the input to ring 2, carrier 3 and ring 4, which are one shaft.",
            "E holds sun 4; the output is carrier 4.",
            "One set works: ring in, sun held, carrier out.",
        ),
    ),
)
