"""The database behind a course's gradebook: a file in the course's folder, or any server by its address.

The address stands in course.toml, for example ``gradebook = "postgresql+psycopg://teach@localhost/at214"``; without it
the gradebook is the file gradebook.db. A course has its database to itself: identities of learners and names of sheets
are its keys, and those of two courses would mix.
"""

from __future__ import annotations

import os
import stat
from contextlib import closing
from pathlib import Path
from typing import Any

from gearkit.words.errors import GearkitError, UsageError
from graders.course.course import Course

MISSING = "The class book-keeping is not installed. Install it with: pip install 'gearkit[class]'"
_SERVER_HINT = " Is the server running, and does it let you in?"
_EXAMPLE = "postgresql+psycopg://USER@HOST/DATABASE"
# Any number will do, as long as every process that makes the tables takes the same.
_MAKING = 5_214_036_148


def check_address(address: str) -> None:
    """Check that an address can be a gradebook's, without connecting to it.

    Args:
        address: the database's address, such as "postgresql+psycopg://teach@localhost/at214".

    Raises:
        UsageError: it is no address, its driver is missing, or it is a file without its whole path.
    """
    try:
        from sqlalchemy.engine import make_url
        from sqlalchemy.exc import ArgumentError, NoSuchModuleError
    except ImportError:
        raise UsageError(MISSING) from None
    try:
        url = make_url(address)
        url.get_dialect().import_dbapi()
    except NoSuchModuleError:
        raise UsageError(
            f"The gradebook's address begins with {url.drivername!r}, a kind of database that is not known "
            f"here; expected {_EXAMPLE}."
        ) from None
    except ArgumentError:
        # The address itself is not repeated: it may hold a password.
        raise UsageError(f"The gradebook's address is not one of a database; expected {_EXAMPLE}.") from None
    except ImportError as fault:
        raise UsageError(
            f"The gradebook's address begins with {url.drivername!r}, and its driver {fault.name!r} is not "
            f"installed. For PostgreSQL: pip install 'gearkit[postgres]' and write {_EXAMPLE}"
        ) from None
    if url.get_backend_name() == "sqlite" and not Path(url.database or "").is_absolute():
        raise UsageError(
            f"The gradebook's file {url.database or ''!r}: expected its whole path, as in sqlite:////srv/at214/gradebook.db"
        )


def reach(address: str) -> None:
    """Check that an address can be a gradebook's and that a server there lets us in, before a course is made for it.

    Args:
        address: the database's address.

    Raises:
        UsageError: it cannot be a gradebook's.
        GearkitError: the server does not answer or does not let us in.
    """
    check_address(address)
    from sqlalchemy import create_engine
    from sqlalchemy.engine import make_url
    from sqlalchemy.exc import SQLAlchemyError

    if make_url(address).get_backend_name() == "sqlite":
        return
    engine = create_engine(address, future=True)
    try:
        engine.connect().close()
    except SQLAlchemyError as fault:
        cause = str(getattr(fault, "orig", None) or fault).strip().splitlines()[0]
        raise GearkitError(
            f"The gradebook {make_url(address).render_as_string(hide_password=True)} cannot be reached "
            f"({cause}); nothing was made.{_SERVER_HINT}"
        ) from None
    finally:
        engine.dispose()


def shown(course: Course) -> str:
    """The gradebook's address for people, without a password.

    Args:
        course: the course.
    """
    from sqlalchemy.engine import make_url

    return str(file_of(course) or make_url(course.gradebook_url).render_as_string(hide_password=True))


def file_of(course: Course) -> Path | None:
    """The gradebook's file, None where it is on a server.

    Args:
        course: the course.
    """
    if not course.gradebook:
        return course.folder / "gradebook.db"
    from sqlalchemy.engine import make_url

    url = make_url(course.gradebook)
    return Path(url.database or "") if url.get_backend_name() == "sqlite" else None


def exists(course: Course) -> bool:
    """Whether there may be a gradebook: its file is there, or it is on a server.

    Args:
        course: the course.
    """
    path = file_of(course)
    return path is None or path.exists()


def prepare(course: Course) -> None:
    """Make the gradebook's tables where there are none, all of them or none.

    Left to itself the book-keeping calls its program `alembic` by name to learn the version of its tables, and where
    that is not found it leaves a gradebook behind that can never be opened again. The same version is read here
    without a program.

    Args:
        course: the course.

    Raises:
        UsageError: the address cannot be used, holds a password that others can read, or belongs to another course.
    """
    if course.gradebook:
        check_address(course.gradebook)
        _check_password(course)
    path = file_of(course)
    if path is None:
        _make_on_server(course)
    elif not path.exists():
        _make_file(course, path)


