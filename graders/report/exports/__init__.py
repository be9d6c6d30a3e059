"""Exchange files: the marks of a course as OneRoster zip, AGS scores, xAPI statements, or one quoted CSV.

`KINDS` names them; what writes one is loaded when it is asked for. Field names and their sources stand at the top of each module. No file was checked by an official validator.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from types import MappingProxyType
from typing import Any

from gearkit.words.errors import UsageError
from graders.course import roster as class_list
from graders.course.course import Course
from graders.report.pages.page import counted


@dataclass(frozen=True)
class Kind:
    """One kind of exchange file.

    Args:
        module: the module of this folder whose ``write`` writes it.
        needed: what its receiver knows things by, beside its ids of people.
        people: whether its receiver has ids of its own for people.
    """

    module: str
    needed: tuple[str, ...] = ()
    people: bool = True


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "oneroster": Kind("oneroster", ("school", "class", "academic_session")),
        "csv": Kind("table", people=False),
        "xapi": Kind("xapi", ("home_page",)),
        "ags": Kind("ags"),
    }
)


def to_be_set(course: Course, kind: str) -> str:
    """Say which ids of the receiver stand nowhere yet, so that ids of the kit's own are in the file; "" where none is missing.

    Args:
        course: the course.
        kind: a name of `KINDS`.
    """
    from graders.report.exports import data

    settings, users = data.settings(course)
    missing = [
        f"{key} (now {data.NO_HOME_PAGE}, which names every actor and object)" if key == "home_page" else key
        for key in KINDS[kind].needed
        if key not in settings
    ]
    nameless = sum(learner.id not in users for learner in class_list.read_class_list(course)) if KINDS[kind].people else 0
    missing += (
        [f"under [users] the receiver's ids of {counted(nameless, 'learner')} (now those of the class list)"]
        if nameless
        else []
    )
    if not missing:
        return ""
    return f"Not set in {course.folder / 'exchange.toml'}: {'; '.join(missing)}. Set them before the file goes to a receiver."


def write(course: Course, kind: str, path: Path, *, pseudonyms: bool = False) -> int:
    """Write a course's marks as an exchange file and return how many sheets are in it.

    Args:
        course: the course.
        kind: a name of `KINDS`.
        path: the file; an old one of that name is replaced in one step.
        pseudonyms: whether names and answers are left out.

    Raises:
        UsageError: an unknown kind, nothing marked yet, or a path that is a folder.
    """
    if kind not in KINDS:
        raise UsageError(f"There is no exchange file {kind!r}; known are {', '.join(KINDS)}.")
    if path.is_dir():
        raise UsageError(f"{path} is a folder; give the name of the file to write, such as {path / f'marks.{kind}'}.")
    from graders.report.exports import data

    gathered = data.gather(course, pseudonyms=pseudonyms)
    module: Any = import_module(f"{__name__}.{KINDS[kind].module}")
    module.write(gathered, path)
    return len(gathered.sheets)
