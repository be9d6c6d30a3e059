"""Application chart: which elements are applied in which range, with ratio and step; as a picture, as text, as HTML.

A filled mark is an applied element; a mark with a pointer is a one-way clutch that holds, whether the range lists it or
not. Where a one-way clutch does otherwise than listed, a note names it. An empty cell carries a small dot, so that the eye
keeps to its row and column in print.
"""

from __future__ import annotations

from gearkit.draw.core.frame import MARGIN, chip, chip_width, element_key, heading, heading_width, key_width
from gearkit.draw.core.measure import Box, text_width
from gearkit.draw.core.svg import Group, Look, Picture, Text
from gearkit.draw.core.wording import plural, ratio_text
from gearkit.solve.ratios import RangeRow, RatioChart
from gearkit.solve.ratios import chart as ratios_of
from gearkit.text.markup import escape
from gearkit.text.phrases import listed
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.words.say import later, say
from gearkit.words.terms import ElementKind

TYPE = 14.0
ROW = 30.0
SUBTITLE = later("Filled: applied. Filled with a pointer: one-way clutch that holds.")
APPLIED, HOLDS, OPEN = "●", "▶", "·"
NOTES = later("one-way clutches")


def text(layout: Layout) -> str:
    """Return the application chart as plain text, for a terminal or a reader that shows no pictures.

    Args:
        layout: any layout.
    """
    head, rows = _cells(layout, ratios_of(layout))
    widths = [max(len(line[column]) for line in (head, *rows)) for column in range(len(head))]

    def line(cells: list[str]) -> str:
        return "  ".join(cell.ljust(width) for cell, width in zip(cells, widths, strict=True)).rstrip()

    return "\n".join([line(head), "  ".join("-" * width for width in widths), *(line(row) for row in rows)])


def html(layout: Layout) -> str:
    """Return the application chart as an HTML table with row and column headings.

    Args:
        layout: any layout.
    """
    head, rows = _cells(layout, ratios_of(layout))
    top = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in head)
    body = "".join(
        f'<tr><th scope="row">{escape(row[0])}</th>' + "".join(f"<td>{_spoken(cell)}</td>" for cell in row[1:]) + "</tr>"
        for row in rows
    )
    caption = say("Application chart of {layout}", layout=escape(layout.said_name))
    return f"<table><caption>{caption}</caption><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"


def picture(layout: Layout) -> Picture:
    """Return the application chart as a picture.

    Args:
        layout: any layout.
    """
    ratios = ratios_of(layout)
    drawn = Picture(
        title=say("Application chart of {layout}", layout=layout.said_name), description=describe(layout, ratios), kind="chart"
    )
    top = heading(drawn, layout.said_name, say(SUBTITLE)) + 8
    columns = _Columns(layout, ratios)
    first = top + ROW + 10
    bottom = first + ROW * len(ratios.rows)
    grid = drawn.group({"part": "grid"})
    for number in range(0, len(ratios.rows), 2):
        y = first + ROW * number
        grid.rect(Box(MARGIN, y, columns.right, y + ROW), Look(None, "wash"))
    for y in (first, bottom):
        grid.line((MARGIN, y), (columns.right, y), Look("ink", None, 1.6))
    _head(drawn, layout, columns, top)
    for number, row in enumerate(ratios.rows):
        _row(drawn.group({"range": row.name}), layout, row, columns, first + ROW * (number + 0.5))
    if ratios.spread is not None:
        bottom += 22
        drawn.text(Text(columns.step, bottom, say("spread {ratio}", ratio=ratio_text(ratios.spread)), TYPE, "end"))
    width = max(columns.right - MARGIN, heading_width(layout.said_name, say(SUBTITLE)), key_width(layout))
    bottom = element_key(drawn, layout, (), MARGIN, bottom + 18, width)
    drawn.width, drawn.height = width + 2 * MARGIN, bottom + MARGIN * 0.7
    return drawn


class _Columns:
    """Where the columns of the chart stand."""

    def __init__(self, layout: Layout, ratios: RatioChart) -> None:
        names = max([text_width(row.name, TYPE, bold=True) for row in ratios.rows] + [text_width(say("range"), 12.0)]) + 22
        self.middles: list[float] = []
        x = MARGIN + names
        for element in layout.elements:
            width = max(40.0, chip_width(element.name) + 18)
            self.middles.append(x + width / 2)
            x += width
        self.ratio = (
            x + max([text_width(_ratio_cell(row), TYPE) for row in ratios.rows] + [text_width(say("ratio"), 12.0), 60.0]) + 16
        )
        self.step = self.ratio + max(68.0, text_width(say("step"), 12.0) + 14)
        notes = [text_width(row.one_way_note, TYPE) for row in ratios.rows if row.one_way_note]
        self.notes = self.step + 24 if notes else None
        self.right = self.step + 8 + (max(*notes, text_width(say(NOTES), 12.0)) + 24 if notes else 0)


