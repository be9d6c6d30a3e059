"""The tooth-count panel: whether the gears of one set go together, the ratios they give, and the set seen from the front."""

from __future__ import annotations

from fractions import Fraction
from itertools import permutations
from typing import Any

import traitlets

from gearkit.draw.front import front_view
from gearkit.lesson.one_set import Roles, outcome
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.bundle import script
from gearkit.solve.teeth.assembly import assembly, pairs_assembly
from gearkit.text.phrases import listed
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say
from gearkit.words.terms import MEMBERS, PinionKind

KINDS = (PinionKind.SINGLE.value, PinionKind.DOUBLE.value)


class TeethPanel(Panel):
    """Tooth counts and number of planets in; conditions, ratios and the picture out. Traits can be set from Python.

    While ``ring_follows`` is on, the ring of a single set has S + 2P teeth whatever it was given.
    """

    _esm = script("teeth_panel")
    pinions = traitlets.Enum(KINDS, KINDS[0]).tag(sync=True)
    sun = traitlets.Int(30, min=12, max=90).tag(sync=True)
    planet = traitlets.Int(24, min=10, max=60).tag(sync=True)
    ring = traitlets.Int(78, min=30, max=210).tag(sync=True)
    planets = traitlets.Int(5, min=2, max=8).tag(sync=True)
    ring_follows = traitlets.Bool(True).tag(sync=True)

    def __init__(self, **traits: Any) -> None:
        super().__init__(**traits)
        self._follow()
        self.observe(self._follow, ["pinions", "sun", "planet", "ring", "ring_follows"])

    def _follow(self, _change: Any = None) -> None:
        if self.ring_follows and self.pinions == PinionKind.SINGLE:
            self.ring = self.sun + 2 * self.planet

    def checks(self) -> dict[str, bool]:
        """Return which conditions are met, by name."""
        if self.pinions == PinionKind.DOUBLE:
            pairs = pairs_assembly(self.sun, self.planet, self.ring, self.planets)
            return {later("Pair reaches"): pairs.reaches, later("Pair has room"): pairs.room, later("Equal spacing"): pairs.equal_spacing,
                    later("Neighbours clear"): pairs.neighbours}  # fmt: skip
        fit = assembly(self.sun, self.planet, self.ring, self.planets)
        return {later("Teeth meet"): fit.coaxial, "Equal spacing": fit.equal_spacing, "Neighbours clear": fit.neighbours}

    @property
    def goes_together(self) -> bool:
        """Every condition is met."""
        return all(self.checks().values())

    @property
    def pset(self) -> PlanetarySet:
        """The set with its present counts.

        Raises:
            UsageError: there is no such set, because its ring is no larger than its sun.
        """
        if self.ring <= self.sun:
            raise UsageError(f"Ring {self.ring}, sun {self.sun}: a ring has more teeth than the sun in it.")
        pair = self.planet if self.pinions == PinionKind.DOUBLE else None
        return PlanetarySet(
            "P1", PinionKind(self.pinions), self.sun, self.ring, planets=self.planets, sun_pinion_teeth=pair,
            ring_pinion_teeth=pair,
        )  # fmt: skip

    def ratios(self) -> dict[tuple[str, str], Fraction]:
        """Return the six ratios: (member that drives, member that is driven) -> ratio, the third member held."""
        ratios = {}
        for drives, driven in permutations(MEMBERS, 2):
            held = next(member for member in MEMBERS if member not in (drives, driven))
            ratio = outcome(self.pset, Roles(drives, held, driven)).ratio
            assert ratio is not None, "one member held leaves one freedom"
            ratios[drives, driven] = ratio
        return ratios

    def words(self) -> str:
        """Return in a sentence whether the gears go together."""
        what = (
            say("{planets} planets of {planet}", planets=self.planets, planet=self.planet)
            if self.pinions == PinionKind.SINGLE
            else say("{planets} pairs of planets of {planet}", planets=self.planets, planet=self.planet)
        )
        start = say("Sun {sun}, {what}, ring {ring}", sun=self.sun, what=what, ring=self.ring)
        missed = [say(name).lower() for name, met in self.checks().items() if not met]
        if missed:
            return say("{start}: does not go together as it stands; not met: {missed}.", start=start, missed=listed(missed))
        return say("{start}: goes together, planets at equal spacing.", start=start)

    def pictures(self) -> tuple[str, ...]:
        """Return the front view; a set whose gears do not reach each other has none."""
        reach = self.checks()
        together = reach.get("Teeth meet", True) and reach.get("Pair reaches", True) and reach.get("Pair has room", True)
        return (front_view.picture(self.pset).svg(),) if together else ()
