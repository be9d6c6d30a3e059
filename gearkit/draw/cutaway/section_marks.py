"""What a half-section is drawn with: hatched areas, gears with their teeth left plain, pins, plates of clutches and brakes."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from gearkit.draw.core.measure import Box
from gearkit.draw.core.svg import Group, Look, PathStep, Point
from gearkit.draw.cutaway.outlines import Area
from gearkit.draw.cutaway.set_gears import BEVEL_DEPTH, ROOT, TIP
from gearkit.draw.cutaway.sizes import Rect
from gearkit.draw.cutaway.solid_train import Pack, Planet, Wheel

To = Callable[[float, float], Point]
_EDGE = 1.1
BODY_EDGE = Look("ink", None, _EDGE)
_AXIS = Look("soft", None, 0.9, (8, 3, 2, 3))
PLATES = {True: Look("ink", "ink", 0.9), False: Look("ink", "paper", 0.9)}


@dataclass(frozen=True)
class Filling:
    """How the cut face of a body is drawn.

    Args:
        role: colour of its tint; None for none.
        slant: +1 or −1, which way its hatching leans; 0 for both.
        pitch: distance of its hatching in px; 0 for none.
        edge: how its outline is drawn.
    """

    role: str | None
    slant: int
    pitch: float
    edge: Look = BODY_EDGE


def area(group: Group, to: To, rects: Iterable[Rect], filling: Filling) -> None:
    """Draw the cut face of one body.

    Args:
        group: where to.
        to: from place along the axis and radius to the page.
        rects: its half-section.
        filling: how.
    """
    outline = Area(rects)
    parts = outline.rects()
    if filling.role is not None:
        steps: list[PathStep] = []
        for x0, x1, r0, r1 in parts:
            steps += _closed([to(x0, r0), to(x1, r0), to(x1, r1), to(x0, r1)])
        group.path(steps, Look(None, filling.role, opacity=0.3))
    for slant in (1, -1) if filling.slant == 0 else (filling.slant,):
        lines = _hatching(parts, to, slant, filling.pitch) if filling.pitch else []
        if lines:
            group.path(lines, Look("soft", None, 0.7))
    edge: list[PathStep] = []
    for piece in outline.segments():
        edge += [("M", to(piece.x0, piece.r0)), ("L", to(piece.x1, piece.r1))]
    group.path(edge, filling.edge)


def _hatching(parts: list[Rect], to: To, slant: int, pitch: float) -> list[PathStep]:
    path: list[PathStep] = []
    for x0, x1, r0, r1 in parts:
        (left, bottom), (right, top) = to(x0, r0), to(x1, r1)
        low, high = (left - bottom, right - top) if slant > 0 else (left + top, right + bottom)
        for number in range(math.ceil(low / pitch), math.floor(high / pitch) + 1):
            # Along the line x − slant·y stays the same, so that it goes on from one rectangle into the next.
            at = number * pitch
            if slant > 0:
                start, end = max(left, at + top), min(right, at + bottom)
                ends = ((start, start - at), (end, end - at))
            else:
                start, end = max(left, at - bottom), min(right, at - top)
                ends = ((start, at - start), (end, at - end))
            if end - start > 0.5:
                path += [("M", ends[0]), ("L", ends[1])]
    return path


def _closed(points: Iterable[Point]) -> list[PathStep]:
    steps: list[PathStep] = [("L" if number else "M", point) for number, point in enumerate(points)]
    return [*steps, ("Z", ())]


def wheel(group: Group, to: To, drawn: Wheel, filling: Filling) -> None:
    """Draw the teeth of a sun, ring or side gear; its solid part belongs to its body.

    Args:
        group: where to.
        to: from place along the axis and radius to the page.
        drawn: the wheel.
        filling: how its body is drawn.
    """
    if drawn.cone is not None:
        apex, large = drawn.cone
        pitch, side = drawn.pitch_radius, 1 if large > apex else -1
        reach = math.hypot(large - apex, pitch)
        lean = (pitch / reach * -side, abs(large - apex) / reach)
        tips = [(large + h * drawn.module * lean[0], pitch + h * drawn.module * lean[1]) for h in (-ROOT, TIP)]
        inner = [(apex + BEVEL_DEPTH * (x - apex), BEVEL_DEPTH * r) for x, r in reversed(tips)]
        back = drawn.x[1] if side > 0 else drawn.x[0]
        steps = _closed([to(*point) for point in ((back, inner[1][1]), inner[1], tips[0], (back, pitch))])
        group.path(steps, Look("ink", filling.role, _EDGE, opacity=0.45 if filling.role else 1.0))
        group.polyline([to(*point) for point in (*tips, *inner)], Look("ink", "paper", 0.9), closed=True)
        return
    x0, x1, r0, r1 = drawn.band
    group.rect(_box(to, (x0, x1, r0, r1)), Look("ink", "paper", 0.9))
    pitch = drawn.pitch_radius
    group.line(to(x0 - 1.0, pitch), to(x1 + 1.0, pitch), _AXIS)


def planet(group: Group, to: To, drawn: Planet, filling: Filling, pin: float) -> None:
    """Draw a planet, turned into the plane of the section.

    Args:
        group: where to.
        to: from place along the axis and radius to the page.
        drawn: the planet.
        filling: how its body is drawn.
        pin: radius of its pin.
    """
    if drawn.bevel:
        _bevel_planet(group, to, drawn, filling)
        return
    root = drawn.module * (drawn.teeth / 2 - ROOT)
    for way in (-1, 1):
        low, high = sorted((drawn.radius + way * pin, drawn.radius + way * root))
        rect: Rect = (*drawn.x, low, high)
        group.rect(_box(to, rect), Look(None, "paper"))
        area(group, to, [rect], filling)
        low, high = sorted((drawn.radius + way * root, drawn.radius + way * drawn.tip_radius))
        group.rect(_box(to, (*drawn.x, low, high)), Look("ink", "paper", 0.9))


def _bevel_planet(group: Group, to: To, drawn: Planet, filling: Filling) -> None:
    middle, size, pitch = sum(drawn.x) / 2, drawn.module * drawn.teeth / 2, drawn.radius
    reach = math.hypot(size, pitch)

    def off(h: float) -> Point:
        # Tip and root stand off the pitch cone at a right angle: half the width across the pin, distance from the axis.
        return size + h * drawn.module * pitch / reach, pitch - h * drawn.module * size / reach

    tip, root = off(TIP), off(-ROOT)
    small = (BEVEL_DEPTH * tip[0], BEVEL_DEPTH * tip[1])
    half = (small, tip, root)
    outline = [(middle - x, r) for x, r in half] + [(middle + x, r) for x, r in reversed(half)]
    points = [to(*point) for point in outline]
    group.polyline(points, Look("ink", "paper", 0.9), closed=True)
    group.polyline(points, Look(None, filling.role or "wash", opacity=0.3), closed=True)


def pin(group: Group, to: To, band: Rect, *, across: bool) -> None:
    """Draw a pin with its middle line; pins are not hatched.

    Args:
        group: where to.
        to: from place along the axis and radius to the page.
        band: its room.
        across: whether it stands across the axis.
    """
    x0, x1, r0, r1 = band
    group.rect(_box(to, band), Look("ink", "paper", _EDGE))
    middle = ((x0 + x1) / 2, (r0 + r1) / 2)
    ends = ((middle[0], r0 - 1), (middle[0], r1 + 1)) if across else ((x0 - 1.5, middle[1]), (x1 + 1.5, middle[1]))
    group.line(to(*ends[0]), to(*ends[1]), _AXIS)


def plates(group: Group, to: To, pack: Pack, *, engaged: bool) -> None:
    """Draw the plates of a clutch or brake, black where it joins or holds.

    Args:
        group: where to.
        to: from place along the axis and radius to the page.
        pack: the element.
        engaged: whether it joins or holds.
    """
    for rect in (*pack.inner, *pack.outer):
        group.rect(_box(to, rect), PLATES[engaged])


def _box(to: To, rect: Rect) -> Box:
    (left, bottom), (right, top) = to(rect[0], rect[2]), to(rect[1], rect[3])
    return Box(left, top, right, bottom)
