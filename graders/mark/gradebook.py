"""Writes marks and comments into the class's gradebook, through the book-keeping's own interface.

A mark that a person gave by hand is never overwritten, and nothing is left waiting for a hand that need not come.
Writing the same marks again changes nothing.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any

from graders.mark.record import ItemMark, LearnerMarks
from graders.prepare import gradebook
from graders.prepare.course import Course
from graders.prepare.sheets import Sheet

AT_ONCE = 50


def write(course: Course, sheet: Sheet, learners: Iterable[LearnerMarks]) -> int:
    """Write the marks of a sheet.

    Args:
        course: the course.
        sheet: the sheet.
        learners: the marks.

    Returns:
        The number of learners written.

    Raises:
        GearkitError: the gradebook is locked, damaged or cannot be written.
    """
    written = 0
    with gradebook.opened(course) as book:
        known = {student.id for student in book.students}
        for marks in learners:
            if marks.learner not in known:
                book.add_student(marks.learner, last_name=marks.name.replace(",", " "))
            _write_one(book, sheet, marks)
            written += 1
            if written % AT_ONCE == 0:
                book.db.commit()
        book.db.commit()
    return written


def _write_one(book: Any, sheet: Sheet, marks: LearnerMarks) -> None:
    # The book-keeping builds the rows of a submission piece by piece; written too early, they would warn.
    with book.db.no_autoflush:
        submission = book.update_or_create_submission(sheet.name, marks.learner)
    submission.timestamp = _in_utc(marks.handed_in)
    items = {item.item: item for item in marks.items}
    for copy in submission.notebooks:
        copy.late_submission_penalty = marks.penalty
        for grade in copy.grades:
            item = items.get(grade.name)
            if item is not None:
                grade.auto_score = item.score if item.automatic is None else item.automatic
                grade.needs_manual_grade = False
        for comment in copy.comments:
            item = items.get(comment.name)
            if item is not None:
                comment.auto_comment = comment_for(item)


def comment_for(item: ItemMark) -> str:
    """What the learner reads beside an item: the comment, and how the answer was read."""
    read = ", ".join(text if part == "answer" else f"{part} = {text}" for part, text in item.read_as.items())
    return item.comment + (f" (Read as: {read})" if read else "")


def _in_utc(when: str) -> dt.datetime | None:
    """The gradebook keeps times without a zone, in UTC."""
    return dt.datetime.fromisoformat(when).astimezone(dt.UTC).replace(tzinfo=None) if when else None
