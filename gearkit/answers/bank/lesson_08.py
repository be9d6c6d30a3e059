"""Lesson 8: torque and reaction: what each brake holds, what each clutch carries."""

from __future__ import annotations

from gearkit.answers.bank.common import AS_BEFORE, BEFORE, HALF_PERCENT, LETTERS, one_of
from gearkit.answers.item import AnswerKind, Draw, Field, Item, NamedMistake, Version

_TORQUE = AnswerKind.TORQUE
# Which of two parts acts on the other is not said, so a sign would have no meaning.
_SIZE = " (size and unit; a sign does not count)?"
_HALF = "3/2"


def _outside_torques(given: str, letter: str) -> Version:
    """The outside torques on two members of a set, from that on the third, which has a letter of its own."""
    weights = {"sun": "S", "ring": "R", "carrier": "(-S - R)"}
    asked = [member for member in weights if member != given]
    acts = "In a simple set without losses the {} gets the torque ${}$ from outside."
    answer = {member: f"{letter}*{weights[member]}/({weights[given]})" for member in asked}
    swapped = {"sun": "R", "ring": "S", "carrier": "(-S - R)"}
    wrong = {member: f"{letter}*{swapped[member]}/({swapped[given]})" for member in asked}
    together = {asked[0]: letter, asked[1]: f"-2*{letter}"} if given != "carrier" else dict.fromkeys(asked, f"-{letter}/2")
    return Version(
        prompt=f"{acts.format(given, letter)} Write the outside torques on {asked[0]} and {asked[1]} in ${letter}$, $S$, $R$; torque is "
        f"positive when it acts in the direction of ${letter}$. (To try it: ${letter} = <T>$ N·m, $S = <S>$, $R = <R>$.)",
        fields={member: Field(f"torque on the {member}", AnswerKind.EXPRESSION, _HALF) for member in asked},
        symbols=(letter, "S", "R"),
        answer=answer,
        carry={asked[1]: f"-({letter} + {asked[0]})"},
        named_mistakes=(
            NamedMistake("SWAP", wrong),
            NamedMistake(
                "SIGN",
                {member: f"-({text})" for member, text in answer.items()},
                "Sun and ring torques act the same way; the carrier's acts against both.",
            ),
            NamedMistake("TEQUAL", together),
        ),
    )


