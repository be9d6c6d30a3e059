"""What somebody has to know of work that came in: what matters most first, and no more than is read.

A submission can make any number of remarks: each sender's are counted and cut apart, so that nobody's junk hides what is
said of somebody else's work.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from enum import IntEnum

MOST_NOTES, MOST_EACH, MOST_LETTERS, MOST_NAME = 40, 8, 600, 120
# So many leftovers are remembered by their paths; all of them are counted.
MOST_LEFTOVERS, SHOWN = 1000, 3


class Weight(IntEnum):
    """How much a remark matters."""

    WHOSE = 0  # The work, or its time, may be somebody else's.
    LOST = 1  # Work that was not taken.
    REST = 2  # What is no work, as far as can be told.


class Notes:
    """Remarks on what came in, by weight and by what they came with."""

    def __init__(self) -> None:
        self._told: dict[Weight, dict[str, list[str]]] = {weight: {} for weight in Weight}
        self._more: Counter[tuple[Weight, str]] = Counter()
        self._aside: list[str] = []
        self._count = 0
        self.leftovers: list[str] = []

    def add(self, words: str, weight: Weight = Weight.LOST, of: str = "") -> None:
        """Take a remark.

        Args:
            words: a sentence.
            weight: how much it matters.
            of: what it came with: the outermost part of the path.
        """
        told = self._told[weight].setdefault(of, [])
        if words in told:
            return
        if len(told) < MOST_EACH:
            told.append(words)
        else:
            self._more[weight, of] += 1

    def leave(self, path: str) -> None:
        """Count a file that a system, an editor or an archiver left.

        Args:
            path: its path.
        """
        self._count += 1
        if len(self.leftovers) < MOST_LEFTOVERS:
            self.leftovers.append(path)

    def add_aside(self, words: str) -> None:
        """Take a sentence that is worth knowing and asks for nothing.

        Args:
            words: a sentence.
        """
        self._aside.append(words)

    def told(self) -> tuple[str, ...]:
        """The remarks: each sender's first before anybody's second."""
        remarks: list[str] = []
        for weight, by_sender in self._told.items():
            for place in range(MOST_EACH):
                remarks += [told[place] for told in by_sender.values() if place < len(told)]
            remarks += [
                f"And {more} more such remarks on what came from {short(of)}."
                for (other, of), more in self._more.items()
                if other is weight
            ]
        return in_all(remarks, MOST_NOTES)

    def aside(self) -> tuple[str, ...]:
        """What is worth knowing and asks for nothing, the leftovers in one sentence."""
        told = []
        if self._count:
            more = f" and {self._count - SHOWN} more" if self._count > SHOWN else ""
            told.append(
                f"Left out as leftovers of systems, editors and archivers: {self._count} "
                f"file{'s' if self._count > 1 else ''}, {', '.join(map(short, self.leftovers[:SHOWN]))}{more}."
            )
        return (*told, *in_all(self._aside, MOST_NOTES))


def short(path: str) -> str:
    """A path in quotation marks, cut where it has no end.

    Args:
        path: the path.
    """
    return repr(path if len(path) <= MOST_NAME else f"{path[:MOST_NAME]} …")


def in_all(sentences: Sequence[str], most: int) -> tuple[str, ...]:
    """Sentences once each, cut where they have no end, and no more of them than somebody reads.

    Args:
        sentences: the sentences.
        most: how many are shown; a last one says how many more there are.
    """
    once = list(
        dict.fromkeys(sentence if len(sentence) <= MOST_LETTERS else f"{sentence[:MOST_LETTERS]} …" for sentence in sentences)
    )
    return (*once[:most], *([f"And {len(once) - most} more such remarks."] if len(once) > most else []))
