"""What counts over a whole course: every sheet with its retakes, for every learner, and the sum."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from gearkit.words.errors import UsageError
from graders.book import record
from graders.book.record import MarkSheet
from graders.course.course import Course
from graders.course.roster import Learner, Roster
from graders.mark.decide import retakes
from graders.mark.decide.retakes import CountedMark, Retake
from graders.report.gather import class_of, is_practice, sheet_words


@dataclass(frozen=True)
class SheetColumn:
    """One sheet of a course, its retake included.

    Args:
        name: the sheet's name.
        title: its title for people.
        full: full marks.
        retake: the rule of its retake, None where there is none.
    """

    name: str
    title: str
    full: float
    retake: Retake | None


@dataclass(frozen=True)
class CourseRow:
    """All that counts for one learner.

    Args:
        learner: from the class list; strangers who handed in have their identity for a name.
        marks: what counts on each sheet, in the order of the columns.
    """

    learner: Learner
    marks: tuple[CountedMark, ...]

    @property
    def total(self) -> float:
        """Sum of what counts."""
        return round(float(sum((Fraction(mark.counts).limit_denominator(10**6) for mark in self.marks), Fraction(0))), 6)

    @property
    def full(self) -> float:
        """Sum of full marks."""
        return round(sum(mark.full for mark in self.marks), 6)


@dataclass(frozen=True)
class CourseMarks:
    """The marks of a course.

    Args:
        columns: its marked sheets, in the order of their due times.
        rows: its learners, the class list first.
    """

    columns: tuple[SheetColumn, ...]
    rows: tuple[CourseRow, ...]


def gather(course: Course) -> CourseMarks:
    """Return what counts over a course, from its mark sheets; practice sheets are left out.

    Args:
        course: the course.

    Raises:
        UsageError: no sheet has been marked yet.
    """
    marked = _marked(course)
    if not marked:
        raise UsageError(f"The course {course.folder} has no marked sheet that counts. Mark one first: graders mark")
    plans = retakes.read(course)
    again = {plan.of: (name, plan) for name, plan in plans.items()}
    firsts = [(name, title) for name, title in _in_order(course, marked) if name not in plans]
    people = _people(class_of(course), marked)
    columns, counted = [], []
    for name, title in firsts:
        later, plan = again.get(name, ("", None))
        marks = retakes.count([person.id for person in people], marked[name], marked.get(later), plan)
        full = max((learner.max for learner in marked[name].learners), default=0.0)
        columns.append(SheetColumn(name, title, full, plan))
        counted.append(marks)
    rows = tuple(CourseRow(who, tuple(marks[place] for marks in counted)) for place, who in enumerate(people))
    return CourseMarks(tuple(columns), rows)


def _marked(course: Course) -> dict[str, MarkSheet]:
    files = sorted(
        path
        for path in (course.folder / "marks").glob("*.json")
        if len(path.suffixes) == 1 and not is_practice(course, path.stem)
    )
    return {path.stem: record.read(path) for path in files}


def _in_order(course: Course, marked: dict[str, MarkSheet]) -> list[tuple[str, str]]:
    """Return names and titles of sheets in the order of their due times; those without one come last."""
    words = {name: sheet_words(course, name) for name in marked}
    return [(name, words[name][0]) for name in sorted(marked, key=lambda name: (words[name][1] or "~", name))]


def _people(roster: Roster, marked: dict[str, MarkSheet]) -> list[Learner]:
    known = {learner.id for learner in roster}
    strangers = {learner.learner for marks in marked.values() for learner in marks.learners} - known
    return [*roster, *(Learner(identity, identity) for identity in sorted(strangers))]