ITEMS: tuple[Item, ...] = (
    Item(
        id="L08-01",
        kind=AnswerKind.EXPRESSION,
        marks=3,
        prompt="In a simple set without losses the sun gets the torque $T$ from outside. Write the outside torques on "
        "ring and carrier in $T$, $S$, $R$; torque is positive when it acts in the direction of $T$. (To try it: "
        "$T = <T>$ N·m, $S = <S>$, $R = <R>$.)",
        draw=Draw(sets=("",), numbers={"T": ("20", "300", "10"), **one_of(6)}, later=BEFORE, keep=("R != 2*S",)),
        fields={
            "ring": Field("torque on the ring", AnswerKind.EXPRESSION, "3/2"),
            "carrier": Field("torque on the carrier", AnswerKind.EXPRESSION, "3/2"),
        },
        symbols=("T", "S", "R"),
        answer={"ring": "T*R/S", "carrier": "-T*(S + R)/S"},
        carry={"carrier": "-(T + ring)"},
        named_mistakes=(
            NamedMistake("SWAP", {"ring": "T*S/R", "carrier": "-T*(S + R)/R"}),
            NamedMistake(
                "SIGN",
                {"ring": "-T*R/S", "carrier": "T*(R - S)/S"},
                "Sun and ring torques act the same way; the carrier holds against both.",
            ),
            NamedMistake("TEQUAL", {"ring": "T", "carrier": "-2*T"}),
        ),
        hints=(
            "A planet is a small beam: the tooth forces at sun and ring are equal.",
            "The same force at a larger radius is a larger torque: sun and ring torques are in the proportion $S$ to $R$.",
            "The three torques add up to zero.",
        ),
        versions=(
            _outside_torques("sun", "M"),
            _outside_torques("ring", "T"),
            _outside_torques("ring", "M"),
            _outside_torques("carrier", "T"),
            _outside_torques("carrier", "M"),
        ),
    ),
    Item(
        id="L08-02",
        kind=_TORQUE,
        marks=3,
        prompt="The sun drives with <T> N·m, the ring is held, the carrier is the output; $S = <S>$, $R = <R>$, no losses. How large is the "
        "torque that holds the ring" + _SIZE,
        draw=Draw(sets=("",), numbers={"T": ("50", "300", "10")}, keep=("R != 2*S",)),
        answer="T*R/S",
        tolerance=HALF_PERCENT,
        unit="N·m",
        size_only=True,
        named_mistakes=(
            NamedMistake("REACT", "T*(1 + R/S)", "That is the output torque. What is left for the ring?"),
            NamedMistake("TEQUAL", "T"),
            NamedMistake("SWAP", "T*S/R"),
            NamedMistake("TSPEED", "T/(1 + R/S)"),
        ),
        hints=(
            "Sun and ring torques are in the proportion S to R.",
            "Or: output torque less input torque.",
            "Multiply the input torque by R/S.",
        ),
    ),
    Item(
        id="L08-03",
        kind=AnswerKind.EXPRESSION,
        marks=3,
        prompt="In a range with ratio $i$ (with its sign) one brake holds; the input torque is $T$, without losses. "
        "Write the torque that the housing puts on the train, in $T$ and $i$. (To try it: $T = <T>$ N·m, "
        "$i = <i>$.)",
        draw=Draw(
            numbers={"T": ("50", "300", "10"), "i": ("-3.6", "4.4", "0.2"), "B": ("60", "400", "10"), **one_of(4)},
            later={"B": "100", **BEFORE},
            keep=("abs(i) > 0.5", "abs(i - 1) > 0.15"),
        ),
        symbols=("T", "i"),
        answer="T*(i - 1)",
        named_mistakes=(
            NamedMistake("REACT", "T*i"),
            NamedMistake(
                "SIGN", "T*(i + 1)", "The output's torque acts on the train against the motion: look at its sign in the sum."
            ),
            NamedMistake("TSPEED", "T*(1/i - 1)"),
        ),
        hints=(
            "From outside act the input T, the load on the output, and the housing.",
            "The load is -T i, and the three add up to zero.",
            "Write that sum with the letters of the question and solve for what is asked.",
        ),
        versions=(
            Version(
                prompt="In a range with ratio $i$ (with its sign) one brake holds; the train hands on the torque $M$ at its output, "
                "without losses, so that the load acts on it with $-M$. Write the torque that the housing puts on the train, "
                "in $M$ and $i$. (To try it: $M = <T>$ N·m, $i = <i>$.)",
                symbols=("M", "i"),
                answer="M - M/i",
                named_mistakes=(
                    NamedMistake(
                        "REACT", "M", "That is the output torque itself; the housing gives only what the input does not give."
                    ),
                    NamedMistake("SIGN", "M + M/i", "The input's torque helps to carry the load: look at its sign in the sum."),
                    NamedMistake("TSPEED", "M - M*i"),
                ),
            ),
            Version(
                prompt="In a range with ratio $i$ (with its sign) one brake holds, and the housing puts the torque $B$ on the train "
                "through it, without losses. Write the input torque in $B$ and $i$. (To try it: $B = <B>$ N·m, $i = <i>$.)",
                symbols=("B", "i"),
                answer="B/(i - 1)",
                named_mistakes=(
                    NamedMistake(
                        "REACT", "B/i", "B is not the output torque; it is the difference of output and input torque."
                    ),
                    NamedMistake(
                        "SIGN",
                        "B/(i + 1)",
                        "The output's torque acts on the train against the motion: look at its sign in the sum.",
                    ),
                    NamedMistake("TSPEED", "B*(i - 1)", "You multiplied where you have to divide."),
                ),
            ),
            Version(
                prompt="In a range with one brake the input torque is $T$, and the housing puts the torque $B$ on the train, without "
                "losses. Write the ratio of the range in $T$ and $B$. (To try it: $T = <T>$ N·m, $B = <B>$ N·m.)",
                symbols=("T", "B"),
                answer="1 + B/T",
                named_mistakes=(
                    NamedMistake(
                        "REACT", "B/T", "B is not the output torque; it is the difference of output and input torque."
                    ),
                    NamedMistake(
                        "SIGN", "1 - B/T", "The output's torque is the sum of what input and housing give: look at the sign."
                    ),
                    NamedMistake("TSPEED", "T/(T + B)"),
                ),
            ),
        ),
    ),
    Item(
        id="L08-04",
        kind=_TORQUE,
        marks=3,
        prompt="In reverse one brake holds; the input torque is <T> N·m, the ratio is −<r>, without losses. How large "
        "is the holding torque" + _SIZE,
        draw=Draw(numbers={"T": ("50", "300", "10"), "r": ("1.8", "3.6", "0.1")}),
        answer="T*(r + 1)",
        tolerance=HALF_PERCENT,
        unit="N·m",
        size_only=True,
        named_mistakes=(
            NamedMistake(
                "SIGN",
                "T*(r - 1)",
                "In reverse, input and output torque act the same way on the train: the housing has to balance both.",
            ),
            NamedMistake("REACT", "T*r"),
            NamedMistake("TEQUAL", "T", "The housing balances input and output together, not the input once more."),
        ),
        hints=(
            "Put the ratio into T(i - 1), with its minus sign.",
            "Only the size is asked for.",
            "Both parts then have the same sign, so that their sizes add up.",
        ),
    ),
    Item(
        id="L08-05",
        kind=_TORQUE,
        marks=4,
        prompt="The ring is the input shaft, with <T> N·m on it; a clutch joins the sun to the same shaft, and the "
        "carrier is the output (direct drive). $S = <S>$, $R = <R>$. How large is the torque that the clutch "
        "carries" + _SIZE,
        draw=Draw(sets=("",), numbers={"T": ("80", "400", "10")}, keep=("R != 2*S",)),
        answer="T*S/(S + R)",
        tolerance=HALF_PERCENT,
        unit="N·m",
        size_only=True,
        named_mistakes=(
            NamedMistake("TEQUAL", "T", "Part of the torque goes in at the ring; the clutch carries only the sun's share."),
            NamedMistake("SWAP", "T*R/(S + R)"),
            NamedMistake(
                "NOONE",
                "T*S/R",
                "That would be right if the whole input torque went in at the ring alone; here ring and sun share it.",
            ),
        ),
        hints=(
            "Sun and ring torques are in the proportion S to R.",
            "Together they make up the input torque.",
            "The sun's share is S out of S + R.",
        ),
    ),
    Item(
        id="L08-06",
        kind=_TORQUE,
        marks=5,
        prompt="The Q36 drives in second (A and C applied) with <T> N·m at the input, no losses. How large are the "
        "torques in clutch A and in brake C" + _SIZE,
        draw=Draw(layout="Q36", numbers={"T": ("80", "300", "10")}),
        fields={"A": Field("clutch A", _TORQUE, "5/2", "N·m"), "C": Field("brake C", _TORQUE, "5/2", "N·m")},
        like={"A": ("clutch-torque", "2", "A"), "C": ("holding", "2", "C")},
        times="T",
        tolerance=HALF_PERCENT,
        size_only=True,
        named_mistakes=(
            NamedMistake("TEQUAL", {"A": "T", "C": "T"}),
            NamedMistake("REACT", {"C": "T*<ratio 2>"}, "C holds only the difference between output and input torque."),
            NamedMistake("SWAP", {"A": "T/<alone ring carrier P1>", "C": "-T/<alone sun ring P3>"}),
        ),
        hints=(
            "Set 1 is locked: how is the input torque shared between its sun and its ring?",
            "Carrier 2 is free, so set 2 carries nothing.",
            "Set 3: sun in with the whole torque, ring held.",
        ),
    ),
    Item(
        id="L08-07",
        kind=_TORQUE,
        marks=6,
        prompt="The Q36 drives in first (B and C applied) with <T> N·m at the input, no losses. How large are the "
        "holding torques of B and of C" + _SIZE,
        draw=Draw(layout="Q36", numbers={"T": ("80", "300", "10")}),
        fields={"B": Field("brake B", _TORQUE, "3", "N·m"), "C": Field("brake C", _TORQUE, "3", "N·m")},
        like={"B": ("holding", "1", "B"), "C": ("holding", "1", "C")},
        times="T",
        tolerance=HALF_PERCENT,
        size_only=True,
        named_mistakes=(
            NamedMistake(
                "TEQUAL",
                {"B": "T", "C": "-T*<alone sun ring P3>"},
                "The input torque is on ring 1 only: follow it through set 1 before you go on.",
            ),
            NamedMistake("MULT", {"B": "T*<ratio 1> - T"}, "B and C share the reaction: only together do they make T(i - 1)."),
            NamedMistake(
                "SWAP",
                {"B": "-T*<alone sun ring P1>*<alone sun carrier P2>", "C": "-T*<alone sun carrier P1>*<alone sun ring P3>"},
            ),
        ),
        hints=(
            "Start at ring 1, the only member on the input.",
            "Sun 1 has T S1/R1, and it comes from sun 2; carrier 1 hands on the sum to sun 3.",
            "B holds carrier 2; C holds ring 3. Check: B + C = T(i - 1).",
        ),
    ),
    Item(
        id="L08-08",
        kind=AnswerKind.DECIMAL,
        marks=4,
        prompt="A multi-plate clutch has to carry <T> N·m with a factor of <k>. It has <f> rubbing faces, a friction "
        "coefficient of <mu>, and friction rings from <ri> to <ro> mm radius (take the mean radius). Which clamp "
        "force does it need, in N?",
        draw=Draw(
            numbers={
                "T": ("150", "600", "10"),
                "k": ("1.2", "1.6", "0.1"),
                "f": ("6", "14", "2"),
                "mu": ("0.10", "0.14", "0.01"),
                "ri": ("50", "65", "1"),
                "ro": ("70", "90", "1"),
            }
        ),
        answer="2000*T*k/(mu*f*(ri + ro))",
        tolerance=HALF_PERCENT,
        unit="N",
        named_mistakes=(
            NamedMistake("UNIT", "2*T*k/(mu*f*(ri + ro))", "The radii are in millimetres, the torque in newton metres."),
            NamedMistake("UNIT", "1000*T*k/(mu*f*(ri + ro))", "The mean radius is half of the sum of the radii."),
            NamedMistake("COUNT", "4000*T*k/(mu*f*(ri + ro))", "Count rubbing faces, not plates: they are given already."),
            NamedMistake(
                "TSPEED", "2000*T/(k*mu*f*(ri + ro))", "The factor raises what the clutch has to hold; you lowered it."
            ),
        ),
        hints=(
            "Torque times factor = friction coefficient x force x faces x mean radius.",
            "The mean radius is half the sum, in metres.",
            "Solve for the force.",
        ),
    ),
    Item(
        id="L08-09",
        kind=AnswerKind.ORDERING,
        marks=3,
        prompt="Q24, the same input torque each time, no losses. Put these four in order of the torque they carry or "
        "hold, largest first: D in reverse, F in first, B in second, C in fourth. Answer with the element letters.\n\n"
        "Application chart:\n\n<chart>",
        draw=Draw(layout="Q24", numbers={**LETTERS, **one_of(2, 2)}, later={**AS_BEFORE, **BEFORE}),
        rule="order_torque",
        like=("torque-order",),
        named_mistakes=(
            NamedMistake("REACT", "", "That is the order of the output torques. A holding torque is a difference."),
        ),
        versions=(
            Version(
                prompt="Q24, the same input torque each time, no losses. Put these four in order of the torque they carry or "
                "hold, largest first: <cases>. Answer with the element letters.\n\nApplication chart:\n\n<chart>"
            ),
        ),
        hints=(
            "An element that holds alone has the torque T(i - 1); in reverse its size is |i| + 1 times T.",
            "First and second go the same way.",
            "In fourth one clutch is the only way in for the input torque.",
        ),
    ),
)
