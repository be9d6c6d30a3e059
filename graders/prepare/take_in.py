"""Takes in what learners handed in elsewhere: a folder or a zip from a course system, a stick, or the exchange folder.

Whose a file is follows from the class list alone: from an identity or a full name in the file's path. What a notebook
says about itself is never believed. Nothing that was taken in before is overwritten unless that is asked for, and then
the earlier work is kept.
"""

from __future__ import annotations

import datetime as dt
import os
import re
import stat
import unicodedata
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from gearkit.words.errors import GearkitError, UsageError
from graders.prepare import turn
from graders.prepare.course import Course
from graders.prepare.files import write_atomically
from graders.prepare.roster import Roster

MOST_FILES = 20_000
LARGEST_FILE = 64 << 20
KEPT = "replaced"
_TAKEN = (".ipynb", ".zip", ".json", ".py", ".txt")
_STAMP = "timestamp.txt"
_TAKEN_IN, _THERE = "taken in", "there already"


@dataclass(frozen=True)
class Incoming:
    """One file that came in.

    Args:
        path: its path inside the source, with "/" between folders.
        data: its content.
        at: when it was last changed.
    """

    path: str
    data: bytes
    at: dt.datetime


@dataclass(frozen=True)
class TakenIn:
    """What taking in did.

    Args:
        taken: learners whose work was taken in now.
        there: learners whose work was there already, the same to the byte.
        refused: one sentence for each learner whose other work was there already.
        unknown: one sentence for each file that belongs to nobody for certain.
        missing: learners of the class list of whom nothing is there now.
    """

    taken: tuple[str, ...]
    there: tuple[str, ...]
    refused: tuple[str, ...]
    unknown: tuple[str, ...]
    missing: tuple[str, ...]


def take_in(course: Course, sheet: str, source: Path, class_list: Roster, *, replace: bool = False) -> TakenIn:
    """Take in what learners handed in for a sheet.

    Args:
        course: the course.
        sheet: name of the sheet.
        source: a folder or a zip.
        class_list: the class.
        replace: take newer work in the place of what is there; the earlier is kept in the course's folder "replaced".

    Raises:
        UsageError: the source is neither a folder nor a zip that can be read.
        GearkitError: something cannot be written, or somebody else is at work in the course.
    """
    by_learner: dict[str, list[Incoming]] = {}
    unknown: list[str] = []
    names = _Names(class_list)
    for file in _incoming(source, course):
        owners = names.owners(file.path)
        if len(owners) == 1:
            by_learner.setdefault(owners[0], []).append(file)
        elif file.path.lower().endswith((".ipynb", ".zip")):
            whose = f"may belong to {' or '.join(owners)}" if owners else "names nobody on the class list"
            unknown.append(f"{file.path!r} {whose}; put it into the right learner's folder by hand.")
    taken: list[str] = []
    there: list[str] = []
    refused: list[str] = []
    try:
        with turn.taken(course, f"taking in sheet {sheet}"):
            for learner, files in sorted(by_learner.items()):
                result = _put(course, sheet, learner, _latest(files, sheet), replace)
                if result in (_TAKEN_IN, _THERE):
                    (taken if result == _TAKEN_IN else there).append(learner)
                else:
                    refused.append(result)
    except OSError as fault:
        raise GearkitError(f"Taking in stopped at {fault.filename}: {fault.strerror}. Mend this and do it again.") from None
    missing = tuple(one.id for one in class_list if not course.submitted_folder(one.id, sheet).is_dir())
    return TakenIn(tuple(taken), tuple(there), tuple(refused), tuple(unknown), missing)


def _incoming(source: Path, course: Course) -> Iterator[Incoming]:
    if source.is_dir():
        yield from _from_folder(source)
    elif source.is_file() and zipfile.is_zipfile(source):
        yield from _from_zip(source, course)
    else:
        raise UsageError(f"{source} is neither a folder nor a zip; give what the course system or the stick holds.")


def _from_folder(source: Path) -> Iterator[Incoming]:
    count = 0
    for folder, inside, names in os.walk(source, followlinks=False):
        inside.sort()
        for name in sorted(names):
            path = Path(folder) / name
            count += 1
            if count > MOST_FILES:
                raise UsageError(f"{source} holds more than {MOST_FILES} files; give the folder of one sheet.")
            state = path.lstat()
            if stat.S_ISREG(state.st_mode) and state.st_size <= LARGEST_FILE and name.lower().endswith(_TAKEN):
                at = dt.datetime.fromtimestamp(state.st_mtime, tz=dt.UTC)
                yield Incoming(path.relative_to(source).as_posix(), path.read_bytes(), at)


