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
from pathlib import Path

from gearkit.words.errors import UsageError
from graders.course.course import Course
from graders.run.read import archives, finding
from graders.take_in.notes import Notes, Weight, short

MOST_FILES = 20_000
LARGEST_FILE = 64 << 20
MOST_BYTES = 2 << 30
DEEPEST = 2
MOST_TOLD = 5
_READ = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
_FAULTS = (RuntimeError, zipfile.BadZipFile, NotImplementedError, EOFError, OSError, ValueError)


@dataclass(frozen=True, eq=False)
class Incoming:
    """One file that came in.

    Args:
        path: its path inside the source, with "/" between folders and after a zip that it was in.
        data: its content.
        at: when it was last changed.
        packed_in: the zip that it came in, where that may be of somebody else, who could name in it whom they liked.
    """

    path: str
    data: bytes
    at: dt.datetime
    packed_in: str = ""


@dataclass
class Intake:
    """What is being read, and what could not be.

    Args:
        source: the folder or zip, for messages.
        notes: what could not be read is told there.
        files: files seen until now.
        bytes: bytes read until now.
        within: name of the hand-in that is being read by itself, "" where many are read together.
    """

    source: Path
    notes: Notes
    files: int = 0
    bytes: int = 0
    within: str = ""

    def count(self, size: int) -> None:
        """Count a file; refuse a source without end."""
        self.files += 1
        self.bytes += size
        if self.files > MOST_FILES or self.bytes > MOST_BYTES:
            limit = f"{MOST_FILES} files" if self.files > MOST_FILES else f"{MOST_BYTES >> 30} GB"
            raise UsageError(f"{self.source} holds more than {limit}; give what was handed in for one sheet.")

    def tell(self, words: str, weight: Weight = Weight.LOST, path: str = "") -> None:
        """Note what could not be read.

        Args:
            words: a sentence.
            weight: how much it matters.
            path: the file's path, whose outermost part says what it came with.
        """
        self.notes.add(words, weight, self.within or path.split("/", 1)[0])


def read(source: Path, course: Course, notes: Notes) -> Iterator[Incoming]:
    """Read a folder or a zip.

    Args:
        source: the folder or zip.
        course: the course; a zip keeps local time without a zone, and the course's is the likeliest.
        notes: what could not be read is told there.

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
    return not finding.is_leftover(path)


def _from_folder(source: Path, intake: Intake) -> Iterator[Incoming]:
    for folder, inside, names, handle in walk(source, intake):
        inside.sort()
        for name in sorted(names):
            path = (Path(folder) / name).relative_to(source).as_posix()
            if not is_wanted(path):
                intake.notes.leave(path)
                continue
            incoming = read_at(name if handle is not None else os.path.join(folder, name), handle, path, intake)
            if incoming is not None:
                yield incoming


def walk(source: Path, intake: Intake) -> Iterator[tuple[str, list[str], list[str], int | None]]:
    """Walk through a folder; where the system can, with a handle of each, so that nobody puts a link in its place.

    Args:
        source: the folder.
        intake: folders that cannot be opened are noted there.
    """

    def note(fault: OSError) -> None:
        intake.tell(f"The folder {str(fault.filename)!r} cannot be opened ({fault.strerror}).")

    def seen(folder: str, inside: list[str]) -> None:
        for name in inside:
            if os.path.islink(path := os.path.join(folder, name)):
                told = Path(path).relative_to(source).as_posix()
                intake.tell(f"{short(told)} is a link to another place and was not followed.", Weight.REST, told)

    if hasattr(os, "fwalk"):
        try:
            for folder, inside, names, handle in os.fwalk(source, follow_symlinks=False, onerror=note):
                seen(folder, inside)
                yield folder, inside, names, handle
        except OSError as fault:
            note(fault)
    else:
        for folder, inside, names in os.walk(source, followlinks=False, onerror=note):
            seen(folder, inside)
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
        mode = os.stat(name, dir_fd=folder, follow_symlinks=False).st_mode
        if not stat.S_ISREG(mode):
            kind = "a link to another place" if stat.S_ISLNK(mode) else "no ordinary file"
            intake.tell(f"{short(path)} is {kind} and was not taken.", Weight.REST, path)
            return None
        # It may have become something else since: a link is refused, and a pipe does not make us wait.
        handle = os.open(name, _READ, dir_fd=folder)
    except OSError as fault:
        intake.tell(f"{short(path)} cannot be read ({fault.strerror}).", path=path)
        return None
    with os.fdopen(handle, "rb") as stream:
        state = os.fstat(handle)
        if not stat.S_ISREG(state.st_mode):
            intake.tell(f"{short(path)} became no ordinary file while it was read, and was not taken.", path=path)
            return None
        if owner is not None and state.st_uid != owner:
            intake.tell(f"{short(path)} belongs to somebody else and was not taken.", Weight.WHOSE, path)
            return None
        data = stream.read(LARGEST_FILE + 1)
    intake.count(len(data))
    if len(data) > LARGEST_FILE:
        intake.tell(f"{short(path)} is larger than {LARGEST_FILE >> 20} MB and was not taken.", path=path)
        return None
    return Incoming(path, data, dt.datetime.fromtimestamp(state.st_mtime, tz=dt.UTC))


def unpacked(packed: Incoming, course: Course, intake: Intake) -> Iterator[Incoming]:
    """Read the files in a zip.

    Args:
        packed: the zip.
        course: the course, for the time zone.
        intake: counts and notes.
    """
    what = short(packed.path) if packed.path else str(intake.source)
    try:
        archive = zipfile.ZipFile(io.BytesIO(packed.data))
        entries = [entry for entry in archive.infolist() if not entry.is_dir()]
    except _FAULTS as fault:
        intake.tell(f"{what} cannot be opened as a zip ({fault}).", path=packed.path)
        return
    untold = 0
    for entry in entries:
        path = entry.filename.replace("\\", "/")
        whole = f"{packed.path}/{path}" if packed.path else path
        if not is_wanted(path):
            intake.notes.leave(whole)
            continue
        # The high bits of a file made on Unix say what it is: a link in a zip is no work either.
        if stat.S_ISLNK(entry.external_attr >> 16):
            intake.tell(f"{short(path)} in {what} is a link to another place and was not taken.", Weight.REST, whole)
            continue
        try:
            data = archives.content(archive, entry, lambda stream: stream.read(LARGEST_FILE + 1))
            at = dt.datetime(*entry.date_time, tzinfo=course.zone)
        except (UsageError, ValueError) as fault:
            untold += 1
            if untold <= MOST_TOLD:
                intake.tell(f"{short(path)} in {what} cannot be unpacked ({fault}).", path=whole)
            continue
        intake.count(len(data))
        if len(data) > LARGEST_FILE:
            intake.tell(f"{short(path)} in {what} is larger than {LARGEST_FILE >> 20} MB and was not taken.", path=whole)
            continue
        yield Incoming(whole, data, at)
    if untold > MOST_TOLD:
        intake.tell(f"{untold - MOST_TOLD} more entries of {what} cannot be unpacked.", path=packed.path)
