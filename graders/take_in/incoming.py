"""Reads what came in from outside: a folder, or a zip, with zips in it to a small depth.

Nothing here is believed or unpacked to disk. Links are not followed, not even one that takes the place of a file while
it is being read; special files are not opened; there are limits to how much is read.
"""

from __future__ import annotations

import datetime as dt
import io
import os
import stat
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from gearkit.words.errors import UsageError
from graders.course.course import Course
from graders.run.read import archives

MOST_FILES = 20_000
LARGEST_FILE = 64 << 20
MOST_BYTES = 2 << 30
DEEPEST = 2
MOST_TOLD, LONGEST_NAME = 5, 150
LEFTOVERS = ("__MACOSX", "__pycache__", "Thumbs.db", "desktop.ini")
_READ = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
_FAULTS = (RuntimeError, zipfile.BadZipFile, NotImplementedError, EOFError, OSError, ValueError)


@dataclass(frozen=True)
class Incoming:
    """One file that came in.

    Args:
        path: its path inside the source, with "/" between folders and after a zip that it was in.
        data: its content.
        at: when it was last changed.
    """

    path: str
    data: bytes
    at: dt.datetime


@dataclass
class Intake:
    """What is being read, and what could not be.

    Args:
        source: the folder or zip, for messages.
        notes: one sentence for each file that could not be read.
        files: files seen until now.
        bytes: bytes read until now.
    """

    source: Path
    notes: list[str]
    files: int = 0
    bytes: int = 0

    def count(self, size: int) -> None:
        """Count a file; refuse a source without end."""
        self.files += 1
        self.bytes += size
        if self.files > MOST_FILES or self.bytes > MOST_BYTES:
            limit = f"{MOST_FILES} files" if self.files > MOST_FILES else f"{MOST_BYTES >> 30} GB"
            raise UsageError(f"{self.source} holds more than {limit}; give what was handed in for one sheet.")


def read(source: Path, course: Course, notes: list[str]) -> Iterator[Incoming]:
    """Read a folder or a zip.

    Args:
        source: the folder or zip.
        course: the course; a zip keeps local time without a zone, and the course's is the likeliest.
        notes: sentences about files that could not be read are added here.

    Raises:
        UsageError: the source is neither, cannot be read, or holds far too much.
    """
    intake = Intake(source, notes)
    if source.is_dir():
        yield from _from_folder(source, intake)
    elif source.is_file() and zipfile.is_zipfile(source):
        try:
            data = source.read_bytes()
        except OSError as fault:
            raise UsageError(f"{source} cannot be read ({fault.strerror}).") from None
        yield from unpacked(Incoming("", data, dt.datetime.now(dt.UTC)), course, intake)
    else:
        raise UsageError(f"{source} is neither a folder nor a zip; give what the course system or the stick holds.")


def is_wanted(path: str) -> bool:
    """Whether a file may be work, of whatever kind; leftovers of an editor, a system or an archiver are none."""
    parts = PurePosixPath(path).parts
    return not path.endswith(("~", ".bak", ".swp", ".pyc")) and not any(
        part.startswith(".") or part in LEFTOVERS for part in parts if part not in ("..", "."))


def _from_folder(source: Path, intake: Intake) -> Iterator[Incoming]:
    for folder, inside, names, handle in walk(source, intake):
        inside.sort()
        for name in sorted(names):
            path = (Path(folder) / name).relative_to(source).as_posix()
            if is_wanted(path):
                found = read_at(name if handle is not None else os.path.join(folder, name), handle, path, intake)
                if found is not None:
                    yield found


def walk(source: Path, intake: Intake) -> Iterator[tuple[str, list[str], list[str], int | None]]:
    """Walk through a folder; where the system can, with a handle of each, so that nobody puts a link in its place.

    Args:
        source: the folder.
        intake: folders that cannot be opened are noted there.
    """

    def note(fault: OSError) -> None:
        intake.notes.append(f"The folder {str(fault.filename)!r} cannot be opened ({fault.strerror}).")

    if hasattr(os, "fwalk"):
        try:
            yield from os.fwalk(source, follow_symlinks=False, onerror=note)
        except OSError as fault:
            note(fault)
    else:
        for folder, inside, names in os.walk(source, followlinks=False, onerror=note):
            yield folder, inside, names, None


def read_at(name: str, folder: int | None, path: str, intake: Intake, owner: int | None = None) -> Incoming | None:
    """Read one file of an open folder, or note why not; None for links and special files, which are no work.

    Args:
        name: the file's name, or its whole path where there is no handle.
        folder: handle of the folder.
        path: the path to report.
        intake: counts and notes.
        owner: account that has to own the file, where whoever put it there is not trusted; None for any.
    """
    try:
        if not stat.S_ISREG(os.stat(name, dir_fd=folder, follow_symlinks=False).st_mode):
            return None
        # It may have become something else since: a link is refused, and a pipe does not make us wait.
        handle = os.open(name, _READ, dir_fd=folder)
    except OSError as fault:
        intake.notes.append(f"{path!r} cannot be read ({fault.strerror}).")
        return None
    with os.fdopen(handle, "rb") as stream:
        state = os.fstat(handle)
        if not stat.S_ISREG(state.st_mode):
            return None
        if owner is not None and state.st_uid != owner:
            intake.notes.append(f"{path!r} belongs to somebody else and was not taken.")
            return None
        data = stream.read(LARGEST_FILE + 1)
    intake.count(len(data))
    if len(data) > LARGEST_FILE:
        intake.notes.append(f"{path!r} is larger than {LARGEST_FILE >> 20} MB and was not taken.")
        return None
    return Incoming(path, data, dt.datetime.fromtimestamp(state.st_mtime, tz=dt.UTC))


def unpacked(packed: Incoming, course: Course, intake: Intake) -> Iterator[Incoming]:
    """Read the files in a zip.

    Args:
        packed: the zip.
        course: the course, for the time zone.
        intake: counts and notes.
    """
    what = repr(packed.path) if packed.path else str(intake.source)
    try:
        archive = zipfile.ZipFile(io.BytesIO(packed.data))
        entries = [entry for entry in archive.infolist() if not entry.is_dir()]
    except _FAULTS as fault:
        intake.notes.append(f"{what} cannot be opened as a zip ({fault}).")
        return
    untold = 0
    for entry in entries:
        path = entry.filename.replace("\\", "/")
        # The high bits of a file made on Unix say what it is: a link in a zip is no work either.
        if not is_wanted(path) or stat.S_ISLNK(entry.external_attr >> 16):
            continue
        try:
            data = archives.content(archive, entry, lambda stream: stream.read(LARGEST_FILE + 1))
            at = dt.datetime(*entry.date_time, tzinfo=course.zone)
        except (UsageError, ValueError) as fault:
            untold += 1
            if untold <= MOST_TOLD:
                intake.notes.append(f"{entry.filename[:LONGEST_NAME]!r} in {what} cannot be unpacked ({fault}).")
            continue
        intake.count(len(data))
        if len(data) > LARGEST_FILE:
            intake.notes.append(f"{entry.filename!r} in {what} is larger than {LARGEST_FILE >> 20} MB and was not taken.")
            continue
        yield Incoming(f"{packed.path}/{path}" if packed.path else path, data, at)
    if untold > MOST_TOLD:
        intake.notes.append(f"{untold - MOST_TOLD} more entries of {what} cannot be unpacked.")
