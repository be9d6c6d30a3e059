"""Everything handed in for a sheet: who, when, and what exactly; nothing here changes a handed-in file."""

from __future__ import annotations

import datetime as dt
import hashlib
import os
import re
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from gearkit.words.errors import UsageError
from graders.course.course import Course, check_learner

MOST_BYTES = 64 << 20
YEARS = range(1990, 2200)
_TIME = re.compile(r"(\d{4}-\d\d-\d\d)[ T](\d\d:\d\d(?::\d\d(?:\.\d{1,6})?)?)\s*(UTC|Z|[+-]\d\d:?\d\d)?")


@dataclass(frozen=True)
class Submission:
    """What one learner handed in.

    Args:
        learner: identity, the name of the folder.
        folder: the learner's folder for the sheet.
        refused: why it cannot be marked at all, or "".
    """

    learner: str
    folder: Path
    refused: str = ""


def submissions(course: Course, sheet: str) -> list[Submission]:
    """Everything handed in for a sheet, in the order of identities.

    Args:
        course: the course.
        sheet: name of the sheet.

    Raises:
        UsageError: where the class's folders should be there is something else.
    """
    all_handed_in: list[Submission] = []
    if not course.submitted.is_dir():
        if os.path.lexists(course.submitted):
            raise UsageError(
                f"{course.submitted} is no folder. Handed-in work is looked for in "
                f"{course.submitted_folder('LEARNER', sheet)}; move what is there away, or take the work in "
                "with graders take-in."
            )
        return all_handed_in
    for entry in sorted(os.scandir(course.submitted), key=lambda entry: entry.name):
        folder = course.submitted_folder(entry.name, sheet)
        try:
            refused = _refused(entry, folder)
        except OSError as fault:
            refused = f"The learner's folder cannot be opened ({fault.strerror})."
        if refused is not None:
            all_handed_in.append(Submission(writable(entry.name), folder, refused))
    return all_handed_in


def _refused(entry: os.DirEntry[str], folder: Path) -> str | None:
    """Why what is in a learner's folder for a sheet cannot be marked, "" where it can, None where nothing is there."""
    if entry.is_symlink() or folder.is_symlink():
        return "The folder is a link to another place; it was not followed." if os.path.lexists(folder) else None
    if not entry.is_dir(follow_symlinks=False) or not folder.exists():
        return None
    fault = "" if folder.is_dir() else f"{folder.name} is a file; a folder with the notebook in it was expected."
    return fault or check_learner(entry.name) or ""


def misplaced(course: Course, sheet: str) -> list[str]:
    """Notebooks and archives that lie where nothing is looked for, by their place in the course's folder.

    Args:
        course: the course.
        sheet: name of the sheet.
    """
    if not course.submitted.is_dir():
        return []
    paths = _loose(course.submitted)
    for entry in os.scandir(course.submitted):
        if entry.is_dir(follow_symlinks=False) and not os.path.lexists(course.submitted_folder(entry.name, sheet)):
            # In the folder of a learner who handed in nothing else; a sheet's own name tells it from other sheets' files.
            paths += [path for path in _loose(Path(entry.path)) if path.stem == sheet]
    return sorted(writable(str(path.relative_to(course.folder))) for path in paths)


def _loose(folder: Path) -> list[Path]:
    try:
        return [
            Path(entry.path)
            for entry in os.scandir(folder)
            if entry.name.lower().endswith((".ipynb", ".zip")) and entry.is_file(follow_symlinks=False)
        ]
    except OSError:
        return []


def writable(text: str) -> str:
    """A text that any file can hold and any screen can show: what is no printable letter is told by its number.

    Names of files and of items come from learners; a screen would take the orders to it that can stand in them.
    """
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() else letter.encode("unicode_escape").decode() for letter in text)


def handed_in(folder: Path) -> tuple[dt.datetime | None, str]:
    """When a submission was handed in, and a flag where the time cannot be read.

    Args:
        folder: the learner's folder for the sheet; the book-keeping leaves timestamp.txt in it.
    """
    try:
        handle = os.open(folder / "timestamp.txt", os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
    except OSError:
        return None, ""
    try:
        data = os.read(handle, 200) if stat.S_ISREG(os.fstat(handle).st_mode) else b""
    finally:
        os.close(handle)
    match = _TIME.match(data.decode("utf-8-sig", "replace").strip())
    if match is None:
        return None, "The time of handing in (timestamp.txt) cannot be read."
    day, time, offset = match.groups()
    try:
        offset = "+00:00" if offset in (None, "UTC", "Z") else offset
        when = dt.datetime.fromisoformat(f"{day}T{time}{offset}")
    except ValueError:
        return None, "The time of handing in (timestamp.txt) cannot be read."
    # At the ends of the calendar another time zone has no date for it any more.
    if when.year not in YEARS:
        return None, f"The time of handing in (timestamp.txt) is in the year {when.year} and was not believed."
    return when, ""


def fingerprint(folder: Path, context: str) -> str:
    """A fingerprint of all that decides about a submission's marks.

    Args:
        folder: the learner's folder for the sheet.
        context: everything else that decides: the sheet, the rules, the version of the kit.
    """
    digest = hashlib.sha256(context.encode("utf-8", "surrogatepass"))
    left = MOST_BYTES
    for name, path in _files(folder, ""):
        digest.update(f"\0{name}\0".encode("utf-8", "surrogateescape"))
        if path.is_symlink():
            digest.update(b"link")
            continue
        try:
            handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
        except OSError:
            digest.update(b"closed")
            continue
        with os.fdopen(handle, "rb") as stream:
            status = os.fstat(handle)
            if stat.S_ISREG(status.st_mode):
                data = stream.read(max(0, left))
                left -= len(data)
                digest.update(f"{status.st_size}\0".encode() + data)
                if len(data) < status.st_size:
                    # Too much to be read: at least a file that was changed since is noticed.
                    digest.update(f"{status.st_mtime_ns}\0".encode())
    return digest.hexdigest()


def _files(folder: Path, inside: str, depth: int = 0) -> Iterator[tuple[str, Path]]:
    try:
        entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
    except OSError:
        return
    for entry in entries[:1000]:
        if entry.is_dir(follow_symlinks=False):
            if depth < 4:
                yield from _files(Path(entry.path), f"{inside}{entry.name}/", depth + 1)
        else:
            yield f"{inside}{entry.name}", Path(entry.path)
