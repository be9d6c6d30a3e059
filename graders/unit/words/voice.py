"""Keeps a lesson from saying the same sentence again and again: several ways to say a thing, each used at most twice."""

from __future__ import annotations

from collections import Counter

MOST_TIMES = 2


class Voice:
    """What was said so far in one notebook."""

    def __init__(self) -> None:
        self._said: Counter[str] = Counter()

    def choose(self, *ways: str) -> str:
        """Return the way that was used least, or "" where all were used often enough.

        Args:
            ways: whole sentences in the reader's language that say the same, the best first.
        """
        best = min(ways, key=lambda way: self._said[way])
        if self._said[best] >= MOST_TIMES:
            return ""
        self._said[best] += 1
        return best
