"""The plots of the reports, drawn by matplotlib as SVG that stands in the page itself, each with its text alternative.

Colours are put in afterwards as the page's own variables, so that a plot follows light, dark and print; shapes, fillings
and dashes carry the meaning, so that it survives a black-and-white printer. Text stays text. The same figures give the
same bytes: nothing of time or chance is in a plot, and its ids hold its own key, so that they are the only ones of a page.
"""

from __future__ import annotations

import io
import itertools
import re
import warnings
import zlib
from collections.abc import Mapping, Sequence
from contextlib import contextmanager
from html import escape
from statistics import median
from typing import TYPE_CHECKING, Any

from graders.report.pages.page import counted, signed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH = 680.0
_TALLEST = 24
_POINT = 72.0
# Stand-ins that no colour map has, exchanged for the page's variables when the plot is written.
INK, SOFT, LINE, ACCENT, PAPER = "#010203", "#040506", "#070809", "#0a0b0c", "#0d0e0f"
_VARIABLES = {INK: "--ink", SOFT: "--soft", LINE: "--line", ACCENT: "--accent", PAPER: "--paper"}
_SHAPES = ("o", "D", "s", "^", "v", "P")
_DASHES = ("-", (0, (6, 3)), (0, (1.5, 2)), (0, (7, 2, 1.5, 2)))
_FILLED = (ACCENT, PAPER)
_FONT = "DejaVu Sans"
_SETTINGS: dict[str, Any] = {
    "svg.fonttype": "none", "svg.hashsalt": "gearkit", "text.parse_math": False, "font.family": [_FONT], "font.size": 12.0,
    "axes.edgecolor": SOFT, "axes.labelcolor": INK, "text.color": INK, "xtick.color": SOFT, "ytick.color": SOFT,
    "xtick.labelcolor": INK, "ytick.labelcolor": INK, "axes.linewidth": 1.0, "axes.spines.top": False,
    "axes.spines.right": False, "lines.linewidth": 1.8, "lines.markersize": 8.0, "lines.markeredgewidth": 1.6,
}  # fmt: skip


def marks(groups: Mapping[str, Sequence[float]], full: float, title: str) -> str:
    """Return a strip of dots, one for each learner at their mark, a row for each group, with the middle mark.

    Args:
        groups: marks of each group's learners.
        full: full marks, the right end of the scale; above 0.
        title: what the plot shows.
    """
    rows = {name: _stacked(values, full) for name, values in groups.items()}
    tallest = max((level for row in rows.values() for _, level in row), default=0)
    # In a large class the dots of a stack overlap; its height still tells how many there are.
    step = 0.62 * min(1.0, _TALLEST / max(tallest, 1))
    heights = [1.7 + max((level for _, level in row), default=0) * step for row in rows.values()]
    words: list[str] = []
    with _figure(24 * sum(heights) + 62) as (figure, axes):
        floor = 0.0
        for shape, filled, height, (name, row) in zip(
            itertools.cycle(_SHAPES), itertools.cycle(_FILLED), heights, rows.items(), strict=False
        ):
            floor -= height
            axes.axhline(floor - 0.45, color=LINE, linewidth=1, zorder=0)
            axes.plot(
                [mark for mark, _ in row],
                [floor + step * level for _, level in row],
                linestyle="none",
                marker=shape,
                color=ACCENT,
                markerfacecolor=filled,
            )
            axes.text(-0.02 * full, floor, _cut(name, 24), ha="right", va="center", fontweight="bold")
            if row:
                values = sorted(mark for mark, _ in row)
                middle = median(values)
                axes.plot([middle], [floor - 0.72], marker="^", color=INK, markersize=7, linestyle="none")
                right = middle > 0.85 * full
                axes.text(
                    middle + (-0.015 if right else 0.015) * full,
                    floor - 0.76,
                    f"middle {middle:g}",
                    fontsize=10.5,
                    ha="right" if right else "left",
                    va="center",
                )
                words.append(f"{name}: {counted(len(row), 'learner')}, from {values[0]:g} to {values[-1]:g}, middle {middle:g}")
        axes.set_xlim(-0.01 * full, 1.02 * full)
        axes.set_ylim(floor - 1.2, -0.9)
        axes.set_yticks([])
        axes.spines["left"].set_visible(False)
        axes.set_xticks(_ticks(full))
        axes.set_xlabel("marks")
        return _written(figure, title, "; ".join(words) + f"; full marks {full:g}.")


def _ticks(full: float) -> list[float]:
    """Round marks, and the full ones at the end."""
    step = next((step for step in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000) if full / step <= 9), full)
    ticks = [float(place * step) for place in range(int(full / step) + 1)]
    return [*(tick for tick in ticks if full - tick > 0.6 * step), full]


