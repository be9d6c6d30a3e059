"""What was odd when a learner's work was taken in: kept with the course, and told again whenever the work is marked.

The sentences lie beside the learner's other hand-ins of the sheet, so that removing a learner removes them too.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from gearkit.text.files import write_atomically
from graders.course.course import Course
from graders.take_in import hand_ins

_FILE = "remarks.txt"


def keep(course: Course, sheet: str, learner: str, remarks: Sequence[str]) -> None:
    """Keep the remarks on the work that was taken in now, in the place of those on earlier work.

    Args:
        course: the course.
        sheet: name of the sheet.
        learner: identity.
        remarks: one sentence each; none forgets the earlier ones.
    """
    path = _path(course, sheet, learner)
    if remarks:
        write_atomically(path, "".join(f"{' '.join(remark.split())}\n" for remark in remarks).encode())
    else:
        path.unlink(missing_ok=True)


def of(course: Course, sheet: str, learner: str) -> tuple[str, ...]:
    """Return the remarks on what was taken in of a learner, none where nothing was odd.

    Args:
        course: the course.
        sheet: name of the sheet.
        learner: identity.
    """
    try:
        return tuple(_path(course, sheet, learner).read_text(encoding="utf-8").splitlines())
    except (OSError, UnicodeDecodeError):
        return ()


def _path(course: Course, sheet: str, learner: str) -> Path:
    return hand_ins.kept_folder(course, sheet, learner) / _FILE
