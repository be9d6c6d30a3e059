"""Packs what goes out to learners: their copies of a sheet, or their feedback pages, one folder for each learner.

A zip of that form is what course systems take for handing out and back in bulk, and `take-in` reads it again.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from gearkit.text.files import write_atomically
from gearkit.words.errors import UsageError
from graders.course.course import Course
from graders.course.roster import Roster

# A zip keeps a time for each file; a fixed one makes the same files give the same bytes.
_TIME = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True)
class Packed:
    """What was packed.

    Args:
        file: the zip.
        learners: identities of those who have something in it.
        without: identities on the class list who have nothing.
    """

    file: Path
    learners: tuple[str, ...]
    without: tuple[str, ...]


def pack(course: Course, sheet: str, class_list: Roster, file: Path, *, feedback: bool = False) -> Packed:
    """Write a zip with a folder for each learner.

    Args:
        course: the course.
        sheet: name of the sheet.
        class_list: the class; nobody else's files are packed.
        file: the zip; an old one of that name is replaced in one step.
        feedback: pack feedback pages instead of copies.

    Raises:
        UsageError: there is nothing to pack, or the zip would lie in the course folder or is a folder.
    """
    if file.is_dir() or course.folder in file.absolute().parents:
        raise UsageError(f"{file}: give a file outside the course folder, such as {sheet}.zip; it goes to learners.")
    where: Callable[[str], Path] = (
        (lambda learner: course.feedback_folder(learner, sheet) / f"{sheet}.html")
        if feedback
        else (lambda learner: course.handed_out_file(learner, sheet))
    )
    out = io.BytesIO()
    packed, without = [], []
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for learner in class_list:
            path = where(learner.id)
            if path.is_symlink() or not path.is_file():
                without.append(learner.id)
                continue
            entry = zipfile.ZipInfo(f"{learner.id}/{path.name}", _TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, path.read_bytes())
            packed.append(learner.id)
    if not packed:
        made = "graders hand-back" if feedback else "graders hand-out"
        raise UsageError(f"There is nothing to pack for sheet {sheet}. Make it first with: {made} COURSE {sheet}")
    # Everybody's numbers or marks are in it: only who packs it may read it.
    write_atomically(file, out.getvalue(), mode=0o600)
    return Packed(file, tuple(packed), tuple(without))
