"""The book-keeping's own settings for a course: whose marking, whose list of sheets and whose sums its pages use."""

from __future__ import annotations

from gearkit.text.files import write_atomically
from graders.course.course import Course

_CONFIGURATION = """# Settings of the class book-keeping (nbgrader) for this course; the course's own stand in course.toml.
import tomllib
from pathlib import Path

course = tomllib.loads(Path(__file__).with_name("course.toml").read_text(encoding="utf-8"))
c = get_config()
c.CourseDirectory.course_id = course["id"]
if course.get("gradebook"):
    c.CourseDirectory.db_url = course["gradebook"]
c.Exchange.path_includes_course = False
# The button "Autograde" marks as `graders mark` does; left to itself it would run learners' code unprotected.
c.Autograde.sanitize_preprocessors = ["graders.book.grading_page.MarkedByTheKit"]
c.Autograde.autograde_preprocessors = []
"""
_IN_GRADING_PAGE = """# In the grading page sheets that were handed out are no drafts, and sums of marks count a retake by its rule.
from graders.mark.in_grading_page import count_retakes_once

count_retakes_once()
c.ExchangeFactory.list = "graders.mark.in_grading_page.HandedOut"
"""


def write(course: Course) -> None:
    """Write the book-keeping's settings; those of a course from an earlier version get what has come since.

    Args:
        course: the course.
    """
    path = course.folder / "nbgrader_config.py"
    there = path.read_text(encoding="utf-8") if path.exists() else _CONFIGURATION
    if not path.exists() or ("MarkedByTheKit" in there and "in_grading_page" not in there):
        write_atomically(path, there + _IN_GRADING_PAGE)
