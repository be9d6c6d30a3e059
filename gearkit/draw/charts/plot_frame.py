"""Axes, series looks and end labels that the plots share."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from gearkit.draw.core.measure import Box, text_width
from gearkit.draw.core.svg import Group, Look, Point, Text
from gearkit.draw.lever.lever_places import spread
from gearkit.text.phrases import decimal
from gearkit.words.say import later

TYPE = 12.0
NOTHING = later("No range fixes the output, so there is nothing to plot.")
DASHES: tuple[tuple[float, ...], ...] = ((), (9, 4), (2.5, 3.5), (12, 3, 2.5, 3))
ROLES = ("blue", "red", "green", "ink", "pink")
SHAPES = 5


@dataclass(frozen=True)
class Series:
    """How one line of a plot is told from the others: by dash and mark first, by colour too.

    Args:
        number: which line of the plot.
    """

    number: int

    @property
    def role(self) -> str:
        """Its colour; the sixth line shares its mark with the first, so it takes another colour."""
        return ROLES[(self.number + self.number // SHAPES) % len(ROLES)]

    @property
    def look(self) -> Look:
        """The line."""
        return Look(self.role, None, 2.2, DASHES[self.number % len(DASHES)])

    def mark(self, group: Group, at: Point, size: float = 4.0) -> None:
        """Draw the line's mark at a point.

        Args:
            group: where to.
            at: the point.
            size: half its width in px.
        """
        x, y = at
        look = Look(self.role, self.role if self.number % 2 == 0 else "paper", 1.8)
        match self.number % SHAPES:
            case 0:
                group.circle(at, size, look)
            case 1:
                group.rect(Box(x - size, y - size, x + size, y + size), look)
            case 2:
                group.polyline([(x, y - size * 1.2), (x + size * 1.1, y + size), (x - size * 1.1, y + size)], look, closed=True)
            case 3:
                s = size * 1.25
                group.polyline([(x, y - s), (x + s, y), (x, y + s), (x - s, y)], look, closed=True)
            case _:
                group.polyline([(x, y + size * 1.2), (x + size * 1.1, y - size), (x - size * 1.1, y - size)], look, closed=True)


@dataclass(frozen=True)
class Scale:
    """A number axis.

    Args:
        low: number at its lower end.
        high: number at its upper end.
        start: px of the lower end.
        end: px of the upper end.
    """

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Return the px of a number."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)

    def ticks(self, most: int = 9) -> list[float]:
        """Return round numbers along the axis.

        Args:
            most: how many at most.
        """
        raw = (self.high - self.low) / most
        size = 10.0 ** math.floor(math.log10(raw))
        step = next(size * by for by in (1, 2, 5, 10) if size * by >= raw - 1e-12)
        first = math.ceil(self.low / step - 1e-9)
        return [index * step for index in range(first, math.floor(self.high / step + 1e-9) + 1)]


def value_axis(group: Group, scale: Scale, left: float, right: float, *, numbers: bool) -> None:
    """Draw level grid lines with their numbers; zero is heavy.

    Args:
        group: where to.
        scale: from low (bottom) to high (top).
        left: left end of the lines.
        right: right end.
        numbers: whether to write the numbers at the left.
    """
    for tick in scale.ticks():
        y = scale.at(tick)
        zero = abs(tick) < 1e-9
        group.line((left, y), (right, y), Look("ink" if zero else "faint", None, 1.6 if zero else 0.6))
        if numbers:
            group.text(Text(left - 8, y + TYPE * 0.36, decimal(tick), TYPE, "end"))


def end_labels(group: Group, points: Sequence[tuple[Point, str]], bounds: tuple[float, float]) -> float:
    """Name lines at their right ends, moved apart where they would overlap; return the room taken to the right.

    Args:
        group: where to.
        points: end of each line with its name.
        bounds: smallest and largest y for a label's middle.
    """
    merged: dict[float, tuple[Point, list[str]]] = {}
    for point, name in points:
        merged.setdefault(round(point[1], 1), (point, []))[1].append(name)
    ends = list(merged.values())
    ys = spread([point[1] for point, _ in ends], 15.5)
    if ys:
        shift = max(bounds[0] - min(ys), 0.0) or min(bounds[1] - max(ys), 0.0)
        ys = [y + shift for y in ys]
    room = 0.0
    for ((x, y), names), label_y in zip(ends, ys, strict=True):
        words = ", ".join(names)
        group.polyline([(x + 6, y), (x + 18, label_y)], Look("soft", None, 0.9))
        group.text(Text(x + 21, label_y + TYPE * 0.36, words, TYPE, bold=True))
        room = max(room, 21 + text_width(words, TYPE, bold=True))
    return room
