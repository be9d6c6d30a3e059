"""Speed plot: the speed of every node of every lever in every range, one panel a lever.

The nodes of a lever stand at distances by the tooth counts, so every range is a straight line across its panel. All
panels share one speed axis. Ranges are told apart by dash, mark and the name at the line's end.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from gearkit.draw.charts.plot_frame import NOTHING, TYPE, Scale, Series, end_labels, value_axis
from gearkit.draw.core.frame import MARGIN, clear_text, heading, heading_width
from gearkit.draw.core.measure import text_width
from gearkit.draw.core.state import DriveState, state_of
from gearkit.draw.core.svg import Group, Look, Picture, Text
from gearkit.draw.lever.lever_geometry import Lever, levers
from gearkit.draw.lever.lever_words import node_words
from gearkit.solve.one_way import in_range
from gearkit.text.phrases import decimal, listed, member_label, sets_words
from gearkit.train.layout import Layout
from gearkit.words.say import later, say, say_n
from gearkit.words.terms import Verdict

PANEL = 250.0
HEIGHT = 330.0
SUBTITLE = later("Speeds as multiples of the input's; one line a range, straight along each lever.")


@dataclass(frozen=True)
class Line:
    """One range.

    Args:
        name: of the range.
        state: what its elements do.
        series: how its line is drawn.
    """

    name: str
    state: DriveState
    series: Series


def picture(layout: Layout) -> Picture:
    """Return the speed plot as a picture.

    Args:
        layout: any layout.
    """
    lines = _lines(layout)
    panels = [_best_side(lever, lines) for lever in levers(layout) if len(lever.nodes) > 1]
    drawn = Picture(
        title=say("Speed plot of {layout}", layout=layout.said_name), description=describe(layout, panels, lines), kind="speeds"
    )
    top = heading(drawn, layout.said_name, say(SUBTITLE)) + 30
    scale = Scale(*_bounds(panels, lines), top + HEIGHT, top)
    x = MARGIN + 34
    bottom = top + HEIGHT
    for number, lever in enumerate(panels if lines else []):
        group = drawn.group({"lever": " ".join(lever.sets)})
        width, low = _panel(group, layout, lever, lines, scale, x, first=number == 0)
        x += width + 34
        bottom = max(bottom, low)
    if not panels or not lines:
        drawn.text(Text(MARGIN, top + 20, say(NOTHING), TYPE))
    drawn.width = max(x - 34, MARGIN + heading_width(layout.said_name, say(SUBTITLE)), 460.0) + MARGIN
    drawn.height = bottom + MARGIN
    return drawn


def describe(layout: Layout, panels: list[Lever], lines: list[Line]) -> str:
    """Return the text alternative of a speed plot.

    Args:
        layout: the layout.
        panels: its levers, as drawn.
        lines: the ranges drawn.
    """
    if not panels or not lines:
        return say(NOTHING)
    said = [say_n("Speed plot with {panels} panel and a line for each of the ranges {line}; speeds as multiples of the input's.", "Speed plot with {panels} panels and a line for each of the ranges {line}; speeds as multiples of the input's.", len(panels), panels=len(panels), line=listed(line.name for line in lines) or '(none)')]  # fmt: skip
    for lever in panels:
        said.append(say("Lever of {sets}.", sets=sets_words(lever.sets)))
        for line in lines:
            values = [f"{node_words(layout, lever, shaft)} {_shown(line.state.speed(shaft))}" for shaft in _ordered(lever)]
            said.append(say("Range {line}: {join}.", line=line.name, join=", ".join(values)))
    left_out = [item.name for item in layout.ranges if item.name not in [line.name for line in lines]]
    if left_out:
        said.append(say("Not drawn, because the input does not fix the output: {left_out}.", left_out=listed(left_out)))
    return " ".join(said)


def _lines(layout: Layout) -> list[Line]:
    lines: list[Line] = []
    for item in layout.ranges:
        state = state_of(layout, in_range(layout, item.name).engaged)
        if state.mobility.verdict is Verdict.RANGE:
            lines.append(Line(item.name, state, Series(len(lines))))
    return lines


def _ordered(lever: Lever) -> list[int]:
    return sorted(lever.nodes, key=lambda shaft: lever.nodes[shaft])


def _best_side(lever: Lever, lines: list[Line]) -> Lever:
    """Turn the lever so that the ends with more different speeds are at the right, where the names go."""

    def spread_at(side: Lever) -> tuple[int, Fraction]:
        known = [speed for line in lines if (speed := line.state.speed(_ordered(side)[-1])) is not None]
        return len(set(known)), max(known, default=Fraction(0)) - min(known, default=Fraction(0))

    return max((lever, lever.turned_over()), key=spread_at)


def _bounds(panels: list[Lever], lines: list[Line]) -> tuple[float, float]:
    values = [0.0, 1.0]
    for lever in panels:
        for line in lines:
            values += [float(speed) for shaft in lever.nodes if (speed := line.state.speed(shaft)) is not None]
    room = 0.04 * (max(values) - min(values))
    return min(values) - room, max(values) + room


def _panel(
    group: Group, layout: Layout, lever: Lever, lines: list[Line], scale: Scale, left: float, *, first: bool
) -> tuple[float, float]:
    """Draw one lever's panel; return its width and the y below its names."""
    right = left + PANEL
    across = Scale(0.0, 1.0, left + 10, right - 10)
    group.text(Text(left, scale.end - 12, sets_words(lever.sets), 13.0, bold=True))
    value_axis(group, scale, left, right, numbers=first)
    for shaft in _ordered(lever):
        x = across.at(float(lever.nodes[shaft]))
        group.line((x, scale.start), (x, scale.end), Look("faint", None, 0.9))
    ends = []
    for line in lines:
        points = [
            (across.at(float(lever.nodes[shaft])), scale.at(float(speed)))
            for shaft in _ordered(lever)
            if (speed := line.state.speed(shaft)) is not None
        ]
        if not points:
            continue
        inner = group.group({"range": line.name})
        if len(points) > 1:
            inner.polyline(points, line.series.look)
        for point in points:
            line.series.mark(inner, point)
        ends.append((points[-1], line.name))
    room = end_labels(group, ends, (scale.end + 4, scale.start - 4))
    bottom = _node_names(group, layout, lever, across, scale.start)
    widest = max(text_width(member_label(name), TYPE) for shaft in lever.nodes for name in lever.members(layout, shaft))
    return max(PANEL + room, PANEL - 10 + widest / 2), bottom


