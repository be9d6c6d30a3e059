"""Opens the class's gradebook and enters a sheet and a class list in it, through the book-keeping's own interface."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from gearkit.words.errors import UsageError
from graders.book import database, tables
from graders.course.course import Course
from graders.course.roster import Roster
from graders.sheets.notebook import checksum
from graders.sheets.sheets import Sheet

# What the book-keeping's tables hold of a name; a file takes more, a server does not.
LONGEST_NAME = 128


@contextmanager
def opened(course: Course) -> Iterator[Any]:
    """The course's gradebook, open; a new one is made whole or not at all.

    Args:
        course: the course.

    Raises:
        GearkitError: the gradebook is locked, damaged, or cannot be written, or its server does not answer.
        UsageError: the book-keeping is not installed, or the gradebook's address cannot be used.
    """
    tables.load()
    try:
        from nbgrader.api import Gradebook
        from sqlalchemy.exc import SQLAlchemyError
    except ImportError:
        raise UsageError(database.MISSING) from None
    try:
        database.prepare(course)
        book = Gradebook(course.gradebook_url, course.id)
    except (SQLAlchemyError, OSError) as fault:
        raise database.trouble(course, fault) from None
    try:
        yield book
    except SQLAlchemyError as fault:
        book.db.rollback()
        raise database.trouble(course, fault) from None
    finally:
        book.close()


def enter_sheet(book: Any, course: Course, sheet: Sheet, notebook: dict[str, Any]) -> None:
    """Enter a sheet: the assignment, its notebook and its cells. Entering it again changes nothing else.

    Args:
        book: the open gradebook.
        course: the course.
        sheet: the sheet.
        notebook: the sheet's notebook without anybody's numbers.
    """
    due = None
    if sheet.due is not None:
        # The gradebook keeps times without a zone, in UTC.
        due = sheet.due.replace(tzinfo=course.zone).astimezone(dt.UTC).replace(tzinfo=None)
    with _together(book):
        book.update_or_create_assignment(sheet.name, duedate=due)
        book.update_or_create_notebook(sheet.name, sheet.name)
        for cell in notebook["cells"]:
            card = cell["metadata"]["nbgrader"]
            where = (card["grade_id"], sheet.name, sheet.name)
            book.update_or_create_source_cell(
                *where, source=cell["source"], cell_type=cell["cell_type"], locked=card["locked"], checksum=checksum(cell)
            )
            if card["grade"]:
                book.update_or_create_grade_cell(*where, max_score=float(card["points"]), cell_type=cell["cell_type"])
            if card["solution"]:
                book.update_or_create_solution_cell(*where)


@contextmanager
def _together(book: Any) -> Iterator[None]:
    """Enter several things together or not at all: the book-keeping's interface commits each by itself, some ms at a time."""
    book.db.commit = book.db.flush
    try:
        yield
    except BaseException:
        book.db.rollback()
        raise
    finally:
        del book.db.commit
    book.db.commit()


def knows_sheet(book: Any, sheet: str) -> bool:
    """Whether a sheet is in the gradebook.

    Args:
        book: the open gradebook.
        sheet: name of the sheet.
    """
    from nbgrader.api import MissingEntry

    try:
        book.find_notebook(sheet, sheet)
    except MissingEntry:
        return False
    return True


def enter_class(book: Any, roster: Roster) -> None:
    """Enter the learners of a class list; names of those who are in it already are corrected.

    Args:
        book: the open gradebook.
        roster: the class list.
    """
    from nbgrader.api import Student
    from sqlalchemy import update

    known = student_ids(book)
    add_students(book, [(learner.id, learner.name) for learner in roster if learner.id not in known])
    corrected = [{"id": learner.id, **_names(learner.name)} for learner in roster if learner.id in known]
    if corrected:
        book.db.execute(update(Student), corrected)
    book.db.commit()


def enter(course: Course, sheet: Sheet, notebook: dict[str, Any], roster: Roster) -> None:
    """Enter a sheet that is handed out, and the class.

    Args:
        course: the course.
        sheet: the sheet.
        notebook: the sheet's notebook without anybody's numbers.
        roster: the class list.
    """
    with opened(course) as book:
        enter_sheet(book, course, sheet, notebook)
        enter_class(book, roster)


def remove_sheet(course: Course, sheet: str) -> None:
    """Take a sheet out of the gradebook, with all that stands under it.

    Args:
        course: the course.
        sheet: name of the sheet.
    """
    if not database.exists(course):
        return
    with opened(course) as book:
        if knows_sheet(book, sheet):
            book.remove_assignment(sheet)
            book.db.commit()


def remove_learner(course: Course, learner: str) -> bool:
    """Take a learner out of the gradebook; whether there was one.

    Args:
        course: the course.
        learner: identity.
    """
    if not database.exists(course):
        return False
    with opened(course) as book:
        if learner not in student_ids(book):
            return False
        book.remove_student(learner)
        book.db.commit()
    # The rows are gone from the tables; this also takes what they held out of the files.
    database.scrub(course)
    return True


def student_ids(book: Any) -> set[str]:
    """The identities of everybody in the gradebook."""
    from nbgrader.api import Student
    from sqlalchemy import select

    return set(book.db.execute(select(Student.id)).scalars())


def add_students(book: Any, people: Sequence[tuple[str, str]]) -> None:
    """Add people who are not in the gradebook yet.

    Args:
        book: the open gradebook.
        people: identity and name of each.
    """
    from nbgrader.api import Student
    from sqlalchemy import insert

    if people:
        book.db.execute(insert(Student), [{"id": identity, **_names(name)} for identity, name in people])


def _names(name: str) -> dict[str, str]:
    # The book-keeping's own export writes names unquoted, so that a comma in one would shift its columns.
    last, _, first = (part.strip().replace(",", " ")[:LONGEST_NAME] for part in name.partition(","))
    return {"last_name": last, "first_name": first}
