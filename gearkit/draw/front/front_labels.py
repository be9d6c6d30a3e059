"""What the front view says: the names beside the gears and the description for a reader who does not see it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from gearkit.draw.core.wording import plural, speed_words
from gearkit.draw.front.front_geometry import FrontGeometry
from gearkit.text.phrases import capital, listed, set_words
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.terms import MEMBERS, PinionKind

_KINDS = {
    PinionKind.SINGLE: "single pinions between sun and ring",
    PinionKind.DOUBLE: "meshing pinion pairs between sun and ring",
    PinionKind.STEPPED: "stepped pinions, the larger part and the smaller part on one pin",
    PinionKind.BEVEL: "bevel pinions between two equal side gears, named sun and ring",
}


@dataclass(frozen=True)
class LabelRow:
    """A name beside the view.

    Args:
        lines: what it says; the first line is bold.
        radius: distance from the axis, in modules, of the point that it names.
        angle: direction of that point.
        leader: whether a line leads there.
    """

    lines: tuple[str, ...]
    radius: float
    angle: float
    leader: bool = True


def labels(pset: PlanetarySet, front: FrontGeometry, speeds: Mapping[str, Fraction | None] | None) -> list[LabelRow]:
    """Return the names from top to bottom.

    Args:
        pset: the set drawn.
        front: its gears in place.
        speeds: of the members, where they are shown.
    """

    def rows(member: str, first: str) -> tuple[str, ...]:
        return (first,) if speeds is None else (first, state(speeds, member))

    sun, ring = front.gear("sun"), front.gear("ring")
    bevel = pset.pinions is PinionKind.BEVEL
    rim = ring.pitch_radius + 2.4 if bevel else (front.outer_radius + ring.pitch_radius + 1) / 2
    found = [LabelRow(rows("ring", _counted("ring", ring.teeth, front)), rim, -0.95)]
    found.append(_pinion_row(pset, front))
    # Between the topmost pinion and the next one the line to the sun crosses no gear.
    free = -math.pi / 2 + math.pi / front.planets
    carrier_at, carrier_radius = _carrier_point(front)
    found.append(LabelRow(rows("carrier", "carrier"), carrier_radius, carrier_at))
    found.append(LabelRow(rows("sun", _counted("sun", sun.teeth, front)), 0.8 * sun.pitch_radius, free))
    found.sort(key=lambda row: row.radius * math.sin(row.angle))
    return found


def state(speeds: Mapping[str, Fraction | None], member: str) -> str:
    """Return a member's state as a short line: "held", "+1 × input, forward".

    Args:
        speeds: of the members.
        member: "sun", "carrier" or "ring".
    """
    speed = speeds.get(member)
    return speed_words(speed, held=speed == 0)


def describe(pset: PlanetarySet, front: FrontGeometry, speeds: Mapping[str, Fraction | None] | None) -> str:
    """Return in sentences what the front view shows.

    Args:
        pset: the set drawn.
        front: its gears in place.
        speeds: of the members, where they are shown.
    """
    sun, ring = front.gear("sun"), front.gear("ring")
    pinions = {gear.name.rsplit(" ", 1)[0]: gear.teeth for gear in front.gears if gear.kind == "pinion" and gear.known}
    teeth = listed(f"{name} {count}" for name, count in {"sun": sun.teeth, "ring": ring.teeth, **pinions}.items())
    said = [f"{capital(set_words(pset.name))} seen along its axis from the input end: {_KINDS[pset.pinions]}."]
    if front.true_teeth:
        said.append(f"Tooth counts: {teeth}.")
    else:
        said.append(f"Only ring / sun = {pset.quotient} is given; drawn in that proportion.")
    unit = "pinion pair" if pset.pinions is PinionKind.DOUBLE else "planet pinion"
    spread = "equally spaced" if front.equally_spaced else "as near to equal spacing as the teeth allow"
    said.append(f"{plural(front.planets, unit)} on the carrier, {spread}.")
    if speeds is not None:
        said.append(f"The {'; the '.join(f'{member} {state(speeds, member)}' for member in MEMBERS)}.")
    said.append("Each gear has one painted tooth with a dot, so that turns can be counted; clockwise is forward.")
    return " ".join(said)


def _counted(name: str, teeth: int, front: FrontGeometry) -> str:
    return f"{name}, {teeth} teeth" if front.true_teeth else name


def _pinion_row(pset: PlanetarySet, front: FrontGeometry) -> LabelRow:
    pinions = [gear for gear in front.gears if gear.kind == "pinion"]
    gear = max(pinions, key=lambda gear: math.cos(gear.centre_angle) - 0.2 * math.sin(gear.centre_angle))
    across = gear.centre_radius * math.sin(gear.centre_angle) + 0.55 * gear.pitch_radius * math.sin(-0.6)
    along = gear.centre_radius * math.cos(gear.centre_angle) + 0.55 * gear.pitch_radius * math.cos(-0.6)
    names = dict.fromkeys(gear.name.rsplit(" ", 1)[0] for gear in pinions)
    counts = {name: next(g.teeth for g in pinions if g.name.startswith(name)) for name in names}
    known = front.true_teeth and all(gear.known for gear in pinions)
    lines = tuple(f"{front.planets} × {name}" + (f", {counts[name]} teeth" if known else "") for name in names)
    return LabelRow(lines, math.hypot(along, across), math.atan2(across, along))


def _carrier_point(front: FrontGeometry) -> tuple[float, float]:
    """A place on the ring round a pin, as direction and distance from the axis."""
    pinions = [gear for gear in front.gears if gear.kind == "pinion"]
    low = max(pinions, key=lambda gear: math.cos(gear.centre_angle) + 0.3 * math.sin(gear.centre_angle))
    x = low.centre_radius * math.cos(low.centre_angle) + 0.2 * low.pitch_radius
    y = low.centre_radius * math.sin(low.centre_angle) + 0.2 * low.pitch_radius
    return math.atan2(y, x), math.hypot(x, y)