def _stacked(values: Sequence[float], full: float) -> list[tuple[float, int]]:
    """Each mark with the level to which it is lifted, so that no dot lies on another."""
    levels: list[float] = []
    dots = []
    for mark in sorted(values):
        level = next((n for n, last in enumerate(levels) if mark - last >= 0.024 * full), len(levels))
        if level == len(levels):
            levels.append(mark)
        levels[level] = mark
        dots.append((mark, level))
    return dots


def items(figures: Sequence[tuple[str, float | None, float | None]], title: str) -> str:
    """Return facility and upper less lower of every item, a row for each, with the ranges in which they serve.

    Args:
        figures: item, facility from 0 to 1 and upper less lower from -1 to 1 of each; None where there is none.
        title: what the plot shows.
    """
    names = [name for name, _, _ in figures]
    words = [
        f"{name}: facility {_percent(facility)}, upper less lower {signed(apart, 'not known')}"
        for name, facility, apart in figures
    ]
    with _figure(22 * len(names) + 78, columns=2) as (figure, (left, right)):
        places = [-place for place in range(len(names))]
        left.axvspan(0.3, 0.85, facecolor="none", edgecolor=LINE, hatch="///", linewidth=0, zorder=0)
        left.barh(places, [facility or 0 for _, facility, _ in figures], height=0.5, color=ACCENT)
        left.set_xlim(0, 1)
        left.set_xticks([0, 0.25, 0.5, 0.75, 1], ["0", "25", "50", "75", "100"])
        left.set_xlabel("facility, percent of marks earned")
        left.set_yticks(places, names)
        right.axvspan(0.3, 1, facecolor="none", edgecolor=LINE, hatch="///", linewidth=0, zorder=0)
        right.axvline(0, color=SOFT, linewidth=1)
        known = [(apart, place) for (_, _, apart), place in zip(figures, places, strict=True) if apart is not None]
        for apart, place in known:
            right.plot([0, apart], [place, place], color=ACCENT, linewidth=1.4)
            right.plot([apart], [place], marker="o", color=ACCENT, markerfacecolor=ACCENT if apart >= 0 else PAPER)
        right.set_xlim(min([-0.25, *(apart - 0.08 for apart, _ in known)]), 1.05)
        right.set_xlabel("upper less lower group")
        right.set_yticks(places, [""] * len(places))
        for axes in (left, right):
            axes.set_ylim(places[-1] - 0.7, 0.7)
            axes.tick_params(axis="y", length=0)
        return _written(figure, title, "; ".join(words) + ". Hatched: the ranges in which an item serves best.")


