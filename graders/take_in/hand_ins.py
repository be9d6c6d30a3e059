"""How often a learner handed in, and what came after the last time that counts.

Work that gave way to newer work, and work that came too late in number, both lie in the course's folder "replaced"; what
came after the last hand-in that counts is kept there under a name of its own and is never marked.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from gearkit.text.files import write_atomically
from graders.course.course import Course
from graders.sheets.sheets import Sheet

KEPT = "replaced"
# How the sentence about hand-ins that do not count begins, on the mark sheet and for the learner.
FLAG = "Handing in counts"
_BEYOND = "beyond-"


def kept_folder(course: Course, sheet: str, learner: str) -> Path:
    """Where a learner's other hand-ins of a sheet lie.

    Args:
        course: the course.
        sheet: name of the sheet.
        learner: identity.
    """
    return course.folder / KEPT / learner / sheet


def replaced(course: Course, sheet: str, learner: str) -> int:
    """How many hand-ins gave way to newer ones.

    Args:
        course: the course.
        sheet: name of the sheet.
        learner: identity.
    """
    return sum(path.name.isdecimal() for path in _inside(kept_folder(course, sheet, learner)))


def beyond(course: Course, sheet: str, learner: str) -> int:
    """How many hand-ins came after the last one that counts.

    Args:
        course: the course.
        sheet: name of the sheet.
        learner: identity.
    """
    return sum(path.name.startswith(_BEYOND) for path in _inside(kept_folder(course, sheet, learner)))


def keep_beyond(course: Course, sheet: str, learner: str, contents: Mapping[str, bytes]) -> None:
    """Keep a hand-in that does not count; the same work again is not kept twice.

    Args:
        course: the course.
        sheet: name of the sheet.
        learner: identity.
        contents: its files by name.
    """
    folder = kept_folder(course, sheet, learner)
    known = [path for path in _inside(folder) if path.name.startswith(_BEYOND)]
    if any({file.name: file.read_bytes() for file in path.iterdir()} == dict(contents) for path in known):
        return
    for name, data in sorted(contents.items()):
        write_atomically(folder / f"{_BEYOND}{len(known) + 1}" / name, data)


def flag(course: Course, sheet: Sheet, learner: str) -> str:
    """A sentence about hand-ins that do not count, "" where there are none.

    Args:
        course: the course.
        sheet: the sheet.
        learner: identity.
    """
    count = beyond(course, sheet.name, learner) if sheet.rules.attempts else 0
    if not count:
        return ""
    times = "once" if sheet.rules.attempts == 1 else f"{sheet.rules.attempts} times"
    later = "a later hand-in was" if count == 1 else f"{count} later hand-ins were"
    return f"{FLAG} {times}; {later} put aside and not marked."


def _inside(folder: Path) -> list[Path]:
    return sorted(folder.iterdir()) if folder.is_dir() else []
