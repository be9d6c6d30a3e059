"""The panel of one planetary set: free to explore, or shut until something was predicted."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import traitlets

from gearkit.draw.front import front_view
from gearkit.lesson import one_set
from gearkit.lesson.one_set import NONE, Outcome, Roles
from gearkit.lesson.panels.bundle import script
from gearkit.lesson.panels.gated import GatedPanel
from gearkit.text.phrases import AND, decimal
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import said, say
from gearkit.words.terms import MEMBERS, Verdict

RANGES = "ranges"
SPEEDS = "speeds"
DIRECTIONS = ("forward", "stopped", "reverse")
_EXACT_CASES = ("direct", Verdict.NEUTRAL, Verdict.TIE_UP, "stopped")


class OneSetPanel(GatedPanel):
    """Tooth counts, roles and speeds of one set; every trait can be read and set from Python.

    In mode "ranges" a member drives, one may be held, two may be joined; in mode "speeds" two speeds are given and the
    third follows. With ``gated`` the result of a case stays hidden until a prediction was made for it.
    """

    _esm = script("one_set")
    mode = traitlets.Enum((RANGES, SPEEDS), RANGES).tag(sync=True)
    sun = traitlets.Int(36, min=12, max=90).tag(sync=True)
    planet = traitlets.Int(21, min=10, max=60).tag(sync=True)
    planets = traitlets.Int(3, min=2, max=6).tag(sync=True)
    drive = traitlets.Enum(MEMBERS, "sun").tag(sync=True)
    hold = traitlets.Enum((*MEMBERS, NONE), "ring").tag(sync=True)
    driven = traitlets.Enum(MEMBERS, "carrier").tag(sync=True)
    joined = traitlets.Enum(one_set.JOINS, NONE).tag(sync=True)
    given = traitlets.Enum(MEMBERS, "ring").tag(sync=True)
    input_speed = traitlets.Int(1000, min=-3000, max=3000).tag(sync=True)
    second_speed = traitlets.Int(0, min=-3000, max=3000).tag(sync=True)

    @traitlets.observe("mode", "drive", "hold", "driven", "given")  # type: ignore[untyped-decorator]  # traitlets are seen without types
    def _one_role_each(self, change: Any) -> None:
        """Let a member have one role at a time: who held the role that was given away takes a member that is left."""
        roles = ("drive", "given") if self.mode == SPEEDS else ("drive", "hold", "driven")
        kept = change["name"] if change["name"] in roles else roles[0]
        for role in roles:
            others = [getattr(self, other) for other in roles if other != role]
            if role != kept and getattr(self, role) in others:
                left = [member for member in MEMBERS if member not in others and member != getattr(self, kept)]
                setattr(self, role, change["old"] if change["old"] in left else left[0])

    @property
    def ring(self) -> int:
        """Ring teeth, which follow from the diameters: R = S + 2P."""
        return int(self.sun + 2 * self.planet)

    @property
    def pset(self) -> PlanetarySet:
        """The set with its present tooth counts."""
        return PlanetarySet("P1", sun_teeth=self.sun, ring_teeth=self.ring, planets=self.planets)

    def case_words(self) -> str:
        """Return the case at hand; a prediction is made for it and opens it."""
        if self.mode == SPEEDS:
            return say("{drive} and {given} given", drive=self.drive, given=self.given)
        joined = (
            "" if self.joined == NONE else say(", {join} joined", join=f" {say(AND)} ".join(map(said, self.joined.split())))
        )
        return (
            say("{drive} in, nothing held, {driven} out{joined}", drive=self.drive, driven=self.driven, joined=joined)
            if self.hold == NONE
            else say(
                "{drive} in, {hold} held, {driven} out{joined}",
                drive=self.drive,
                hold=self.hold,
                driven=self.driven,
                joined=joined,
            )
        )

    @property
    def figure_unit(self) -> str:
        """Speeds are predicted in r/min, ratios without a unit."""
        return "r/min" if self.mode == SPEEDS else ""

    def kinds(self) -> tuple[str, ...]:
        """Return the cases, or the directions where speeds are given."""
        return DIRECTIONS if self.mode == SPEEDS else one_set.CASE_WORDS

    def needs_figure(self, kind: str) -> bool:
        """Return whether a ratio or a speed has to be said besides."""
        return kind not in _EXACT_CASES

    def facts(self) -> dict[str, object]:
        """Return tooth counts and speeds."""
        facts: dict[str, object] = {"sun": self.sun, "planet": self.planet, "input_speed": self.input_speed}
        return {**facts, "second_speed": self.second_speed} if self.mode == SPEEDS else facts

    def outcome(self) -> Outcome:
        """Return what the set does in mode "ranges".

        Raises:
            UsageError: the result is still shut; predict first.
        """
        self.only_open()
        return self._outcome()

    def third(self) -> tuple[str, Fraction]:
        """Return the member whose speed follows in mode "speeds", and its speed in r/min.

        Raises:
            UsageError: the result is still shut; predict first.
        """
        self.only_open()
        return self._third()

    def words(self) -> str:
        """Return in a sentence what the panel shows now."""
        teeth = say("Sun {sun}, planets {planet}, ring {ring} teeth.", sun=self.sun, planet=self.planet, ring=self.ring)
        if self.mode == SPEEDS:
            start = say(
                "{teeth} {drive} at {input_speed} r/min, {given} at {second_speed} r/min",
                teeth=teeth,
                drive=self.drive,
                input_speed=self.input_speed,
                given=self.given,
                second_speed=self.second_speed,
            )
            if not self.is_open:
                return say("{start}. Predict the third speed to see it.", start=start)
            member, speed = self._third()
            return say("{start}: {member} at {speed} r/min.", start=start, member=member, speed=decimal(speed, 1))
        held = say("nothing held") if self.hold == NONE else say("{hold} held", hold=self.hold)
        joined = (
            "" if self.joined == NONE else say(", {join} joined", join=f" {say(AND)} ".join(map(said, self.joined.split())))
        )
        start = say("{teeth} {drive} drives, {held}{joined}", teeth=teeth, drive=self.drive, held=held, joined=joined)
        if not self.is_open:
            return say("{start}. Predict what the {driven} does to see it.", start=start, driven=self.driven)
        outcome = self._outcome()
        ratio = "" if outcome.ratio is None else say(", ratio {ratio}", ratio=outcome.ratio).replace("-", "−")
        return f"{start}: {say(outcome.word)}{ratio}."

    def pictures(self) -> tuple[str, ...]:
        """Return the front view; without speeds while the result is shut."""
        if not self.is_open:
            return (front_view.picture(self.pset).svg(),)
        if self.mode == SPEEDS:
            third, speed = self._third()
            known = {self.drive: Fraction(self.input_speed), self.given: Fraction(self.second_speed), third: speed}
            largest = max(abs(value) for value in known.values()) or Fraction(1)
            return (front_view.picture(self.pset, {member: value / largest for member, value in known.items()}).svg(),)
        return (front_view.picture(self.pset, self._outcome().speeds).svg(),)

    def _outcome(self) -> Outcome:
        return one_set.outcome(self.pset, Roles(self.drive, self.hold, self.driven, self.joined))

    def _third(self) -> tuple[str, Fraction]:
        return one_set.third_speed(self.pset, {
            self.drive: Fraction(self.input_speed), self.given: Fraction(self.second_speed),
        })  # fmt: skip

    def found(self) -> dict[str, str]:
        """Return the case and its ratio, or the third member's direction and speed."""
        if self.mode == SPEEDS:
            member, speed = self._third()
            kind = DIRECTIONS[1 - (speed > 0) + (speed < 0)]
            return {"kind": f"{member} {kind}", "figure": str(speed)}
        outcome = self._outcome()
        return {"kind": outcome.word, "figure": "" if outcome.verdict is not Verdict.RANGE else str(outcome.ratio)}
