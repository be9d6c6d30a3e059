"""One planetary set: its tooth counts and the one speed equation it obeys.

Seen from the carrier a set is a plain gear train, so ``w_sun - w_carrier = i0 * (w_ring - w_carrier)`` with the basic
ratio i0. Cleared of fractions that is ``a*w_sun + b*w_ring = (a + b)*w_carrier`` with whole numbers a and b, the set's
*weights*. Every kind of set in the kit differs from the others only in its weights.

Nothing here knows about clutches, ranges or drawings.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from gearkit.words.errors import Fault, LayoutError
from gearkit.words.terms import RESERVED_SHAFTS, PinionKind

_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,23}")
MOST_TEETH = 10_000
MOST_PLANETS = 24


@dataclass(frozen=True)
class PlanetarySet:
    """One planetary set with its tooth counts, checked when built.

    A double-pinion set has pinions in meshing pairs, a stepped set two pinions of different size on one pin, a bevel
    set two equal side gears (called sun and ring here) and pinions across the axis.

    Args:
        name: the set's name, such as "P1".
        pinions: how the planet pinions sit between sun and ring.
        sun_teeth: tooth count of the sun; None where only the quotient is known, or for a bevel set.
        ring_teeth: tooth count of the ring; None as above.
        ring_to_sun: quotient ring / sun, given instead of the two tooth counts.
        planets: pinions (pairs, for double) on the carrier.
        sun_pinion_teeth: stepped set, the pinion that meshes with the sun; double set, the inner pinion.
        ring_pinion_teeth: stepped set, the pinion that meshes with the ring; double set, the outer pinion.
        basic_efficiency: efficiency between sun and ring with the carrier held, above 0 and at most 1.
        own_planet_teeth: single set, the planet's count where it is not (ring - sun)/2, as profile shift allows.

    Raises:
        LayoutError: a count is missing, out of place or impossible; all faults of the set together.

    >>> PlanetarySet("P1", sun_teeth=30, ring_teeth=66).weights
    (30, 66)
    >>> PlanetarySet("P1", sun_teeth=30, ring_teeth=66).basic_ratio
    Fraction(-11, 5)
    """

    name: str
    pinions: PinionKind = PinionKind.SINGLE
    sun_teeth: int | None = None
    ring_teeth: int | None = None
    ring_to_sun: Fraction | None = None
    planets: int | None = None
    sun_pinion_teeth: int | None = None
    ring_pinion_teeth: int | None = None
    basic_efficiency: Fraction | None = None
    own_planet_teeth: int | None = None

    def __post_init__(self) -> None:
        faults = tuple(_faults_of(self))
        if faults:
            raise LayoutError(faults)

    @property
    def quotient(self) -> Fraction:
        """Ring teeth / sun teeth; 1 for a bevel set."""
        if self.pinions is PinionKind.BEVEL:
            return Fraction(1)
        if self.ring_to_sun is not None:
            return self.ring_to_sun
        assert self.sun_teeth is not None
        assert self.ring_teeth is not None
        return Fraction(self.ring_teeth, self.sun_teeth)

    @property
    def teeth(self) -> tuple[int, int]:
        """Sun and ring as whole numbers in the right proportion: the tooth counts where they are known."""
        if self.sun_teeth is not None and self.ring_teeth is not None:
            return self.sun_teeth, self.ring_teeth
        return self.quotient.denominator, self.quotient.numerator

    @property
    def weights(self) -> tuple[int, int]:
        """Whole numbers (a, b) with a*w_sun + b*w_ring = (a + b)*w_carrier."""
        sun, ring = self.teeth
        match self.pinions:
            case PinionKind.SINGLE:
                return sun, ring
            case PinionKind.DOUBLE:
                # The second pinion of a meshing pair turns the reversal of the single set round again.
                return -sun, ring
            case PinionKind.STEPPED:
                assert self.sun_pinion_teeth is not None
                assert self.ring_pinion_teeth is not None
                return sun * self.ring_pinion_teeth, ring * self.sun_pinion_teeth
            case PinionKind.BEVEL:
                return 1, 1

    @property
    def basic_ratio(self) -> Fraction:
        """Ratio sun speed / ring speed with the carrier held."""
        sun_weight, ring_weight = self.weights
        return Fraction(-ring_weight, sun_weight)

    @property
    def planet_teeth(self) -> Fraction | None:
        """Tooth count of the pinion of a single-pinion set: its own, else (ring - sun)/2 from the diameters; None elsewhere.

        Half a tooth too many means that the set is made with profile shift.
        """
        if self.own_planet_teeth is not None:
            return Fraction(self.own_planet_teeth)
        if self.pinions is PinionKind.SINGLE and self.sun_teeth is not None and self.ring_teeth is not None:
            return Fraction(self.ring_teeth - self.sun_teeth, 2)
        return None

    def spins(self) -> dict[str, Fraction]:
        """Turns of each pinion, relative to the carrier, for one turn of the sun relative to the carrier.

        >>> PlanetarySet("P1", sun_teeth=32, ring_teeth=72).spins()
        {'planet': Fraction(-8, 5)}
        """
        match self.pinions:
            case PinionKind.SINGLE if self.own_planet_teeth is not None:
                assert self.sun_teeth is not None
                return {"planet": Fraction(-self.sun_teeth, self.own_planet_teeth)}
            case PinionKind.SINGLE:
                # S/P with P = (R - S)/2 needs the quotient only.
                return {"planet": Fraction(-2) / (self.quotient - 1)}
            case PinionKind.STEPPED:
                assert self.sun_teeth is not None
                assert self.sun_pinion_teeth is not None
                return {"planet": Fraction(-self.sun_teeth, self.sun_pinion_teeth)}
            case PinionKind.DOUBLE:
                if self.sun_pinion_teeth is None or self.ring_pinion_teeth is None or self.sun_teeth is None:
                    return {}
                inner = Fraction(-self.sun_teeth, self.sun_pinion_teeth)
                return {
                    "inner_pinion": inner,
                    "outer_pinion": -inner * Fraction(self.sun_pinion_teeth, self.ring_pinion_teeth),
                }
            case PinionKind.BEVEL:
                # A bevel pinion turns across the axis: its spin has no sign in the input's sense.
                return {}


def _faults_of(pset: PlanetarySet) -> list[Fault]:
    faults: list[Fault] = []

    def fault(key: str, value: object, expected: str) -> None:
        faults.append(Fault("", None, f'set "{pset.name}".{key}', _shown(value), expected))

    if not _NAME.fullmatch(pset.name) or pset.name in RESERVED_SHAFTS:
        fault("name", pset.name, 'a letter followed by letters (A to Z), digits, "_" or "-", up to 24, such as "P1"')
    counts = {"sun": pset.sun_teeth, "ring": pset.ring_teeth}
    pinion_counts = {
        "sun_pinion": pset.sun_pinion_teeth, "ring_pinion": pset.ring_pinion_teeth, "planet": pset.own_planet_teeth,
    }  # fmt: skip
    for key, value in {**counts, **pinion_counts}.items():
        if value is not None and not _is_count(value, MOST_TEETH):
            fault(key, value, f"a whole tooth count from 1 to {MOST_TEETH}")
    if pset.planets is not None and not _is_count(pset.planets, MOST_PLANETS):
        fault("planets", pset.planets, f"a whole number from 1 to {MOST_PLANETS}")
    for key, quotient in {"ring_to_sun": pset.ring_to_sun, "basic_efficiency": pset.basic_efficiency}.items():
        # A float is refused here: 2.2 is not 11/5, and whatever follows is exact.
        if quotient is not None and not isinstance(quotient, Fraction | int):
            fault(key, quotient, 'an exact number, such as Fraction("11/5")')
    if faults:
        return faults
    if pset.ring_to_sun is not None and pset.ring_to_sun > MOST_TEETH:
        fault("ring_to_sun", pset.ring_to_sun, f"at most {MOST_TEETH}")
    if pset.basic_efficiency is not None and not 0 < pset.basic_efficiency <= 1:
        fault("basic_efficiency", pset.basic_efficiency, "a number above 0 and at most 1, such as 0.98")
    faults += _proportion_faults(pset)
    faults += _pinion_faults(pset)
    return faults or _planet_faults(pset)


def _is_count(value: object, most: int) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= most


def _proportion_faults(pset: PlanetarySet) -> list[Fault]:
    where = f'set "{pset.name}"'
    sun, ring, quotient = pset.sun_teeth, pset.ring_teeth, pset.ring_to_sun
    if pset.pinions is PinionKind.BEVEL:
        if quotient not in (None, 1):
            return [Fault("", None, f"{where}.ring_to_sun", _shown(quotient), "no entry: side gears are equal")]
        if sun != ring:
            return [
                Fault(
                    "",
                    None,
                    f"{where}.ring",
                    _shown(ring),
                    f"the same count as sun ({_shown(sun)}): the side gears of a bevel set are equal",
                )
            ]
        return []
    if quotient is not None:
        if sun is not None or ring is not None:
            return [Fault("", None, f"{where}.ring_to_sun", _shown(quotient), "either sun and ring, or ring_to_sun, not both")]
        if pset.pinions is PinionKind.STEPPED:
            return [
                Fault(
                    "",
                    None,
                    f"{where}.ring_to_sun",
                    _shown(quotient),
                    "sun, sun_pinion, ring_pinion and ring for a stepped set",
                )
            ]
        if quotient <= 1:
            return [
                Fault(
                    "",
                    None,
                    f"{where}.ring_to_sun",
                    _shown(quotient),
                    "more than 1: the ring is larger than the sun; is the quotient upside down?",
                )
            ]
        return []
    missing = [key for key, value in (("sun", sun), ("ring", ring)) if value is None]
    if missing:
        return [
            Fault("", None, f"{where}.{key}", "nothing", "a whole tooth count, or ring_to_sun instead of sun and ring")
            for key in missing
        ]
    assert sun is not None
    assert ring is not None
    if ring <= sun:
        return [Fault("", None, f"{where}.ring", str(ring), f"more than the sun's {sun} teeth; are the two counts swapped?")]
    return []


def _pinion_faults(pset: PlanetarySet) -> list[Fault]:
    where = f'set "{pset.name}"'
    counts = {"sun_pinion": pset.sun_pinion_teeth, "ring_pinion": pset.ring_pinion_teeth}
    match pset.pinions:
        case PinionKind.STEPPED:
            return [
                Fault("", None, f"{where}.{key}", "nothing", "the whole tooth count of that pinion of the stepped planet")
                for key, value in counts.items()
                if value is None
            ]
        case PinionKind.DOUBLE:
            if (pset.sun_pinion_teeth is None) != (pset.ring_pinion_teeth is None):
                return [
                    Fault("", None, f"{where}.{key}", "nothing", "both pinions of the pair, or neither")
                    for key, value in counts.items()
                    if value is None
                ]
            return []
        case _:
            return [
                Fault(
                    "",
                    None,
                    f"{where}.{key}",
                    str(value),
                    f"no entry for pinions = {pset.pinions.value!r}; is the set stepped or double?",
                )
                for key, value in counts.items()
                if value is not None
            ]


def _planet_faults(pset: PlanetarySet) -> list[Fault]:
    """The planet's own count: of a single set with its two counts, and near what the diameters ask for."""
    own = pset.own_planet_teeth
    if own is None:
        return []
    if pset.pinions is not PinionKind.SINGLE:
        expected = f"no entry for pinions = {pset.pinions.value!r}; it has sun_pinion and ring_pinion, or none"
    elif pset.sun_teeth is None or pset.ring_teeth is None:
        expected = "sun and ring beside it, instead of ring_to_sun"
    else:
        half = Fraction(pset.ring_teeth - pset.sun_teeth, 2)
        # Profile shift makes up for a tooth or two; more than that is a slip of the pen.
        if abs(own - half) <= max(Fraction(2), half / 10):
            return []
        expected = f"a count near (ring - sun)/2 = {half}: profile shift makes up for two teeth, or one in ten"
    return [Fault("", None, f'set "{pset.name}".planet', str(own), expected)]


def _shown(value: object) -> str:
    return "nothing" if value is None else repr(value) if isinstance(value, str) else str(value)
