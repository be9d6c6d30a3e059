"""Watches which processes are started below one, however far below, so that none of them can remain unseen."""

from __future__ import annotations

import os
import threading
import time
from pathlib import Path
from types import TracebackType
from typing import Self

LOOK_EVERY = 0.05
# Python's own keeper of shared names: it is started once and stays as long as its program, whatever is marked.
OURS = b"multiprocessing.resource_tracker"


def processes() -> dict[int, tuple[int, int]]:
    """Every process of the machine: its parent, and when it was started, by which a number given out again is told."""
    found = {}
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            words = path.read_text().rsplit(") ", 1)[1].split()
        except (OSError, IndexError):
            continue
        if words[0] != "Z":
            found[int(path.parent.name)] = int(words[1]), int(words[19])
    return found


def below(top: int) -> set[tuple[int, int]]:
    """Number and start of every process below one."""
    now = processes()
    found: set[int] = set()
    while more := {number for number, (parent, _) in now.items() if parent in found | {top}} - found:
        found |= more
    return {(number, now[number][1]) for number in found}


class Lookout:
    """Looks about again and again, in a thread of its own, while it is open.

    Args:
        every: seconds from look to look.
    """

    def __init__(self, every: float) -> None:
        self._every = every
        self._closed = threading.Event()
        self._thread = threading.Thread(target=self._stay, daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None) -> None:
        self._closed.set()
        self._thread.join()

    def _stay(self) -> None:
        while not self._closed.wait(self._every):
            self.look()

    def look(self) -> None:
        """What is done at each look."""
        raise NotImplementedError


class Watch(Lookout):
    """Remembers every process that is seen below one while it is open.

    Args:
        top: number of the process, this one when left out.
    """

    def __init__(self, top: int = 0) -> None:
        super().__init__(LOOK_EVERY)
        self._top = top or os.getpid()
        self._before = below(self._top)
        self._seen: set[tuple[int, int]] = set()

    def look(self) -> None:
        """Remember who is there now."""
        self._seen |= below(self._top) - self._before

    @property
    def seen(self) -> int:
        """How many were seen."""
        return len(self._seen)

    @property
    def numbers(self) -> set[int]:
        """Their numbers."""
        return {number for number, _ in self._seen}

    def commands(self, words: bytes) -> int:
        """How many of those that are there now have some words in their command line.

        Args:
            words: the words.
        """
        return sum(words in _command(number) for number, _ in below(self._top))

    def left(self, patience: float = 5.0) -> list[str]:
        """Those that are still there after a while, with their command lines.

        Args:
            patience: how long to wait for their ends, in seconds.
        """
        give_up = time.monotonic() + patience
        while True:
            now = processes()
            alive = [number for number, start in self._seen if number in now and now[number][1] == start]
            told = [words for number in alive if OURS not in (words := _command(number))]
            if not told or time.monotonic() > give_up:
                return [words.replace(b"\0", b" ").decode("utf-8", "replace")[:300] for words in told]
            time.sleep(0.1)


def _command(number: int) -> bytes:
    try:
        return Path(f"/proc/{number}/cmdline").read_bytes()
    except OSError:
        return OURS
