"""The settings of a course as the text of its file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from gearkit.answers.read.commas import EITHER
from gearkit.words.errors import UsageError
from gearkit.words.say import ENGLISH
from graders.course.files import quoted
from graders.course.language import comma_of

if TYPE_CHECKING:
    from graders.course.course import Course

FORMAT = 1
# Seconds that a cell of a learner's may run where the course says nothing of it.
CELL_SECONDS = 5


def settings_text(course: Course) -> str:
    """Return the settings as they stand in the file; what is as usual is left out.

    Args:
        course: the course.
    """
    rules = "\n".join(
        f"{name} = {quoted(value) if isinstance(value, str) else value}" for name, value in vars(course.rules).items()
    )
    commas = f"comma = {quoted(course.comma)}\n" if course.comma not in (EITHER, comma_of(course.language)) else ""
    commas += f"language = {quoted(course.language)}\n" if course.language != ENGLISH else ""
    where = f"gradebook = {quoted(course.gradebook)}\n" if course.gradebook else ""
    ideas = "" if course.ideas else "ideas = false\n"
    ideas += f"lessons = {quoted(course.lessons)}\n" if course.lessons else ""
    ideas += "" if course.cell_seconds == CELL_SECONDS else f"cell_seconds = {course.cell_seconds}\n"
    return (
        f"format = {FORMAT}\nid = {quoted(course.id)}\ntitle = {quoted(course.title)}\n"
        f"time_zone = {quoted(course.time_zone)}\n{commas}{where}{ideas}\n[rules]\n{rules}\n"
    )


def check_zone(name: str, settings: Path) -> None:
    """Refuse a time zone that there is not.

    Args:
        name: its name, such as "Europe/London".
        settings: the file that names it.

    Raises:
        UsageError: there is none of this name.
    """
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise UsageError(f'{settings}: time_zone: found {name!r}, expected a name such as "Europe/London" or "UTC"') from None
