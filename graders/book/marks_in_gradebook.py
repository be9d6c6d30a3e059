"""Writes marks and comments into the class's gradebook, through the book-keeping's own interface.

A mark that a person gave by hand is never overwritten, and nothing is left waiting for a hand that need not come.
Writing the same marks again changes nothing.
"""

from __future__ import annotations

import datetime as dt
import secrets
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import islice
from types import MappingProxyType
from typing import Any

from gearkit.text.markdown import without_markup
from graders.book import gradebook
from graders.book.record import ItemMark, LearnerMarks
from graders.course.course import Course, check_learner
from graders.sheets import notebook
from graders.sheets.sheets import Sheet

AT_ONCE = 200


def write(
    course: Course,
    sheet: Sheet,
    learners: Iterable[LearnerMarks],
    overrides: Mapping[tuple[str, str], float] = MappingProxyType({}),
) -> int:
    """Write the marks of a sheet.

    Args:
        course: the course.
        sheet: the sheet.
        learners: the marks.
        overrides: marks given by hand, by learner and item; they go beside the marker's where a place is made new.

    Returns:
        The number of learners written.

    Raises:
        GearkitError: the gradebook is locked, damaged or cannot be written.
    """
    written = 0
    with gradebook.opened(course) as book:
        known = gradebook.student_ids(book)
        if not gradebook.knows_sheet(book, sheet.name):
            # A gradebook that was moved away or lost is made anew from what the course knows.
            gradebook.enter_sheet(book, course, sheet, notebook.generic(sheet))
        tables = _Tables(book, sheet, overrides)
        for group in _groups(learners):
            strangers = [marked for marked in group if marked.learner not in known]
            gradebook.add_students(book, [(marked.learner, marked.name) for marked in strangers])
            known.update(marked.learner for marked in strangers)
            tables.write(group)
            book.db.commit()
            written += len(group)
    return written


def by_hand(book: Any, sheet: Sheet, also: Collection[str] = ()) -> dict[tuple[str, str], tuple[float | None, str]]:
    """The marks that a person gave in the grading page: marks and comment, by learner and item.

    Args:
        book: the open gradebook.
        sheet: the sheet.
        also: identities of learners of whom every place is wanted, with None where it holds no such mark.
    """
    from nbgrader.api import Assignment, BaseCell, Comment, Grade, SubmittedAssignment, SubmittedNotebook
    from sqlalchemy import or_, select

    def wanted(model: Any, *values: Any) -> Any:
        return (
            select(SubmittedAssignment.student_id, BaseCell.name, *values)
            .select_from(model)
            .join(SubmittedNotebook, model.notebook_id == SubmittedNotebook.id)
            .join(SubmittedAssignment, SubmittedNotebook.assignment_id == SubmittedAssignment.id)
            .join(Assignment, SubmittedAssignment.assignment_id == Assignment.id)
            .join(BaseCell, model.cell_id == BaseCell.id)
            .where(Assignment.name == sheet.name)
        )

    said = book.db.execute(wanted(Comment, Comment.manual_comment).where(Comment.manual_comment.isnot(None)))
    comments = {(learner, item): comment for learner, item, comment in said}
    given = book.db.execute(
        wanted(Grade, Grade.manual_score, Grade.extra_credit, Grade.auto_score).where(
            or_(Grade.manual_score.isnot(None), Grade.extra_credit > 0, SubmittedAssignment.student_id.in_(sorted(also)))
        )
    )
    return {(learner, item): (together(*marks), comments.get((learner, item), "")) for learner, item, *marks in given}


def given_by_hand(course: Course, sheet: Sheet, also: Collection[str] = ()) -> dict[tuple[str, str], tuple[float | None, str]]:
    """The same of a course whose gradebook is not open.

    Args:
        course: the course.
        sheet: the sheet.
        also: identities of learners of whom every place is wanted, with None where it holds no such mark.
    """
    with gradebook.opened(course) as book:
        return by_hand(book, sheet, also)


def put_by_hand(
    course: Course,
    sheet: Sheet,
    wanted: Mapping[tuple[str, str], float | None],
    on_page: Mapping[tuple[str, str], tuple[float | None, str]],
) -> None:
    """Write marks as a person would give them in the grading page; None takes one back.

    Args:
        course: the course.
        sheet: the sheet.
        wanted: marks by learner and item.
        on_page: what the page had before; what was changed there since is left alone.
    """
    with gradebook.opened(course) as book:
        from nbgrader.api import MissingEntry

        for (learner, item), score in wanted.items():
            try:
                grade = book.find_grade(item, sheet.name, sheet.name, learner)
            except MissingEntry:
                continue
            now = together(grade.manual_score, grade.extra_credit, grade.auto_score)
            if now in (score, on_page.get((learner, item), (None, ""))[0]):
                grade.manual_score, grade.extra_credit = score, None
        book.db.commit()


def together(by_hand_marks: float | None, extra: float | None, automatic: float | None) -> float | None:
    """What a person gave for an item, extra credit included; None where nobody gave anything.

    Args:
        by_hand_marks: the marks that stand in the place of the marker's.
        extra: extra credit, on top of either.
        automatic: the marker's marks.
    """
    if not extra:
        return by_hand_marks
    return extra + (by_hand_marks if by_hand_marks is not None else automatic or 0.0)


def _groups(learners: Iterable[LearnerMarks]) -> Iterator[list[LearnerMarks]]:
    # Whoever's folder has no proper name has no place in the gradebook either; the mark sheet tells of them.
    rest = (learner for learner in learners if check_learner(learner.learner) is None)
    while group := list(islice(rest, AT_ONCE)):
        yield group


