"""What counts for a learner who had two attempts, in a sentence for their own page; on the pages of both sheets."""

from __future__ import annotations

from gearkit.words.errors import UsageError
from gearkit.words.say import later, say
from graders.book import record
from graders.book.record import MarkSheet
from graders.course.course import Course
from graders.mark.decide import retakes
from graders.mark.decide.retakes import CountedMark, Retake
from graders.mark.rules import Counting
from graders.report.pages.page import marks_of, number

_RULES = {
    Counting.BEST: later("the better one counts"),
    Counting.LAST: later("the last one counts"),
    Counting.AVERAGE: later("the average counts"),
}


def of_sheet(course: Course, sheet: str, marks: MarkSheet) -> dict[str, str]:
    """Return a sentence for each learner who was asked to a retake of a sheet, where both mark sheets are there.

    Args:
        course: the course.
        sheet: name of the sheet, or of its retake.
        marks: its mark sheet.
    """
    plans = retakes.read(course)
    name, plan = next(((name, plan) for name, plan in plans.items() if sheet in (name, plan.of)), ("", None))
    if plan is None:
        return {}
    try:
        first = marks if sheet == plan.of else record.read(course.marks_file(plan.of))
        again = marks if sheet == name else record.read(course.marks_file(name))
    except UsageError:
        return {}
    counted = retakes.count(plan.learners, first, again, plan)
    return {mark.learner: _sentence(mark, plan) for mark in counted if mark.full and len(mark.attempts) == 2}


def _sentence(counted: CountedMark, plan: Retake) -> str:
    before, after = (say("nothing handed in") if mark is None else number(mark) for mark in counted.attempts)
    cap = " " + say("(the second brings at most {cap}% of the marks)", cap=plan.cap) if plan.cap is not None else ""
    if counted.attempts[1] is None:
        return say(
            "You could take this sheet again and handed in nothing for that; what counts is {marks}.",
            marks=marks_of(counted.counts, counted.full),
        )
    return say(
        "You had two attempts: {before}, then {after}. Of these {rule}{cap}: {marks} marks.",
        before=before,
        after=after,
        rule=say(_RULES[plan.counting]),
        cap=cap,
        marks=marks_of(counted.counts, counted.full),
    )
