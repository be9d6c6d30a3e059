"""The symbols of a stick diagram: gears in half-section, plates of clutches and brakes, one-way clutches, ground.

Half-section symbols as the trade draws them and in the manner of ISO 3952 (title seen, symbols from memory): gears as
bars and blocks edge-on, plates as two bars, the housing as a hatched line. An applied element is drawn closed: its
plates are one block.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from gearkit.draw.core.frame import ground_strokes
from gearkit.draw.core.measure import Box, text_width
from gearkit.draw.core.svg import Group, Look, PathStep, Point, Text, arc
from gearkit.draw.stick.stick_geometry import BAR, PLATE, PLATE_GAP
from gearkit.words.say import say
from gearkit.words.terms import ElementKind, PinionKind

HOP = 6.0
STROKES = Look("ink", None, 1.3)
GEAR = Look("ink", "wash", 1.4)
BLOCK = 12.0  # half the width of a pinion
SIDE_GEAR = 16.0  # from the middle of a bevel set to the middle of its side gears
_MACHINE_UP = 28.0  # from the housing to the middle of a machine's circle


@dataclass(frozen=True)
class Line:
    """How the lines of one shaft are drawn.

    Args:
        role: colour.
        width: in px.
        dash: dashes and gaps; empty for a full line.
        held: with cross strokes, for a shaft that is held.
        arrows: with arrow heads along its level lines, for a shaft at input speed.
    """

    role: str = "ink"
    width: float = 2.4
    dash: tuple[float, ...] = ()
    held: bool = False
    arrows: bool = False

    @cached_property
    def look(self) -> Look:
        """The line itself."""
        return Look(self.role, None, self.width, self.dash, "butt" if self.dash else "round")


def level(group: Group, x1: float, x2: float, y: float, line: Line, passed: Iterable[float] = ()) -> None:
    """Draw a level piece of a shaft.

    Args:
        group: where to.
        x1: left end.
        x2: right end.
        y: its height.
        line: how the shaft is drawn.
        passed: x of uprights that hop over it; arrow heads keep clear of them.
    """
    group.line((x1, y), (x2, y), line.look)
    if line.held:
        _strokes(group, (x1, y), (x2, y))
    for start, end in free_stretches(x1, x2, passed) if line.arrows else ():
        if end - start <= 26:
            continue
        count = max(1, int((end - start) // 150))
        for index in range(count):
            x = start + (end - start) * (index + 0.5) / count
            group.polyline([(x + 6, y), (x - 5, y - 5.5), (x - 5, y + 5.5)], Look(line.role, line.role, 1.0), closed=True)


def free_stretches(start: float, end: float, passed: Iterable[float]) -> list[tuple[float, float]]:
    """Return the stretches of a line between the places where others pass.

    Args:
        start: smaller end.
        end: larger end.
        passed: places between.
    """
    stops = [start, *sorted(at for at in passed if start < at < end), end]
    return list(pairwise(stops))


def upright(group: Group, x: float, low: float, high: float, hops: list[float], line: Line) -> None:
    """Draw an upright piece of a shaft, with a half circle where it passes a level line of another shaft.

    Args:
        group: where to.
        x: its place.
        low: y of its lower end.
        high: y of its upper end, smaller than low.
        hops: y of the lines to pass.
        line: how the shaft is drawn.
    """
    radius = max(HOP, line.width / 2 + 3.5)
    steps: list[PathStep] = [("M", (x, low))]
    for y in sorted(hops, reverse=True):
        bow = arc((x, y), radius, math.pi / 2, -math.pi / 2)
        # Only the bow is cleared of what it passes: at the ends the upright meets lines of its own.
        group.path([("M", (x, y + radius)), *bow[1:]], Look("paper", None, line.width + 4))
        steps.append(("L", (x, y + radius)))
        steps += bow[1:]
    steps.append(("L", (x, high)))
    group.path(steps, line.look)
    if line.held:
        bounds = [low, *[y + side * (radius + 3) for y in sorted(hops, reverse=True) for side in (1, -1)], high]
        for start, end in zip(bounds[0::2], bounds[1::2], strict=True):
            _strokes(group, (x, start), (x, end))


def _strokes(group: Group, first: Point, last: Point) -> None:
    """Cross strokes along a line: the shaft is held."""
    count = int(math.dist(first, last) // 9)
    steps: list[PathStep] = []
    for index in range(count):
        part = (index + 0.5) / count
        x, y = first[0] + (last[0] - first[0]) * part, first[1] + (last[1] - first[1]) * part
        steps += [("M", (x - 3.2, y + 4.2)), ("L", (x + 3.2, y - 4.2))]
    if steps:
        group.path(steps, STROKES)


def gears(group: Group, kind: PinionKind, x: float, rows: tuple[float, float, float], lines: tuple[Line, Line, Line]) -> None:
    """Draw one set in half-section.

    Args:
        group: where to.
        kind: of the set.
        x: its middle.
        rows: y of the sun, the pin and the ring.
        lines: how sun, carrier and ring are drawn.
    """
    sun, pin, ring = rows
    if kind is PinionKind.BEVEL:
        _bevel(group, x, rows, lines)
        return
    _bar(group, x, sun, lines[0])
    _bar(group, x, ring, lines[2])
    inner, outer = sun - 4.5, ring + 4.5
    match kind:
        case PinionKind.DOUBLE:
            half = (inner - outer) / 2 - 1
            pins = (inner - half / 2, outer + half / 2)
            group.rect(Box(x - BLOCK, inner - half, x + BLOCK, inner), GEAR)
            group.rect(Box(x - BLOCK, outer, x + BLOCK, outer + half), GEAR)
            for y in pins:
                _pin(group, x, y, lines[1])
            group.line((x - BLOCK - 5, pins[0]), (x - BLOCK - 5, pins[1]), lines[1].look)
            group.line((x + BLOCK + 5, pins[0]), (x + BLOCK + 5, pins[1]), lines[1].look)
        case PinionKind.STEPPED:
            reach = (inner - pin) * 0.62
            group.rect(Box(x - BLOCK - 2, pin - (inner - pin), x - 1, inner), GEAR)
            group.rect(Box(x + 1, outer, x + BLOCK + 2, pin + reach), GEAR)
            _pin(group, x, pin, lines[1])
        case _:
            group.rect(Box(x - BLOCK, outer, x + BLOCK, inner), GEAR)
            _pin(group, x, pin, lines[1])


def shared_set(
    group: Group, places: tuple[float, float, float], rows: tuple[float, float, float, float],
    lines: tuple[Line, Line, Line, Line],
) -> None:  # fmt: skip
    """Draw a single and a double set that are built as one, in half-section.

    Args:
        group: where to.
        places: x of the large sun, of the ring and of the small sun.
        rows: y of the small sun, the large sun, the long pinions' pin and the ring.
        lines: how small sun, large sun, carrier and ring are drawn.
    """
    left, middle, right = places
    small, large, pin, ring = rows
    end = right + BLOCK + 5
    short = (large + small) / 2
    group.rect(Box(left - BLOCK, ring + 4.5, right + BLOCK, large - 4.5), GEAR)
    group.rect(Box(right - BLOCK, large - 3.5, right + BLOCK, small - 4.5), GEAR)
    look = Look(lines[2].role, None, max(2.0, lines[2].width * 0.8))
    group.line((left - BLOCK - 5, pin), (end, pin), look)
    group.line((right - BLOCK - 5, short), (end, short), look)
    group.line((end, pin), (end, short), look)
    for x, y in ((left, pin), (right, short)):
        group.circle((x, y), 3.4, Look(lines[2].role, "paper", 1.6))
    for x, y, line in ((right, small, lines[0]), (left, large, lines[1]), (middle, ring, lines[3])):
        _bar(group, x, y, line)


def _bar(group: Group, x: float, y: float, line: Line) -> None:
    group.line((x - BAR, y), (x + BAR, y), Look(line.role, None, 6.0))
    if line.held:
        for side in (-1, 1):
            ground_strokes(group, x + side * BAR - 4, x + side * BAR + 4, y + 3, 5.0)


def _pin(group: Group, x: float, y: float, line: Line) -> None:
    group.line((x - BLOCK - 5, y), (x + BLOCK + 5, y), Look(line.role, None, max(2.0, line.width * 0.8)))
    group.circle((x, y), 3.4, Look(line.role, "paper", 1.6))


def _bevel(group: Group, x: float, rows: tuple[float, float, float], lines: tuple[Line, Line, Line]) -> None:
    """Two side gears facing each other, a pinion across on top; the carrier holds the pinion's pin."""
    sun, pin, ring = rows
    for side, line in ((-1, lines[0]), (1, lines[2])):
        near, far = x + side * (SIDE_GEAR - 5), x + side * (SIDE_GEAR + 5)
        group.polyline(
            [(far, sun + 2), (far, pin - 6), (near, pin + 6), (near, sun + 2)], Look(line.role, "wash", 2.2), closed=True
        )
    top = ring + 10
    group.polyline([(x - 17, top), (x + 17, top), (x + 9, pin + 2), (x - 9, pin + 2)], Look("ink", "wash", 1.4), closed=True)
    group.line((x, ring), (x, pin + 6), Look(lines[1].role, None, max(2.0, lines[1].width * 0.8)))
    group.circle((x, (top + pin) / 2), 3.4, Look(lines[1].role, "paper", 1.6))


