"""What an exchange file is made of: the marked sheets of a course, its class list, and the ids of the outside world.

A course may hold a file ``exchange.toml`` with the ids that other systems know it by::

    school = "fernhallow"
    class = "AT-214-2026"
    academic_session = "2026-autumn"
    home_page = "https://fernhallow.example"

    [users]
    fd01 = "a7c1-4410"

Without it the ids are made from the course's own, so that the files are whole but their receiver has to map them.
Learners that ``[users]`` does not name keep their identity.
"""

from __future__ import annotations

import datetime
import uuid
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from gearkit.train.data_file import read_document
from gearkit.words.errors import UsageError
from graders.book import record
from graders.book.record import LearnerMarks, MarkSheet
from graders.course import roster as class_list
from graders.course.course import Course
from graders.course.roster import Learner, Roster
from graders.mark.decide import retakes
from graders.report import pseudonyms as pseudonym_list
from graders.report.figures import course_marks
from graders.report.figures.course_marks import CourseMarks, CourseRow
from graders.report.gather import is_practice, sheet_words
from graders.report.pseudonyms import Pseudonyms

# A name space of our own (version 4, drawn once), so that the same course gives the same ids every time.
_SPACE = uuid.UUID("5d0f2e1c-8f0b-4f0e-9a55-3e7f5b7a6c21")
# Stands where nothing was set; the ending .invalid belongs to nobody for ever.
NO_HOME_PAGE = "https://example.invalid"
_SETTINGS = ("school", "class", "academic_session", "home_page")


@dataclass(frozen=True)
class ExportedSheet:
    """One marked sheet, ready for exchange.

    Args:
        name: the sheet's name in the course.
        title: its title for people.
        due: due time as ISO 8601, or "".
        marked_at: when it was marked, ISO 8601 with offset.
        full: full marks.
        marks: the mark sheet.
        again_of: name of the sheet that this is a retake of, or "".
    """

    name: str
    title: str
    due: str
    marked_at: str
    full: float
    marks: MarkSheet
    again_of: str = ""


@dataclass(frozen=True)
class ExportData:
    """A course ready for exchange.

    Args:
        course: the course's short identity.
        title: its title.
        school: id of the school.
        class_id: id of the class.
        session: id of the term.
        home_page: address that learners' accounts belong to.
        roster: the class list.
        sheets: its marked sheets, in order of their names.
        counted: what counts over the course, retakes included.
        responses: whether learners' own words may go out.
        users: identities in the outside world, by those in the course, where they differ.
    """

    course: str
    title: str
    school: str
    class_id: str
    session: str
    home_page: str
    roster: Roster
    sheets: tuple[ExportedSheet, ...]
    counted: CourseMarks
    responses: bool = True
    users: Mapping[str, str] = field(default_factory=dict)

    def id_of(self, *parts: str) -> str:
        """Return an id that is the same whenever the same thing of this course is exported."""
        return str(uuid.uuid5(_SPACE, "\x1f".join((self.course, *parts))))


def gather(course: Course, *, pseudonyms: bool = False) -> ExportData:
    """Return a course's marked sheets and ids.

    Args:
        course: the course; what is exported is what its `marks` folder holds.
        pseudonyms: whether names and answers are left out.

    Raises:
        UsageError: nothing is marked yet, or exchange.toml cannot be used.
    """
    files = sorted(
        path
        for path in (course.folder / "marks").glob("*.json")
        if len(path.suffixes) == 1 and path.is_file() and not is_practice(course, path.stem)
    )
    if not files:
        raise UsageError(f"The course {course.folder} has no marked sheet to export. Mark one first: graders mark")
    known, users = settings(course)
    plans = retakes.read(course)
    sheets = []
    for path in files:
        marks = record.read(path)
        at = datetime.datetime.fromtimestamp(path.stat().st_mtime, tz=datetime.UTC).isoformat(timespec="milliseconds")
        title, due = sheet_words(course, path.stem)
        full = max((learner.max for learner in marks.learners), default=0.0)
        again_of = plans[path.stem].of if path.stem in plans else ""
        sheets.append(ExportedSheet(path.stem, title, due, at, full, marks, again_of))
    roster = class_list.read(course.roster_file) if course.roster_file.exists() else Roster(())
    counted = course_marks.gather(course)
    if pseudonyms:
        names = pseudonym_list.of_course(course, roster, [sheet.marks for sheet in sheets])
        sheets = [replace(sheet, marks=names.marks(sheet.marks, roster)) for sheet in sheets]
        counted, roster = _without_names(counted, names), names.roster(roster)
    return ExportData(
        course=course.id,
        title=course.title,
        school=known.get("school", f"{course.id}-school"),
        class_id=known.get("class", course.id),
        session=known.get("academic_session", f"{course.id}-session"),
        home_page=known.get("home_page", NO_HOME_PAGE),
        roster=roster,
        sheets=tuple(sheets),
        counted=counted,
        responses=not pseudonyms,
        users={} if pseudonyms else users,
    )


def _without_names(counted: CourseMarks, names: Pseudonyms) -> CourseMarks:
    rows = []
    for row in counted.rows:
        name = names.of(row.learner.id)
        marks = tuple(replace(mark, learner=name) for mark in row.marks)
        rows.append(CourseRow(Learner(name, name, row.learner.group), marks))
    return replace(counted, rows=tuple(sorted(rows, key=lambda row: row.learner.id)))


def settings(course: Course) -> tuple[dict[str, str], dict[str, str]]:
    """Return the ids of the course and those of its learners."""
    path = course.folder / "exchange.toml"
    if not path.exists():
        return {}, {}
    document = read_document(path, "The course's ids")
    users = document.pop("users", {})
    faults = [f"{key}: unknown; known are {', '.join((*_SETTINGS, 'users'))}" for key in document if key not in _SETTINGS]
    faults += [
        f"{key}: found {value!r}, expected a text in quotes"
        for key, value in document.items()
        if key in _SETTINGS and not (isinstance(value, str) and value.strip())
    ]
    faults += _faults_of_users(users)
    if faults:
        raise UsageError(f"{path}: " + "; ".join(faults))
    return {key: str(value) for key, value in document.items()}, users


def _faults_of_users(users: Any) -> list[str]:
    if not isinstance(users, dict):
        return [f"users: found {users!r}, expected a table [users]"]
    faults = [f"users.{learner}: found {user!r}, expected a text in quotes" for learner, user in users.items()
              if not (isinstance(user, str) and user.strip())]  # fmt: skip
    twice = sorted(user for user, count in Counter(map(str, users.values())).items() if count > 1)
    return [*faults, *(f"users: {user!r} stands for two learners" for user in twice)]


def handed_in_at(marked: LearnerMarks, sheet: ExportedSheet) -> str:
    """Return when a learner handed in, with sub-seconds, or when the sheet was marked where that is not known.

    Args:
        marked: the learner's marks.
        sheet: the sheet.
    """
    if not marked.handed_in:
        return sheet.marked_at
    try:
        return datetime.datetime.fromisoformat(marked.handed_in).isoformat(timespec="milliseconds")
    except ValueError:
        return sheet.marked_at
