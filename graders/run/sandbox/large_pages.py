"""Gathers the memory of a process in large pages, so that forking it is cheap.

A fork copies the table of pages and the child's end takes it down again. In pages of 4 kB the warm process has some
13,000 of them; in large ones a few dozen, of which only those that are written to are split. Where the system has no
large pages all stays as it was.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from pathlib import Path

from graders.run.sandbox import kernel_calls

LARGE = 2 << 20
_MAPS = Path("/proc/self/maps")


def places() -> list[int]:
    """Where this process has whole large pages of its own memory that are still in small ones."""
    if not _MAPS.exists():
        return []
    starts: list[int] = []
    for line in _MAPS.read_text().splitlines():
        bounds, rights, *rest = line.split(maxsplit=5)
        if rights == "rw-p" and (len(rest) < 4 or rest[3] == "[heap]"):
            first, last = (int(bound, 16) for bound in bounds.split("-"))
            starts += range(-(-first // LARGE) * LARGE, last - LARGE + 1, LARGE)
    return starts


def gather(starts: Sequence[int]) -> None:
    """Put what lies in some places into large pages, where that is possible.

    Args:
        starts: what `places` found; it is asked for while the system's own view of this process can be read.
    """
    for place in starts:
        # Free memory may have been given back since, and large pages may be used up.
        with contextlib.suppress(OSError):
            kernel_calls.collapse(place, LARGE)
