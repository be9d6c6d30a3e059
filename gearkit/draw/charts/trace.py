"""Lines over a number axis: engine speed against time or road speed, tractive effort against road speed.

Lines are told apart by dash and mark; their names stand in a key below the plot, where nothing can overlap.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gearkit.draw.charts.plot_frame import TYPE, Scale, Series, value_axis
from gearkit.draw.core.frame import MARGIN, heading, heading_width
from gearkit.draw.core.measure import Box, text_width
from gearkit.draw.core.svg import Group, Look, Picture, Point, Text
from gearkit.text.phrases import decimal

WIDTH = 560.0
HEIGHT = 280.0
ENTRY = 30.0
LINE_HEIGHT = 20.0


@dataclass(frozen=True)
class Line:
    """One line of a trace.

    Args:
        name: what it shows; lines of one name share their look and one entry in the key.
        points: (x, y) in axis units; a single point is drawn as a mark.
        marked: whether every point carries the line's mark.
    """

    name: str
    points: tuple[Point, ...]
    marked: bool = False


@dataclass(frozen=True)
class Band:
    """A stretch of the x axis in which something else happens.

    Args:
        start: where it begins.
        end: where it ends.
        label: what happens in it.
    """

    start: float
    end: float
    label: str


@dataclass(frozen=True)
class Axes:
    """What the axes mean and how far they go.

    Args:
        across: name of the x axis with its unit.
        up: name of the y axis with its unit.
        low: smallest x and y shown.
        high: largest x and y shown.
    """

    across: str
    up: str
    low: Point
    high: Point


def picture(
    lines: Sequence[Line], axes: Axes, title: str, description: str, *, line: str = "", bands: Sequence[Band] = ()
) -> Picture:
    """Return lines over an axis as a picture.

    Args:
        lines: what to draw.
        axes: names and limits.
        title: heading of the picture.
        description: what it shows, in sentences with the figures.
        line: a second line under the heading.
        bands: shaded stretches.
    """
    drawn = Picture(title=title, description=description, kind="trace")
    top = heading(drawn, title, line) + 24
    left = MARGIN + 48
    across = Scale(axes.low[0], axes.high[0], left, left + WIDTH)
    up = Scale(axes.low[1], axes.high[1], top + HEIGHT, top)
    for band in bands:
        _band(drawn, band, across, up)
    value_axis(drawn.group({"part": "axis"}), up, left, left + WIDTH, numbers=True)
    _bottom_axis(drawn, across, up, axes)
    drawn.text(Text(MARGIN, top - 10, axes.up, TYPE, role="soft"))
    looks: dict[str, Series] = {}
    for item in lines:
        series = looks.setdefault(item.name, Series(len(looks)))
        _line(drawn.group({"line": item.name}), item, series, across, up)
    bottom = _key(drawn, lines, looks, left, top + HEIGHT + 58)
    drawn.width = max(left + WIDTH, MARGIN + heading_width(title, line)) + MARGIN
    drawn.height = bottom + MARGIN * 0.5
    return drawn


def _band(drawn: Picture, band: Band, across: Scale, up: Scale) -> None:
    group = drawn.group({"band": band.label})
    first, last = across.at(band.start), across.at(band.end)
    group.rect(Box(first, up.end, last, up.start), Look(None, "wash"))
    for x in (first, last):
        group.line((x, up.end), (x, up.start), Look("soft", None, 1.0, (3, 3)))
    half = text_width(band.label, TYPE, bold=True) / 2
    middle = min(max((first + last) / 2, across.start + half), across.end - half)
    group.text(Text(middle, up.end - 10, band.label, TYPE, "middle", bold=True))


def _bottom_axis(drawn: Picture, across: Scale, up: Scale, axes: Axes) -> None:
    group = drawn.group({"part": "axis"})
    group.line((across.start, up.start), (across.end, up.start), Look("ink", None, 1.2))
    for tick in across.ticks(8):
        x = across.at(tick)
        group.line((x, up.start), (x, up.start + 5), Look("ink", None, 1.2))
        group.text(Text(x, up.start + 19, decimal(tick), TYPE, "middle"))
    group.text(Text(across.end, up.start + 37, axes.across, TYPE, "end", role="soft"))


def _line(group: Group, item: Line, series: Series, across: Scale, up: Scale) -> None:
    points = [(across.at(x), up.at(y)) for x, y in item.points]
    if len(points) > 1:
        group.polyline(points, series.look)
    if item.marked or len(points) == 1:
        for point in points:
            series.mark(group, point, 4.5)


def _key(drawn: Picture, lines: Sequence[Line], looks: dict[str, Series], left: float, top: float) -> float:
    """Write the names below the plot in as many columns as have room; return the y below them."""
    kinds = {item.name: item for item in lines}
    width = max((text_width(name, TYPE) for name in looks), default=0.0) + ENTRY + 26
    columns = max(1, int(WIDTH / width))
    for number, (name, series) in enumerate(looks.items()):
        x = left + width * (number % columns)
        y = top + LINE_HEIGHT * (number // columns)
        group = drawn.group({"key": name})
        if len(kinds[name].points) > 1:
            group.line((x, y), (x + ENTRY - 6, y), series.look)
        if kinds[name].marked or len(kinds[name].points) == 1:
            series.mark(group, (x + ENTRY / 2 - 3, y), 4.5)
        group.text(Text(x + ENTRY, y + TYPE * 0.36, name, TYPE))
    rows = -(-len(looks) // columns)
    return top + LINE_HEIGHT * max(rows - 1, 0) + 12
