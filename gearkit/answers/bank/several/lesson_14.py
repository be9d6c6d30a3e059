"""Lesson 14: two inputs: the power split."""

from __future__ import annotations

from gearkit.answers.bank.common import HALF_PERCENT, ONE_UNEVEN_SET
from gearkit.answers.item import AnswerKind, Draw, Item, NamedMistake
from gearkit.answers.judge.claims import Relation

_N = AnswerKind.DECIMAL
_TRAIN = "A power split: the engine turns the carrier, machine M1 the sun, the ring is the output. The sun has <S> teeth, the ring <R>. "
_KEEP = ("R != 2*S",)


def _draw(keep: tuple[str, ...] = (), **numbers: tuple[str, str, str]) -> Draw:
    return Draw(sets=("",), numbers=numbers, keep=(*_KEEP, *keep))


ITEMS: tuple[Item, ...] = (
    Item(
        id="L14-01",
        kind=_N,
        marks=2,
        prompt=_TRAIN
        + "The output turns <f> times as fast as the engine, the same way. How many turns does M1 make for one turn of the engine?",
        answer="1 + R*(1 - f)/S",
        tolerance=HALF_PERCENT,
        draw=_draw(f=("0.2", "0.8", "0.1")),
        named_mistakes=(
            NamedMistake("HELDMOVES", "1 + R/S", "That would be so with the output standing; here it turns as well."),
            NamedMistake("NOONE", "R*(1 - f)/S"),
            NamedMistake("SWAP", "1 + S*(1 - f)/R"),
        ),
        hints=(
            "The carrier makes one turn, the ring a part of one.",
            "Write S times sun plus R times ring equals S + R times carrier.",
            "Solve for the sun.",
        ),
    ),
    Item(
        id="L14-02",
        kind=_N,
        marks=3,
        prompt=_TRAIN + "The engine turns at <n> r/min, the output at <k> r/min. How fast does M1 turn (r/min, with its sign)?",
        answer="((S + R)*n - R*k)/S",
        tolerance=HALF_PERCENT,
        unit="r/min",
        draw=_draw(("((S + R)*n - R*k)**2 > (400*S)**2",), n=("1200", "3000", "100"), k=("600", "4000", "100")),
        named_mistakes=(
            NamedMistake("HELDMOVES", "(S + R)*n/S", "That would be so with the output standing; here it turns as well."),
            NamedMistake("REL", "R*(n - k)/S"),
            NamedMistake("SWAP", "((S + R)*n - S*k)/R"),
            NamedMistake(
                "SIGN",
                "(R*k - (S + R)*n)/S",
                "The size is right. Which of the two terms is the larger one?",
                says=(Relation.NEGATIVE,),
            ),
        ),
        hints=(
            "Two speeds are known: carrier and ring.",
            "S n(sun) + R n(ring) = (S + R) n(carrier).",
            "Solve for the sun; the sign comes by itself.",
        ),
    ),
    Item(
        id="L14-03",
        kind=_N,
        marks=3,
        prompt=_TRAIN
        + "The engine gives <T> N·m. How large is the torque with which M1 must hold the sun (N·m; a sign does not count)?",
        answer="T*S/(S + R)",
        tolerance=HALF_PERCENT,
        unit="N·m",
        size_only=True,
        draw=_draw(T=("60", "180", "4")),
        named_mistakes=(
            NamedMistake("EVENSPLIT", "T/2"),
            NamedMistake("SHARERATIO", "T*S/R"),
            NamedMistake("REACT", "T*R/(S + R)", "That is the part that goes to the ring."),
            NamedMistake("TEQUAL", "T"),
        ),
        hints=(
            "The torques of sun, ring and carrier are in the proportion S : R : (S + R).",
            "The carrier has all of the engine's torque.",
            "So the sun has S parts of S + R.",
        ),
    ),
    Item(
        id="L14-04",
        kind=_N,
        marks=2,
        prompt=_TRAIN
        + "Beyond the mechanical point M1 turns backward. What is output speed / engine speed where M1 turns backward <f> times as fast as the engine turns forward?",
        answer="1 + S*(1 + f)/R",
        tolerance=HALF_PERCENT,
        draw=_draw(f=("0.4", "2.4", "0.2")),
        named_mistakes=(
            NamedMistake("HELDMOVES", "1 + S/R", "That is the mechanical point itself, with M1 standing."),
            NamedMistake(
                "RECIP",
                "R/(S*(1 + f) + R)",
                "That is engine speed over output speed: the ratio of the train and not its speed ratio.",
            ),
            NamedMistake("NOONE", "S*(1 + f)/R"),
        ),
        hints=(
            "The carrier makes one turn, the sun turns backward.",
            "Put both into the speed equation.",
            "Solve for the ring; the sun's term changes its side.",
        ),
    ),
    Item(
        id="L14-05",
        kind=_N,
        marks=3,
        prompt="A power split with one set drives with the battery at rest and without losses. The output turns at <f> times the "
        "speed at which M1 would stand. The engine gives <w> kW. How much of it goes by the electrical path (kW)?",
        answer="w*(1 - f)",
        tolerance=HALF_PERCENT,
        unit="kW",
        draw=Draw(numbers={"f": ("0.2", "0.85", "0.05"), "w": ("20", "90", "2")}, keep=("f != 0.5",)),
        named_mistakes=(
            NamedMistake(
                "PWRTRQ",
                "w*f",
                "That part goes through the gears: torque at the ring is the same at every speed, power is not.",
            ),
            NamedMistake("EVENSPLIT", "w/2"),
            NamedMistake("LEFTOUT", "w", "That would be so with the output standing."),
        ),
        hints=(
            "The torque at the ring is a fixed share of the engine's.",
            "So the power at the ring grows with the output speed.",
            "At the mechanical point it is all of the power; what is missing before goes through M1.",
        ),
    ),
    Item(
        id="L14-06",
        kind=_N,
        marks=2,
        prompt=_TRAIN
        + "The vehicle stands and M1 is to turn the engine at <n> r/min to start it. How fast must M1 turn (r/min)?",
        answer="n*(S + R)/S",
        tolerance=HALF_PERCENT,
        unit="r/min",
        draw=_draw(n=("600", "1400", "50")),
        named_mistakes=(
            NamedMistake("NOONE", "n*R/S"),
            NamedMistake("RECIP", "n*S/(S + R)", "The engine is the slower of the two: M1 on the small sun has to run fast."),
            NamedMistake("SHARERATIO", "n*(S + R)/R", "That belongs to a standing sun. Here the ring stands."),
        ),
        hints=("The ring stands.", "S n(sun) = (S + R) n(carrier).", "Put in the engine's speed."),
    ),
    Item(
        id="L14-07",
        kind=_N,
        marks=3,
        prompt=_TRAIN
        + "The engine stands, M2 on the output drives the vehicle, and the output turns at <n> r/min. How fast does M1 turn (r/min, with its sign)?",
        answer="-n*R/S",
        tolerance=HALF_PERCENT,
        unit="r/min",
        draw=_draw(n=("800", "3600", "100")),
        named_mistakes=(
            NamedMistake(
                "SIGN",
                "n*R/S",
                "The size is right. With the carrier held, which way does the sun turn?",
                says=(Relation.NEGATIVE,),
            ),
            NamedMistake("HELDMOVES", "0", "The engine is what stands here; M1 is free and the ring turns it."),
            NamedMistake("NOONE", "-n*(S + R)/S", "With a standing carrier nothing is added."),
            NamedMistake("RECIP", "-n*S/R", "The sun is the small gear: it turns faster than the ring."),
        ),
        hints=(
            "The engine holds the carrier.",
            "Seen in this way the set is a plain pair of sun and ring with planets between.",
            "The planets are idlers and reverse the direction.",
        ),
    ),
    Item(
        id="L14-08",
        kind=_N,
        marks=4,
        prompt=_TRAIN
        + "M2 sits on the output as well. The engine gives <T> N·m and the road asks for <k> N·m at the output. How much torque must M2 give (N·m, with its sign)?",
        answer="k - T*R/(S + R)",
        tolerance=HALF_PERCENT,
        unit="N·m",
        draw=_draw(("k - T*R/(S + R) > 20",), T=("60", "140", "4"), k=("120", "320", "5")),
        named_mistakes=(
            NamedMistake("TEQUAL", "k - T", "Not all of the engine's torque comes to the ring: M1 takes up the rest."),
            NamedMistake("REACT", "k - T*S/(S + R)", "That is the sun's part. Which part comes to the ring?"),
            NamedMistake("EVENSPLIT", "k - T/2"),
        ),
        hints=(
            "First find what the engine alone puts on the ring.",
            "The torques of ring and carrier are in the proportion R : (S + R).",
            "M2 gives what is missing.",
        ),
    ),
    Item(
        id="L14-09",
        kind=_N,
        marks=3,
        prompt=_TRAIN
        + "M1 may turn at <k> r/min at most. The engine stands. How fast may the output turn (r/min; a sign does not count)?",
        answer="k*S/R",
        tolerance=HALF_PERCENT,
        unit="r/min",
        size_only=True,
        draw=_draw(k=("6000", "14000", "200")),
        named_mistakes=(
            NamedMistake("NOONE", "k*S/(S + R)", "That would be so for the carrier with a standing ring."),
            NamedMistake("RECIP", "k*R/S", "The ring is the slower of the two."),
            NamedMistake("LOCKFREE", "k", "M1 and output are not on one shaft."),
        ),
        hints=("The carrier stands.", "Sun and ring then turn as S to R, the sun faster.", "Put in M1's highest speed."),
    ),
    Item(
        id="L14-10",
        kind=_N,
        marks=3,
        prompt=_TRAIN + "M1 can hold <j> N·m at most. What is the highest engine torque that it can hold against (N·m)?",
        answer="j*(S + R)/S",
        tolerance=HALF_PERCENT,
        unit="N·m",
        draw=_draw(j=("30", "70", "2")),
        named_mistakes=(
            NamedMistake(
                "RECIP",
                "j*S/(S + R)",
                "M1 holds only a part of the engine's torque, so the engine may give more than M1 holds.",
            ),
            NamedMistake("SHARERATIO", "j*R/S", "That is what comes to the ring then."),
            NamedMistake("TEQUAL", "j"),
        ),
        hints=(
            "M1 bears S parts of S + R.",
            "Write M1's torque as engine torque times that share.",
            "Solve for the engine torque.",
        ),
    ),
    Item(
        id="L14-11",
        kind=AnswerKind.EXACT_RATIO,
        marks=3,
        prompt="In a train of two modes the input turns the ring of the first set, its carrier is the output, and M1 sits on its sun. "
        "The sun has <S> teeth, the ring <R>. The change between the modes goes without slip while M1 stands. What is the ratio, input / output, there?",
        answer="(S + R)/R",
        draw=ONE_UNEVEN_SET,
        named_mistakes=(
            NamedMistake("RECIP", "R/(S + R)"),
            NamedMistake("SWAP", "(S + R)/S"),
            NamedMistake("NOONE", "S/R"),
        ),
        hints=(
            "M1 stands, so the sun does.",
            "Ring in, carrier out, sun held.",
            "Write the speed equation and put the sun at zero.",
        ),
    ),
    Item(
        id="L14-12",
        kind=_N,
        marks=3,
        prompt="M1 is driven with <w> kW at its shaft and turns <q> of it into electrical power. The battery is at rest, and M2 turns <f> of "
        "what it takes into power at its shaft. How much does M2 give (kW)?",
        answer="w*q*f",
        tolerance=HALF_PERCENT,
        unit="kW",
        draw=Draw(numbers={"w": ("8", "40", "1"), "q": ("0.86", "0.95", "0.01"), "f": ("0.86", "0.95", "0.01")}),
        named_mistakes=(
            NamedMistake("LEFTOUT", "w", "On the way through two machines something is lost twice."),
            NamedMistake("ETAFULL", "w*q", "That is what M2 takes. It loses a part as well."),
        ),
        hints=(
            "M1 gives a part of its shaft power to the wires.",
            "The battery takes nothing, so M2 gets all of that.",
            "M2 gives a part of what it gets.",
        ),
    ),
)
