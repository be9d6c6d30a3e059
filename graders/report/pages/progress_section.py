"""How groups did from sheet to sheet: as a plot of shares where they are large enough for one, in marks where they are not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from statistics import fmean

from graders.report.figures.statistics import FEWEST_FOR_PERCENT
from graders.report.pages import plots
from graders.report.pages.class_sections import framed
from graders.report.pages.page import counted, marks_of

Marks = Sequence[tuple[float, float]]
EVERYBODY = "everybody"


def over_sheets(groups: Mapping[str, Sequence[Marks]], sheets: Sequence[str], title: str) -> str:
    """Return the plot over the sheets, and a sentence for each group that is too small for a share to say anything.

    Args:
        groups: for each group and sheet the marks of those who handed it in and the full marks, above 0.
        sheets: titles of the sheets, in order.
        title: what the plot shows.
    """
    shown = {name: marks for name, marks in groups.items() if any(len(one) >= FEWEST_FOR_PERCENT for one in marks)}
    together = [[mark for marks in groups.values() for mark in marks[place]] for place in range(len(sheets))]
    if not shown and any(len(one) >= FEWEST_FOR_PERCENT for one in together):
        # No group by itself is large enough, but all of them are.
        shown = {EVERYBODY: together}
    pieces = [framed(plots.progress({name: _shares(of) for name, of in shown.items()}, sheets, title), "Plot of progress")]
    told = [_in_marks(name, of, sheets) for name, of in groups.items() if any(0 < len(one) < FEWEST_FOR_PERCENT for one in of)]
    few = f"<p>Of fewer than {FEWEST_FOR_PERCENT} learners a share says nothing, so here are the mean marks themselves:</p>"
    return "".join(pieces if shown else []) + (f"{few}<ul>{''.join(told)}</ul>" if told else "")


def _shares(sheets: Sequence[Marks]) -> list[float | None]:
    return [fmean(mark / full for mark, full in marks) if len(marks) >= FEWEST_FOR_PERCENT else None for marks in sheets]


def _in_marks(name: str, groups: Sequence[Marks], sheets: Sequence[str]) -> str:
    told = [
        f"{escape(sheet)}: {marks_of(fmean(mark for mark, _ in marks), max(full for _, full in marks))} marks "
        f"({counted(len(marks), 'learner')})"
        for sheet, marks in zip(sheets, groups, strict=True)
        if 0 < len(marks) < FEWEST_FOR_PERCENT
    ]
    return f"<li>{escape(name)}: {'; '.join(told)}</li>"
