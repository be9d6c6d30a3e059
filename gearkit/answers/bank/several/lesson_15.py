"""Lesson 15: one in, two out: differentials and transfer."""

from __future__ import annotations

from gearkit.answers.bank.common import HALF_PERCENT
from gearkit.answers.item import AnswerKind, Draw, Item, NamedMistake

_N = AnswerKind.DECIMAL
_BEVEL = "An open bevel differential with equal side gears: the case turns with the drive, left and right wheel with the side gears. "
_TRANSFER = "A planetary transfer: the carrier is driven, the sun turns the front axle, the ring the rear axle. The sun has <S> teeth, the ring <R>. "
_KEEP = ("R != 2*S",)


def _draw(keep: tuple[str, ...] = (), **numbers: tuple[str, str, str]) -> Draw:
    return Draw(sets=("",), numbers=numbers, keep=(*_KEEP, *keep))


ITEMS: tuple[Item, ...] = (
    Item(
        id="L15-01",
        kind=_N,
        marks=2,
        prompt=_BEVEL
        + "The case turns at <n> r/min, the left wheel at <k> r/min. How fast does the right wheel turn (r/min; a minus sign if it turns backward)?",
        answer="2*n - k",
        tolerance=HALF_PERCENT,
        unit="r/min",
        draw=Draw(numbers={"n": ("180", "420", "10"), "k": ("100", "500", "5")}, keep=("(k - n)**2 > (n/10)**2",)),
        named_mistakes=(
            NamedMistake("LOCKFREE", "n", "That would be so if the differential were locked or both wheels alike."),
            NamedMistake("HALF", "(n + k)/2", "The case is the mean of the two wheels; here one of the wheels is asked for."),
            NamedMistake("DIFF", "n - k", "How much faster and how much slower than the case do the two wheels turn?"),
        ),
        hints=(
            "The case turns at the mean of the two wheels.",
            "What one wheel loses the other gains.",
            "Write n = (left + right)/2.",
        ),
    ),
    Item(
        id="L15-02",
        kind=_N,
        marks=2,
        prompt=_BEVEL
        + "One wheel is lifted, the other stands. The case turns at <n> r/min. How fast does the lifted wheel turn (r/min)?",
        answer="2*n",
        tolerance=HALF_PERCENT,
        unit="r/min",
        draw=Draw(numbers={"n": ("40", "400", "10")}),
        named_mistakes=(
            NamedMistake("LOCKFREE", "n", "The two wheels do not turn alike: one of them stands."),
            NamedMistake(
                "HALF",
                "n/2",
                "The case is the mean of the two wheels, and one of them stands: which is the faster, case or wheel?",
            ),
            NamedMistake("HELDMOVES", "0", "It is the other wheel that stands."),
        ),
        hints=("The case turns at the mean of the two wheels.", "One of them is zero.", "So the mean is half of the other."),
    ),
    Item(
        id="L15-03",
        kind=_N,
        marks=3,
        prompt=_BEVEL
        + "One wheel is on ice and slips at <T> N·m; the other has good grip. How much torque drives the vehicle at both wheels together (N·m)?",
        answer="2*T",
        tolerance=HALF_PERCENT,
        unit="N·m",
        draw=Draw(numbers={"T": ("15", "95", "5")}),
        named_mistakes=(
            NamedMistake("HALF", "T", "That is one wheel. The side gears are alike: what does the other one get?"),
            NamedMistake("TSPEED", "T/2", "The torques of the two wheels are equal; nothing is divided again."),
            NamedMistake("COUNT", "3*T", "Two wheels, two equal torques."),
        ),
        hints=("The pinions push both side gears alike.", "So neither wheel gets more than the other.", "Add the two."),
    ),
    Item(
        id="L15-04",
        kind=_N,
        marks=3,
        prompt=_TRANSFER + "<T> N·m come in. How much goes to the front axle (N·m)?",
        answer="T*S/(S + R)",
        tolerance=HALF_PERCENT,
        unit="N·m",
        draw=_draw(T=("150", "600", "10")),
        named_mistakes=(
            NamedMistake("EVENSPLIT", "T/2"),
            NamedMistake("SHARERATIO", "T*S/R"),
            NamedMistake("REACT", "T*R/(S + R)", "That goes to the rear axle."),
        ),
        hints=(
            "The torques of sun, ring and carrier are in the proportion S : R : (S + R).",
            "The carrier has all that comes in.",
            "The front axle is on the sun.",
        ),
    ),
    Item(
        id="L15-05",
        kind=_N,
        marks=3,
        prompt="A planetary transfer is driven at its carrier; the sun turns the front axle, the ring the rear axle. The front axle is to get "
        "<f> of the torque. What must R/S be?",
        answer="(1 - f)/f",
        tolerance=HALF_PERCENT,
        draw=Draw(numbers={"f": ("0.24", "0.46", "0.02")}),
        named_mistakes=(
            NamedMistake("RECIP", "f/(1 - f)", "A ring is larger than its sun."),
            NamedMistake("SHARERATIO", "1/f", "That is (S + R)/S: the whole over the part."),
            NamedMistake("DIFF", "1 - f", "That is the share of the rear axle, and not how it compares with the front one."),
        ),
        hints=(
            "The torques at rear and front are in the proportion R : S.",
            "The rear axle gets the rest.",
            "Divide the two shares.",
        ),
    ),
    Item(
        id="L15-06",
        kind=_N,
        marks=3,
        prompt=_TRANSFER
        + "The carrier turns at <n> r/min, the front axle's shaft at <k> r/min. How fast does the rear axle's shaft turn (r/min; a minus sign if it turns backward)?",
        answer="((S + R)*n - S*k)/R",
        tolerance=HALF_PERCENT,
        unit="r/min",
        draw=_draw(("(k - n)**2 > (n/5)**2",), n=("600", "1500", "50"), k=("300", "2400", "25")),
        named_mistakes=(
            NamedMistake("EVENSPLIT", "2*n - k", "That is so for equal side gears; here sun and ring differ."),
            NamedMistake("LOCKFREE", "n"),
            NamedMistake("SWAP", "((S + R)*n - R*k)/S"),
        ),
        hints=("Two speeds are known: carrier and sun.", "S n(sun) + R n(ring) = (S + R) n(carrier).", "Solve for the ring."),
    ),
    Item(
        id="L15-07",
        kind=_N,
        marks=3,
        prompt=_TRANSFER
        + "A clutch locks it, <T> N·m come in, and the front wheels slip at <k> N·m on their shaft. How much goes to the rear axle's shaft (N·m)?",
        answer="T - k",
        tolerance=HALF_PERCENT,
        unit="N·m",
        draw=_draw(("k < T*S/(S + R) - 15",), T=("200", "500", "10"), k=("20", "120", "5")),
        named_mistakes=(
            NamedMistake("SHARERATIO", "T*R/(S + R)", "That is the share of the open transfer. Locked, grip decides."),
            NamedMistake("EVENSPLIT", "T/2"),
            NamedMistake("REACT", "k*R/S", "That is so while the transfer is open. The clutch carries the rest now."),
        ),
        hints=(
            "Locked, both shafts turn as one.",
            "Then the teeth no longer fix the shares.",
            "What goes in comes out at the two shafts together.",
        ),
    ),
    Item(
        id="L15-08",
        kind=_N,
        marks=4,
        prompt="A transfer with pinions in meshing pairs is driven at its ring; the sun turns the front axle, the carrier the rear axle. "
        "The sun has <S> teeth, the ring <R>. <T> N·m come in. How much goes to the front axle (N·m; a sign does not count)?",
        answer="T*S/R",
        tolerance=HALF_PERCENT,
        unit="N·m",
        size_only=True,
        draw=_draw(("(R - 2*S)**2 > (S/5)**2",), T=("150", "600", "10")),
        named_mistakes=(
            NamedMistake("DOUBLE", "T*S/(S + R)"),
            NamedMistake("REACT", "T*(R - S)/R", "That goes to the carrier and so to the rear axle."),
            NamedMistake("EVENSPLIT", "T/2"),
        ),
        hints=(
            "With meshing pairs R n(ring) - S n(sun) = (R - S) n(carrier).",
            "The torques are in the proportion S : R : (R - S).",
            "The ring has all that comes in.",
        ),
    ),
    Item(
        id="L15-09",
        kind=_N,
        marks=3,
        prompt="A vehicle with a track of <w> m drives a curve; the middle of its axle runs on a circle of radius <r> m and the case of the "
        "differential turns at <n> r/min. How fast does the outer wheel turn (r/min)?",
        answer="n*(r + w/2)/r",
        tolerance=HALF_PERCENT,
        unit="r/min",
        draw=Draw(numbers={"w": ("1.4", "1.8", "0.1"), "r": ("5", "14", "1"), "n": ("60", "240", "10")}),
        named_mistakes=(
            NamedMistake("HALF", "n*(r + w)/r", "The outer wheel is half a track from the middle of the axle."),
            NamedMistake("SWAP", "n*(r - w/2)/r", "That is the inner wheel."),
            NamedMistake("LOCKFREE", "n", "That is the case: the mean of the two wheels."),
        ),
        hints=(
            "All parts of the axle go round in the same time.",
            "So the speeds are in the proportion of the circles' radii.",
            "The outer circle is half a track larger.",
        ),
    ),
    Item(
        id="L15-10",
        kind=_N,
        marks=3,
        prompt=_BEVEL
        + "The left wheel turns at <k> r/min, the right one at <n> r/min, and both drive. What share of the power goes to the right wheel (in percent)?",
        answer="100*n/(n + k)",
        tolerance=HALF_PERCENT,
        unit="percent",
        draw=Draw(numbers={"n": ("200", "400", "10"), "k": ("100", "380", "10")}, keep=("10*k < 9*n",)),
        named_mistakes=(
            NamedMistake("PWRTRQ", "50", "The torques are equal. Power is torque times speed."),
            NamedMistake("SWAP", "100*k/(n + k)", "That is the left wheel."),
            NamedMistake("SHARERATIO", "100*n/k", "That compares one wheel with the other; a share compares it with both."),
        ),
        hints=(
            "Both wheels get the same torque.",
            "So the powers are in the proportion of the speeds.",
            "Divide the right wheel's by the sum.",
        ),
    ),
    Item(
        id="L15-11",
        kind=_N,
        marks=4,
        prompt="The reduction of an electric car has stepped planets: the machine turns the sun with <a> teeth, which meshes with the pinion of <b> teeth; the "
        "other pinion, of <c> teeth, meshes with the ring of <d> teeth, which is held. The carrier is the output. What is the ratio, machine / carrier?",
        answer="1 + b*d/(a*c)",
        tolerance=HALF_PERCENT,
        draw=Draw(
            numbers={"a": ("18", "30", "1"), "b": ("36", "52", "1"), "c": ("15", "24", "1")}, shown={"d": ("a + b + c", None)}
        ),
        named_mistakes=(
            NamedMistake("STEP2", "1 + d/a"),
            NamedMistake("NOONE", "b*d/(a*c)"),
            NamedMistake("SWAP", "1 + c*d/(a*b)", "The two pinions of the planet have changed places."),
        ),
        hints=(
            "Seen from the carrier, sun to planet is b/a and planet to ring d/c.",
            "The ring is held, so the carrier turns, and its one turn is added.",
            "Multiply the two steps and add one.",
        ),
    ),
    Item(
        id="L15-12",
        kind=_N,
        marks=3,
        prompt="In an electric car the machine gives <T> N·m, a reduction of <i> follows, then an open differential. How much torque does each "
        "wheel get, without losses (N·m)?",
        answer="T*i/2",
        tolerance=HALF_PERCENT,
        unit="N·m",
        draw=Draw(numbers={"T": ("120", "320", "10"), "i": ("7.5", "11.5", "0.1")}),
        named_mistakes=(
            NamedMistake("HALF", "T*i", "That is the case of the differential. It has two wheels."),
            NamedMistake("TSPEED", "T/(2*i)"),
            NamedMistake("LEFTOUT", "T/2", "The reduction is missing."),
        ),
        hints=("The reduction multiplies the torque.", "The differential shares it half and half.", "Do one after the other."),
    ),
)
