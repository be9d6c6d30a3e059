"""Lesson 11: shifting: what lets go, what takes hold."""

from __future__ import annotations

from gearkit.answers.bank.common import HALF_PERCENT, ONE_PERCENT, Q36, Q36_LETTERS
from gearkit.answers.item import AnswerKind, Draw, Item, NamedMistake
from gearkit.answers.judge.claims import Relation

_N = AnswerKind.DECIMAL
_Q24_SPEED = Draw(layout="Q24", numbers={"n": ("1500", "4000", "100")})
_SHORT = {"t": ("0.3", "0.8", "0.1")}

ITEMS: tuple[Item, ...] = (
    Item(
        id="L11-01",
        kind=AnswerKind.CHART_GRID,
        marks=5,
        prompt="Application chart of the Q36:\n\n<chart>\n\nName for each upshift to the next range the element that "
        "lets go and the one that takes hold.",
        draw=Q36_LETTERS,
        rule="swaps",
        like=("swaps",),
        named_mistakes=(
            NamedMistake("ROLE", "", "Off-going and on-coming are swapped: you read the chart as for a downshift."),
        ),
        hints=(
            "Compare the two rows of a shift.",
            "In the first row but not in the second: off-going.",
            "In the second row but not in the first: on-coming.",
        ),
    ),
    Item(
        id="L11-02",
        kind=_N,
        marks=2,
        prompt="An upshift goes from ratio <a> to ratio <b> with the engine at <n> r/min; the road speed does not change. "
        "How fast does the engine turn afterwards (r/min)?",
        draw=Draw(
            numbers={"a": ("1.4", "4.0", "0.1"), "q": ("1.2", "1.8", "0.05"), "n": ("2000", "5000", "100")},
            shown={"b": ("a/q", 3)},
            hidden=("q",),
        ),
        answer="n*b/a",
        tolerance=HALF_PERCENT,
        unit="r/min",
        named_mistakes=(
            NamedMistake("UPSHIFT", "n*a/b"),
            NamedMistake(
                "DIFF", "n - (a - b)*1000", "A difference of ratios is no speed: the two engine speeds are in proportion."
            ),
            NamedMistake("LOCKFREE", "n", "The road speed stays the same; the engine follows the ratio."),
        ),
        hints=(
            "The output turns as fast after the shift as before.",
            "So n/a before equals the new speed over b.",
            "Solve for the new speed.",
        ),
    ),
    Item(
        id="L11-03",
        kind=_N,
        marks=4,
        prompt="The Q24 drives in first (E and F) with <n> r/min at the input. Brake B, on sun 1, is to take hold next. "
        "How fast does sun 1 turn just before, that is, what is the slip across B (r/min, with the sign of sun 1)?",
        draw=_Q24_SPEED,
        like=("speed", "1", "P1.sun"),
        times="n",
        tolerance=HALF_PERCENT,
        unit="r/min",
        named_mistakes=(
            NamedMistake("LOCKFREE", "0", "Carrier 1 is held in first, and sun 1 is not: it turns."),
            NamedMistake(
                "SIGN",
                "-<answer>",
                "The size is right. With carrier 1 held, which way does sun 1 turn?",
                says=(Relation.NEGATIVE,),
            ),
            NamedMistake("HELDMOVES", "n/<alone ring sun P1>", "Ring 1 turns with the output, not with the input."),
            NamedMistake("SLIPABS", "n/<ratio 1>", "That is the speed of the output."),
        ),
        hints=(
            "The output turns at n S2/(S2 + R2), and ring 1 with it.",
            "Carrier 1 is held by F.",
            "With its carrier held set 1 turns the sun backward, R1/S1 times as fast as the ring.",
        ),
    ),
    Item(
        id="L11-04",
        kind=_N,
        marks=4,
        prompt="The Q24 drives in second (B and E) with <n> r/min at the input. How large is the slip across clutch C, "
        "which lies between the input and carrier 1 (r/min; a sign does not count)?",
        draw=_Q24_SPEED,
        like=("slip", "2", "C"),
        times="n",
        tolerance=HALF_PERCENT,
        unit="r/min",
        size_only=True,
        named_mistakes=(
            NamedMistake(
                "SLIPABS",
                "n*<speed 2 P1.carrier>",
                "That is the speed of carrier 1 alone; slip is the difference between two sides.",
            ),
            NamedMistake("LOCKFREE", "n", "That would be so if carrier 1 stood still."),
            NamedMistake(
                "HELDMOVES", "n/<alone sun carrier P1>", "For carrier 1 you need the output's speed, not the input's."
            ),
        ),
        hints=(
            "The two sides of C are the input and carrier 1.",
            "Carrier 1 runs at R1/(S1 + R1) times the output's speed, because sun 1 is held.",
            "Take one side's speed from the other's.",
        ),
    ),
    Item(
        id="L11-05",
        kind=AnswerKind.MULTIPLE_CHOICE,
        marks=4,
        prompt="Application chart of the Q36:\n\n<chart>\n\nWhich of these six shifts are double swaps (two elements let "
        "go and two take hold)? Tick all of them; write none if there are none. (A wrong tick takes off at least "
        "what a right one earns; one mark is for a faultless answer.)\n\n<list>",
        draw=Q36,
        rule="double_swaps",
        like=("double-swaps",),
        named_mistakes=(
            NamedMistake("COUNT", "", "Not every skip shift is a double swap: look whether the two rows share an element."),
        ),
        hints=(
            "Write the two rows of a shift one under the other.",
            "An element in both rows: a single swap.",
            "No element in both: a double swap.",
        ),
    ),
    Item(
        id="L11-06",
        kind=AnswerKind.CHOICE,
        marks=2,
        prompt="<question>\n\n<list>",
        draw=Draw(numbers={"v": ("1", "4", "1")}),
        rule="overlap",
        named_mistakes=(
            NamedMistake(
                "SLIPTIE",
                "",
                "A tie-up drags the output back and pulls the engine down; a gap lets the engine run up. Which of them fits?",
            ),
        ),
        hints=(
            "Is anything holding the engine back at that moment?",
            "Two elements that hold at once work against each other; none that holds lets the engine run free.",
            "Match what was felt with one of the two, and with what came too early or too late.",
        ),
    ),
    Item(
        id="L11-07",
        kind=_N,
        marks=4,
        prompt="During a shift a clutch transmits a steady <T> N·m while its slip falls evenly from <n> r/min to zero in <t> s. How much heat goes into it, in kJ?",
        draw=Draw(numbers={"T": ("100", "400", "10"), "n": ("500", "3000", "50"), **_SHORT}),
        answer="T*n*2*pi/60*t/2/1000",
        tolerance=ONE_PERCENT,
        unit="kJ",
        pi=True,
        named_mistakes=(
            NamedMistake("UNIT", "T*n*t/2/1000", "For power the slip has to be in radians per second."),
            NamedMistake("HALF", "T*n*2*pi/60*t/1000", "The slip falls: take its mean over the time, not its start."),
            NamedMistake("LEFTOUT", "T*n*2*pi/60/1000", "That is the power at the start, in kW; energy needs the time."),
        ),
        hints=(
            "Power is torque times slip, the slip in radians per second.",
            "The slip falls evenly, so its mean is half its start.",
            "Multiply by the time, and turn joules into kilojoules.",
        ),
    ),
    Item(
        id="L11-08",
        kind=AnswerKind.ORDERING,
        marks=3,
        prompt="Put the events of an upshift under power in order. Answer with the letters.\n\n<list>",
        rule="upshift_events",
        named_mistakes=(
            NamedMistake("UPSHIFT", "", "The engine cannot come down before the on-coming element has taken over the torque."),
        ),
        hints=(
            "Before an element can carry anything it has to be filled.",
            "The torque moves over first, at the old ratio.",
            "Then the engine changes speed; full pressure comes at the end.",
        ),
    ),
    Item(
        id="L11-09",
        kind=AnswerKind.TORQUE,
        marks=3,
        prompt="Engine and input parts have an inertia of <J> kg·m² together. In an upshift the on-coming element slows "
        "them by <d> r/min in <t> s. How large is the torque, at the input, that this alone takes (size and unit; a "
        "sign does not count)?",
        draw=Draw(numbers={"J": ("0.12", "0.30", "0.02"), "d": ("400", "1800", "50"), **_SHORT}),
        answer="J*d*2*pi/60/t",
        tolerance=ONE_PERCENT,
        unit="N·m",
        pi=True,
        size_only=True,
        named_mistakes=(
            NamedMistake("UNIT", "J*d/t", "The change of speed has to be in radians per second."),
            NamedMistake(
                "HALF", "J*d*2*pi/60/t/2", "No half comes in here: torque is inertia times change of speed over time."
            ),
            NamedMistake(
                "RECIP", "J*t/(d*2*pi/60)", "More change in less time takes more torque: your fraction says the opposite."
            ),
        ),
        hints=(
            "Torque is inertia times angular acceleration.",
            "Angular acceleration is the change of speed over the time.",
            "Speeds in radians per second.",
        ),
    ),
    Item(
        id="L11-10",
        kind=_N,
        marks=2,
        prompt="A downshift goes from ratio <b> to ratio <a> with the engine at <n> r/min; the road speed does not change. How fast does "
        "the engine turn afterwards (r/min)?",
        draw=Draw(
            numbers={"a": ("1.4", "4.0", "0.1"), "q": ("1.2", "1.8", "0.05"), "n": ("1200", "2600", "100")},
            shown={"b": ("a/q", 3)},
            hidden=("q",),
        ),
        answer="n*a/b",
        tolerance=HALF_PERCENT,
        unit="r/min",
        named_mistakes=(
            NamedMistake("UPSHIFT", "n*b/a", "The road speed stays; with a larger ratio the engine has to go up."),
            NamedMistake(
                "DIFF", "n + (a - b)*1000", "A difference of ratios is no speed: the two engine speeds are in proportion."
            ),
            NamedMistake("LOCKFREE", "n", "The road speed stays the same; the engine follows the ratio."),
        ),
        hints=(
            "What stays the same during the shift?",
            "Output speed is engine speed divided by the ratio, before and after.",
            "Put the two output speeds equal.",
        ),
    ),
    Item(
        id="L11-11",
        kind=_N,
        marks=2,
        prompt="A clutch transmits <T> N·m while it slips at a steady <n> r/min. How much power turns into heat in it, in kW?",
        draw=Draw(numbers={"T": ("60", "240", "10"), "n": ("300", "1800", "50")}),
        answer="T*n*2*pi/60/1000",
        tolerance=HALF_PERCENT,
        unit="kW",
        pi=True,
        named_mistakes=(
            NamedMistake("UNIT", "T*n/1000", "The slip has to be in radians per second."),
            NamedMistake("HALF", "T*n*pi/60/1000", "The slip is steady here, so no half comes in."),
        ),
        hints=(
            "Power is torque times speed, here the speed of slip.",
            "Turn r/min into radians per second.",
            "A kilowatt is a thousand watts.",
        ),
    ),
)
