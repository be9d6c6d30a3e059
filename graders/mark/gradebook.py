"""Writes marks and comments into the class's gradebook, through the book-keeping's own interface.

A mark that a person gave by hand is never overwritten, and nothing is left waiting for a hand that need not come.
Writing the same marks again changes nothing.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice
from typing import Any

from graders.mark.record import ItemMark, LearnerMarks
from graders.prepare import gradebook
from graders.prepare.course import Course
from graders.prepare.sheets import Sheet

AT_ONCE = 200


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
        known = gradebook.student_ids(book)
        tables = _Tables(book, sheet)
        for group in _groups(learners):
            strangers = [one for one in group if one.learner not in known]
            gradebook.add_students(book, [(one.learner, one.name) for one in strangers])
            known.update(one.learner for one in strangers)
            tables.write(group)
            book.db.commit()
            written += len(group)
    return written


def _groups(learners: Iterable[LearnerMarks]) -> Iterator[list[LearnerMarks]]:
    rest = iter(learners)
    while group := list(islice(rest, AT_ONCE)):
        yield group


class _Tables:
    """Writes a group of learners at a time into the book-keeping's own tables.

    One row after the other through its objects, each submission loads all others again, and a class of 2,000 takes
    minutes; the tables, their names and their meaning stay the book-keeping's.
    """

    def __init__(self, book: Any, sheet: Sheet) -> None:
        from nbgrader import api

        self._api, self._session = api, book.db
        notebook = book.find_notebook(sheet.name, sheet.name)
        self._assignment, self._notebook = notebook.assignment_id, notebook.id
        self._graded = {cell.name: cell.id for cell in notebook.grade_cells}
        self._commented = {cell.name: cell.id for cell in notebook.solution_cells}

    def write(self, group: Sequence[LearnerMarks]) -> None:
        """Write the marks of some learners."""
        copies = self._copies(group)
        grades = self._rows(self._api.Grade, copies.values())
        comments = self._rows(self._api.Comment, copies.values())
        new_grades, old_grades, new_comments, old_comments = [], [], [], []
        for one in group:
            copy = copies[one.learner]
            for item in one.items:
                score = item.score if item.automatic is None else item.automatic
                values = {"auto_score": score, "needs_manual_grade": False}
                self._sort(self._graded.get(item.item), copy, values, grades, new_grades, old_grades)
                values = {"auto_comment": comment_for(item)}
                self._sort(self._commented.get(item.item), copy, values, comments, new_comments, old_comments)
        for model, new, old in ((self._api.Grade, new_grades, old_grades),
                                (self._api.Comment, new_comments, old_comments)):
            self._insert(model, new)
            self._update(model, old)

    def _sort(self, cell: str | None, copy: str, values: Mapping[str, Any], known: Mapping[tuple[str, str], str],
              new: list[dict[str, Any]], old: list[dict[str, Any]]) -> None:
        """Put the values of one cell of one copy with the rows to make or with the rows to change."""
        if cell is None:
            return
        row = known.get((copy, cell))
        if row is None:
            new.append({"id": self._api.new_uuid(), "notebook_id": copy, "cell_id": cell, **values})
        else:
            old.append({"id": row, **values})

    def _copies(self, group: Sequence[LearnerMarks]) -> dict[str, str]:
        """The gradebook's row of each learner's copy, made where it was missing, with time and penalty."""
        from sqlalchemy import select

        handed, copy = self._api.SubmittedAssignment, self._api.SubmittedNotebook
        found = self._session.execute(
            select(handed.student_id, handed.id, copy.id)
            .outerjoin(copy, (copy.assignment_id == handed.id) & (copy.notebook_id == self._notebook))
            .where(handed.assignment_id == self._assignment, handed.student_id.in_([one.learner for one in group])))
        known = {learner: (handed_id, copy_id) for learner, handed_id, copy_id in found}
        new_handed, old_handed, new_copies, old_copies = [], [], [], []
        copies: dict[str, str] = {}
        for one in group:
            handed_id, copy_id = known.get(one.learner, (None, None))
            time, cost = {"timestamp": _in_utc(one.handed_in)}, {"late_submission_penalty": one.penalty}
            if handed_id is None:
                handed_id = self._api.new_uuid()
                new_handed.append({"id": handed_id, "assignment_id": self._assignment, "student_id": one.learner, **time})
            else:
                old_handed.append({"id": handed_id, **time})
            if copy_id is None:
                copy_id = self._api.new_uuid()
                new_copies.append({"id": copy_id, "assignment_id": handed_id, "notebook_id": self._notebook, **cost})
            else:
                old_copies.append({"id": copy_id, **cost})
            copies[one.learner] = copy_id
        for model, new, old in ((handed, new_handed, old_handed), (copy, new_copies, old_copies)):
            self._insert(model, new)
            self._update(model, old)
        return copies

    def _rows(self, model: Any, copies: Iterable[str]) -> dict[tuple[str, str], str]:
        from sqlalchemy import select

        found = self._session.execute(
            select(model.notebook_id, model.cell_id, model.id).where(model.notebook_id.in_(list(copies))))
        return {(copy, cell): row for copy, cell, row in found}

    def _insert(self, model: Any, rows: list[dict[str, Any]]) -> None:
        from sqlalchemy import insert

        if rows:
            self._session.execute(insert(model), rows)

    def _update(self, model: Any, rows: list[dict[str, Any]]) -> None:
        from sqlalchemy import update

        if rows:
            self._session.execute(update(model), rows)


def comment_for(item: ItemMark) -> str:
    """What the learner reads beside an item: the comment, and how the answer was read."""
    read = ", ".join(text if part == "answer" else f"{part} = {text}" for part, text in item.read_as.items())
    return item.comment + (f" (Read as: {read})" if read else "")


def _in_utc(when: str) -> dt.datetime | None:
    """The gradebook keeps times without a zone, in UTC."""
    return dt.datetime.fromisoformat(when).astimezone(dt.UTC).replace(tzinfo=None) if when else None
