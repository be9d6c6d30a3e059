"""Marks of many learners that stay on disk and are taken out one at a time, so that a class of any size fits in memory."""

from __future__ import annotations

import json
import os
import weakref
from array import array
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, overload

from graders.book import record
from graders.book.record import LearnerMarks, MarkSheet


class StoredMarks(Sequence[LearnerMarks]):
    """A sequence of learners' marks that holds none of them.

    Args:
        count: how many there are.
        take: gives the one at a place, counted from 0.
        text: gives its line in a file, where it stands in one already; made anew where this is left out.
    """

    def __init__(self, count: int, take: Callable[[int], LearnerMarks], text: Callable[[int], str] | None = None) -> None:
        self._count, self._take, self._text = count, take, text

    def text(self, place: int) -> str:
        """The marks at a place as they stand in a file.

        Args:
            place: the place, counted from 0.
        """
        return self._text(place) if self._text is not None else record.line_of(self._take(place))

    def __len__(self) -> int:
        return self._count

    @overload
    def __getitem__(self, place: int) -> LearnerMarks: ...

    @overload
    def __getitem__(self, place: slice) -> Sequence[LearnerMarks]: ...

    def __getitem__(self, place: int | slice) -> LearnerMarks | Sequence[LearnerMarks]:
        if isinstance(place, slice):
            return tuple(self._take(at) for at in range(self._count)[place])
        return self._take(range(self._count)[place])

    def __iter__(self) -> Iterator[LearnerMarks]:
        return map(self._take, range(self._count))

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Sequence) or len(other) != self._count:
            return NotImplemented if not isinstance(other, Sequence) else False
        return all(mine == theirs for mine, theirs in zip(self, other, strict=True))

    __hash__ = None  # type: ignore[assignment]  # as Python itself writes it where __eq__ stands alone

    def __repr__(self) -> str:
        return f"Stored marks of {self._count}"


def texts(learners: Sequence[LearnerMarks]) -> Iterator[str]:
    """Learners' marks as they stand in a file, one after the other; from stored ones without making them anew.

    Args:
        learners: the marks.
    """
    return map(learners.text, range(len(learners))) if isinstance(learners, StoredMarks) else map(record.line_of, learners)


def changed(stored: Sequence[LearnerMarks], change: Callable[[LearnerMarks], LearnerMarks]) -> StoredMarks:
    """Stored marks of which every learner's marks are changed as they are taken out.

    Args:
        stored: the marks.
        change: gives the changed marks.
    """
    return StoredMarks(len(stored), lambda place: change(stored[place]))


class Lines:
    """The lines of a file that begin alike, each to be read when it is asked for.

    The file stays open: what is written in its place later, under its name, changes nothing here.

    Args:
        path: the file.
        beginning: how the lines begin.
    """

    def __init__(self, path: Path, beginning: bytes) -> None:
        self._file = path.open("rb")
        weakref.finalize(self, self._file.close)
        self._starts, self._ends = array("q"), array("q")
        self.rest: list[bytes] = []
        at = 0
        for line in self._file:
            if line.startswith(beginning):
                self._starts.append(at)
                self._ends.append(at + len(line))
            else:
                self.rest.append(line)
            at += len(line)

    def __len__(self) -> int:
        return len(self._starts)

    def text(self, place: int) -> str:
        """The line at a place, without the comma that may stand behind it.

        Args:
            place: the place, counted from 0.
        """
        start, end = self._starts[place], self._ends[place]
        return os.pread(self._file.fileno(), end - start, start).decode("utf-8").rstrip().rstrip(",")

    def data(self, place: int) -> Any:
        """What the line at a place holds, as JSON.

        Args:
            place: the place, counted from 0.
        """
        return json.loads(self.text(place))


def opened(path: Path, *, trusted: bool = False) -> MarkSheet:
    """Open a mark sheet of any size: its learners' marks stay on disk, as they are now.

    Args:
        path: the file that `record.write` made.
        trusted: it was written just now, so that it need not be looked through for damage.

    Raises:
        UsageError: there is no such file, or it is not a mark sheet of this format.
    """
    try:
        lines = Lines(path, b'{"learner": ')
        data = json.loads(b"".join(lines.rest))
        if data["format"] != record.FORMAT or data["learners"]:
            return record.read(path)
        head = MarkSheet.from_file(data)
        stored = StoredMarks(len(lines), lambda place: LearnerMarks.from_file(lines.data(place)), lines.text)
        # Once now, so that a damaged sheet is found here and not by whoever looks at it.
        if not trusted and not all("items" in lines.data(place) for place in range(len(lines))):
            return record.read(path)
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return record.read(path)
    return replace(head, learners=stored)
