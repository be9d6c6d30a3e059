"""Tells the progress of long work on the error stream, once it has taken longer than a moment."""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

from graders.mark.batch import Progress

_LOADED = time.monotonic()
QUIET_SECONDS = 2.0
BETWEEN_LINES = 5.0


def progress_words(progress: Progress, what: str) -> str:
    """How far long work is; a rate and the time left only once there is something to tell them by.

    Args:
        progress: how far it is.
        what: what is counted, such as "submissions marked".
    """
    words = f"{progress.done} of {progress.total} {what}"
    rate, left = progress.rate, progress.seconds_left
    if rate is None or left is None or progress.done == progress.total:
        return words
    pace = f"{rate:.3g} per second" if rate >= 1 else f"{1 / rate:.2g} s each"
    return f"{words}, {pace}, about {_duration(left)} left"


def seconds_taken() -> float:
    """Return the time since this process began, loading included, in seconds; from the loading on where no system tells."""
    try:
        # The fields after the name, which may hold blanks; the twentieth of them is the start in ticks since the machine's.
        ticks = int(Path("/proc/self/stat").read_text(encoding="utf-8", errors="replace").rpartition(")")[2].split()[19])
        return time.clock_gettime(time.CLOCK_BOOTTIME) - ticks / os.sysconf("SC_CLK_TCK")
    except (OSError, ValueError, IndexError, AttributeError):
        return time.monotonic() - _LOADED


def _duration(seconds: float) -> str:
    if seconds < 1:
        return "a second"
    return f"{seconds:.0f} s" if seconds < 100 else f"{seconds / 60:.0f} min"


class MarkingTeller:
    """Tells the progress on the error stream, once the work has taken longer than a moment.

    Args:
        what: what is counted, such as "submissions marked".
    """

    def __init__(self, what: str) -> None:
        self._what = what
        self._last = 0.0
        self._told = False
        self._same_line = sys.stderr.isatty()

    def __call__(self, progress: Progress) -> None:
        """Take how far the work is."""
        now = time.monotonic()
        wait = 0.5 if self._same_line else BETWEEN_LINES
        if progress.seconds < QUIET_SECONDS or now - self._last < wait:
            return
        self._last, self._told = now, True
        words = progress_words(progress, self._what)
        print(f"\r{words:<70}" if self._same_line else words, end="" if self._same_line else "\n", file=sys.stderr, flush=True)

    def close(self) -> None:
        """End the line that was written over and over."""
        if self._told and self._same_line:
            print(file=sys.stderr)


class Teller(MarkingTeller):
    """Tells how far other work is, from numbers alone.

    Args:
        what: what is counted, such as "copies made".
    """

    def __init__(self, what: str) -> None:
        super().__init__(what)
        self._begun = time.monotonic()

    def count(self, done: int, total: int) -> None:
        """Take how far the work is.

        Args:
            done: how many are done.
            total: of how many.
        """
        self(Progress(done, total, time.monotonic() - self._begun))