def progress(series: Mapping[str, Sequence[float | None]], sheets: Sequence[str], title: str) -> str:
    """Return one line for each group over the sheets of a course, as shares of full marks.

    Args:
        series: for each group its share from 0 to 1 on every sheet; None where it has none.
        sheets: titles of the sheets, in order.
        title: what the plot shows.
    """
    words: list[str] = []
    ends: list[float] = []
    with _figure(250) as (figure, axes):
        axes.grid(axis="y", color=LINE, linewidth=1)
        axes.set_axisbelow(True)
        looks = zip(itertools.cycle(_SHAPES), itertools.cycle(_DASHES), itertools.cycle(_FILLED), series.items(), strict=False)
        for shape, dashes, filled, (name, shares) in looks:
            known = [(place, 100 * share) for place, share in enumerate(shares) if share is not None]
            if not known:
                continue
            axes.plot(*zip(*known, strict=True), linestyle=dashes, marker=shape, color=ACCENT, markerfacecolor=filled)
            end = _free(known[-1][1], ends)
            ends.append(end)
            axes.annotate(
                _cut(name, 20), (known[-1][0], end), xytext=(12, 0), textcoords="offset points", va="center", fontweight="bold"
            )
            told = ", ".join(f"{sheets[place]} {share:.0f}%" for place, share in known)
            words.append(f"{name}: {told}")
        # Room at the right for the groups' names.
        axes.set_xlim(-0.5, (len(sheets) - 0.5) * 1.22)
        axes.set_ylim(0, 104)
        letters = max(5, min(24, 76 // len(sheets)))
        labels = [_folded(sheet, letters) for sheet in sheets]
        axes.set_xticks(range(len(sheets)), labels, fontsize=10.5 if len(sheets) < 9 else 9)
        axes.set_ylabel("percent of full marks")
        return _written(figure, title, "Percent of full marks. " + "; ".join(words) + ".")


def before_and_after(rows: Sequence[tuple[str, int, int, int, int]], title: str) -> str:
    """Return for each place in the lessons the share of right predictions, the first ones and the later ones.

    Args:
        rows: name, right first predictions of how many, right later predictions of how many.
        title: what the plot shows.
    """
    words = []
    with _figure(30 * len(rows) + 74) as (figure, axes):
        for place, (_, first, firsts, later, laters) in enumerate(rows):
            before = 100 * first / firsts
            if laters:
                after = 100 * later / laters
                if abs(after - before) > 4:
                    axes.annotate(
                        "",
                        (after, -place),
                        (before, -place),
                        arrowprops={"arrowstyle": "->", "color": SOFT, "shrinkA": 6, "shrinkB": 6},
                    )
                axes.plot([after], [-place], marker="D", color=ACCENT, linestyle="none")
            axes.plot([before], [-place], marker="o", color=ACCENT, markerfacecolor=PAPER, linestyle="none")
        for name, first, firsts, later, laters in rows:
            then = f"later {later} of {laters}" if laters else "none later"
            words.append(f"{name}: first {first} of {firsts} right, {then}")
        axes.plot([], [], marker="o", color=ACCENT, markerfacecolor=PAPER, linestyle="none", label="first predictions")
        axes.plot([], [], marker="D", color=ACCENT, linestyle="none", label="later predictions")
        axes.legend(loc="lower right", bbox_to_anchor=(1, 1), ncols=2, frameon=False, fontsize=10.5, borderpad=0)
        axes.grid(axis="y", color=LINE, linewidth=1)
        axes.set_axisbelow(True)
        axes.set_xlim(-3, 103)
        axes.set_ylim(0.6 - len(rows), 0.6)
        axes.set_yticks([-place for place in range(len(rows))], [_cut(name, 34) for name, *_ in rows])
        axes.tick_params(axis="y", length=0)
        axes.set_xlabel("percent right")
        return _written(figure, title, "; ".join(words) + ".")


def _free(end: float, taken: Sequence[float]) -> float:
    """A height for a label at which no other stands."""
    steps = (sign * step for step in range(40) for sign in (1, -1))
    return next(end + 2 * step for step in steps if all(abs(end + 2 * step - other) >= 8 for other in taken))


def _cut(text: str, length: int) -> str:
    return text if len(text) <= length else text[: length - 1].rstrip() + "…"


def _folded(text: str, length: int) -> str:
    """A title in at most three lines."""
    lines = [""]
    for word in text.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > length:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return "\n".join(_cut(line, length + 2) for line in lines[:3]) + (" …" if len(lines) > 3 else "")


def _percent(share: float | None) -> str:
    return "not known" if share is None else f"{share:.0%}"


@contextmanager
def _figure(height: float, columns: int = 1) -> Iterator[tuple[Figure, Any]]:
    """A figure of the page's width with its axes, under settings of its own."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    # Nobody's own settings of matplotlib may change a report.
    with mpl.rc_context({**mpl.rcParamsDefault, **_SETTINGS}), warnings.catch_warnings():
        # A letter that this font lacks is drawn by the reader's own fonts.
        warnings.simplefilter("ignore", UserWarning)
        figure = Figure(figsize=(WIDTH / _POINT, height / _POINT), dpi=_POINT, layout="constrained")
        figure.patch.set_visible(False)
        axes: Any = figure.subplots(1, columns)
        for axis in [axes] if columns == 1 else axes:
            _bare(axis)
        yield figure, axes


def _bare(axes: Axes) -> None:
    axes.patch.set_visible(False)
    axes.spines["left"].set_color(LINE)


def _written(figure: Figure, title: str, description: str) -> str:
    """The figure as SVG for a page."""
    out = io.StringIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None, "Type": None, "Format": None})
    text = out.getvalue()
    text = text[text.index("<svg") :]
    text = re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
    key = f"p{zlib.crc32(f'{title}{description}'.encode()):08x}"
    text = re.sub(r'(\bid="|url\(#|href="#)', rf"\g<1>{key}-", text)
    for colour, variable in _VARIABLES.items():
        text = text.replace(colour, f"var({variable})")
    text = text.replace(f"'{_FONT}'", "var(--plain)")
    size = re.search(r'viewBox="[^"]*"', text)
    head = (
        f'<svg {size.group() if size else ""} role="img" aria-labelledby="{key}-t {key}-d" class="chart" '
        f'style="max-width:{WIDTH:g}px" xmlns:xlink="http://www.w3.org/1999/xlink"><title id="{key}-t">{escape(title)}'
        f'</title><desc id="{key}-d">{escape(description)}</desc>'
    )
    return head + text[text.index(">") + 1 :].strip()
