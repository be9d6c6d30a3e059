"""Bars side by side: how much each of a few things carries, with a line to compare with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gearkit.draw.charts.plot_frame import TYPE, Scale
from gearkit.draw.core.frame import MARGIN, heading, heading_width
from gearkit.draw.core.measure import Box, text_width
from gearkit.draw.core.svg import Look, Picture, Text
from gearkit.words.say import say

LENGTH = 380.0
ROW = 26.0
THICK = 14.0
FORWARD = Look("blue", "blue", 1.6)
BACKWARD = Look("blue", "paper", 1.6)
BEYOND = Look("red", "red", 1.6)


@dataclass(frozen=True)
class Bar:
    """One bar.

    Args:
        label: what it stands for.
        value: its length, with a sign; a bar below 0 is open and goes to the left.
        text: the value as it is written beside the bar.
    """

    label: str
    value: float
    text: str


@dataclass(frozen=True)
class Limit:
    """A line across all bars.

    Args:
        value: where it stands, above 0.
        label: what it means.
    """

    value: float
    label: str


def picture(bars: Sequence[Bar], title: str, line: str = "", limit: Limit | None = None) -> Picture:
    """Return bars as a picture.

    Args:
        bars: at least one.
        title: heading of the picture.
        line: a second line under it.
        limit: a value to compare with, or None.
    """
    drawn = Picture(title=title, description=describe(bars, limit), kind="bars")
    top = heading(drawn, title, line) + (22 if limit else 4)
    names = max(text_width(bar.label, TYPE, bold=True) for bar in bars)
    figures = max(text_width(bar.text, TYPE) for bar in bars)
    left = MARGIN + names + 12
    lowest = min(0.0, *(bar.value for bar in bars))
    highest = max(0.0, limit.value if limit else 0.0, *(bar.value for bar in bars)) or 1.0
    # A figure stands at the open end of its bar, so bars to the left need room for it there.
    start = left + (figures + 10 if lowest < 0 else 0)
    scale = Scale(lowest, highest, start, start + LENGTH)
    bottom = top + ROW * len(bars)
    right = start + LENGTH + figures + 10
    x = scale.at(limit.value) if limit else 0.0
    if limit is not None:
        drawn.line((x, top - 6), (x, bottom + 2), Look("ink", None, 1.8, (6, 4)))
        if lowest < -limit.value:
            mirrored = scale.at(-limit.value)
            drawn.line((mirrored, top - 2), (mirrored, bottom + 2), Look("ink", None, 1.8, (6, 4)))
    for number, bar in enumerate(bars):
        _bar(
            drawn,
            bar,
            scale,
            left,
            top + ROW * (number + 0.5),
            beyond=limit is not None and abs(bar.value) > limit.value,
        )
    drawn.line((scale.at(0), top - 2), (scale.at(0), bottom + 2), Look("ink", None, 1.6))
    if limit is not None:
        half = text_width(limit.label, TYPE) / 2
        middle = min(max(x, MARGIN + half), max(right, MARGIN + half * 2) - half)
        drawn.text(Text(middle, top - 11, limit.label, TYPE, "middle"))
    drawn.width = max(right, MARGIN + heading_width(title, line)) + MARGIN
    drawn.height = bottom + MARGIN * 0.7
    return drawn


def describe(bars: Sequence[Bar], limit: Limit | None) -> str:
    """Return the text alternative of bars.

    Args:
        bars: the bars, in order.
        limit: the line across them, or None.
    """
    said = [say("Level bars, one a row, from the top down: {join}.", join="; ".join(f"{bar.label} {bar.text}" for bar in bars))]
    if limit is not None:
        beyond = [bar.label for bar in bars if abs(bar.value) > limit.value]
        said.append(say("Line: {label}. Beyond it: {join}.", label=limit.label, join=", ".join(beyond) or say("none of them")))
    return " ".join(said)


def _bar(drawn: Picture, bar: Bar, scale: Scale, left: float, y: float, *, beyond: bool) -> None:
    group = drawn.group({"bar": bar.label})
    group.text(Text(left - 10, y + TYPE * 0.36, bar.label, TYPE, "end", bold=True))
    zero, end = scale.at(0), scale.at(bar.value)
    look = BEYOND if beyond else FORWARD if bar.value >= 0 else BACKWARD
    if bar.value:
        group.rect(Box(min(zero, end), y - THICK / 2, max(zero, end), y + THICK / 2), look)
    way = -1 if bar.value < 0 else 1
    figure = Text(end + 6 * way, y + TYPE * 0.36, bar.text, TYPE, "end" if way < 0 else "start")
    # The line of comparison stops behind a figure, so that no digit is struck through.
    group.rect(figure.box, Look(None, "paper"))
    group.text(figure)
