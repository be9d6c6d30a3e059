"""What the book-keeping's grading page is told of our sheets: that they are out, and that of two attempts one counts.

Left to itself the page calls a sheet a draft until its own exchange holds it, and its sum of a learner's marks, and the
marks that it is out of, count a retake as one more sheet. The course's nbgrader_config.py names what stands here.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from nbgrader.apps.api import NbGraderAPI
from nbgrader.exchange.default.list import ExchangeList

from gearkit.words.errors import UsageError
from graders.course.course import open_course
from graders.mark import grading_page_buttons
from graders.mark.decide import retakes
from graders.mark.decide.retakes import Retake

_OURS = "counts_retakes_once"


class HandedOut(ExchangeList):  # type: ignore[misc]  # the book-keeping has no types
    """Lists the course's sheets that were handed out as released; what learners fetch and hand in is listed as before."""

    def start(self) -> Any:
        """Return the sheets, as the book-keeping's own list does.

        Raises:
            ExchangeError: a sheet was to be taken back, which the kit does by a command of its own.
        """
        if self.inbound or self.cached:
            return super().start()
        course, sheet = self.coursedir.course_id, self.coursedir.assignment_id
        if self.remove:
            self.fail(f"This sheet was handed out by the kit. To take it back: graders withdraw COURSE {sheet or 'SHEET'}")
        names = sorted({path.name for path in Path(self.coursedir.root).glob("handed_out/*/*") if path.is_dir()})
        return [{"course_id": course, "assignment_id": name, "status": "released"} for name in names if sheet in ("", name)]


def count_retakes_once() -> None:
    """Let the grading page's sums count a retake by its rule, and its buttons do the kit's work; again changes nothing."""
    if hasattr(NbGraderAPI, _OURS):
        return
    setattr(NbGraderAPI, _OURS, True)
    # Courses made before name this alone in their settings, and their buttons are to work as well.
    grading_page_buttons.take_over()
    NbGraderAPI.get_students = _counted(NbGraderAPI.get_students)
    NbGraderAPI.get_student = _counted(NbGraderAPI.get_student)


def _counted(asked: Callable[..., Any]) -> Callable[..., Any]:
    """What the page asks for learners by, with sums in which a retake is counted once."""

    @functools.wraps(asked)
    def counted_once(api: Any, *what: Any, **how: Any) -> Any:
        people = asked(api, *what, **how)
        listed = people if isinstance(people, list) else [people] if people else []
        try:
            known = retakes.read(open_course(Path(api.coursedir.root)))
        except UsageError:
            # Not a course of the kit, or one whose retakes cannot be read, of which the kit's own commands tell.
            return people
        for name, retake in known.items():
            _count_once(api, listed, name, retake)
        return people

    return counted_once


def _count_once(api: Any, people: list[dict[str, Any]], name: str, retake: Retake) -> None:
    """Correct learners' sums for one retake; lateness is in none of the page's sums."""
    from nbgrader.api import MissingEntry

    with api.gradebook as book:
        try:
            full, again_full = (book.find_assignment(sheet).max_score for sheet in (retake.of, name))
        except MissingEntry:
            return
        first, again = (_scores(book, sheet) for sheet in (retake.of, name))
    for person in people:
        before, after = first.get(person["id"], 0.0), again.get(person["id"])
        person["max_score"] -= again_full
        if after is not None:
            attempts = (before, after * full / again_full if again_full else None)
            person["score"] += retakes.counts(attempts, full, retake) - before - after


def _scores(book: Any, sheet: str) -> Mapping[str, float]:
    return {row["student"]: float(row["score"]) for row in book.submission_dicts(sheet)}
