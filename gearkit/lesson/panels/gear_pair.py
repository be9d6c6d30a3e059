"""The panel of a gear pair, with idlers if wanted: free to explore, or shut until something was predicted."""

from __future__ import annotations

from fractions import Fraction

import traitlets

from gearkit.lesson.gear_row import ROOM_IN_RING, GearRow
from gearkit.lesson.panels.bundle import script
from gearkit.lesson.panels.gated import GatedPanel
from gearkit.text.phrases import decimal
from gearkit.words.say import later, say

MESHES = ("external", "internal")
DIRECTIONS = ("forward", "reverse")


class GearPairPanel(GatedPanel):
    """Tooth counts, mesh, idlers and input speed in; the turning gears and the output's speed out."""

    _esm = script("gear_pair")
    driver = traitlets.Int(18, min=12, max=40).tag(sync=True)
    driven = traitlets.Int(45, min=12, max=90).tag(sync=True)
    idlers = traitlets.Int(0, min=0, max=2).tag(sync=True)
    idler_teeth = traitlets.Int(20, min=12, max=40).tag(sync=True)
    mesh = traitlets.Enum(MESHES, "external").tag(sync=True)
    input_speed = traitlets.Int(60, min=0, max=3000).tag(sync=True)

    @property
    def row(self) -> GearRow:
        """The gears as they stand."""
        return GearRow((self.driver, *[self.idler_teeth] * self.idlers, self.driven), self.mesh == "internal")

    def case_words(self) -> str:
        """Return the case at hand: mesh and idlers; other tooth counts do not shut an open case."""
        between = {0: say("no idler"), 1: say("one idler"), 2: say("two idlers")}[self.idlers]
        return (
            say("external mesh, {idlers}", idlers=between)
            if self.mesh == "external"
            else say("internal mesh, {idlers}", idlers=between)
        )

    @property
    def figure_unit(self) -> str:
        """Speeds are predicted in r/min."""
        return "r/min"

    def kinds(self) -> tuple[str, ...]:
        """Return the two directions."""
        return DIRECTIONS

    def needs_figure(self, kind: str) -> bool:
        """Return True: a speed is asked with either direction."""
        return kind in DIRECTIONS

    def facts(self) -> dict[str, object]:
        """Return tooth counts and input speed."""
        return {
            "teeth": [self.driver, *[self.idler_teeth] * self.idlers, self.driven],
            "internal": self.mesh == "internal",
            "input_speed": self.input_speed,
        }

    def found(self) -> dict[str, str]:
        """Return direction and speed of the last gear."""
        if not self._fits():
            return {"kind": later("does not fit"), "figure": ""}
        speed = self._speed()
        return {"kind": "forward" if speed > 0 else "reverse", "figure": str(abs(speed))}

    def output_speed(self) -> Fraction:
        """Return the speed of the last gear in r/min, with its sign.

        Raises:
            UsageError: the result is still shut; predict first.
        """
        self.only_open()
        return self._speed()

    def words(self) -> str:
        """Return in a sentence what the panel shows now."""
        start = say(
            "{driver} teeth drive {driven}, {case}, input {input_speed} r/min",
            driver=self.driver,
            driven=self.driven,
            case=self.case_words(),
            input_speed=self.input_speed,
        )
        if not self._fits():
            return say(
                "{start}: a ring round {inner} teeth needs at least {inner2}.",
                start=start,
                inner=self._inner,
                inner2=self._inner + ROOM_IN_RING,
            )
        if not self.is_open:
            return say("{start}. Predict how the last gear turns to see it.", start=start)
        return say(
            "{start}: output {speed} r/min, ratio {ratio}.", start=start, speed=decimal(self._speed(), 1), ratio=self.row.ratio
        ).replace("-", "−")

    def pictures(self) -> tuple[str, ...]:
        """Return the row of gears; an unfitting ring is not drawn."""
        return (self.row.draw(),) if self._fits() else ()

    @property
    def _inner(self) -> int:
        return int(self.idler_teeth if self.idlers else self.driver)

    def _fits(self) -> bool:
        return bool(self.mesh == "external" or self.driven >= self._inner + ROOM_IN_RING)

    def _speed(self) -> Fraction:
        return Fraction(self.input_speed) * self.row.turns[-1]
