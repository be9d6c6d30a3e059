"""What learners predicted before a result was shown, and what they predicted after they had seen one.

Learners may hand in the record of their lessons with a sheet (`my_record.json`). Predictions are never marked: the
report shows for each picture of a lesson how many first predictions were right, and how many later ones. The files
come from learners, so everything in them is checked before it is used.
"""

from __future__ import annotations

import json
import os
import stat
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any

from gearkit.lesson.record import FILE_NAME
from graders.course.course import Course
from graders.report.pages import charts, plots
from graders.report.pages.page import counted

LARGEST = 8 << 20
MOST_EVENTS = 20_000
# The lessons have some forty; a record with more was made up, and only so many of it are believed.
MOST_PANELS = 80


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


def gather(course: Course, sheet: str) -> tuple[Panel, ...]:
    """Return the predictions in the records that were handed in with a sheet.

    Args:
        course: the course.
        sheet: name of the sheet.
    """
    if not course.submitted.is_dir():
        return ()
    files = (course.submitted_folder(name, sheet) / FILE_NAME for name in sorted(os.listdir(course.submitted)))
    return counted_up(_outcomes(events) for events in map(_events, files) if events)


def _events(path: Path) -> list[Mapping[str, Any]]:
    """Return the events of a record, or none where the file is missing, damaged, too large or something else."""
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
    except OSError:
        return []
    with os.fdopen(handle, "rb") as stream:
        state = os.fstat(handle)
        if not stat.S_ISREG(state.st_mode) or state.st_size > LARGEST:
            return []
        data = stream.read(LARGEST)
    try:
        found = json.loads(data)
        events = found["events"]
    except (ValueError, RecursionError, KeyError, TypeError):
        return []
    return [one for one in events[:MOST_EVENTS] if isinstance(one, dict)] if isinstance(events, list) else []


def _outcomes(events: Iterable[Mapping[str, Any]]) -> dict[tuple[str, str], list[bool]]:
    """Return for each (lesson, panel) whether each prediction with a result was right, in the order they were made."""
    made: dict[str, Mapping[str, Any]] = {}
    outcomes: dict[tuple[str, str], list[bool]] = {}
    for event in events:
        name = str(event.get("prediction", ""))[:64]
        if event.get("kind") == "prediction" and name:
            made.setdefault(name, event)
        elif event.get("kind") == "reveal" and name in made:
            before = made.pop(name)
            said, found = before.get("said"), event.get("found")
            if isinstance(said, dict) and isinstance(found, dict):
                if len(outcomes) >= MOST_PANELS:
                    break
                where = (str(before.get("lesson", ""))[:4], str(before.get("panel", ""))[:40])
                outcomes.setdefault(where, []).append(bool(said.get("kind")) and said.get("kind") == found.get("kind"))
    return outcomes


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


def section(panels: tuple[Panel, ...]) -> str:
    """Return the report's section about predictions as HTML, or nothing where no record was handed in."""
    if not panels:
        return ""
    rows = "".join(
        f'<tr><th scope="row">{escape(_where(one))}</th>'
        f'<td class="n">{one.learners}</td><td class="share">{_share(one.first_right, one.learners)}</td>'
        f'<td class="share">{_share(one.later_right, one.later)}</td></tr>'
        for one in panels
    )
    return (
        '<h2 id="predictions">Predictions</h2><p>From the records that learners handed in with the sheet. A first prediction '
        f"shows what they bring along, later ones what the lesson changed; neither is marked.</p>{_plot(panels)}"
        "<table><thead><tr>"
        '<th scope="col">Where</th><th scope="col" class="n">Learners</th><th scope="col">First predictions right</th>'
        f'<th scope="col">Later predictions right</th></tr></thead><tbody>{rows}</tbody></table>'
    )


def _plot(panels: tuple[Panel, ...]) -> str:
    rows = [(_where(one), one.first_right, one.learners, one.later_right, one.later) for one in panels]
    return f'<div class="scroll" tabindex="0" role="region" aria-label="Plot of predictions">' \
        f'{plots.before_and_after(rows, "Predictions before and after a result was seen")}</div>'


def _where(one: Panel) -> str:
    return f"Lesson {one.lesson.lstrip('0') or '0'}, {one.name}"


def _share(right: int, of: int) -> str:
    if not of:
        return "none yet"
    words = f"{right} of {counted(of, 'prediction')}"
    return f"{charts.bar(right / of, words)} {right} of {of}"
