"""Opens the class's gradebook and enters a sheet and a class list in it, through the book-keeping's own interface."""

from __future__ import annotations

import datetime as dt
import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from gearkit.words.errors import GearkitError, UsageError
from graders.prepare.course import Course
from graders.prepare.notebook import checksum
from graders.prepare.roster import Roster
from graders.prepare.sheets import Sheet


@contextmanager
def opened(course: Course) -> Iterator[Any]:
    """The course's gradebook, open; a new one is made whole or not at all.

    Args:
        course: the course.

    Raises:
        GearkitError: the gradebook is locked, damaged, or cannot be written.
        UsageError: the book-keeping is not installed.
    """
    try:
        from nbgrader.api import Gradebook
        from sqlalchemy.exc import SQLAlchemyError
    except ImportError:
        raise UsageError("The class book-keeping is not installed. Install it with: pip install 'gearkit[class]'") \
            from None
    path = course.folder / "gradebook.db"
    try:
        if not path.exists():
            _make(path)
        book = Gradebook(course.gradebook_url, course.id)
    except (SQLAlchemyError, OSError, sqlite3.Error) as fault:
        raise GearkitError(_said(path, fault)) from None
    try:
        yield book
    except SQLAlchemyError as fault:
        book.db.rollback()
        raise GearkitError(_said(path, fault)) from None
    finally:
        book.close()


def _said(path: Path, fault: Exception) -> str:
    cause = str(getattr(fault, "orig", None) or fault).splitlines()[0]
    if "locked" in cause:
        return (f"The gradebook {path} is in use by another program; nothing was written to it. "
                "Close the other program and do it again.")
    if "malformed" in cause or "not a database" in cause:
        return (f"The gradebook {path} is damaged ({cause}); nothing was written to it. Restore it from a backup, or "
                "move it away and mark again: it is then made anew.")
    return f"The gradebook {path} cannot be used ({cause}); nothing was written to it."


def _make(path: Path) -> None:
    """Make an empty gradebook beside its place and move it there, so that there is never half a one.

    Left to itself the book-keeping calls its program `alembic` by name to learn the version of its tables, and
    where that is not found it leaves a gradebook behind that can never be opened again. The same version is read
    here without a program.
    """
    from alembic.config import Config
    from alembic.script import ScriptDirectory
    from nbgrader.api import Base
    from nbgrader.dbutil import ALEMBIC_DIR
    from sqlalchemy import create_engine, text

    settings = Config()
    settings.set_main_option("script_location", str(ALEMBIC_DIR))
    version = ScriptDirectory.from_config(settings).get_current_head()
    draft = path.with_name(f".{path.name}.{os.getpid()}.part")
    draft.unlink(missing_ok=True)
    try:
        engine = create_engine(f"sqlite:///{draft}", future=True)
        Base.metadata.create_all(bind=engine)
        with engine.begin() as connection:
            connection.execute(text("CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL)"))
            connection.execute(text("INSERT INTO alembic_version (version_num) VALUES (:version)"),
                               {"version": version})
        engine.dispose()
        os.replace(draft, path)
    finally:
        draft.unlink(missing_ok=True)


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
    book.update_or_create_assignment(sheet.name, duedate=due)
    book.update_or_create_notebook(sheet.name, sheet.name)
    for cell in notebook["cells"]:
        card = cell["metadata"]["nbgrader"]
        where = (card["grade_id"], sheet.name, sheet.name)
        book.update_or_create_source_cell(*where, source=cell["source"], cell_type=cell["cell_type"],
                                          locked=card["locked"], checksum=checksum(cell))
        if card["grade"]:
            book.update_or_create_grade_cell(*where, max_score=float(card["points"]), cell_type=cell["cell_type"])
        if card["solution"]:
            book.update_or_create_solution_cell(*where)


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
    add_students(book, [(one.id, one.name) for one in roster if one.id not in known])
    corrected = [{"id": one.id, **_names(one.name)} for one in roster if one.id in known]
    if corrected:
        book.db.execute(update(Student), corrected)
    book.db.commit()


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
    last, _, first = (part.strip().replace(",", " ") for part in name.partition(","))
    return {"last_name": last, "first_name": first}
