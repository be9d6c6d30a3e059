"""What learners predicted before a result was shown, and what they predicted after they had seen one.

Learners may hand in the record of their lessons with a sheet (`my_record.json`). Predictions are never marked: the
report shows for each picture of a lesson how many first predictions were right, and how many later ones. The files
come from learners, so everything in them is checked before it is used.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from html import escape
from typing import Any

from graders.course.course import Course
from graders.report.figures.statistics import FEWEST_FOR_PERCENT
from graders.report.pages import charts, plots
from graders.report.pages.page import counted
from graders.run.read import lesson_records

# The lessons have some forty; a record with more was made up, and only so many of it are believed, and of all records
# together only so many are shown: those first that most learners have.
MOST_PANELS = 80
MOST_ROWS = 100


@dataclass(frozen=True)
class Panel:
    """The predictions of a class for one picture of a lesson.

    Args:
        lesson: number of the lesson, such as "03".
        name: what was asked, such as "one set".
        learners: learners who predicted and saw the result.
        first_right: of their first predictions, how many were right.
        later: predictions after the first result was seen.
        later_right: how many of these were right.
    """

    lesson: str
    name: str
    learners: int
    first_right: int
    later: int
    later_right: int


@dataclass(frozen=True)
class Gathered:
    """The predictions in the records of a class.

    Args:
        panels: the pictures of the lessons.
        more: how many further pictures the records name.
        cut: how many records name more pictures than the lessons have.
        damaged: how many records could not be read; whose they are say the flags of their submissions.
    """

    panels: tuple[Panel, ...] = ()
    more: int = 0
    cut: int = 0
    damaged: int = 0

    @property
    def told(self) -> bool:
        """Whether there is anything to tell."""
        return bool(self.panels or self.damaged)


def gather(course: Course, sheet: str) -> Gathered:
    """Return the predictions in the records that were handed in with a sheet.

    Args:
        course: the course.
        sheet: name of the sheet.
    """
    if not course.submitted.is_dir():
        return Gathered()
    records: list[Mapping[tuple[str, str], list[bool]]] = []
    cut = damaged = 0
    for name in sorted(os.listdir(course.submitted)):
        events, fault = lesson_records.events(course.submitted_folder(name, sheet))
        outcomes, whole = _outcomes(events)
        records.append(outcomes)
        damaged += bool(fault)
        cut += not whole
    panels = counted_up(records)
    # Pictures that many learners met are the lessons' own; what one learner made up comes last.
    shown = sorted(sorted(panels, key=lambda panel: -panel.learners)[:MOST_ROWS], key=lambda panel: (panel.lesson, panel.name))
    return Gathered(tuple(shown), len(panels) - len(shown), cut, damaged)


def _outcomes(events: Iterable[Mapping[str, Any]]) -> tuple[dict[tuple[str, str], list[bool]], bool]:
    """Return for each (lesson, panel) whether each prediction with a result was right, in order, and whether that is all."""
    made: dict[str, Mapping[str, Any]] = {}
    outcomes: dict[tuple[str, str], list[bool]] = {}
    for event in events:
        name = str(event.get("prediction", ""))[:64]
        if event.get("kind") == "prediction" and name:
            made.setdefault(name, event)
        elif event.get("kind") == "reveal" and name in made:
            before = made.pop(name)
            said, shown = before.get("said"), event.get("found")
            if isinstance(said, dict) and isinstance(shown, dict):
                where = (str(before.get("lesson", ""))[:4], str(before.get("panel", ""))[:40])
                if where not in outcomes and len(outcomes) >= MOST_PANELS:
                    return outcomes, False
                outcomes.setdefault(where, []).append(bool(said.get("kind")) and said.get("kind") == shown.get("kind"))
    return outcomes, True


def counted_up(records: Iterable[Mapping[tuple[str, str], list[bool]]]) -> tuple[Panel, ...]:
    """Return the predictions of a class from those of each learner.

    Args:
        records: for each learner and (lesson, panel) whether each prediction was right, in order.
    """
    sums: dict[tuple[str, str], list[int]] = {}
    for outcomes in records:
        for where, right in outcomes.items():
            row = sums.setdefault(where, [0, 0, 0, 0])
            row[0] += 1
            row[1] += right[0]
            row[2] += len(right) - 1
            row[3] += sum(right[1:])
    return tuple(Panel(lesson, name, *row) for (lesson, name), row in sorted(sums.items()))


def section(gathered: Gathered) -> str:
    """Return the report's section about predictions as HTML, or nothing where no record was handed in."""
    if not gathered.told:
        return ""
    said = "".join(f"<p>{escape(words)}</p>" for words in _said(gathered))
    rows = "".join(
        f'<tr><th scope="row">{escape(_where(panel))}</th>'
        f'<td class="n">{panel.learners}</td><td class="share">{_share(panel.first_right, panel.learners)}</td>'
        f'<td class="share">{_share(panel.later_right, panel.later)}</td></tr>'
        for panel in gathered.panels
    )
    table = (
        (
            f"{_plot(gathered.panels)}<table><thead><tr>"
            '<th scope="col">Where</th><th scope="col" class="n">Learners</th><th scope="col">First predictions right</th>'
            f'<th scope="col">Later predictions right</th></tr></thead><tbody>{rows}</tbody></table>'
        )
        if gathered.panels
        else ""
    )
    return (
        '<h2 id="predictions">Predictions</h2><p>From the records that learners handed in with the sheet. A first prediction '
        f"shows what they bring along, later ones what the lesson changed; neither is marked.</p>{table}{said}"
    )


def _said(gathered: Gathered) -> list[str]:
    """What the table does not hold, in sentences."""
    said = []
    if gathered.more:
        said.append(f"And {gathered.more} more pictures, each predicted by no more learners than those shown.")
    if gathered.cut:
        said.append(
            f"{counted(gathered.cut, 'record')} with more than {MOST_PANELS} pictures, more than the lessons have: only the first "
            f"{MOST_PANELS} of each were counted. Such a record was made up, or put together from several."
        )
    if gathered.damaged:
        said.append(f"{counted(gathered.damaged, 'record')} could not be read; under “Submissions to look at” stands whose.")
    return said


def _plot(panels: tuple[Panel, ...]) -> str:
    """The shares as a plot, of those that enough learners predicted; the table below has the counts of all."""
    rows = [
        (_where(panel), panel.first_right, panel.learners, panel.later_right, panel.later)
        for panel in panels
        if panel.learners >= FEWEST_FOR_PERCENT
    ]
    if not rows:
        return ""
    return (
        f'<div class="scroll" tabindex="0" role="region" aria-label="Plot of predictions">'
        f"{plots.before_and_after(rows, 'Predictions before and after a result was seen')}</div>"
    )


def _where(panel: Panel) -> str:
    return f"Lesson {panel.lesson.lstrip('0') or '0'}, {panel.name}"


def _share(right: int, of: int) -> str:
    if not of:
        return "none yet"
    words = f"{right} of {counted(of, 'prediction')}"
    return f"{charts.bar(right / of, words)} {right} of {of}"
