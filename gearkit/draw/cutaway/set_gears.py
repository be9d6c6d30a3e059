"""The gears of each seat before they get a size: teeth, pinions and where they sit, in modules of the seat's sun gears.

Angles are those of the front view: radians, 0 to the right as seen from the input end, growing in the input's sense. What
turns how fast about its pin is exact: turns relative to the carrier for one turn of the sun relative to the carrier.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction

from gearkit.draw.front.front_geometry import Gear, arrange, external_mesh, internal_mesh, places
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import say
from gearkit.words.terms import PinionKind

TIP, ROOT = 1.0, 1.25
DEFAULT_PLANETS = 3
# Outer pinions tried for a pair whose counts the layout leaves open, and inner ones for any pair.
_OUTER, _INNER = range(12, 40), range(11, 40)
# Of a bevel gear the teeth reach in to this share of its outer size.
BEVEL_DEPTH = 0.62
_BEVEL_CAGE = 2.5


@dataclass(frozen=True)
class Pinion:
    """One planet pinion.

    Args:
        owner: number of the set whose sun drives it.
        teeth: tooth count.
        module: size of its teeth, in modules of the seat.
        radius: distance of its pin from the axis.
        at: angle of its pin.
        angle: angle of one of its teeth.
        spin: its turns about its pin for one turn of its sun, both seen from the carrier.
        part: where it sits along the axis: "whole", "left" or "right" of the seat.
    """

    owner: int
    teeth: int
    module: float
    radius: float
    at: float
    angle: float
    spin: Fraction
    part: str = "whole"

    @property
    def pitch_radius(self) -> float:
        """Radius of its pitch circle."""
        return self.module * self.teeth / 2

    @property
    def tip_radius(self) -> float:
        """Radius over its teeth."""
        return self.pitch_radius + TIP * self.module


@dataclass(frozen=True)
class SeatGears:
    """All gears in one seat.

    Args:
        sets: numbers of the sets, one or two.
        kind: of the first set.
        suns: tooth count and angle of a tooth of each set's sun.
        ring: tooth count, module and angle of a tooth space of the ring; for a bevel set the second side gear.
        pinions: those on the carrier, one place after the other.
        notes: what the drawing had to assume or to leave out.
    """

    sets: tuple[int, ...]
    kind: PinionKind
    suns: tuple[tuple[int, float], ...]
    ring: tuple[int, float, float]
    pinions: tuple[Pinion, ...]
    notes: tuple[str, ...] = ()

    @property
    def bevel(self) -> bool:
        """Whether the gears are cones."""
        return self.kind is PinionKind.BEVEL

    @property
    def ring_pitch(self) -> float:
        """Pitch radius of the ring; of a bevel set: what its cage has to clear."""
        teeth, module, _ = self.ring
        return teeth / 2 + _BEVEL_CAGE if self.bevel else teeth * module / 2

    @property
    def reach(self) -> float:
        """Radius over all that turns inside the seat, the ring's rim left out."""
        if self.bevel:
            return self.ring_pitch
        teeth, module, _ = self.ring
        return max(teeth * module / 2 + ROOT * module, *(pinion.radius + pinion.tip_radius for pinion in self.pinions))

    @property
    def sun_roots(self) -> tuple[float, ...]:
        """Root radius of each sun; of a bevel set: how far in its teeth reach."""
        if self.bevel:
            return (BEVEL_DEPTH * self.suns[0][0] / 2 - TIP,)
        return tuple(teeth / 2 - ROOT for teeth, _ in self.suns)

    @property
    def clear_inside(self) -> float:
        """Radius that no planet reaches below."""
        if self.bevel:
            return self.sun_roots[0]
        return min(pinion.radius - pinion.tip_radius for pinion in self.pinions)

    @property
    def thinnest_pinion(self) -> float:
        """Smallest root radius of the pinions, which a pin must fit into."""
        return min(pinion.module * (pinion.teeth / 2 - ROOT) for pinion in self.pinions)


def seat_gears(layout: Layout, sets: tuple[int, ...]) -> SeatGears:
    """Return the gears of a seat.

    Args:
        layout: any layout.
        sets: numbers of the sets in the seat; of two that are built as one the single one first.
    """
    first = layout.sets[sets[0]]
    if len(sets) == 2:
        return _two_suns(sets, first, layout.sets[sets[1]])
    notes: list[str] = []
    pset = first
    if pset.pinions is PinionKind.DOUBLE and pset.sun_pinion_teeth is None:
        pset = _with_pinions(pset)
    count = fitting = pset.planets or DEFAULT_PLANETS
    while True:
        front = arrange(replace(pset, planets=fitting))
        pinions = [gear for gear in front.gears if gear.kind == "pinion"]
        if fitting == 1 or pset.pinions is PinionKind.BEVEL or _apart(pinions):
            break
        fitting -= 1
    if fitting < count:
        notes.append(
            say("{pset}: {number} planets would touch, so {fitting} are shown", pset=pset.name, number=count, fitting=fitting)
        )
    sun, ring = front.gear("sun"), front.gear("ring")
    spins = _spins(pset, pinions, sun.teeth)
    module = ring.module
    placed = tuple(
        Pinion(sets[0], gear.teeth, gear.module, gear.centre_radius, gear.centre_angle, gear.angle, spins[place % len(spins)],
               ("left", "right")[place % 2] if pset.pinions is PinionKind.STEPPED else "whole")
        for place, gear in enumerate(pinions)
    )  # fmt: skip
    return SeatGears(sets, pset.pinions, ((sun.teeth, sun.angle),), (ring.teeth, module, ring.angle), placed, tuple(notes))