def _node_names(group: Group, layout: Layout, lever: Lever, across: Scale, axis: float) -> float:
    """Write the names under the panel, each in the first row where it has room; return the y below them."""
    rows: list[float] = []
    written: list[Text] = []
    tallest = max(len(lever.members(layout, shaft)) for shaft in lever.nodes) * 15.0 + 12
    low = axis
    for shaft in _ordered(lever):
        x = across.at(float(lever.nodes[shaft]))
        names = [member_label(name) for name in lever.members(layout, shaft)]
        half = max(text_width(name, TYPE) for name in names) / 2
        # Names at the ends stay within the panel's frame.
        middle = max(x, across.start - 12 + half)
        row = next((index for index, edge in enumerate(rows) if edge + 8 <= middle - half), len(rows))
        rows[row:] = [middle + half, *rows[row + 1 :]]
        top = axis + 8 + row * tallest
        group.line((x, axis), (x, top), Look("soft", None, 0.9))
        for number, name in enumerate(names):
            written.append(Text(middle, top + 13 + 15 * number, name, TYPE, "middle"))
        low = max(low, top + 13 + 15 * len(names))
    for text in written:
        clear_text(group, text)
    return low


def _shown(speed: Fraction | None) -> str:
    return "free" if speed is None else decimal(speed)
