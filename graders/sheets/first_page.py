"""What stands at the head of a sheet, rule by rule, for the learner; the instructor's preview shows the same."""

from __future__ import annotations

from graders.course.course import Course
from graders.course.lateness import UNASKED
from graders.course.roster import Learner
from graders.sheets.sheets import Sheet


def lines(sheet: Sheet, course: Course | None = None, learner: Learner | None = None) -> list[str]:
    """Return a sheet's rules, a line each.

    Args:
        sheet: the sheet.
        course: the course, for its time zone and what lateness costs; None where there is none yet.
        learner: whose copy it is; None for everybody's.
    """
    exercises = "1 exercise" if len(sheet.items) == 1 else f"{len(sheet.items)} exercises"
    told = [f"{exercises}, {'1 mark' if sheet.marks == 1 else f'{sheet.marks} marks'}."]
    due = sheet.rules.due_for(sheet.due, learner)
    if due is not None:
        zone = f" {course.time_zone}" if course else ""
        extra = sheet.rules.extra_minutes(learner)
        more = f", your {extra} minutes of extra time counted" if extra else ""
        told.append(f"Due {due:%Y-%m-%d %H:%M}{zone}{more}.")
        told += late_line(sheet, course)
    return [*told, *sheet.rules.in_words(sheet.kind, learner), *([sheet.note] if sheet.note else [])]


def late_line(sheet: Sheet, course: Course | None) -> list[str]:
    """What lateness costs on a sheet that is due, as a learner reads it; nothing where the course is not known and decides.

    Args:
        sheet: the sheet.
        course: the course; None where there is none yet.
    """
    if sheet.due is None or sheet.kind != "graded" or not (course or sheet.rules.late):
        return []
    return [sheet.rules.lateness(course.rules if course else UNASKED).in_words()]
