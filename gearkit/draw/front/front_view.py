"""Front view of one planetary set: true tooth counts, pitch circles, mesh and marks.

Looking along the axis from the input end; clockwise on the page is the input's sense. Every gear carries one painted
tooth, a ring a dot, away from where it meshes, so that its turns can be counted on paper as well as in a moving panel.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import combinations, permutations

from gearkit.draw.core.measure import text_width
from gearkit.draw.core.member_mark import OWN_CODES, RADIUS, member_mark
from gearkit.draw.core.shaft_code import ShaftCode, shaft_codes
from gearkit.draw.core.state import state_of
from gearkit.draw.core.svg import Group, Look, PathStep, Picture, Point, Text, arc
from gearkit.draw.front.front_geometry import FrontGeometry, Gear, arrange
from gearkit.draw.front.front_labels import LabelRow, describe, labels
from gearkit.draw.front.gear_outline import outline, tooth
from gearkit.text.phrases import set_words
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import say
from gearkit.words.terms import MEMBERS, PinionKind

Speeds = Mapping[str, Fraction | None]
Codes = Mapping[str, ShaftCode]
BODY = Look("ink", "paper", 1.4)
PITCH = Look("soft", None, 1.0, (9, 3, 2, 3))
PAINT = Look("ink", "ink", 0.8)
ARROW = Look("ink", None, 2.4)
MARGIN = 18.0
LABEL_SIZE = 14.0
HEADING_SIZE = 16.0


def picture_of_set(layout: Layout, engaged: Iterable[str] | None, set_name: str | None) -> Picture:
    """Return the front view of a set of a layout.

    Args:
        layout: any layout.
        engaged: names of the engaged elements, to show how the members turn; None for none.
        set_name: the set; the first one when None.

    Raises:
        UsageError: the layout has no such set or element.
    """
    pset = layout.set_named(set_name) if set_name else layout.sets[0]
    by_shaft = shaft_codes(layout)
    codes = {member: by_shaft[layout.shaft_of(f"{pset.name}.{member}")] for member in MEMBERS}
    if engaged is None:
        return picture(pset, codes=codes)
    members = state_of(layout, engaged).speeds.members
    return picture(pset, {member: members[f"{pset.name}.{member}"] for member in MEMBERS}, codes=codes)


def picture(
    pset: PlanetarySet, speeds: Speeds | None = None, *, after: Fraction = Fraction(0), size: int = 360,
    codes: Codes = OWN_CODES,
) -> Picture:  # fmt: skip
    """Return the front view as a picture.

    Args:
        pset: any kind of planetary set.
        speeds: speeds of "sun", "carrier" and "ring" as multiples of the input's, to show arrows and held members.
        after: how many turns the input has made since the starting position; shows only with speeds.
        size: height of the gears in px.
        codes: member -> how its shaft is drawn in all pictures of the layout.
    """
    front = arrange(pset)
    # A stepped planet may reach out beyond the ring.
    scale = size / 2 / (max(front.outer_radius, *(gear.centre_radius + gear.pitch_radius for gear in front.gears)) + 2.5)
    centre = (MARGIN + size / 2, MARGIN + size / 2)
    rows = labels(pset, front, speeds)
    wide = max(text_width(line, LABEL_SIZE, bold=index == 0) for row in rows for index, line in enumerate(row.lines)) + 24
    told = {"set_name": set_words(pset.name), "pinions": pset.pinions}
    if pset.pinions is PinionKind.BEVEL:
        heading = say("Planetary {set_name}, {pinions}", **told)
    else:
        heading = say("Planetary {set_name}, {pinions} pinions", **told)
    wide = max(wide, text_width(heading, HEADING_SIZE, bold=True))
    drawn = Picture(
        width=math.ceil(2 * MARGIN + size + 64 + wide), height=size + 2 * MARGIN, kind="front",
        title=say("Front view of planetary {set}", set=set_words(pset.name)), description=describe(pset, front, speeds),
    )  # fmt: skip
    turned = _turned(speeds, after)
    view = _View(centre, scale, turned, codes)
    _gears(drawn, pset, front, view)
    if speeds is not None:
        _arrows(drawn, front, view, speeds)
    _leaders(drawn, view, heading, rows, centre[0] + size / 2 + 40)
    return drawn


class _View:
    """Turns modules and starting angles into places on the page."""

    def __init__(self, centre: Point, scale: float, turned: tuple[float, float, float], codes: Codes) -> None:
        self.centre, self.scale, self.turned, self.codes = centre, scale, turned, codes
        self.carrier = Look(codes["carrier"].role, None, 2.2)

    def body(self, member: str) -> Look:
        """How a gear on a shaft of its own is drawn."""
        return Look(self.codes[member].role, "wash", 1.6)

    def centre_of(self, gear: Gear) -> Point:
        angle = gear.centre_angle + self.turned[1]
        return self.at(gear.centre_radius, angle)

    def at(self, radius: float, angle: float) -> Point:
        return (
            self.centre[0] + radius * self.scale * math.cos(angle),
            self.centre[1] + radius * self.scale * math.sin(angle),
        )

    def angle_of(self, gear: Gear) -> float:
        return gear.angle + sum(turn * by for turn, by in zip(gear.turns, self.turned, strict=True))

    def placed(self, gear: Gear, points: list[Point]) -> list[Point]:
        x, y = self.centre_of(gear)
        angle, size = self.angle_of(gear), self.scale * gear.module
        cos, sin = math.cos(angle) * size, math.sin(angle) * size
        return [(x + px * cos - py * sin, y + px * sin + py * cos) for px, py in points]


def _turned(speeds: Speeds | None, after: Fraction) -> tuple[float, float, float]:
    if speeds is None or not after:
        return (0.0, 0.0, 0.0)
    sun, carrier, ring = (float(2 * after * (speeds.get(member) or 0)) * math.pi for member in MEMBERS)
    return (sun, carrier, ring)


def _gears(drawn: Picture, pset: PlanetarySet, front: FrontGeometry, view: _View) -> None:
    if pset.pinions is PinionKind.BEVEL:
        _bevel_gears(drawn, front, view)
        return
    ring = front.gear("ring")
    _ring(drawn.group({"member": f"{pset.name}.ring"}), ring, front, view)
    # Of a stepped planet the larger part lies behind.
    pinions = sorted((gear for gear in front.gears if gear.kind == "pinion"), key=lambda gear: -gear.pitch_radius)
    for gear in pinions:
        _outer_gear(drawn.group({"gear": gear.name}), gear, view, BODY)
    _outer_gear(drawn.group({"member": f"{pset.name}.sun"}), front.gear("sun"), view, view.body("sun"), _gap(front))
    _carrier(drawn.group({"member": f"{pset.name}.carrier"}), front, view)


def _ring(group: Group, ring: Gear, front: FrontGeometry, view: _View) -> None:
    rim: list[PathStep] = []
    for start in (0.0, math.pi):
        rim += arc(view.centre, front.outer_radius * view.scale, start, start + math.pi)[bool(start) :]
    inside = view.placed(ring, outline(ring.teeth, internal=True))[::-1]
    hole: list[PathStep] = [("L" if index else "M", point) for index, point in enumerate(inside)]
    group.path([*rim, ("Z", ()), *hole, ("Z", ())], view.body("ring"))
    group.circle(view.centre, ring.pitch_radius * view.scale, PITCH)
    angle = view.angle_of(ring) + _marked(ring, _gap(front)) * 2 * math.pi / ring.teeth
    radius = (ring.pitch_radius + front.outer_radius + 1) / 2
    group.circle(view.at(radius, angle), 3.0, PAINT)


def _outer_gear(group: Group, gear: Gear, view: _View, look: Look, away: float = 0.0) -> None:
    group.polyline(view.placed(gear, outline(gear.teeth)), look, closed=True)
    # A planet's painted tooth starts beside the line of centres, the sun's between two planets: not where teeth mesh.
    aside = gear.centre_angle + math.pi / 2 if gear.centre_radius else away
    group.polyline(view.placed(gear, tooth(gear.teeth, _marked(gear, aside))), PAINT, closed=True)
    group.circle(view.centre_of(gear), gear.pitch_radius * view.scale, PITCH)


def _marked(gear: Gear, towards: float) -> int:
    """The number of the tooth (of a ring: the space) that starts nearest to a direction."""
    return round((towards - gear.angle) * gear.teeth / (2 * math.pi)) % gear.teeth


def _gap(front: FrontGeometry, way: float = -2.2) -> float:
    """The middle between two neighbouring planets that is nearest to a direction."""
    first = front.gears[2].centre_angle
    middles = [first + math.pi * (2 * number + 1) / front.planets for number in range(front.planets)]
    return min(middles, key=lambda angle: -math.cos(angle - way))


def _carrier(group: Group, front: FrontGeometry, view: _View) -> None:
    """The carrier as a spider before the gears: open arms, so that the teeth stay visible."""
    pins = [gear for gear in front.gears if gear.kind == "pinion"]
    hub = 0.36 * front.gear("sun").pitch_radius * view.scale
    near = {gear.name.split()[-1]: gear for gear in reversed(pins)}
    for gear in near.values():
        x, y = view.centre_of(gear)
        length = math.hypot(x - view.centre[0], y - view.centre[1])
        ux, uy = (x - view.centre[0]) / length, (y - view.centre[1]) / length
        pin = _pin_radius(gear, view)
        for side in (-1, 1):
            offset = 0.6 * side * min(hub, pin * 1.4)
            start = math.sqrt(max(hub**2 - offset**2, 0.0))
            end = length - math.sqrt(max((pin * 1.9) ** 2 - offset**2, 0.0))
            group.line(
                (view.centre[0] + ux * start - uy * offset, view.centre[1] + uy * start + ux * offset),
                (view.centre[0] + ux * end - uy * offset, view.centre[1] + uy * end + ux * offset),
                view.carrier,
            )
    group.circle(view.centre, hub, view.carrier)
    for gear in pins:
        pin = _pin_radius(gear, view)
        group.circle(view.centre_of(gear), pin * 1.9, replace(view.carrier, fill="paper"))
        group.circle(view.centre_of(gear), pin, replace(view.carrier, width=1.4))
    for gear in pins:
        if gear.name.startswith("outer"):
            inner = front.gear(gear.name.replace("outer", "inner"))
            group.line(view.centre_of(inner), view.centre_of(gear), view.carrier)
    # One pin is marked, so that the carrier's turns can be counted too.
    group.circle(view.centre_of(pins[0]), _pin_radius(pins[0], view) * 1.9, replace(view.carrier, fill=view.carrier.stroke))


def _pin_radius(gear: Gear, view: _View) -> float:
    return max(2.2, min(0.14 * gear.pitch_radius * view.scale, 6.0))


def _bevel_gears(drawn: Picture, front: FrontGeometry, view: _View) -> None:
    """Side gears face each other along the axis: the near one full, the far one as a dashed circle behind it."""
    sun, ring = front.gear("sun"), front.gear("ring")
    far = drawn.group({"member": "ring"})
    far.circle(view.centre, (ring.pitch_radius + 2.4) * view.scale, Look(view.codes["ring"].role, None, 1.8, (6, 4)))
    far.circle(view.at(ring.pitch_radius + 2.4, view.angle_of(ring) + _gap(front)), 3.0, PAINT)
    _outer_gear(drawn.group({"member": "sun"}), sun, view, view.body("sun"), _gap(front))
    carrier = drawn.group({"member": "carrier"})
    carrier.circle(view.centre, (front.outer_radius - 0.8) * view.scale, view.carrier)
    for gear in front.gears:
        if gear.kind == "pinion":
            _bevel_pinion(drawn.group({"gear": gear.name}), gear, front, view)


def _bevel_pinion(group: Group, gear: Gear, front: FrontGeometry, view: _View) -> None:
    angle = gear.centre_angle + view.turned[1]
    inner, outer = 0.66 * gear.centre_radius, 1.12 * gear.centre_radius
    half_in, half_out = 0.32 * gear.centre_radius, 0.52 * gear.centre_radius
    ux, uy = math.cos(angle), math.sin(angle)

    def at(along: float, across: float) -> Point:
        return (
            view.centre[0] + view.scale * (along * ux - across * uy),
            view.centre[1] + view.scale * (along * uy + across * ux),
        )

    group.polyline([at(inner, -half_in), at(outer, -half_out), at(outer, half_out), at(inner, half_in)], BODY, closed=True)
    lines = 6
    for index in range(1, lines):
        part = -1 + 2 * index / lines
        look = Look("ink", None, 3.0 if index == lines // 2 else 1.0)
        group.line(at(inner, part * half_in), at(outer, part * half_out), look)
    group.line(at(outer, 0), at(front.outer_radius - 0.8, 0), view.carrier)


def _arrows(drawn: Picture, front: FrontGeometry, view: _View, speeds: Speeds) -> None:
    """One curved arrow a member that turns, ground strokes on a member that is held."""
    # Names and their lines are at the right, so the arrows are at the left and below.
    between, below = _gap(front) + view.turned[1], _gap(front, 1.8) + view.turned[1]
    half = min(0.5, 0.62 * math.pi / front.planets)
    radii = {"sun": 0.66 * front.gear("sun").pitch_radius, "carrier": front.gears[2].centre_radius}
    spans = {"sun": (below - half, below + half), "carrier": (between - 0.18, between + 0.18), "ring": (-2.65, -2.25)}
    for member in MEMBERS:
        speed = speeds.get(member)
        group = drawn.group({"arrow": member})
        if speed:
            span = spans[member]
            _arrow(group, view, radii.get(member, front.outer_radius - 1.1), span if speed > 0 else span[::-1])
        elif speed == 0 and member == "carrier":
            _hatch(group, view, 0.36 * front.gear("sun").pitch_radius)
        elif speed == 0:
            turns = (0.0,) if member == "sun" else (0.0, -1.5, -2.6)
            for turn in turns:
                radius = radii.get(member, front.outer_radius)
                _ground(group, view, radius, (spans[member][0] + turn, spans[member][1] + turn))


def _hatch(group: Group, view: _View, radius: float) -> None:
    """Strokes across the hub: the carrier is held."""
    size = radius * view.scale
    for index in range(-2, 3):
        offset = index * size / 2.6
        half = math.sqrt(max(size**2 - offset**2, 0.0))
        x, y = view.centre
        dx, dy = half * math.sqrt(0.5), offset * math.sqrt(0.5)
        group.line((x - dx + dy, y + dx + dy), (x + dx + dy, y - dx + dy), Look("ink", None, 1.6))


def _arrow(group: Group, view: _View, radius: float, span: tuple[float, float]) -> None:
    start, end = span
    group.path(arc(view.centre, radius * view.scale, start, end), Look("paper", None, 6.0))
    group.path(arc(view.centre, radius * view.scale, start, end), ARROW)
    sense = 1 if end > start else -1
    x, y = view.at(radius, end)
    tx, ty = -math.sin(end) * sense, math.cos(end) * sense
    nx, ny = math.cos(end), math.sin(end)
    tip = (x + 10 * tx, y + 10 * ty)
    group.polyline([tip, (x + 5.5 * nx, y + 5.5 * ny), (x - 5.5 * nx, y - 5.5 * ny)], Look("ink", "ink", 1.0), closed=True)


def _ground(group: Group, view: _View, radius: float, span: tuple[float, float]) -> None:
    group.path(arc(view.centre, radius * view.scale, *span), Look("ink", None, 3.6))
    for index in range(6):
        angle = span[0] + (span[1] - span[0]) * index / 5
        x, y = view.at(radius, angle)
        slant = angle + 0.6
        group.line((x, y), (x + 9 * math.cos(slant), y + 9 * math.sin(slant)), Look("ink", None, 1.6))


def _leaders(drawn: Picture, view: _View, heading: str, rows: list[LabelRow], left: float) -> None:
    """Names in a column to the right, each with a thin line to its part; in the order in which no two lines cross."""
    line = LABEL_SIZE * 1.35
    drawn.text(Text(left, MARGIN + 14, heading, HEADING_SIZE, bold=True))
    best = min(permutations(rows), key=lambda order: _untidy(view, order, left, drawn.height))
    for row, y in zip(best, _base_lines(best, drawn.height), strict=True):
        if row.leader:
            points = _leader(view, row, y, left)
            drawn.polyline(points, Look("paper", None, 4.0))
            drawn.polyline(points, Look("soft", None, 1.1))
            drawn.circle(points[0], 2.6, Look("paper", "soft", 1.0))
        x = left
        if row.member:
            member_mark(drawn, left + RADIUS, y - 0.36 * LABEL_SIZE, row.member, view.codes[row.member])
            x += 2 * RADIUS + 9
        for index, text in enumerate(row.lines):
            drawn.text(Text(x, y + index * line, text, LABEL_SIZE, bold=index == 0))


def _base_lines(rows: Sequence[LabelRow], height: float) -> list[float]:
    line, head = LABEL_SIZE * 1.35, 30.0
    block = sum(len(row.lines) * line for row in rows)
    gap = min((height - 2 * MARGIN - head - block) / max(1, len(rows) - 1), 46.0) if len(rows) > 1 else 0.0
    top = head + (height - head - block - gap * (len(rows) - 1)) / 2
    lines = []
    for row in rows:
        lines.append(top + LABEL_SIZE)
        top += len(row.lines) * line + gap
    return lines


def _leader(view: _View, row: LabelRow, y: float, left: float) -> list[Point]:
    middle = y - 0.34 * LABEL_SIZE
    return [view.at(row.radius, row.angle), (left - 26, middle), (left - 6, middle)]


def _untidy(view: _View, rows: Sequence[LabelRow], left: float, height: float) -> tuple[int, float]:
    """How many leader lines cross in an order of the names, and how far up and down they run."""
    lines = [_leader(view, row, y, left) for row, y in zip(rows, _base_lines(rows, height), strict=True) if row.leader]
    crossed = sum(crossing((first[0], first[1]), (second[0], second[1])) for first, second in combinations(lines, 2))
    return crossed, sum((line[1][1] - line[0][1]) ** 2 for line in lines)


def crossing(first: tuple[Point, Point], second: tuple[Point, Point]) -> bool:
    """Tell whether two straight lines cross.

    Args:
        first: its two ends.
        second: the other's.
    """

    def side(a: Point, b: Point, c: Point) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    return (side(*first, second[0]) > 0) is not (side(*first, second[1]) > 0) and (side(*second, first[0]) > 0) is not (
        side(*second, first[1]) > 0
    )
