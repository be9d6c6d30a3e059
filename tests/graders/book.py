"""What a gradebook holds about a sheet, read through the book-keeping's own objects, for comparing."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from graders.book import gradebook
from graders.course.course import Course

Row = tuple[str, str, float | None, float | None, float | None, str, bool]


def rows(course: Course, sheet: str = "A1") -> list[Row]:
    """For every learner and item: marks by the marker, marks by hand, what counts, the comment, whether a hand is waited for."""
    found: list[Row] = []
    with gradebook.opened(course) as book:
        for handed_in in book.assignment_submissions(sheet):
            for copy in handed_in.notebooks:
                comments = {comment.name: comment.auto_comment or "" for comment in copy.comments}
                found += [(handed_in.student.id, grade.name, grade.auto_score, grade.manual_score, grade.score,
                           comments[grade.name], grade.needs_manual_grade) for grade in copy.grades]  # fmt: skip
    return sorted(found)


def give_by_hand(course: Course, learner: str, item: str, score: float | None, comment: str | None = None) -> None:
    """Give marks as the grading page gives them; None clears them.

    Args:
        course: the course.
        learner: identity.
        item: item id.
        score: the marks.
        comment: what stands beside them.
    """
    with gradebook.opened(course) as book:
        book.find_grade(item, "A1", "A1", learner).manual_score = score
        if comment is not None:
            book.find_comment(item, "A1", "A1", learner).manual_comment = comment
        book.db.commit()


def book_keeping(folder: Path, *words: str) -> str:
    """Run the book-keeping's own program in a folder; return what it told.

    Args:
        folder: where it runs.
        words: its command line.
    """
    environment = {**os.environ, "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"}
    done = subprocess.run([sys.executable, "-m", "nbgrader", *words], cwd=folder, env=environment, capture_output=True,
                          text=True, check=False, timeout=300)  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stderr
