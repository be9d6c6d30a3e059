"""A body's rectangles as one shape: its outline in straight segments, and its area in rectangles that do not overlap."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from gearkit.draw.cutaway.sizes import Rect


@dataclass(frozen=True)
class Segment:
    """A straight piece of an outline.

    Args:
        x0: first place along the axis.
        r0: first radius.
        x1: last place along the axis; the same where the piece is a face.
        r1: last radius; the same where the piece is a mantle.
        outward: +1 where the body lies before it (its outside looks to larger values), −1 where it lies behind.
    """

    x0: float
    r0: float
    x1: float
    r1: float
    outward: int

    @property
    def face(self) -> bool:
        """Whether it is a face across the axis, not a mantle round it."""
        return self.x0 == self.x1


class Area:
    """The union of some rectangles.

    Args:
        rects: any rectangles, overlapping or not.
    """

    def __init__(self, rects: Iterable[Rect]) -> None:
        given = list(rects)
        self.xs = sorted({value for rect in given for value in rect[:2]})
        self.rs = sorted({value for rect in given for value in rect[2:]})
        at_x = {value: number for number, value in enumerate(self.xs)}
        at_r = {value: number for number, value in enumerate(self.rs)}
        self.full = {(i, j) for x0, x1, r0, r1 in given for i in range(at_x[x0], at_x[x1]) for j in range(at_r[r0], at_r[r1])}

    def size(self) -> float:
        """Return the area."""
        return sum((self.xs[i + 1] - self.xs[i]) * (self.rs[j + 1] - self.rs[j]) for i, j in self.full)

    def segments(self) -> list[Segment]:
        """Return the outline; pieces on the axis itself are left out."""
        pieces = []
        for i, x in enumerate(self.xs):
            for start, end, way in _runs([((i - 1, j) in self.full) - ((i, j) in self.full) for j in range(len(self.rs) - 1)]):
                pieces.append(Segment(x, self.rs[start], x, self.rs[end], way))
        for j, r in enumerate(self.rs):
            for start, end, way in _runs([((i, j - 1) in self.full) - ((i, j) in self.full) for i in range(len(self.xs) - 1)]):
                if r > 0:
                    pieces.append(Segment(self.xs[start], r, self.xs[end], r, way))
        return pieces

    def rects(self) -> list[Rect]:
        """Return the area as rectangles that do not overlap, as wide along the axis as they can be."""
        rows: dict[tuple[int, int], tuple[int, int]] = {}
        areas: list[Rect] = []
        for j in range(len(self.rs)):
            now = {(start, end) for start, end, _ in _runs([int((i, j) in self.full) for i in range(len(self.xs) - 1)])}
            for span in [span for span in rows if span not in now]:
                low, high = rows.pop(span)
                areas.append((self.xs[span[0]], self.xs[span[1]], self.rs[low], self.rs[high]))
            for span in now:
                low, _ = rows.get(span, (j, j))
                rows[span] = (low, j + 1)
        return sorted(areas)


def _runs(values: list[int]) -> list[tuple[int, int, int]]:
    """Return (first, after last, value) of each run of equal values other than 0."""
    runs, start = [], 0
    for number in range(1, len(values) + 1):
        if number == len(values) or values[number] != values[start]:
            if values[start]:
                runs.append((start, number, values[start]))
            start = number
    return runs
