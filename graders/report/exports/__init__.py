"""Exchange files: the marks of a course as OneRoster zip, AGS scores, xAPI statements, or one quoted CSV.

Field names and their sources stand at the top of each module. No file was checked by an official validator.
"""

from __future__ import annotations

from pathlib import Path

from gearkit.words.errors import UsageError
from graders.course.course import Course
from graders.report.exports import ags, data, oneroster, table, xapi

_WRITERS = {"ags": ags.write, "csv": table.write, "oneroster": oneroster.write, "xapi": xapi.write}
KINDS = tuple(sorted(_WRITERS))


def write(course: Course, kind: str, path: Path, *, pseudonyms: bool = False) -> int:
    """Write a course's marks as an exchange file and return how many sheets are in it.

    Args:
        course: the course.
        kind: "ags", "csv", "oneroster" or "xapi".
        path: the file; an old one of that name is replaced in one step.
        pseudonyms: whether names and answers are left out.

    Raises:
        UsageError: an unknown kind, nothing marked yet, or a path that is a folder.
    """
    if kind not in _WRITERS:
        raise UsageError(f"There is no exchange file {kind!r}; known are {', '.join(KINDS)}.")
    if path.is_dir():
        raise UsageError(f"{path} is a folder; give the name of the file to write, such as {path / f'marks.{kind}'}.")
    gathered = data.gather(course, pseudonyms=pseudonyms)
    _WRITERS[kind](gathered, path)
    return len(gathered.sheets)
