"""Lesson 9: efficiency and power flow."""

from __future__ import annotations

from fractions import Fraction

from gearkit.answers.bank.common import BEFORE, HALF_PERCENT, HALF_RPM, TWO_PERCENT, one_of
from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.item import AnswerKind, Draw, Item, NamedMistake, Version

_EFFICIENCY = Tolerance(absolute=Fraction(1, 2000), of_loss=True)
_SAID = " Give at least three figures."


def _one_set(highest: str) -> Draw:
    return Draw(sets=("",), numbers={"e": ("0.90", highest, "0.01")}, keep=("R != S",))


ITEMS: tuple[Item, ...] = (
    Item(
        id="L09-01",
        kind=AnswerKind.DECIMAL,
        marks=2,
        prompt="Power goes through three stages one after the other, with efficiencies <a>, <b> and <c>. What is the "
        "efficiency of the whole?" + _SAID,
        draw=Draw(
            numbers={
                "a": ("0.95", "0.99", "0.01"),
                "b": ("0.94", "0.98", "0.01"),
                "c": ("0.90", "0.97", "0.01"),
            }
        ),
        answer="a*b*c",
        tolerance=Tolerance(absolute=Fraction(1, 500), of_loss=True),
        named_mistakes=(
            NamedMistake("ADD", "(a + b + c)/3", "A chain has no average: each stage works on what the one before has left."),
            NamedMistake("LEFTOUT", "a*b", "One stage is missing."),
        ),
        hints=(
            "The first stage hands on its share of the power.",
            "The second gets only that.",
            "Go on to the third in the same way.",
        ),
    ),
    Item(
        id="L09-02",
        kind=AnswerKind.DECIMAL,
        marks=4,
        prompt="The sun drives, the ring is held, the carrier is the output: $S = <S>$, $R = <R>$, basic efficiency (carrier held) <e>. What is the "
        "efficiency of this case?" + _SAID,
        draw=_one_set("0.98"),
        answer="(S + e*R)/(S + R)",
        tolerance=_EFFICIENCY,
        named_mistakes=(
            NamedMistake("ETAFULL", "e"),
            NamedMistake(
                "SWAP", "(R + e*S)/(S + R)", "The sun drives and the ring takes the reaction: whose torque loses its share?"
            ),
            NamedMistake("TSPEED", "(S + R)/(S + e*R)", "An efficiency is never above 1: which torque is divided by which?"),
        ),
        hints=(
            "With losses the ring torque is e R/S times the sun torque.",
            "The output torque is then T(1 + e R/S).",
            "Compare it with T(1 + R/S), what it would be without losses.",
        ),
    ),
    Item(
        id="L09-03",
        kind=AnswerKind.DECIMAL,
        marks=4,
        prompt="The carrier drives, the sun is held, the ring is the output: $S = <S>$, $R = <R>$, basic efficiency (carrier held) <e>. What is the "
        "efficiency of this case?" + _SAID,
        draw=_one_set("0.97"),
        answer="e*(S + R)/(e*R + S)",
        tolerance=_EFFICIENCY,
        named_mistakes=(
            NamedMistake("ETAFULL", "e"),
            NamedMistake("SWAP", "e*(S + R)/(e*S + R)"),
            NamedMistake("TSPEED", "(S + R)/(R + S/e)*e", "You counted the loss twice: follow the sun's torque once."),
        ),
        hints=(
            "Seen from the carrier the sun drives the ring.",
            "The sun torque is the ring torque times S/(e R).",
            "The input torque is the sum of both; compare with the case without losses.",
        ),
    ),
    Item(
        id="L09-04",
        kind=AnswerKind.DECIMAL,
        marks=3,
        prompt="The ring drives, the sun is held, the carrier is the output: $S = <S>$, $R = <R>$, basic efficiency (carrier held) <e>. What is the "
        "efficiency of this case?" + _SAID,
        draw=_one_set("0.97"),
        answer="(R + e*S)/(S + R)",
        tolerance=_EFFICIENCY,
        named_mistakes=(
            NamedMistake("ETAFULL", "e"),
            NamedMistake("SWAP", "(S + e*R)/(S + R)", "Here the sun takes the reaction: whose torque loses its share?"),
        ),
        hints=(
            "Seen from the carrier the ring drives the sun.",
            "The sun torque is e S/R times the ring torque.",
            "The output torque is T(1 + e S/R); without losses it would be T(1 + S/R).",
        ),
    ),
    Item(
        id="L09-05",
        kind=AnswerKind.TORQUE,
        marks=3,
        prompt="Input torque <T> N·m, ratio <i>, efficiency <e>. What is the output torque (with its unit)?",
        draw=Draw(numbers={"T": ("80", "300", "10"), "i": ("1.4", "4.2", "0.1"), "e": ("0.92", "0.98", "0.01")}),
        answer="T*i*e",
        tolerance=HALF_PERCENT,
        unit="N·m",
        named_mistakes=(
            NamedMistake("TSPEED", "T/i*e"),
            NamedMistake("LEFTOUT", "T*i", "The loss is missing: it comes off the torque."),
            NamedMistake("RECIP", "T*i/e", "A loss makes the output smaller, not larger."),
        ),
        hints=(
            "First the torque without losses.",
            "Then take the loss off the torque.",
            "Input torque, ratio and efficiency multiply.",
        ),
    ),
    Item(
        id="L09-06",
        kind=AnswerKind.DECIMAL,
        marks=2,
        prompt="The input turns at <n> r/min; the ratio is <i> and the efficiency <e>. How fast does the output turn (r/min)?",
        draw=Draw(numbers={"n": ("1000", "3000", "100"), "i": ("1.4", "4.2", "0.1"), "e": ("0.92", "0.97", "0.01")}),
        answer="n/i",
        tolerance=HALF_RPM,
        unit="r/min",
        named_mistakes=(
            NamedMistake("ETASPEED", "n/i*e"),
            NamedMistake("RECIP", "n*i", "A reduction makes the output slower."),
        ),
        hints=(
            "Can gear teeth slip past each other?",
            "So which of the three numbers plays no part?",
            "Divide by the ratio.",
        ),
    ),
    Item(
        id="L09-07",
        kind=AnswerKind.DECIMAL,
        marks=3,
        prompt="The sun drives, the ring is held, the carrier is the output; $S = <S>$, $R = <R>$. Which share of the input power goes through the "
        "teeth, as seen from the carrier (a number between 0 and 1)?",
        draw=Draw(sets=("",), keep=("R != S",)),
        answer="R/(S + R)",
        tolerance=HALF_PERCENT,
        named_mistakes=(
            NamedMistake("SWAP", "S/(S + R)", "That share turns with the carrier; asked for is the rest."),
            NamedMistake("ETAFULL", "1", "Part of the power turns with the carrier and goes through no moving mesh."),
            NamedMistake("NOONE", "R/S", "R/S compares teeth; a share of power is never above 1."),
        ),
        hints=(
            "Power in the mesh is the sun torque times the sun's speed as seen from the carrier.",
            "The carrier turns S/(S + R) times as fast as the sun.",
            "Take that from one.",
        ),
    ),
    Item(
        id="L09-08",
        kind=AnswerKind.DECIMAL,
        marks=6,
        prompt="The Q36 drives in fourth (C and E applied), no losses. How much power comes into set 1 through sun 1, "
        "as a multiple of the input power?",
        draw=Draw(layout="Q36"),
        like=("power", "4", "P1.sun"),
        tolerance=TWO_PERCENT,
        named_mistakes=(
            NamedMistake("LOCKFREE", "0", "Sun 1 neither stands nor idles: it brings power back from set 2."),
            NamedMistake("TEQUAL", "-<alone ring sun P1>", "That is its share of the torque; its speed is missing."),
            NamedMistake(
                "REL",
                "<alone ring carrier P1>*<ratio 2>/<ratio 4>",
                "That is what carrier 1 hands on; take off what comes in at ring 1.",
            ),
        ),
        hints=(
            "The torque of sun 1 is S1/R1 times the input torque.",
            "Its speed s comes from set 1: $S_1 s = (S_1 + R_1)\\,x - R_1$, with x the speed of carrier 1.",
            "Multiply torque and speed. If the result is above zero, power goes round.",
        ),
    ),
    Item(
        id="L09-09",
        kind=AnswerKind.CHOICE,
        marks=2,
        prompt="The table shows your Q36 with a basic efficiency of 0.98 for every set (an assumption; bearings, oil and "
        "pump are not in it). At the same input power, in which range do the meshes heat the oil most?\n\n<list>",
        draw=Draw(layout="Q36", numbers=one_of(2, 2), later=BEFORE),
        rule="hottest",
        like=("hottest",),
        named_mistakes=(
            NamedMistake("ETAFULL", "", "Heat follows what is lost, not the ratio: look for power that goes round."),
        ),
        # At the same power it is fourth nearly always.
        versions=(
            Version(
                prompt="The table shows your Q36 with a basic efficiency of 0.98 for every set (an assumption; bearings, oil and "
                "pump are not in it), and for each range the power that goes in. In which range do the meshes heat the oil "
                "most?\n\n<list>",
                rule="hottest_at_powers",
                named_mistakes=(
                    NamedMistake(
                        "ETAFULL",
                        "",
                        "Heat is the power that goes in times the share that is lost: neither of the two alone decides.",
                    ),
                ),
            ),
        ),
        hints=(
            "Heat is input power times what is missing from efficiency 1.",
            "The share that is lost is one less the efficiency.",
            "Work it out for each range whose power or loss is large, and compare.",
        ),
    ),
    Item(
        id="L09-10",
        kind=AnswerKind.DECIMAL,
        marks=2,
        prompt="The sun drives at <n> r/min, the ring is held, the carrier is the output: $S = <S>$, $R = <R>$, basic efficiency (carrier held) <e>. How fast does the "
        "carrier turn (r/min)?",
        draw=Draw(sets=("",), numbers={"n": ("1500", "4000", "100"), "e": ("0.90", "0.97", "0.01")}, keep=("R != 2*S",)),
        answer="n*S/(S + R)",
        tolerance=HALF_RPM,
        unit="r/min",
        named_mistakes=(
            NamedMistake("ETASPEED", "n*S/(S + R)*e"),
            NamedMistake("SWAP", "n*R/(S + R)"),
            NamedMistake("RECIP", "n*(S + R)/S", "It is the other way round: does this case reduce or not?"),
        ),
        hints=(
            "Do gear teeth slip?",
            "The speeds follow from the tooth counts alone.",
            "The ratio of this case is 1 + R/S.",
        ),
    ),
    Item(
        id="L09-11",
        kind=AnswerKind.DECIMAL,
        marks=2,
        prompt="Two stages stand one after the other, with the ratios <i> and <j> and the efficiencies <e> and <f>. The input turns at <n> "
        "r/min. How fast does the output turn (r/min)?",
        draw=Draw(
            numbers={
                "i": ("1.4", "3.4", "0.2"),
                "j": ("1.5", "2.9", "0.2"),
                "e": ("0.92", "0.97", "0.01"),
                "f": ("0.92", "0.97", "0.01"),
                "n": ("2000", "4500", "100"),
            }
        ),
        answer="n/(i*j)",
        tolerance=HALF_RPM,
        unit="r/min",
        named_mistakes=(
            NamedMistake("ETASPEED", "n/(i*j)*e*f"),
            NamedMistake("ADD", "n/(i + j)"),
            NamedMistake("RECIP", "n*i*j", "It is the other way round: both stages reduce."),
        ),
        hints=(
            "What does a loss come off, the speed or the torque?",
            "Stages in series multiply.",
            "Divide the input speed by the whole ratio.",
        ),
    ),
)
