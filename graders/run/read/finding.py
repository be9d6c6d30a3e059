"""Finds the notebook in what a learner handed in: renamed, in a subfolder, or packed in an archive.

Links are not followed, special files are not opened, and nothing is unpacked to disk or changed.
"""

from __future__ import annotations

import io
import os
import stat
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import IO

from gearkit.words.errors import UsageError
from graders.run.read import archives, lesson_records
from graders.run.read.notebooks import Notebook, load

LARGEST_FILE = 64 << 20
# All that is looked at of one submission, unpacked: archives in archives could otherwise fill the memory.
LARGEST_TOGETHER = 2 * LARGEST_FILE
MOST_FILES = 500
# Each entry of an archive takes some hundred bytes in memory as soon as the archive is opened.
MOST_ENTRIES = 20_000
DEEPEST = 3
# Five names in one sentence leave room for how many more there are.
LONGEST_NAME, SHORTER_NAME = 150, 50
# So many entries of one archive are told that cannot be unpacked; a small archive can hold thousands.
MOST_TOLD = 5
# What the book-keeping lays beside the work at handing in: the time, and the word that feedback is fetched with.
BESIDE_THE_WORK = frozenset({"timestamp.txt", "submission_secret.txt"})
LEFT_ASIDE = "Left aside:"
RECORD = "my_record.json"
_ENTRY = b"PK\x01\x02"
LEFTOVERS = ("__MACOSX", "__pycache__", "Thumbs.db", "desktop.ini")
_KINDS = (".ipynb", ".zip", ".json", ".py", ".txt")


@dataclass(frozen=True)
class FoundWork:
    """The notebook that counts, or why there is none.

    Args:
        notebook: the notebook, or None.
        name: name of the file, for the report.
        flags: what was odd about what was handed in.
        reason: one sentence where there is no notebook, else "".
        damaged: those of the flags that tell of other files which cannot be read.
    """

    notebook: Notebook | None
    name: str = ""
    flags: tuple[str, ...] = ()
    reason: str = ""
    damaged: tuple[str, ...] = ()


@dataclass
class _Seen:
    """What was met on the way through a submission, so that every file of it is told.

    Args:
        flags: what was odd.
        files: files that may be looked at, by their names inside the submission.
        opened: archives whose files stand for them.
        hidden: files that a system or a program left, which nobody looks at.
    """

    flags: list[str] = field(default_factory=list)
    files: list[str] = field(default_factory=list)
    opened: set[str] = field(default_factory=set)
    hidden: list[str] = field(default_factory=list)

    def told(self) -> list[str]:
        """The flags, with one on all hidden files."""
        count = len(self.hidden)
        if not count:
            return self.flags
        were = "hidden files or leftovers of programs were" if count > 1 else "hidden file or leftover of a program was"
        return [*self.flags, f"{count} {were} not looked at, such as {_short(self.hidden[0])}."]


def find(folder: Path, sheet: str, items: Sequence[str]) -> FoundWork:
    """Find the notebook that counts in a learner's folder.

    Args:
        folder: the learner's folder for this sheet.
        sheet: name of the sheet; SHEET.ipynb is what is expected.
        items: names of the sheet's items; of several files the one that names most of them counts.
    """
    seen = _Seen()
    expected = f"{sheet}.ipynb"
    files: list[tuple[str, bytes]] = []
    best: tuple[int, str, Notebook] | None = None
    broken: list[str] = []
    for kind in _files(folder, expected, seen):
        files += kind
        for name, data in kind:
            notebook = load(data)
            if notebook is None:
                broken.append(name)
                continue
            named = _named(notebook, items)
            if best is None or named > best[0]:
                best = (named, name, notebook)
            if name == expected and named:
                break
        if best is not None and best[0]:
            break
    record = lesson_records.fault_of(folder)
    damaged = (record,) if record else ()
    # What an archive holds stands for it, and the learner's record has its own place in the reports.
    others = [
        other
        for other in dict.fromkeys([*(name for name, _ in files), *seen.files])
        if other != RECORD and other not in seen.opened
    ]
    if best is None:
        reason = _nothing(folder, files, broken, seen.flags)
        left = _left_aside(
            [other for other in others if not any(_short(other) in words for words in (reason, *seen.flags))], files, broken
        )
        return FoundWork(None, "", (*seen.told(), *left, *damaged), reason, damaged)
    _, name, notebook = best
    flags = [] if name == expected else [f"There is no usable {expected}; the answers were taken from {name!r}."]
    flags += _left_aside([other for other in others if other != name], files, broken)
    return FoundWork(notebook, name, (*seen.told(), *flags, *notebook.flags, *damaged), damaged=damaged)


