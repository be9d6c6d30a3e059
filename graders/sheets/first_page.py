"""What stands at the head of a sheet, rule by rule, for the learner; the instructor's preview shows the same."""

from __future__ import annotations

from graders.course.course import Course, Rules
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
        told += [late] if course and sheet.kind == "graded" and (late := _late(course.rules)) else []
    return [*told, *sheet.rules.in_words(sheet.kind, learner), *([sheet.note] if sheet.note else [])]


def _late(rules: Rules) -> str:
    """What lateness costs, in words."""
    grace = f" Up to {rules.grace_minutes} minutes late is still in time." if rules.grace_minutes else ""
    if rules.late_days == 0:
        return f"What comes in late earns nothing.{grace}"
    if rules.late_percent_per_day == 0:
        return f"More than {_days(rules.late_days)} late, it earns nothing.{grace}"
    return (
        f"Late, each day begun takes {rules.late_percent_per_day} percent of all marks; after {_days(rules.late_days)} "
        f"nothing is earned.{grace}"
    )


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
