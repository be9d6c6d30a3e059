"""What the front view says: the names beside the gears and the description for a reader who does not see it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from gearkit.draw.core.wording import plural, speed_words
from gearkit.draw.front.front_geometry import FrontGeometry
from gearkit.text.phrases import capital, listed, sentence, set_words
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import later, say
from gearkit.words.terms import MEMBERS, PinionKind

_GEARS = {
    "planet": later("planet"),
    "inner pinion": later("inner pinion"),
    "outer pinion": later("outer pinion"),
    "sun pinion": later("sun pinion"),
    "ring pinion": later("ring pinion"),
}
_KINDS = {
    PinionKind.SINGLE: later("single pinions between sun and ring"),
    PinionKind.DOUBLE: later("meshing pinion pairs between sun and ring"),
    PinionKind.STEPPED: later("stepped pinions, the larger part and the smaller part on one pin"),
    PinionKind.BEVEL: later("bevel pinions between two equal side gears, named sun and ring"),
}


@dataclass(frozen=True)
class LabelRow:
    """A name beside the view.

    Args:
        lines: what it says; the first line is bold.
        radius: distance from the axis, in modules, of the point that it names.
        angle: direction of that point.
        leader: whether a line leads there.
        member: whose mark stands before it; "" for none.
    """

    lines: tuple[str, ...]
    radius: float
    angle: float
    leader: bool = True
    member: str = ""


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
    label_rows = [LabelRow(rows("ring", _counted(say("ring"), ring.teeth, front)), rim, -0.95, member="ring")]
    label_rows.append(_pinion_row(front))
    # Between the topmost pinion and the next one the line to the sun crosses no gear.
    free = -math.pi / 2 + math.pi / front.planets
    carrier_at, carrier_radius = _carrier_point(front)
    label_rows.append(LabelRow(rows("carrier", say("carrier")), carrier_radius, carrier_at, member="carrier"))
    label_rows.append(LabelRow(rows("sun", _counted(say("sun"), sun.teeth, front)), 0.8 * sun.pitch_radius, free, member="sun"))
    label_rows.sort(key=lambda row: row.radius * math.sin(row.angle))
    return label_rows


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
    teeth = listed(
        say("{gear} {teeth}", gear=say(name), teeth=count)
        for name, count in {"sun": sun.teeth, "ring": ring.teeth, **pinions}.items()
    )
    said = [
        say(
            "{capital} seen along its axis from the input end: {kinds}.",
            capital=capital(set_words(pset.name)),
            kinds=say(_KINDS[pset.pinions]),
        )
    ]
    if front.true_teeth:
        said.append(say("Tooth counts: {teeth}.", teeth=teeth))
    else:
        said.append(say("Only ring / sun = {quotient} is given; drawn in that proportion.", quotient=pset.quotient))
    unit = "pinion pair" if pset.pinions is PinionKind.DOUBLE else "planet pinion"
    spread = say("equally spaced") if front.equally_spaced else say("as near to equal spacing as the teeth allow")
    said.append(say("{pinions} on the carrier, {spread}.", pinions=plural(front.planets, unit), spread=spread))
    if speeds is not None:
        told = [say("the {member} {does}", member=member, does=state(speeds, member)) for member in MEMBERS]
        said.append(sentence("; ".join(told)))
    said.append(say("Each gear has one painted tooth, so that turns can be counted; clockwise is forward."))
    return " ".join(said)


def _counted(name: str, teeth: int, front: FrontGeometry) -> str:
    return say("{name}, {teeth} teeth", name=name, teeth=teeth) if front.true_teeth else name


def _pinion_row(front: FrontGeometry) -> LabelRow:
    pinions = [gear for gear in front.gears if gear.kind == "pinion"]
    gear = max(pinions, key=lambda gear: math.cos(gear.centre_angle) - 0.2 * math.sin(gear.centre_angle))
    across = gear.centre_radius * math.sin(gear.centre_angle) + 0.55 * gear.pitch_radius * math.sin(-0.6)
    along = gear.centre_radius * math.cos(gear.centre_angle) + 0.55 * gear.pitch_radius * math.cos(-0.6)
    names = dict.fromkeys(gear.name.rsplit(" ", 1)[0] for gear in pinions)
    counts = {name: next(g.teeth for g in pinions if g.name.startswith(name)) for name in names}
    known = front.true_teeth and all(gear.known for gear in pinions)
    told = [(_GEARS.get(name, name), counts[name]) for name in names]
    if known:
        lines = tuple(
            say("{planets} × {gear}, {teeth} teeth", planets=front.planets, gear=say(gear), teeth=teeth) for gear, teeth in told
        )
    else:
        lines = tuple(say("{planets} × {gear}", planets=front.planets, gear=say(gear)) for gear, _ in told)
    return LabelRow(lines, math.hypot(along, across), math.atan2(across, along))


def _carrier_point(front: FrontGeometry) -> tuple[float, float]:
    """A place on the ring round a pin, as direction and distance from the axis."""
    pinions = [gear for gear in front.gears if gear.kind == "pinion"]
    low = max(pinions, key=lambda gear: math.cos(gear.centre_angle) + 0.3 * math.sin(gear.centre_angle))
    x = low.centre_radius * math.cos(low.centre_angle) + 0.2 * low.pitch_radius
    y = low.centre_radius * math.sin(low.centre_angle) + 0.2 * low.pitch_radius
    return math.atan2(y, x), math.hypot(x, y)