def describe(layout: Layout, ratios: RatioChart) -> str:
    """Return the text alternative of an application chart.

    Args:
        layout: the layout.
        ratios: its ranges with their ratios.
    """
    said = [
        say(
            "Application chart with {ranges} and {elements}.",
            ranges=plural(len(ratios.rows), "range"),
            elements=plural(len(layout.elements), "element"),
        )
    ]
    for row in ratios.rows:
        step = say(", step to the next range {ratio}", ratio=ratio_text(row.step)) if row.step is not None else ""
        engaged = listed(row.state.engaged) or say("nothing")
        ratio = say("ratio {ratio}", ratio=ratio_text(row.ratio.exact)) if row.ratio else say(row.mobility.verdict)
        note = f", {row.one_way_note}" if row.one_way_note else ""
        said.append(
            say(
                "Range {row}: {applied} applied, {ratio}{step}{note}.",
                row=row.name,
                applied=engaged,
                ratio=ratio,
                step=step,
                note=note,
            )
        )
    if ratios.spread is not None:
        said.append(say("Spread {ratio}.", ratio=ratio_text(ratios.spread)))
    return " ".join(said)


def _head(drawn: Picture, layout: Layout, columns: _Columns, top: float) -> None:
    group = drawn.group({"part": "head"})
    y = top + ROW / 2
    group.text(Text(MARGIN + 8, y + 9, say("range"), 12.0, role="soft"))
    for element, middle in zip(layout.elements, columns.middles, strict=True):
        chip(group, middle - chip_width(element.name) / 2, y + 4, element, engaged=False)
    group.text(Text(columns.ratio, y + 9, say("ratio"), 12.0, "end", role="soft"))
    group.text(Text(columns.step, y + 9, say("step"), 12.0, "end", role="soft"))
    if columns.notes is not None:
        group.text(Text(columns.notes, y + 9, say(NOTES), 12.0, role="soft"))


def _row(group: Group, layout: Layout, row: RangeRow, columns: _Columns, y: float) -> None:
    group.text(Text(MARGIN + 8, y + 5, row.name, TYPE, bold=True))
    for element, middle in zip(layout.elements, columns.middles, strict=True):
        _mark(group, element, middle, y, engaged=element.name in row.state.engaged)
    group.text(Text(columns.ratio, y + 5, _ratio_cell(row), TYPE, "end"))
    if row.step is not None:
        group.text(Text(columns.step, y + 5, ratio_text(row.step), TYPE, "end"))
    if columns.notes is not None and row.one_way_note:
        group.text(Text(columns.notes, y + 5, row.one_way_note, TYPE))


def _mark(group: Group, element: Element, x: float, y: float, *, engaged: bool) -> None:
    inner = group.group({"element": element.name, "state": "applied" if engaged else "open"})
    if not engaged:
        inner.circle((x, y), 1.5, Look(None, "faint"))
        return
    inner.circle((x, y), 7.0, Look("ink", "ink", 1.0))
    if element.kind is ElementKind.ONE_WAY_CLUTCH:
        inner.polyline([(x + 10, y - 5), (x + 16, y), (x + 10, y + 5)], Look("ink", "ink", 1.0), closed=True)


def _ratio_cell(row: RangeRow) -> str:
    return ratio_text(row.ratio.exact) if row.ratio else say(row.mobility.verdict)


def _cells(layout: Layout, ratios: RatioChart) -> tuple[list[str], list[list[str]]]:
    noted = any(row.one_way_note for row in ratios.rows)
    head = [
        say("range"),
        *(element.name for element in layout.elements),
        say("ratio"),
        say("step"),
        *([say(NOTES)] if noted else []),
    ]
    rows = []
    for row in ratios.rows:
        marks = [
            OPEN if element.name not in row.state.engaged
            else HOLDS if element.kind is ElementKind.ONE_WAY_CLUTCH else APPLIED
            for element in layout.elements
        ]  # fmt: skip
        step = ratio_text(row.step) if row.step is not None else ""
        rows.append([row.name, *marks, _ratio_cell(row), step, *([row.one_way_note or ""] if noted else [])])
    return head, rows


def _spoken(cell: str) -> str:
    words = {APPLIED: "applied", HOLDS: "holds", OPEN: say("not applied")}
    if cell not in words:
        return escape(cell)
    return f'<span role="img" aria-label="{words[cell]}">{cell}</span>'