def plates(group: Group, kind: ElementKind, x: float, y: float, roles: tuple[str, str], *, engaged: bool) -> None:
    """Draw the two sides of an element, open or closed.

    Args:
        group: where to.
        kind: of the element.
        x: its middle.
        y: its middle.
        roles: colours of the lower and the upper side.
        engaged: whether it joins or holds.
    """
    if engaged:
        box = Box(x - PLATE, y - PLATE_GAP - 2, x + PLATE, y + PLATE_GAP + 2)
        group.rect(box, Look("ink", "ink", 1.6), corner=1.5)
        if kind is ElementKind.ONE_WAY_CLUTCH:
            _struts(group, x, y, "paper")
        return
    for side, role in ((1, roles[0]), (-1, roles[1])):
        group.line((x - PLATE, y + side * PLATE_GAP), (x + PLATE, y + side * PLATE_GAP), Look(role, None, 3.4))
    if kind is ElementKind.ONE_WAY_CLUTCH:
        _struts(group, x, y, "ink")


def _struts(group: Group, x: float, y: float, role: str) -> None:
    for offset in (-7, 0, 7):
        group.line((x + offset - 2.5, y + 3.2), (x + offset + 2.5, y - 3.2), Look(role, None, 2.0, cap="round"))


def grounded(group: Group, x: float, y: float, way: int) -> None:
    """Draw a short stem with the housing's hatch: a member joined to the housing for good.

    Args:
        group: where to.
        x: of the member.
        y: of the member.
        way: 1 for a stem downwards, -1 upwards.
    """
    end = y + way * 15
    group.line((x, y), (x, end), Look("ink", None, 2.4))
    group.line((x - 11, end), (x + 11, end), Look("ink", None, 2.4))
    ground_strokes(group, x - 11, x + 11, end, 6.0, upwards=way < 0)


