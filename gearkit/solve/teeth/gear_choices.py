"""Which tooth counts a set may have: within limits, and such that the set goes together.

A single-pinion set must meet all three conditions of `assembly`. A double-pinion set must have (R - S)/N whole for N
equally spaced pinion pairs (common practice, no source), and room for a pair of equal pinions: together they span from sun
to ring, 4*P >= R - S, and neither reaches across, 2*P < R - S - 4. Whether neighbouring pairs clear each other depends on
how the pair is set, and is not checked.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from math import pi, sin

from gearkit.solve.teeth.assembly import assembly
from gearkit.text.phrases import decimal, listed
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import UsageError
from gearkit.words.terms import PinionKind

SEARCHED = (PinionKind.SINGLE, PinionKind.DOUBLE)


@dataclass(frozen=True)
class Limits:
    """What tooth counts may be, for one set.

    Args:
        sun: fewest and most teeth of the sun.
        pinion: fewest and most teeth of a pinion.
        ring: fewest and most teeth of the ring.
        planets: numbers of pinions (pairs) allowed.
        tip_gap: least gap between the tips of neighbouring pinions, in modules.

    Raises:
        UsageError: a range that is empty or below 3 teeth, no number of pinions, or a gap below 0.
    """

    sun: tuple[int, int] = (24, 60)
    pinion: tuple[int, int] = (17, 36)
    ring: tuple[int, int] = (30, 99)
    planets: tuple[int, ...] = (3, 4, 5)
    tip_gap: Fraction = Fraction(0)

    def __str__(self) -> str:
        pairs = [f"{name} {low} to {high}" for name in ("sun", "pinion", "ring") for low, high in [getattr(self, name)]]
        gap = f" and a tip gap of at least {decimal(self.tip_gap)} modules" if self.tip_gap else ""
        return f"{', '.join(pairs)} teeth, {listed(map(str, self.planets), 'or')} planets{gap}"

    def __post_init__(self) -> None:
        for name in ("sun", "pinion", "ring"):
            low, high = getattr(self, name)
            if not 3 <= low <= high <= 400:
                raise UsageError(f"Limits: {name} {low} to {high}; give fewest and most teeth, from 3 to 400.")
        if not self.planets or any(not 2 <= number <= 12 for number in self.planets):
            raise UsageError(f"Limits: planets {list(self.planets)}; give numbers of pinions from 2 to 12.")
        if self.tip_gap < 0:
            raise UsageError(f"Limits: tip gap {self.tip_gap}; give 0 or more, in modules.")


@dataclass(frozen=True)
class GearChoice:
    """Tooth counts of one set.

    Args:
        sun: teeth of the sun.
        pinion: teeth of each pinion; for a double set the fewest that fit as equal pinions.
        ring: teeth of the ring.
        planets: number of pinions (pairs).
    """

    sun: int
    pinion: int
    ring: int
    planets: int

    @property
    def quotient(self) -> Fraction:
        """Ring teeth / sun teeth."""
        return Fraction(self.ring, self.sun)

    def tip_gap(self) -> float:
        """Return the gap between the tips of neighbouring pinions of a single set, in modules."""
        return (self.sun + self.pinion) * sin(pi / self.planets) - (self.pinion + 2)

    def built_into(self, pset: PlanetarySet) -> PlanetarySet:
        """Return a set with these tooth counts."""
        return replace(
            pset,
            sun_teeth=self.sun,
            ring_teeth=self.ring,
            ring_to_sun=None,
            planets=self.planets,
            sun_pinion_teeth=None,
            ring_pinion_teeth=None,
        )


def choices(kind: PinionKind, limits: Limits) -> dict[Fraction, tuple[GearChoice, ...]]:
    """Return every choice of tooth counts within limits, by quotient ring / sun, rising; smallest ring first.

    Args:
        kind: single or double.
        limits: what the counts may be.

    Raises:
        UsageError: no tooth counts meet the limits, or a kind that is not searched.
    """
    if kind not in SEARCHED:
        raise UsageError(f"Tooth counts of a {kind} set are not searched; name it under 'fixed'.")
    makers = {PinionKind.SINGLE: _single, PinionKind.DOUBLE: _double}
    by_quotient: dict[Fraction, list[GearChoice]] = {}
    for choice in makers[kind](limits):
        by_quotient.setdefault(choice.quotient, []).append(choice)
    if not by_quotient:
        raise UsageError(f"No {kind} set meets the limits: {limits}. {_why_none(kind, limits)}")
    for alike in by_quotient.values():
        alike.sort(key=lambda choice: (choice.ring, -choice.planets))
    return {quotient: tuple(by_quotient[quotient]) for quotient in sorted(by_quotient)}


def _why_none(kind: PinionKind, limits: Limits) -> str:
    """Which limits contradict each other, as far as the ring's size says it."""
    if kind is PinionKind.SINGLE:
        least, most = (limits.sun[end] + 2 * limits.pinion[end] for end in (0, 1))
        if limits.ring[1] < least:
            return f"Sun and pinion alone need a ring of at least {least} teeth: raise the ring's limit, or lower theirs."
        if limits.ring[0] > most:
            return f"Sun and pinion give a ring of at most {most} teeth: lower the ring's limit, or raise theirs."
    return "Allow more teeth, or other numbers of planets."


def _single(limits: Limits) -> Iterable[GearChoice]:
    for sun in range(limits.sun[0], limits.sun[1] + 1):
        for pinion in range(limits.pinion[0], limits.pinion[1] + 1):
            ring = sun + 2 * pinion
            if not limits.ring[0] <= ring <= limits.ring[1]:
                continue
            for planets in limits.planets:
                fits = assembly(sun, pinion, ring, planets)
                choice = GearChoice(sun, pinion, ring, planets)
                # The sine is irrational but for two numbers of pinions, so only a stated gap needs the decimal test.
                clear = fits.neighbours and (not limits.tip_gap or choice.tip_gap() >= limits.tip_gap)
                if fits.equal_spacing and clear:
                    yield choice


def _double(limits: Limits) -> Iterable[GearChoice]:
    for sun in range(limits.sun[0], limits.sun[1] + 1):
        for ring in range(max(limits.ring[0], sun + 1), limits.ring[1] + 1):
            across = ring - sun
            pinion = max(limits.pinion[0], -(-across // 4))
            if pinion > limits.pinion[1] or 2 * pinion >= across - 4:
                continue
            for planets in limits.planets:
                if across % planets == 0:
                    yield GearChoice(sun, pinion, ring, planets)
