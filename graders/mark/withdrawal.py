"""Withdraws a sheet that was handed out: it is marked and counted no more, and all that belongs to it is put aside whole.

Nothing is deleted: copies, work handed in, marks and reports move to ``withdrawn/SHEET``, laid out as in the course, and the
trail keeps who withdrew the sheet and why. The name is free again.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from gearkit.words.errors import GearkitError, UsageError
from graders.book import gradebook
from graders.course import course_lock
from graders.course.course import Course
from graders.course.out import WITHDRAWN
from graders.mark.decide import decisions, retakes
from graders.mark.decide.decisions import Decision, DecisionKind
from graders.mark.submissions import submissions
from graders.sheets.sheets import Sheet


@dataclass(frozen=True)
class Withdrawal:
    """What withdrawing a sheet did.

    Args:
        folder: where everything was put aside.
        copies: number of learners who had a copy.
        handed_in: identities of those who had handed something in.
    """

    folder: Path
    copies: int
    handed_in: tuple[str, ...]


def handed_in(course: Course, sheet: Sheet) -> tuple[str, ...]:
    """Return who handed something in for a sheet.

    Args:
        course: the course.
        sheet: the sheet.
    """
    return tuple(submission.learner for submission in submissions(course, sheet.name))


def withdraw(course: Course, sheet: Sheet, by: str, reason: str) -> Withdrawal:
    """Withdraw a sheet; where it was broken off, doing it again goes on.

    Args:
        course: the course.
        sheet: a sheet that was handed out.
        by: who decides.
        reason: why, in a sentence.

    Raises:
        UsageError: the sheet was not handed out in this course, or it has a retake.
        GearkitError: something cannot be moved, or somebody else is at work in the course.
    """
    if not course.sheet_file(sheet.name).exists():
        raise UsageError(f"Sheet {sheet.name} was not handed out in this course, so there is nothing to withdraw.")
    again = [name for name, plan in retakes.read(course).items() if plan.of == sheet.name]
    if again:
        raise UsageError(f"Sheet {sheet.name} has a retake. Withdraw that first: graders withdraw {course.folder} {again[0]}")
    with course_lock.taken(course, f"withdrawing sheet {sheet.name}"):
        learners = handed_in(course, sheet)
        copies = len(list(course.folder.glob(f"handed_out/*/{sheet.name}")))
        decisions.keep(course, Decision(DecisionKind.WITHDRAW_SHEET, sheet.name, by, reason))
        gradebook.remove_sheet(course, sheet.name)
        retakes.withdraw(course, sheet.name)
        folder = _free(course.folder / WITHDRAWN, sheet.name)
        try:
            for path in _all_of(course, sheet.name):
                place = folder / path.relative_to(course.folder)
                place.parent.mkdir(parents=True, exist_ok=True)
                os.replace(path, place)
        except OSError as error:
            raise GearkitError(
                f"{sheet.name} is not withdrawn everywhere yet: {error.filename}: {error.strerror}. Correct this and do it again."
            ) from None
    return Withdrawal(folder, copies, learners)


def _all_of(course: Course, sheet: str) -> Iterator[Path]:
    """Everything of a sheet; its file last, so that whoever is broken off can do it again."""
    for step in ("submitted", "replaced", "handed_out", "autograded", "feedback"):
        yield from sorted((course.folder / step).glob(f"*/{sheet}"))
    yield from sorted((course.folder / "drawn").glob(f"*/{sheet}.json"))
    for step in ("source", "release", "marks", "reports"):
        yield from sorted((course.folder / step).glob(sheet))
    yield from sorted((course.folder / "marks").glob(f"{sheet}.*"))
    yield course.sheet_file(sheet)


def _free(folder: Path, name: str) -> Path:
    """A folder that is not there yet: a sheet of the same name may have been withdrawn before."""
    number, place = 1, folder / name
    while place.exists():
        number += 1
        place = folder / f"{name}-{number}"
    return place
