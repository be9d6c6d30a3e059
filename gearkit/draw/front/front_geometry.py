"""Where the gears of one set sit and how their teeth mesh, as plain data for a still picture or a moving panel.

Lengths are in modules (pitch radius = teeth / 2); angles are radians, 0 to the right, positive clockwise on the page,
which is the input's sense. A planet pinion can only go where its teeth fit sun and ring together: at whole steps of
one turn / (S + R), or / (R − S) for pinion pairs. The places chosen are the nearest ones to equal spacing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from gearkit.draw.core.svg import number
from gearkit.draw.front.gear_outline import outline
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.terms import PinionKind

RIM = 4.0
DEFAULT_PLANETS = 3


@dataclass(frozen=True)
class Gear:
    """One gear of the set in its starting position.

    Args:
        name: "sun", "ring", "planet 1", "inner pinion 1" and so on.
        kind: "sun", "ring" or "pinion".
        teeth: tooth count.
        module: size of its teeth; 1 but for the ring side of a stepped set.
        centre_radius: distance of its centre from the axis; 0 for sun and ring.
        centre_angle: where its centre is.
        angle: where one of its teeth (a ring: one of its tooth spaces) is.
        turns: how far it turns for one turn of the sun, the carrier and the ring.
        known: whether the tooth count is the set's own; False where one had to be chosen to draw it.
    """

    name: str
    kind: str
    teeth: int
    module: float
    centre_radius: float
    centre_angle: float
    angle: float
    turns: tuple[float, float, float]
    known: bool = True

    @property
    def pitch_radius(self) -> float:
        """Radius of the pitch circle."""
        return self.module * self.teeth / 2


@dataclass(frozen=True)
class FrontGeometry:
    """All gears of a set, and whether their tooth counts are the set's own.

    Args:
        gears: sun, ring, then the pinions.
        outer_radius: of the ring's rim (of the outermost part of a bevel set).
        planets: pinions, or pairs, on the carrier.
        true_teeth: False where only the quotient is known and the counts stand for it.
        equally_spaced: whether the pinions fit at equal angles.
    """

    gears: tuple[Gear, ...]
    outer_radius: float
    planets: int
    true_teeth: bool
    equally_spaced: bool

    def gear(self, name: str) -> Gear:
        """Return a gear by its name."""
        return next(gear for gear in self.gears if gear.name == name)


def arrange(pset: PlanetarySet) -> FrontGeometry:
    """Return the places and mesh angles of a set's gears.

    Args:
        pset: any kind of planetary set.
    """
    sun, ring, true_teeth = drawn_teeth(pset)
    planets = pset.planets or DEFAULT_PLANETS
    match pset.pinions:
        case PinionKind.SINGLE:
            gears, step = _single(pset, sun, ring, planets)
        case PinionKind.DOUBLE:
            gears, step = _double(pset, sun, ring, planets)
        case PinionKind.STEPPED:
            gears, step = _stepped(pset, sun, ring, planets)
        case PinionKind.BEVEL:
            return FrontGeometry(_bevel(sun, planets), sun / 2 * 1.28 + RIM, planets, true_teeth, True)
    outer = max(gear.pitch_radius for gear in gears if gear.kind == "ring") + RIM
    return FrontGeometry(tuple(gears), outer, planets, true_teeth, step % planets == 0)


def geometry(pset: PlanetarySet) -> dict[str, Any]:
    """Return the set as plain data for a moving panel, ready for JSON.

    Each gear is drawn by its outline (an SVG path in modules, a tooth or ring space at angle 0), scaled by its
    module, turned by ``angle + turns·(sun, carrier, ring angles)``, with its centre at ``centre_radius`` under
    ``centre_angle + carrier angle``. Radians, clockwise positive.

    Args:
        pset: any kind of planetary set.
    """
    front = arrange(pset)
    outlines: dict[str, str] = {}
    gears = []
    for gear in front.gears:
        key = f"{'ring' if gear.kind == 'ring' and pset.pinions is not PinionKind.BEVEL else 'gear'} {gear.teeth}"
        if key not in outlines:
            outlines[key] = _outline_text(gear.teeth, internal=key.startswith("ring"))
        gears.append({
            "name": gear.name, "kind": gear.kind, "teeth": gear.teeth, "known": gear.known, "module": gear.module,
            "pitch_radius": gear.pitch_radius, "centre_radius": gear.centre_radius,
            "centre_angle": gear.centre_angle, "angle": gear.angle, "outline": key,
            "turns": dict(zip(("sun", "carrier", "ring"), gear.turns, strict=True)),
        })  # fmt: skip
    return {
        "set": pset.name, "pinions": pset.pinions.value, "outer_radius": front.outer_radius,
        "planets": front.planets, "true_teeth": front.true_teeth, "equally_spaced": front.equally_spaced,
        "gears": gears, "outlines": outlines,
    }  # fmt: skip


def drawn_teeth(pset: PlanetarySet) -> tuple[int, int, bool]:
    """Return sun and ring tooth counts to draw, and whether they are the set's own.

    Args:
        pset: the set; where it knows only ring / sun, counts in that proportion are chosen, the ring near 90.
    """
    if pset.sun_teeth is not None and pset.ring_teeth is not None:
        return pset.sun_teeth, pset.ring_teeth, True
    if pset.pinions is PinionKind.BEVEL:
        return 24, 24, False
    quotient = pset.quotient
    best = min(range(14, 60), key=lambda sun: (abs(sun * quotient - round(sun * quotient)), abs(sun * quotient - 90)))
    return best, max(best + 4, round(best * quotient)), False


def external_mesh(first_angle: float, first: int, second: int, line: float) -> float:
    """Return the angle of a tooth of the second gear so that it meshes with the first.

    Where the first gear has a tooth the second has a space, at the same arc from the line of centres.

    Args:
        first_angle: angle of a tooth of the first gear.
        first: its tooth count.
        second: tooth count of the second gear.
        line: direction from the first gear's centre to the second's.
    """
    return line + math.pi - first / second * (first_angle - line) - math.pi / second


def internal_mesh(pinion_angle: float, pinion: int, ring: int, line: float) -> float:
    """Return the angle of a tooth space of the ring so that the pinion's teeth fall into its spaces.

    Args:
        pinion_angle: angle of a tooth of the pinion.
        pinion: its tooth count.
        ring: tooth count of the ring.
        line: direction from the ring's centre to the pinion's.
    """
    return line + pinion / ring * (pinion_angle - line)


def places(planets: int, steps: int) -> list[float]:
    """Return the angles at which pinions can be put in, nearest to equal spacing, the first at the top.

    Args:
        planets: how many.
        steps: places on one turn: S + R, or R − S for pinion pairs.
    """
    return [-math.pi / 2 + 2 * math.pi * round(Fraction(number_ * steps, planets)) / steps for number_ in range(planets)]


def _single(pset: PlanetarySet, sun: int, ring: int, planets: int) -> tuple[list[Gear], int]:
    # Half a tooth too many is made up by profile shift; the picture keeps the whole count below it, with teeth a little larger.
    room = max(4, (ring - sun) // 2)
    pinion = pset.own_planet_teeth or room
    spin, module = sun / pinion, max(4, (ring - sun) / 2) / pinion
    known = (ring - sun) % 2 == 0 or pset.own_planet_teeth is not None
    pinions = []
    for index, at in enumerate(places(planets, sun + ring)):
        turned = external_mesh(0.0, sun, pinion, at)
        pinions.append(
            Gear(f"planet {index + 1}", "pinion", pinion, module, (sun + ring) / 4, at, turned, (-spin, 1 + spin, 0.0), known)
        )
    ring_angle = internal_mesh(pinions[0].angle, pinion, ring, pinions[0].centre_angle)
    return [_sun(sun), _ring(ring, ring_angle), *pinions], sun + ring


def _double(pset: PlanetarySet, sun: int, ring: int, planets: int) -> tuple[list[Gear], int]:
    inner = pset.sun_pinion_teeth or max(4, math.ceil((ring - sun) * 0.29))
    outer = pset.ring_pinion_teeth or inner
    near, far, apart = (sun + inner) / 2, (ring - outer) / 2, (inner + outer) / 2
    bend = math.acos(min(1.0, max(-1.0, (near**2 + far**2 - apart**2) / (2 * near * far))))
    spin = sun / inner
    onward = spin * inner / outer
    known = pset.sun_pinion_teeth is not None
    pinions = []
    for index, at in enumerate(places(planets, ring - sun)):
        turned = external_mesh(0.0, sun, inner, at)
        away = at + bend
        line = math.atan2(far * math.sin(away) - near * math.sin(at), far * math.cos(away) - near * math.cos(at))
        outer_angle = external_mesh(turned, inner, outer, line)
        pinions.append(Gear(f"inner pinion {index + 1}", "pinion", inner, 1.0, near, at, turned, (-spin, 1 + spin, 0.0), known))
        pinions.append(
            Gear(f"outer pinion {index + 1}", "pinion", outer, 1.0, far, away, outer_angle, (onward, 1 - onward, 0.0), known)
        )
    ring_angle = internal_mesh(pinions[1].angle, outer, ring, pinions[1].centre_angle)
    return [_sun(sun), _ring(ring, ring_angle), *pinions], ring - sun


def _stepped(pset: PlanetarySet, sun: int, ring: int, planets: int) -> tuple[list[Gear], int]:
    near, far = pset.sun_pinion_teeth or 4, pset.ring_pinion_teeth or 4
    centre = (sun + near) / 2
    # One pin, two meshes: the ring side's module follows from the common centre distance.
    module = centre * 2 / max(1, ring - far)
    spin = sun / near
    turns = (-spin, 1 + spin, 0.0)
    pinions = []
    for index in range(planets):
        at = -math.pi / 2 + 2 * math.pi * index / planets
        pinions.append(
            Gear(f"sun pinion {index + 1}", "pinion", near, 1.0, centre, at, external_mesh(0.0, sun, near, at), turns)
        )
        # The two pinions of one planet are clocked when it is made, so that each planet fits its place.
        pinions.append(Gear(f"ring pinion {index + 1}", "pinion", far, module, centre, at, at + ring / far * -at, turns))
    return [_sun(sun), Gear("ring", "ring", ring, module, 0.0, 0.0, 0.0, (0.0, 0.0, 1.0)), *pinions], planets


def _bevel(side: int, planets: int) -> tuple[Gear, ...]:
    pinion = max(8, round(side * 0.55))
    pinions = [
        Gear(
            f"planet {index + 1}",
            "pinion",
            pinion,
            1.0,
            side / 2,
            -math.pi / 2 + 2 * math.pi * index / planets,
            0.0,
            (0.0, 1.0, 0.0),
            False,
        )
        for index in range(planets)
    ]
    return (_sun(side), Gear("ring", "ring", side, 1.0, 0.0, 0.0, 0.0, (0.0, 0.0, 1.0)), *pinions)


def _sun(teeth: int) -> Gear:
    return Gear("sun", "sun", teeth, 1.0, 0.0, 0.0, 0.0, (1.0, 0.0, 0.0))


def _ring(teeth: int, angle: float) -> Gear:
    return Gear("ring", "ring", teeth, 1.0, 0.0, 0.0, angle, (0.0, 0.0, 1.0))


def _outline_text(teeth: int, *, internal: bool) -> str:
    points = outline(teeth, internal=internal)
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + "Z"
