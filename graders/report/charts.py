"""Small charts as inline SVG: each has a title and a description in words, and reads without colour.

Colours come from the page's own variables (``--ink``, ``--soft``, ``--accent``), so that a chart follows light, dark
and print; shapes and labels carry the meaning, so that it also survives a black-and-white printer.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from html import escape

SHAPES = ("circle", "diamond", "square", "triangle")


def _svg(width: float, height: float, title: str, description: str, body: Sequence[str]) -> str:
    # The number in the id must differ on a page; the words make it so.
    key = f"c{abs(hash_of(title + description)) % 10**8:08d}"
    return (
        f'<svg viewBox="0 0 {width:g} {height:g}" role="img" aria-labelledby="{key}t {key}d" class="chart" '
        f'style="max-width:{width:g}px"><title id="{key}t">{escape(title)}</title>'
        f'<desc id="{key}d">{escape(description)}</desc>{"".join(body)}</svg>'
    )


def hash_of(text: str) -> int:
    """Return a number for a text that is the same in every process."""
    value = 0
    for character in text:
        value = (value * 131 + ord(character)) % (2**61 - 1)
    return value


def _text(x: float, y: float, text: str, kind: str = "", anchor: str = "start") -> str:
    place = f' text-anchor="{anchor}"' if anchor != "start" else ""
    return f'<text x="{x:g}" y="{y:g}" class="{kind}"{place}>{escape(text)}</text>'


def _mark(shape: str, x: float, y: float, title: str) -> str:
    r = 5.0
    words = f"<title>{escape(title)}</title>"
    if shape == "circle":
        return f'<circle cx="{x:g}" cy="{y:g}" r="{r:g}" class="mark">{words}</circle>'
    corners = {
        "diamond": ((0, -6.4), (6.4, 0), (0, 6.4), (-6.4, 0)),
        "square": ((-4.6, -4.6), (4.6, -4.6), (4.6, 4.6), (-4.6, 4.6)),
        "triangle": ((0, -6.0), (5.8, 4.6), (-5.8, 4.6)),
    }[shape]
    points = " ".join(f"{x + dx:g},{y + dy:g}" for dx, dy in corners)
    return f'<polygon points="{points}" class="mark mark-{shape}">{words}</polygon>'


def dots(groups: Mapping[str, Sequence[tuple[str, float]]], full: float, title: str) -> str:
    """Return a strip of dots, one for each learner at their mark, a row for each group, with the middle mark.

    Args:
        groups: for each group its learners as (name, mark); every group has its own shape.
        full: full marks, the right end of the scale; above 0.
        title: what the chart shows.
    """
    left, right, width = 96.0, 664.0, 680.0
    rows: list[str] = []
    words: list[str] = []
    top = 14.0
    for shape, (group, marks) in zip(itertools.cycle(SHAPES), groups.items(), strict=False):
        stacks = _stacked([(left + (right - left) * mark / full, who, mark) for who, mark in marks])
        floor = top + 13.0 * max([level for *_, level in stacks], default=0) + 12
        rows.append(_text(left - 14, floor + 4, group, "label", "end"))
        rows.append(f'<line x1="{left:g}" x2="{right:g}" y1="{floor + 9:g}" y2="{floor + 9:g}" class="axis"/>')
        for x, who, mark, level in stacks:
            rows.append(_mark(shape, x, floor - 13.0 * level, f"{who}: {mark:g} of {full:g}"))
        if marks:
            middle = median([mark for _, mark in marks])
            x = left + (right - left) * middle / full
            rows.append(f'<path d="M{x:g} {floor + 10:g}l-5 9h10z" class="middle"/>')
            edge = "start" if x < right - 70 else "end"
            rows.append(_text(x + (9 if edge == "start" else -9), floor + 20, f"middle {middle:g}", "note", edge))
            words.append(f"{group}: {len(marks)} learners, from {min(m for _, m in marks):g} to "
                         f"{max(m for _, m in marks):g}, middle {middle:g}")
        top = floor + 36
    rows += _scale(left, right, top, full)
    return _svg(width, top + 22, title, "; ".join(words) + f"; full marks {full:g}.", rows)


def _stacked(placed: Sequence[tuple[float, str, float]]) -> list[tuple[float, str, float, int]]:
    """Lift dots that would lie on one another, so that every learner can be seen."""
    levels: list[float] = []
    found: list[tuple[float, str, float, int]] = []
    for x, who, mark in sorted(placed):
        level = next((n for n, last in enumerate(levels) if x - last >= 12), len(levels))
        if level == len(levels):
            levels.append(x)
        levels[level] = x
        found.append((x, who, mark, level))
    return found


def _scale(left: float, right: float, y: float, full: float) -> list[str]:
    step = next((s for s in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000) if full / s <= 8), full)
    rows = [f'<line x1="{left:g}" x2="{right:g}" y1="{y - 12:g}" y2="{y - 12:g}" class="rule"/>']
    values = [n * step for n in range(int(full / step) + 1)]
    if full - values[-1] > step / 2:
        values.append(full)
    for value in values:
        x = left + (right - left) * value / full
        rows.append(f'<line x1="{x:g}" x2="{x:g}" y1="{y - 12:g}" y2="{y - 7:g}" class="rule"/>')
        rows.append(_text(x, y + 6, f"{value:g}", "note", "middle"))
    rows.append(_text(left - 14, y + 6, "marks", "note", "end"))
    return rows


def median(values: Sequence[float]) -> float:
    """Return the middle of at least one value, or the mean of the two in the middle."""
    ordered = sorted(values)
    half = len(ordered) // 2
    return ordered[half] if len(ordered) % 2 else (ordered[half - 1] + ordered[half]) / 2


def bar(share: float, words: str) -> str:
    """Return a short bar for a table cell.

    Args:
        share: how much of it is filled, from 0 to 1.
        words: what it says, for those who do not see it.
    """
    filled = 88 * min(1.0, max(0.0, share))
    return (
        f'<svg viewBox="0 0 90 12" role="img" aria-label="{escape(words, quote=True)}" class="bar">'
        f'<rect x=".5" y="1.5" width="89" height="9" class="bar-frame"/>'
        f'<rect x="1" y="2" width="{filled:.2f}" height="8" class="bar-fill"/></svg>'
    )


def pair(upper: float, lower: float, words: str) -> str:
    """Return two thin bars, the upper group's filled and the lower group's open, for one mistake.

    Args:
        upper: share of the upper group, from 0 to 1.
        lower: share of the lower group, from 0 to 1.
        words: what they say, for those who do not see them.
    """
    rows = []
    for y, name, share, kind in ((0, "upper", upper, "bar-fill"), (20, "lower", lower, "bar-open")):
        rows.append(_text(40, y + 12.5, name, "note", "end"))
        rows.append(f'<rect x="46.5" y="{y + 3.5:g}" width="{max(1.0, 100 * share):.1f}" height="11" class="{kind}"/>')
        rows.append(_text(152 if share > 0.99 else 52 + 100 * share, y + 12.5, f"{share:.0%}", "note"))
    rows.append('<path d="M46 0v37" class="rule"/>')
    return (
        f'<svg viewBox="0 0 184 38" role="img" aria-label="{escape(words, quote=True)}" class="pair">{"".join(rows)}</svg>'
    )


def lines(series: Mapping[str, Sequence[float | None]], points: Sequence[str], title: str) -> str:
    """Return one line for each group over the sheets of a course, as shares of full marks.

    Args:
        series: for each group its share from 0 to 1 on every sheet; None where it has none.
        points: names of the sheets, in order.
        title: what the chart shows.
    """
    left, right, top, bottom = 46.0, 560.0, 14.0, 184.0
    rows: list[str] = []
    for tenths in (0, 25, 50, 75, 100):
        y = bottom - (bottom - top) * tenths / 100
        rows.append(f'<line x1="{left:g}" x2="{right:g}" y1="{y:g}" y2="{y:g}" class="axis"/>')
        rows.append(_text(left - 8, y + 4, f"{tenths}", "note", "end"))
    gap = (right - left) / max(1, len(points))
    for n, point in enumerate(points):
        rows.append(_text(left + gap * (n + 0.5), bottom + 18, point, "note", "middle"))
    words: list[str] = []
    ends: list[float] = []
    for number, (name, shares) in enumerate(series.items()):
        placed = [
            (left + gap * (n + 0.5), bottom - (bottom - top) * share, share)
            for n, share in enumerate(shares)
            if share is not None
        ]
        if not placed:
            continue
        path = " ".join(f"{'M' if not n else 'L'}{x:g} {y:g}" for n, (x, y, _) in enumerate(placed))
        rows.append(f'<path d="{path}" class="line" stroke-dasharray="{("none", "7 4", "2 3", "9 3 2 3")[number % 4]}"/>')
        rows += [_mark(SHAPES[number % 4], x, y, f"{name}: {share:.0%}") for x, y, share in placed]
        end = placed[-1][1]
        while any(abs(end - other) < 15 for other in ends):
            end += 15
        ends.append(end)
        rows.append(_text(placed[-1][0] + 12, end + 4, name, "label"))
        words.append(f"{name}: " + ", ".join(f"{share:.0%}" for *_, share in placed))
    return _svg(660, bottom + 30, title, "Percent of full marks. " + "; ".join(words) + ".", rows)