def _spins(pset: PlanetarySet, pinions: list[Gear], sun: int) -> tuple[Fraction, ...]:
    """Exact turns of the pinions of one place, in the order in which they stand."""
    match pset.pinions:
        case PinionKind.SINGLE:
            return (pset.spins()["planet"],)
        case PinionKind.STEPPED:
            return (pset.spins()["planet"],) * 2
        case PinionKind.DOUBLE:
            return (Fraction(-sun, pinions[0].teeth), Fraction(sun, pinions[1].teeth))
        case PinionKind.BEVEL:
            # About its own pin, which stands across the axis.
            return (Fraction(sun, pinions[0].teeth),)


def _apart(pinions: list[Gear]) -> bool:
    """Whether no two pinions of different places touch."""
    for number, pinion in enumerate(pinions):
        for other in pinions[number + 1 :]:
            meshing = (
                abs(pinion.centre_angle - other.centre_angle) < 1e-9
                or pinion.name.rsplit(" ", 1)[1] == other.name.rsplit(" ", 1)[1]
            )
            far = math.dist(_place(pinion.centre_radius, pinion.centre_angle), _place(other.centre_radius, other.centre_angle))
            if (
                not meshing
                and pinion.module == other.module
                and far < (pinion.teeth / 2 + other.teeth / 2 + 2 * TIP) * pinion.module
            ):
                return False
    return True


def _place(radius: float, angle: float) -> tuple[float, float]:
    return radius * math.cos(angle), radius * math.sin(angle)


def _with_pinions(pset: PlanetarySet) -> PlanetarySet:
    """Choose the pinions of pairs that the layout leaves open, those that stay farthest from everything else."""
    sun, ring = pset.teeth if pset.sun_teeth is None else (pset.sun_teeth, pset.ring_teeth or 0)
    if pset.sun_teeth is None:
        scale = max(1, round(90 / ring))
        sun, ring = sun * scale, ring * scale
        pset = replace(pset, sun_teeth=sun, ring_teeth=ring, ring_to_sun=None)
    _, inner, outer, _ = _pair(sun, ring, None, pset.planets or DEFAULT_PLANETS)
    return replace(pset, sun_pinion_teeth=inner, ring_pinion_teeth=outer)


def _pair(sun: int, ring: int, outer: int | None, planets: int) -> tuple[float, int, int, float]:
    """Return clearance, inner and outer pinion and the angle between them, for the pair that stays farthest from the rest.

    The inner pinion meshes with sun and outer pinion, the outer one with the ring; lengths in modules.
    """
    best: tuple[float, int, int, float] | None = None
    for large in [outer] if outer else _OUTER:
        far = (ring - large) / 2
        for small in _INNER:
            near, apart = (sun + small) / 2, (small + large) / 2
            bend = (near**2 + far**2 - apart**2) / (2 * near * far)
            if far <= 0 or not -1 < bend < 1:
                continue
            angle = math.acos(bend)
            other = 2 * math.pi / planets - angle
            clear = min(
                math.sqrt(near**2 + far**2 - 2 * near * far * math.cos(other)) - apart - 2 * TIP,
                2 * near * math.sin(math.pi / planets) - small - 2 * TIP,
                2 * far * math.sin(math.pi / planets) - large - 2 * TIP,
                ring / 2 - TIP - near - small / 2 - TIP,
                far - large / 2 - TIP - sun / 2 - TIP,
            )
            if best is None or clear > best[0]:
                best = (clear, small, large, angle)
    # Where no pair closes at all, the counts of the front view stand in.
    return best or (-1.0, max(4, math.ceil((ring - sun) * 0.29)), outer or max(4, math.ceil((ring - sun) * 0.29)), 0.5)


def _two_suns(sets: tuple[int, ...], single: PlanetarySet, double: PlanetarySet) -> SeatGears:
    """Long planets between the large sun and the ring, short ones between the long ones and the small sun."""
    large, ring, small = single.sun_teeth or 0, single.ring_teeth or 0, double.sun_teeth or 0
    long, count = (ring - large) // 2, single.planets or double.planets or DEFAULT_PLANETS
    clear, short, _, bend = _pair(small, ring, long, count)
    # Both ways round the teeth must fit, so a pair can stand where both sets allow it.
    steps = math.gcd(ring + large, ring - small)
    at = places(count, steps if steps >= count else ring + large)
    far, near = (large + ring) / 4, (small + short) / 2
    pinions: list[Pinion] = []
    small_angle = ring_angle = 0.0
    for number, angle in enumerate(at):
        turned = external_mesh(0.0, large, long, angle)
        beside = angle + bend
        line = math.atan2(near * math.sin(beside) - far * math.sin(angle), near * math.cos(beside) - far * math.cos(angle))
        short_turned = external_mesh(turned, long, short, line)
        pinions.append(Pinion(sets[0], long, 1.0, far, angle, turned, Fraction(-large, long)))
        pinions.append(Pinion(sets[1], short, 1.0, near, beside, short_turned, Fraction(-small, short), "right"))
        if number == 0:
            ring_angle = internal_mesh(turned, long, ring, angle)
            small_angle = external_mesh(short_turned, short, small, beside + math.pi)
    notes = (
        ()
        if clear > 0
        else (say("{single} and {double}: the short and long planets come too close", single=single.name, double=double.name),)
    )
    suns = ((large, 0.0), (small, small_angle))
    return SeatGears(sets, PinionKind.SINGLE, suns, (ring, 1.0, ring_angle), tuple(pinions), notes)
