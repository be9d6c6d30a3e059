"""Exchange files: the marks of a course as OneRoster zip, AGS scores, xAPI statements, or one quoted CSV.

Field names and their sources stand at the top of each module. No file was checked by an official validator.
"""

from __future__ import annotations

from pathlib import Path

from gearkit.words.errors import UsageError
from graders.course import roster as class_list
from graders.course.course import Course
from graders.report.exports import ags, data, oneroster, table, xapi

_WRITERS = {"ags": ags.write, "csv": table.write, "oneroster": oneroster.write, "xapi": xapi.write}
KINDS = tuple(sorted(_WRITERS))


# What a receiver of each kind knows things by, beside its ids of people.
_NEEDED = {"ags": (), "csv": (), "oneroster": ("school", "class", "academic_session"), "xapi": ("home_page",)}


def to_be_set(course: Course, kind: str) -> str:
    """Say which ids of the receiver stand nowhere yet, so that ids of the kit's own are in the file; "" where none is missing.

    Args:
        course: the course.
        kind: "ags", "csv", "oneroster" or "xapi".
    """
    settings, users = data.settings(course)
    missing = [
        f"{key} (now {data.NO_HOME_PAGE}, which names every actor and object)" if key == "home_page" else key
        for key in _NEEDED[kind]
        if key not in settings
    ]
    nameless = sum(one.id not in users for one in class_list.read_class_list(course)) if kind != "csv" else 0
    missing += [f"under [users] the receiver's ids of {nameless} learners (now those of the class list)"] if nameless else []
    if not missing:
        return ""
    return f"Not set in {course.folder / 'exchange.toml'}: {'; '.join(missing)}. Set them before the file goes to a receiver."


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