def _from_zip(source: Path, course: Course) -> Iterator[Incoming]:
    with zipfile.ZipFile(source) as archive:
        entries = [entry for entry in archive.infolist() if not entry.is_dir()]
        if len(entries) > MOST_FILES:
            raise UsageError(f"{source} holds more than {MOST_FILES} files; give the zip of one sheet.")
        for entry in entries:
            if entry.file_size > LARGEST_FILE or not entry.filename.lower().endswith(_TAKEN):
                continue
            try:
                data = archive.read(entry)
            except (RuntimeError, zipfile.BadZipFile, NotImplementedError, EOFError, OSError) as fault:
                raise UsageError(f"{source}: {entry.filename!r} cannot be unpacked ({fault}).") from None
            # A zip keeps local time without a zone; the course's is the likeliest.
            at = dt.datetime(*entry.date_time, tzinfo=course.zone)
            yield Incoming(entry.filename.replace("\\", "/"), data, at)


class _Names:
    """Finds whose a path is: by identity, or else by full name, accents and order of names aside."""

    def __init__(self, class_list: Roster) -> None:
        self._identities = {one.id.casefold(): one.id for one in class_list}
        self._people = [(one, _words(one.name)) for one in class_list]

    def owners(self, path: str) -> list[str]:
        """Return the learners that a path may belong to; one where it is certain."""
        place = PurePosixPath(path)
        parts = [*place.parts[:-1], place.stem]
        for part in parts:
            if part.casefold() in self._identities:
                return [self._identities[part.casefold()]]
        pieces = {piece.casefold() for part in parts for piece in re.split(r"[^\w.@-]+|_", part)}
        found = [self._identities[piece] for piece in sorted(pieces & self._identities.keys())]
        if found:
            return found
        words = _words(path)
        return sorted(one.id for one, name in self._people if len(name) > 1 and name <= words)


def _words(text: str) -> frozenset[str]:
    plain = unicodedata.normalize("NFKD", text)
    bare = "".join(letter for letter in plain if not unicodedata.combining(letter)).casefold()
    return frozenset(re.findall(r"[^\W\d_]+", bare))


def _latest(files: Sequence[Incoming], sheet: str) -> Sequence[Incoming]:
    """Of several hand-ins of the exchange folder (LEARNER+SHEET+TIME+...) only the last counts."""
    turns: dict[str, list[Incoming]] = {}
    for file in files:
        first = PurePosixPath(file.path).parts[0]
        pieces = first.split("+")
        turns.setdefault(pieces[2] if len(pieces) >= 3 and pieces[1] == sheet else "", []).append(file)
    return turns[max(turns)]


def _put(course: Course, sheet: str, learner: str, files: Sequence[Incoming], replace: bool) -> str:
    """Put one learner's files in their place; return what was done, or why not in a sentence."""
    contents = {_plain_name(file.path): file.data for file in files}
    if _STAMP not in contents:
        at = max(file.at for file in files).astimezone(dt.UTC)
        contents[_STAMP] = f"{at:%Y-%m-%d %H:%M:%S} UTC\n".encode()
    folder = course.submitted_folder(learner, sheet)
    if folder.is_symlink():
        return f"{learner}: {folder} is a link to another place; nothing was taken in."
    if folder.is_dir():
        before = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
        if _work(before) == _work(contents):
            return _THERE
        if not replace:
            return f"{learner}: other work is there already; to take the newer one instead, add --replace."
        _set_aside(course, sheet, learner, folder)
    for name, data in sorted(contents.items()):
        write_atomically(folder / name, data)
    return _TAKEN_IN


def _work(contents: Mapping[str, bytes]) -> dict[str, bytes]:
    return {name: data for name, data in contents.items() if name != _STAMP}


def _set_aside(course: Course, sheet: str, learner: str, folder: Path) -> None:
    kept = course.folder / KEPT / learner / sheet
    kept.mkdir(parents=True, exist_ok=True)
    number = 1 + sum(1 for _ in kept.iterdir())
    os.replace(folder, kept / str(number))


def _plain_name(path: str) -> str:
    """The last part of a path, as a name that no system stumbles over."""
    name = PurePosixPath(path).name.lstrip(".") or "file"
    return "".join(letter if letter.isprintable() and letter not in '\\/:*?"<>|' else "_" for letter in name)[-120:]
