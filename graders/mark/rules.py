"""Rules about time: what lateness costs, and which of several attempts counts.

Late: days are counted from the due time and the grace after it, each day started costs its percent of the maximum,
and after the last day of the rule nothing is earned. The penalty stands apart from what the answers earned.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from enum import StrEnum
from fractions import Fraction

from graders.course.lateness import Late, Rules
from graders.course.roster import Learner
from graders.sheets.sheets import Sheet

DAY = dt.timedelta(days=1)


def due_of(sheet: Sheet, learner: Learner | None) -> dt.datetime | None:
    """When a sheet is due for a learner, in the course's time zone; None for never, as on a practice sheet.

    Args:
        sheet: the sheet.
        learner: from the class list, with their extra time; None for somebody whom it does not know.
    """
    return sheet.rules.due_for(sheet.due, learner) if sheet.kind == "graded" else None


def days_late(handed_in: dt.datetime, due: dt.datetime, rules: Rules) -> int:
    """Days started after the due time and its grace; 0 in time.

    Args:
        handed_in: time of handing in, with its offset.
        due: time due, with its offset.
        rules: what lateness costs on the sheet.
    """
    late = handed_in - due - dt.timedelta(minutes=rules.grace_minutes)
    return max(0, -((-late) // DAY))


def late_penalty(days: int, score: Fraction, most: Fraction, rules: Rules) -> Fraction:
    """Marks that lateness takes off; never more than what was earned.

    Args:
        days: days late, from `days_late`.
        score: marks earned.
        most: maximum of the sheet.
        rules: what lateness costs on the sheet.
    """
    if days <= 0 or rules.late is Late.FULL:
        return Fraction(0)
    if rules.late is Late.NONE or days > rules.late_days:
        return score
    return min(score, days * Fraction(rules.late_percent_per_day, 100) * most)


LATE = "Handed in late"


def late_words(days: int, penalty: Fraction) -> str:
    """Say how late work was and what that took off, in a sentence that begins with `LATE`.

    Args:
        days: days late, from `days_late`.
        penalty: marks that lateness takes off.
    """
    taken = f"{float(penalty):.4g}" if penalty else "no"
    return f"{LATE}, {days} {'day' if days == 1 else 'days'} started: {taken} {'mark' if taken == '1' else 'marks'} taken off."


class Counting(StrEnum):
    """Which of several attempts counts."""

    BEST = "best"
    LAST = "last"
    AVERAGE = "average"


def counting_mark(marks: Sequence[Fraction], counting: Counting, cap: Fraction | None = None) -> Fraction:
    """The mark that counts after several attempts.

    Args:
        marks: the marks of the attempts, in order.
        counting: which of them counts.
        cap: most that a later attempt can bring, or None; the first attempt is never capped.
    """
    if not marks:
        return Fraction(0)
    capped = [marks[0], *(mark if cap is None else min(mark, cap) for mark in marks[1:])]
    if counting is Counting.LAST:
        return capped[-1]
    return max(capped) if counting is Counting.BEST else sum(capped, Fraction(0)) / len(capped)
