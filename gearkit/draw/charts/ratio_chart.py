"""Ratio and step chart: the ratio of every forward range on a logarithmic scale, and the steps between them.

On a logarithmic scale equal steps are equal distances, so an uneven ladder shows at a glance. Reverse stands apart with
the size of its ratio.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from gearkit.draw.charts.plot_frame import NOTHING, TYPE
from gearkit.draw.core.frame import MARGIN, clear_text, heading, heading_width
from gearkit.draw.core.measure import Box, text_width
from gearkit.draw.core.svg import Group, Look, Picture, Point, Text
from gearkit.draw.core.wording import ratio_text
from gearkit.solve.ratios import RangeRow, RatioChart
from gearkit.solve.ratios import chart as ratios_of
from gearkit.text.phrases import localized
from gearkit.train.layout import Layout
from gearkit.words.say import later, say

COLUMN = 66.0
HEIGHT = 280.0
NAME_TYPE = 14.0
SUBTITLE = later("Ratios on a logarithmic scale: equal steps are equal heights.")
# Beyond what a road vehicle has, round numbers far apart are enough.
NUMBERS = (
    *(round(step * 10.0**power, -power) for power in range(-4, -1) for step in (1, 2, 5)),
    0.1, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 20.0, 50.0,
    *(step * 10.0**power for power in range(2, 5) for step in (1, 2, 5)),
)  # fmt: skip


def picture(layout: Layout) -> Picture:
    """Return the ratio chart as a picture.

    Args:
        layout: any layout.
    """
    ratios = ratios_of(layout)
    rows = [*ratios.forward, *(row for row in ratios.rows if row.ratio and row.ratio.exact < 0)]
    drawn = Picture(
        title=say("Ratios and steps of {layout}", layout=layout.said_name), description=describe(ratios, rows), kind="ratios"
    )
    top = heading(drawn, layout.said_name, say(SUBTITLE)) + 26
    if not rows:
        drawn.text(Text(MARGIN, top + 20, say(NOTHING), TYPE))
        drawn.width, drawn.height = MARGIN * 2 + heading_width(layout.said_name, say(SUBTITLE)), top + 20 + MARGIN
        return drawn
    column = max(
        COLUMN,
        *(text_width(row.name, NAME_TYPE, bold=True) + 12 for row in rows),
        *(text_width(ratio_text(row.ratio.exact), TYPE) + 12 for row in rows if row.ratio),
    )
    sizes = [abs(float(row.ratio.exact)) for row in rows if row.ratio]
    low, high = (math.log(min([*sizes, 1.0]) / 1.15), math.log(max([*sizes, 1.0]) * 1.15))
    left = MARGIN + max(
        40.0, text_width(say("range"), TYPE), text_width(say("step"), TYPE) if ratios.spread is not None else 0.0
    )

    def height(ratio: float) -> float:
        return top + HEIGHT * (high - math.log(ratio)) / (high - low)

    right = left + column * len(rows) + 14
    _axis(drawn.group({"part": "axis"}), height, (math.exp(low), math.exp(high)), left, right)
    previous: Point | None = None
    for number, row in enumerate(rows):
        assert row.ratio is not None
        x = left + column * (number + 0.5) + 7
        y = height(abs(float(row.ratio.exact)))
        _range(drawn.group({"range": row.name}), row, x, y, top + HEIGHT)
        if previous is not None and row.ratio.exact > 0:
            _step(drawn.group({"step": row.name}), previous, (x, y), rows[number - 1], top + HEIGHT + 42)
        previous = (x, y)
    if ratios.spread is not None:
        drawn.text(Text(left - 8, top + HEIGHT + 42, say("step"), TYPE, "end", role="soft"))
    drawn.text(Text(left - 8, top + HEIGHT + 18, say("range"), TYPE, "end", role="soft"))
    bottom = top + HEIGHT + 70
    if ratios.spread is not None:
        drawn.text(Text(left, bottom, say("Spread {ratio}", ratio=ratio_text(ratios.spread)), 13.0, bold=True))
        bottom += 8
    drawn.width = max(right, MARGIN + heading_width(layout.said_name, say(SUBTITLE))) + MARGIN
    drawn.height = bottom + MARGIN * 0.6
    return drawn


def describe(ratios: RatioChart, rows: list[RangeRow]) -> str:
    """Return the text alternative of a ratio chart.

    Args:
        ratios: the ranges with their ratios and steps.
        rows: those drawn, in drawing order.
    """
    if not rows:
        return say(NOTHING)
    said = [say("Ratio of each range on a logarithmic scale, {rows} in all.", rows=len(rows))]
    for row in rows:
        assert row.ratio is not None
        step = say(", step to the next {ratio}", ratio=ratio_text(row.step)) if row.step is not None else ""
        said.append(say("Range {row}: {ratio}{step}.", row=row.name, ratio=ratio_text(row.ratio.exact), step=step))
    if ratios.spread is not None:
        said.append(say("Spread {ratio}.", ratio=ratio_text(ratios.spread)))
    return " ".join(said)


def _axis(group: Group, height: Callable[[float], float], bounds: tuple[float, float], left: float, right: float) -> None:
    last = math.inf
    for number in NUMBERS:
        if not bounds[0] <= number <= bounds[1]:
            continue
        y = height(number)
        unity = number == 1.0
        if not unity and (abs(y - last) < 17 or abs(y - height(1.0)) < 17):
            continue
        last = y
        group.line((left, y), (right, y), Look("ink" if unity else "faint", None, 1.6 if unity else 0.6))
        group.text(Text(left - 8, y + TYPE * 0.36, localized(f"{number:.10g}"), TYPE, "end", unity))


def _range(group: Group, row: RangeRow, x: float, y: float, floor: float) -> None:
    assert row.ratio is not None
    reverse = row.ratio.exact < 0
    group.line((x, floor), (x, y), Look("faint", None, 1.0, (2, 3)))
    look = Look("red" if reverse else "blue", "paper" if reverse else "blue", 2.6)
    group.rect(Box(x - 15, y - 3.5, x + 15, y + 3.5), look, corner=2)
    clear_text(group, Text(x, y - 10, ratio_text(row.ratio.exact), TYPE, "middle"))
    group.text(Text(x, floor + 18, row.name, NAME_TYPE, "middle", True))


def _step(group: Group, first: Point, second: Point, lower: RangeRow, row: float) -> None:
    """A bracket from one range down to the next; the step itself stands in the row below the names."""
    if lower.step is None:
        return
    x = (first[0] + second[0]) / 2
    points = [(first[0] + 19, first[1]), (x, first[1]), (x, second[1]), (second[0] - 19, second[1])]
    group.polyline(points, Look("soft", None, 1.4))
    group.text(Text(x, row, ratio_text(lower.step), TYPE, "middle"))