def _left_aside(others: Sequence[str], files: Iterable[tuple[str, bytes]], broken: Sequence[str]) -> list[str]:
    """A sentence on what was handed in beside the notebook; of a second notebook it says whether that is damaged."""
    if not others:
        return []
    data = dict(files)
    shown = [
        f"{_short(other, SHORTER_NAME)}{' (it cannot be read as a notebook)' if _is_broken(other, data, broken) else ''}"
        for other in others[:5]
    ]
    more = f" and {len(others) - 5} more files." if len(others) > 5 else "."
    return [f"{LEFT_ASIDE} {', '.join(shown)}{more}"]


def _is_broken(name: str, data: Mapping[str, bytes], broken: Sequence[str]) -> bool:
    return _meant(name) and (name in broken or (name in data and load(data[name]) is None))


def _meant(name: str) -> bool:
    return name.lower().endswith(".ipynb")


def _short(name: str, longest: int = LONGEST_NAME) -> str:
    return repr(name if len(name) <= longest else f"{name[:longest]} …")


def _likeliest(name: str, expected: str) -> tuple[object, ...]:
    """What puts a folder's files in the order in which they are looked at while there is room."""
    lower = name.lower()
    return (name != expected, lower != expected.lower(), not lower.endswith(".ipynb"), not lower.endswith(".zip"), name)


def _named(notebook: Notebook, items: Sequence[str]) -> int:
    """How many of the items a notebook names."""
    text = "\n".join(cell.source for cell in notebook.cells)
    cards = {cell.item for cell in notebook.cells}
    return sum(1 for item in items if item in cards or item in text)


def _nothing(folder: Path, files: Sequence[tuple[str, bytes]], broken: Sequence[str], flags: Sequence[str]) -> str:
    if broken:
        empty = [name for name, data in files if not data.strip()]
        if len(empty) == len(broken):
            return f"The file {_short(broken[0])} is empty."
        return f"The file {_short(broken[0])} cannot be read as a notebook: it is damaged or something else."
    if flags:
        return flags[0]
    with suppress(OSError):
        others = sorted(set(os.listdir(folder)) - BESIDE_THE_WORK)
        if others:
            shown = ", ".join(_short(name) for name in others[:5])
            return f"The folder holds no notebook, only {shown}{' and more' if len(others) > 5 else ''}."
    return "The folder holds no notebook."


class _Room:
    """How many bytes may still be taken into memory; whoever takes some says so."""

    def __init__(self) -> None:
        self.left = LARGEST_TOGETHER

    def take(self, stream: IO[bytes]) -> bytes:
        """Read a stream, but no more than one file may have and than is left."""
        data = stream.read(min(LARGEST_FILE + 1, self.left))
        self.left -= len(data)
        return data


def _files(folder: Path, expected: str, seen: _Seen) -> Iterator[list[tuple[str, bytes]]]:
    """Name and content of every file that may be the notebook: those named as one, then all others."""
    names = sorted(_walk(folder, "", expected, seen), key=lambda name: _likeliest(name, expected))
    room = _Room()
    for named in (True, False):
        kind = [name for name in names if name.lower().endswith(".ipynb") is named]
        left = room.left
        files = sorted(_read(folder, kind, seen, room), key=lambda file: _likeliest(file[0], expected))
        if left and not room.left:
            seen.flags.append(f"What was handed in is larger than {LARGEST_TOGETHER >> 20} MB; only the beginning was read.")
        yield files


def _read(folder: Path, names: Sequence[str], seen: _Seen, room: _Room) -> Iterator[tuple[str, bytes]]:
    """The files of these names; archives are looked into."""
    for name in names:
        data = _content(folder / name, name, seen.flags, room) if room.left else None
        if data is None:
            continue
        if name.lower().endswith(".zip") or data[:4] == b"PK\x03\x04":
            yield from _unpacked(name, data, seen, room, depth=2)
        else:
            yield name, data