def machine(group: Group, x: float, y: float, housing: float, name: str, line: Line) -> None:
    """Draw an electric machine: rotor on the shaft, stator in the housing, its name in a circle outside.

    Args:
        group: where to.
        x: its middle.
        y: the gap between rotor and stator.
        housing: y of the housing.
        name: its name.
        line: how its shaft is drawn.
    """
    group.rect(Box(x - PLATE, y + 2, x + PLATE, y + 10), Look(line.role, "wash", 1.8))
    group.rect(Box(x - PLATE, y - 10, x + PLATE, y - 2), Look("ink", "ink", 1.4))
    group.line((x, y - 10), (x, housing), Look("ink", None, 2.4))
    middle, radius = housing - _MACHINE_UP, _machine_radius(name)
    group.line((x, housing), (x, middle + radius), Look("ink", None, 1.4))
    group.circle((x, middle), radius, Look("ink", "paper", 1.8))
    group.text(Text(x, middle + 4.3, name, 12.0, "middle", True, overlay=True))


def machine_reach(name: str) -> float:
    """Return how far a machine's circle reaches above the housing, its line included.

    Args:
        name: the machine's name.
    """
    return _MACHINE_UP + _machine_radius(name) + 1


def _machine_radius(name: str) -> float:
    return max(12.0, text_width(name, 12.0, bold=True) / 2 + 4)


def output_up(group: Group, x: float, y: float, housing: float, name: str, line: Line) -> None:
    """Draw a further output: its line leaves through an opening in the housing and ends in an arrow with its name.

    Args:
        group: where to.
        x: its place.
        y: where its line has come so far.
        housing: y of the housing.
        name: its name.
        line: how its shaft is drawn.
    """
    tip = housing - 20
    group.rect(Box(x - 7, housing - 8, x + 7, housing + 2), Look(None, "paper"))
    group.line((x, y + 3), (x, tip + 12), line.look)
    group.polyline([(x, tip), (x - 7, tip + 13), (x + 7, tip + 13)], Look(line.role, line.role, 1.0), closed=True)
    group.text(Text(x, tip - 5, name, 12.0, "middle", True))


def converter(group: Group, x: float, y: float, roles: tuple[str, str]) -> None:
    """Draw a torque converter: two shells with their open sides facing.

    Args:
        group: where to.
        x: its middle.
        y: its middle.
        roles: colours of the lower and the upper side.
    """
    for side, role in ((1, roles[0]), (-1, roles[1])):
        edge = y + side * 1.5
        group.path(
            [
                ("M", (x - PLATE, edge)),
                *arc((x, edge), PLATE, math.pi if side > 0 else -math.pi, 0.0)[1:],
                ("L", (x - PLATE, edge)),
            ],
            Look(role, "wash", 2.2),
        )
    group.text(Text(x + PLATE + 6, y + 4, say("converter"), 12.0))


def arrow(group: Group, tip: Point, sense: int, line: Line) -> None:
    """Draw the arrow head of the input or the output.

    Args:
        group: where to.
        tip: where it points.
        sense: 1 to the right, -1 to the left.
        line: how the shaft is drawn.
    """
    x, y = tip
    group.polyline([(x, y), (x - sense * 13, y - 7), (x - sense * 13, y + 7)], Look(line.role, line.role, 1.0), closed=True)
