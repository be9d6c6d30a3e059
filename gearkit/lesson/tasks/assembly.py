"""Put the planets into one set: predict whether they fit at equal spacing, and whether neighbours touch."""

from __future__ import annotations

from fractions import Fraction
from math import pi, sin

from gearkit.draw.front import front_view
from gearkit.draw.front.front_geometry import places
from gearkit.lesson.tasks.task import Ask, Number, PredictionTask, Scene, Setup, Table
from gearkit.solve.teeth.assembly import assembly
from gearkit.text.phrases import decimal, fixed
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import later, say

YES, NO = later("yes"), later("no")
_HALF_TURN = 180


class AssemblyTask(PredictionTask):
    """Set tooth counts, planets and module; predict spacing and clearance before the planets are dropped in."""

    def __init__(self) -> None:
        super().__init__(
            say("putting a set together"),
            say("One planet is in, the others wait. Do they fit at equal spacing? Will neighbours touch?"),
            (
                Number("S", say("Sun teeth S"), "", Fraction(17), Fraction(60), Fraction(1), Fraction(28)),
                Number("P", say("Planet teeth P"), "", Fraction(14), Fraction(40), Fraction(1), Fraction(19)),
                Number("N", say("Planets N"), "", Fraction(2), Fraction(7), Fraction(1), Fraction(4)),
                Number("module", say("Module"), "mm", Fraction(1, 2), Fraction(4), Fraction(1, 4), Fraction(2)),
            ),
        )

    def case(self, setup: Setup) -> str:
        """Return the number of planets; tooth counts may be changed while the case is open."""
        return say("{number} planets", number=int(setup.number("N")))

    def asks(self, setup: Setup) -> tuple[Ask, ...]:
        """Return the two questions."""
        return (
            Ask("spacing", say("All {number} go in at equal spacing", number=int(setup.number("N"))), (YES, NO)),
            Ask("touch", say("Neighbours touch"), (YES, NO)),
        )

    def given(self, setup: Setup) -> Scene:
        """Return the set with one planet in its place."""
        S, P, N = self._counts(setup)
        R = S + 2 * P
        words = say(
            "Sun {s}, planets {p}, ring {r} teeth (R = S + 2P), module {number} mm; {n} planets are to go in.",
            s=S,
            p=P,
            r=R,
            number=decimal(setup.number("module")),
            n=N,
        )
        return Scene(words, (), (front_view.picture(PlanetarySet("P1", sun_teeth=S, ring_teeth=R, planets=1)).svg(),))

    def truth(self, setup: Setup) -> dict[str, Fraction | str]:
        """Return whether they fit, and whether they touch."""
        S, P, N = self._counts(setup)
        fit = assembly(S, P, S + 2 * P, N)
        return {"spacing": YES if fit.equal_spacing else NO, "touch": NO if fit.neighbours else YES}

    def found(self, setup: Setup) -> Scene:
        """Return the set with its planets in, where each can stand, and the gaps."""
        S, P, N = self._counts(setup)
        R = S + 2 * P
        truth = self.truth(setup)
        quotient = Fraction(S + R, N)
        gap = float(setup.number("module")) * ((S + P) * sin(pi / N) - (P + 2))
        whole = say("whole") if quotient.denominator == 1 else say("not whole")
        fits = say("the planets fit at equal spacing") if truth["spacing"] == YES else (
            say("the planets do not fit at equal spacing; drawn in the nearest places that do"))  # fmt: skip
        room = (
            say("tips are {gap} mm apart", gap=fixed(gap, 2))
            if gap > 0
            else say("tips would overlap by {value} mm", value=fixed(-gap, 2))
        )
        words = say(
            "(S + R)/N = {s}/{n} = {quotient}, {whole}: {fits}. At equal spacing {room}.",
            s=S + R,
            n=N,
            quotient=decimal(quotient, 2),
            whole=whole,
            fits=fits,
            room=room,
        )
        picture = front_view.picture(PlanetarySet("P1", sun_teeth=S, ring_teeth=R, planets=N)).svg()
        return Scene(words.replace("-", "−"), (self._places(S, R, N),), (picture,))

    def _counts(self, setup: Setup) -> tuple[int, int, int]:
        return int(setup.number("S")), int(setup.number("P")), int(setup.number("N"))

    def _places(self, S: int, R: int, N: int) -> Table:
        """Where each planet would stand, and the nearest place where its teeth fit; half a place off is the worst."""
        rows = []
        for number, angle in enumerate(places(N, S + R)):
            wanted = Fraction(2 * _HALF_TURN * number, N)
            fitting = (angle + pi / 2) * _HALF_TURN / pi
            off = (wanted - round(Fraction(number * (S + R), N)) * Fraction(2 * _HALF_TURN, S + R)) * Fraction(
                S + R, 2 * _HALF_TURN
            )
            told = say("fits") if not off else say("off by {off} of a place", off=decimal(abs(off), 2))
            rows.append((str(number + 1), f"{decimal(wanted, 2)}°", f"{decimal(fitting, 2)}°", told))
        caption = say(
            "Places where a planet drops in are 360°/(S + R) = {fraction}° apart", fraction=decimal(Fraction(360, S + R), 3)
        )
        return Table(caption, (say("Planet"), say("Equal spacing"), say("Nearest place"), ""), tuple(rows))