def _make_file(course: Course, path: Path) -> None:
    from sqlalchemy import create_engine

    draft = path.with_name(f".{path.name}.{os.getpid()}.part")
    draft.unlink(missing_ok=True)
    try:
        engine = create_engine(f"sqlite:///{draft}", future=True)
        with engine.begin() as connection:
            _make_tables(connection)
            _enter_course(course, connection)
        engine.dispose()
        os.chmod(draft, 0o600)
        os.replace(draft, path)
    finally:
        draft.unlink(missing_ok=True)


def _make_on_server(course: Course) -> None:
    from sqlalchemy import create_engine, inspect, text

    engine = create_engine(course.gradebook_url, future=True)
    try:
        with engine.begin() as connection:
            if engine.dialect.name == "postgresql":
                # Of two who open a new gradebook at once one makes the tables, and the other finds them.
                connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _MAKING})
            tables = set(inspect(connection).get_table_names())
            if not tables:
                _make_tables(connection)
            else:
                _check_owner(course, connection, tables)
            _enter_course(course, connection)
    finally:
        engine.dispose()


def _make_tables(connection: Any) -> None:
    from alembic.config import Config
    from alembic.script import ScriptDirectory
    from nbgrader.api import Base
    from nbgrader.dbutil import ALEMBIC_DIR
    from sqlalchemy import text

    settings = Config()
    settings.set_main_option("script_location", str(ALEMBIC_DIR))
    version = ScriptDirectory.from_config(settings).get_current_head()
    Base.metadata.create_all(bind=connection)
    connection.execute(text("CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL)"))
    connection.execute(text("INSERT INTO alembic_version (version_num) VALUES (:version)"), {"version": version})


def _enter_course(course: Course, connection: Any) -> None:
    """Enter the course itself; two who open the gradebook would both do that otherwise, and one would fail."""
    from nbgrader.api import Course as Entry
    from sqlalchemy import insert, select

    if connection.execute(select(Entry.id).where(Entry.id == course.id)).first() is None:
        connection.execute(insert(Entry), {"id": course.id})


def _check_owner(course: Course, connection: Any, tables: set[str]) -> None:
    """Refuse a database that holds something else, or the gradebook of another course."""
    from nbgrader.api import Assignment
    from sqlalchemy import select

    if not {"assignment", "submitted_assignment", "alembic_version"} <= tables:
        raise UsageError(
            f"The database {shown(course)} holds something else ({', '.join(sorted(tables)[:3])}); nothing "
            "was written to it. Give this course an empty database of its own."
        )
    owners = sorted(set(connection.execute(select(Assignment.course_id)).scalars()) - {course.id})
    if owners:
        raise UsageError(
            f"The database {shown(course)} holds the gradebook of the course {', '.join(owners)}; nothing "
            f"was written to it. Give {course.id} an empty database of its own."
        )


def _check_password(course: Course) -> None:
    from sqlalchemy.engine import make_url

    settings = course.folder / "course.toml"
    mode = stat.S_IMODE(settings.stat().st_mode)
    if make_url(course.gradebook).password and os.name == "posix" and mode & 0o077:
        raise UsageError(
            f"{settings} holds the gradebook's password and can be read by others (mode {mode:03o}, expected "
            f"600). Close it with: chmod 600 {settings}\nOr leave the password out of the address and keep "
            "it in the file ~/.pgpass."
        )


def trouble(course: Course, fault: Exception) -> GearkitError:
    """Say what is wrong with a gradebook that cannot be used.

    Args:
        course: the course.
        fault: what its database said.
    """
    cause = (str(getattr(fault, "orig", None) or fault).strip() or type(fault).__name__).splitlines()[0].strip()
    where = shown(course)
    if "locked" in cause:
        return GearkitError(
            f"The gradebook {where} is in use by another program; nothing more was written to it. "
            "Close the other program and do it again."
        )
    if "malformed" in cause or "not a database" in cause:
        return GearkitError(
            f"The gradebook {where} is damaged ({cause}); nothing more was written to it. Restore it from a "
            "backup, or move it away and mark again: it is then made anew."
        )
    hint = _SERVER_HINT if file_of(course) is None else ""
    return GearkitError(f"The gradebook {where} cannot be used ({cause}); nothing more was written to it.{hint}")


def scrub(course: Course) -> None:
    """Take what deleted rows held out of the database's files as well, where the database has a way to do that.

    Args:
        course: the course.
    """
    path = file_of(course)
    if path is not None:
        import sqlite3

        with closing(sqlite3.connect(path)) as file:
            file.execute("VACUUM")
        return
    from sqlalchemy import create_engine, text

    engine = create_engine(course.gradebook_url, isolation_level="AUTOCOMMIT", future=True)
    try:
        if engine.dialect.name == "postgresql":
            with engine.connect() as connection:
                connection.execute(text("VACUUM (FULL)"))
    finally:
        engine.dispose()
