"""What stands at the head of a sheet, rule by rule, for the learner; the instructor's preview shows the same."""

from __future__ import annotations

from gearkit.words.say import say, say_n
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
    exercises = say_n("{count} exercise", "{count} exercises", len(sheet.items))
    told = [say("{exercises}, {marks}.", exercises=exercises, marks=say_n("{count} mark", "{count} marks", sheet.marks))]
    due = sheet.rules.due_for(sheet.due, learner)
    if due is not None:
        zone = f" {course.time_zone}" if course else ""
        extra = sheet.rules.extra_minutes(learner)
        more = say(", your {minutes} minutes of extra time counted", minutes=extra) if extra else ""
        told.append(say("Due {when}{zone}{more}.", when=f"{due:%Y-%m-%d %H:%M}", zone=zone, more=more))
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