def _walk(folder: Path, inside: str, expected: str, seen: _Seen) -> Iterator[str]:
    depth = inside.count("/")
    try:
        entries = sorted(os.scandir(folder / inside), key=lambda entry: _likeliest(entry.name, expected))
    except OSError as fault:
        seen.flags.append(f"The folder {inside or folder.name!r} cannot be opened ({fault.strerror}).")
        return
    for entry in entries[:MOST_FILES]:
        name = f"{inside}{entry.name}"
        if entry.is_symlink():
            seen.flags.append(f"{name!r} is a link to another place and was not followed.")
        elif entry.is_dir(follow_symlinks=False):
            if _is_hidden(entry.name):
                seen.hidden.append(f"{name}/")
            elif depth < DEEPEST:
                yield from _walk(folder, f"{name}/", expected, seen)
            else:
                seen.flags.append(f"The folder {_short(name)} lies too deep and was not looked into.")
        elif is_leftover(entry.name):
            seen.hidden.append(name)
        elif name not in BESIDE_THE_WORK:
            seen.files.append(name)
            if entry.name.lower().endswith(_KINDS):
                yield name
    if len(entries) > MOST_FILES:
        seen.flags.append(f"The folder holds {len(entries)} files; only the first {MOST_FILES} were looked at.")


def is_leftover(path: str) -> bool:
    """Whether a file is hidden, or was left by an editor, a system or an archiver.

    Args:
        path: its path inside what was handed in.
    """
    return path.endswith(("~", ".bak", ".swp", ".pyc")) or any(map(_is_hidden, PurePosixPath(path).parts))


def _is_hidden(part: str) -> bool:
    return part in LEFTOVERS or (part.startswith(".") and part not in (".", ".."))


def _content(path: Path, name: str, flags: list[str], room: _Room) -> bytes | None:
    try:
        # Not blocking: opening a pipe with nobody at its other end would wait for ever.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
    except OSError as fault:
        flags.append(f"{name!r} cannot be opened ({fault.strerror}).")
        return None
    with os.fdopen(handle, "rb") as stream:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            flags.append(f"{name!r} is not an ordinary file and was not read.")
            return None
        data = room.take(stream)
    return _cut(name, data, flags)


def _cut(name: str, data: bytes, flags: list[str]) -> bytes:
    if len(data) > LARGEST_FILE:
        flags.append(f"{name!r} is larger than {LARGEST_FILE >> 20} MB; only the beginning was read.")
    return data[:LARGEST_FILE]


def _unpacked(name: str, data: bytes, seen: _Seen, room: _Room, depth: int) -> Iterator[tuple[str, bytes]]:
    """The notebooks in an archive; archives in archives to a small depth, and never more than the limits."""
    flags = seen.flags
    if data.count(_ENTRY) > MOST_ENTRIES:
        flags.append(f"The archive {_short(name)} has more than {MOST_ENTRIES} entries and was not opened.")
        return
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
        # Whoever packs a file anew into an archive leaves the old one in it, under the same name and before it.
        members = list({entry.filename: entry for entry in archive.infolist() if not entry.is_dir()}.values())
    except Exception:
        # A damaged archive raises whatever the part of the library raises that meets the damage.
        flags.append(f"The archive {_short(name)} cannot be opened.")
        return
    seen.opened.add(name)
    if len(members) > MOST_FILES:
        flags.append(f"The archive {_short(name)} holds {len(members)} files; only the first {MOST_FILES} were looked at.")
    untold = 0
    for entry in members[:MOST_FILES]:
        inside, lower = f"{name}/{entry.filename}", entry.filename.lower()
        if is_leftover(entry.filename):
            seen.hidden.append(inside)
            continue
        nested = lower.endswith(".zip") and depth > 1
        if not (lower.endswith(".ipynb") or nested) or not room.left:
            seen.files.append(inside)
            continue
        try:
            content = _cut(entry.filename, archives.content(archive, entry, room.take), flags)
        except UsageError as fault:
            untold += 1
            if untold <= MOST_TOLD:
                flags.append(f"{_short(entry.filename)} in {_short(name)} cannot be unpacked ({fault}).")
            continue
        if nested:
            seen.files.append(inside)
            yield from _unpacked(inside, content, seen, room, depth - 1)
        else:
            yield inside, content
    if untold > MOST_TOLD:
        flags.append(f"{untold - MOST_TOLD} more entries of {_short(name)} cannot be unpacked.")
