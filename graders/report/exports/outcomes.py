"""What counts for each learner on each sheet, retakes included, as files for other gradebooks need it.

A retake is no sheet of its own there: a gradebook that was given both would add them up.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from graders.book.record import LearnerMarks
from graders.mark.decide.retakes import CountedMark
from graders.report.exports.data import ExportData, ExportedSheet, handed_in_at
from graders.report.pages.page import number


@dataclass(frozen=True)
class Outcome:
    """One learner's outcome on one sheet.

    Args:
        learner: identity in this course.
        user: identity in the system that the file is for.
        score: the marks that count; None where nothing was handed in or nothing could be read.
        full: full marks.
        handed_in: whether anything was handed in.
        late: whether marks were taken off for lateness.
        at: when it was handed in last, ISO 8601; when the sheet was marked where nothing was.
        note: how the marks came about where that is not plain, or "".
    """

    learner: str
    user: str
    score: float | None
    full: float
    handed_in: bool
    late: bool
    at: str
    note: str


def counted_sheets(data: ExportData) -> list[ExportedSheet]:
    """Return the sheets that count by themselves: all but retakes."""
    return [sheet for sheet in data.sheets if not sheet.again_of]


def outcomes(data: ExportData, sheet: ExportedSheet) -> Iterator[Outcome]:
    """Yield every learner's outcome on a sheet, in the order of the class list.

    Args:
        data: the course.
        sheet: one of its sheets that is no retake.
    """
    attempts = [sheet, *(other for other in data.sheets if other.again_of == sheet.name)]
    place = next(place for place, column in enumerate(data.counted.columns) if column.name == sheet.name)
    marks = [{marked.learner: marked for marked in attempt.marks.learners} for attempt in attempts]
    for row in data.counted.rows:
        learner = row.learner.id
        made = [
            (by_learner[learner], attempt) for by_learner, attempt in zip(marks, attempts, strict=True) if learner in by_learner
        ]
        unread = sum(learner in {failure.learner for failure in attempt.marks.failed} for attempt in attempts)
        yield Outcome(
            learner,
            data.users.get(learner, learner),
            row.marks[place].counts if len(made) > unread else None,
            sheet.full,
            bool(made),
            any(marked.penalty > 0 for marked, _ in made),
            max((handed_in_at(marked, attempt) for marked, attempt in made), default=sheet.marked_at),
            _note([marked for marked, _ in made], row.marks[place]),
        )


def _note(made: list[LearnerMarks], counted: CountedMark) -> str:
    if not made:
        return ""
    hints = [
        f"{_marks(cost)} taken off for hints."
        for learner in made
        if (cost := sum(item.hint_cost for item in learner.items)) > 0.005
    ]
    late = [
        f"{_marks(learner.score)} earned, {number(learner.penalty)} taken off for lateness."
        for learner in made
        if learner.penalty
    ]
    if len(counted.attempts) < 2:
        return " ".join([*hints, *late])
    told = ["nothing handed in" if mark is None else _marks(mark) for mark in counted.attempts]
    return " ".join([*hints, *late, f"First attempt: {told[0]}; second: {told[1]}. What counts: {_marks(counted.counts)}."])


def _marks(value: float) -> str:
    return f"{number(value)} {'mark' if number(value) == '1' else 'marks'}"