class _Rows:
    """Rows of one table that are to be made or changed together."""

    def __init__(self, session: Any, model: Any) -> None:
        self._session, self._model = session, model
        self._new: list[dict[str, Any]] = []
        self._old: list[dict[str, Any]] = []

    def put(self, row: str | None, identity: Mapping[str, Any], values: Mapping[str, Any]) -> str:
        """Change a row, or make it where there is none; its key."""
        if row is None:
            # As long as the book-keeping's own keys, which are random too, and made ten times as fast.
            row = secrets.token_hex(16)
            self._new.append({"id": row, **identity, **values})
        else:
            self._old.append({"id": row, **values})
        return row

    def write(self) -> None:
        """Write all rows."""
        from sqlalchemy import bindparam, insert, update

        # The table itself: through the objects each row would be looked at several times more.
        table = self._model.__table__
        if self._new:
            self._session.execute(insert(table), self._new)
        if self._old:
            named = {name: bindparam(name) for name in self._old[0] if name != "id"}
            rows = [{**row, "row": row["id"]} for row in self._old]
            self._session.execute(update(table).where(table.c.id == bindparam("row")).values(named), rows)


class _Tables:
    """Writes a group of learners at a time into the book-keeping's own tables.

    One row after the other through its objects, each submission loads all others again, and a class of 2,000 takes
    minutes; the tables, their names and their meaning stay the book-keeping's.
    """

    def __init__(self, book: Any, sheet: Sheet, overrides: Mapping[tuple[str, str], float]) -> None:
        from nbgrader import api

        self._overrides = overrides
        self._api, self._session = api, book.db
        entered = book.find_notebook(sheet.name, sheet.name)
        self._assignment, self._notebook = entered.assignment_id, entered.id
        self._graded = {cell.name: cell.id for cell in entered.grade_cells}
        self._commented = {cell.name: cell.id for cell in entered.solution_cells}

    def write(self, group: Sequence[LearnerMarks]) -> None:
        """Write the marks of some learners."""
        copies = self._copies(group)
        grades, comments = _Rows(self._session, self._api.Grade), _Rows(self._session, self._api.Comment)
        graded = self._known(self._api.Grade, copies.values())
        commented = self._known(self._api.Comment, copies.values())
        for learner in group:
            copy = copies[learner.learner]
            for item in learner.items:
                if cell := self._graded.get(item.item):
                    score = item.score if item.automatic is None else item.automatic
                    by_hand = self._overrides.get((learner.learner, item.item))
                    grades.put(
                        graded.get((copy, cell)),
                        {"notebook_id": copy, "cell_id": cell, "manual_score": by_hand},
                        {"auto_score": score, "needs_manual_grade": False},
                    )
                if cell := self._commented.get(item.item):
                    comments.put(
                        commented.get((copy, cell)), {"notebook_id": copy, "cell_id": cell}, {"auto_comment": comment_for(item)}
                    )
        grades.write()
        comments.write()

    def _copies(self, group: Sequence[LearnerMarks]) -> dict[str, str]:
        """The gradebook's row of each learner's copy, made where it was missing, with time and penalty."""
        from sqlalchemy import select

        handed, copy = self._api.SubmittedAssignment, self._api.SubmittedNotebook
        rows = self._session.execute(
            select(handed.student_id, handed.id, copy.id)
            .outerjoin(copy, (copy.assignment_id == handed.id) & (copy.notebook_id == self._notebook))
            .where(handed.assignment_id == self._assignment, handed.student_id.in_([learner.learner for learner in group]))
        )
        known = {learner: (handed_id, copy_id) for learner, handed_id, copy_id in rows}
        handed_rows, copy_rows = _Rows(self._session, handed), _Rows(self._session, copy)
        copies: dict[str, str] = {}
        for marked in group:
            handed_id, copy_id = known.get(marked.learner, (None, None))
            handed_id = handed_rows.put(
                handed_id,
                {"assignment_id": self._assignment, "student_id": marked.learner},
                {"timestamp": _in_utc(marked.handed_in)},
            )
            copies[marked.learner] = copy_rows.put(
                copy_id,
                {"assignment_id": handed_id, "notebook_id": self._notebook},
                {"late_submission_penalty": marked.penalty},
            )
        handed_rows.write()
        copy_rows.write()
        return copies

    def _known(self, model: Any, copies: Iterable[str]) -> dict[tuple[str, str], str]:
        """The rows of a table that are there, by copy and cell."""
        from sqlalchemy import select

        rows = self._session.execute(
            select(model.notebook_id, model.cell_id, model.id).where(model.notebook_id.in_(list(copies)))
        )
        return {(copy, cell): row for copy, cell, row in rows}


def comment_for(item: ItemMark) -> str:
    """What the learner reads beside an item: the comment, and how the answer was read."""
    read = ", ".join(text if part == "answer" else f"{part} = {text}" for part, text in item.read_as.items())
    hints = f" ({hint_words(item)})" if item.hints else ""
    return without_markup(item.comment + (f" (Read as: {read})" if read else "") + hints)


def hint_words(item: ItemMark) -> str:
    """What hints did to an item's marks, in words."""
    given = "1 hint was given" if item.hints == 1 else f"{item.hints} hints were given"
    earned = f"{item.earned:g} {'mark' if item.earned == 1 else 'marks'} earned"
    return f"{given}: {earned}, {item.hint_cost:g} taken off" if item.hint_cost else given


def _in_utc(when: str) -> dt.datetime | None:
    """The gradebook keeps times without a zone, in UTC."""
    return dt.datetime.fromisoformat(when).astimezone(dt.UTC).replace(tzinfo=None) if when else None
