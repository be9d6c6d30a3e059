"""Which room in the half-section is taken, and simple sums with rectangles and spans."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from gearkit.draw.cutaway.sizes import Rect

Span = tuple[float, float]
SAME = 1e-4


def shared(one: Rect, other: Rect) -> bool:
    """Return whether two rectangles share room; those that touch do not.

    Args:
        one: a rectangle.
        other: another one.
    """
    return min(one[1], other[1]) - max(one[0], other[0]) > SAME and min(one[3], other[3]) - max(one[2], other[2]) > SAME


def touching(one: Rect, other: Rect) -> str:
    """Return how two rectangles touch: "face" for end faces, "edge" for a bore on a rim, "" for not at all.

    Args:
        one: a rectangle.
        other: another one.
    """
    along = min(one[1], other[1]) - max(one[0], other[0])
    out = min(one[3], other[3]) - max(one[2], other[2])
    if abs(along) < SAME and out > SAME:
        return "face"
    return "edge" if abs(out) < SAME and along > SAME else ""


def minus(rect: Rect, others: Iterable[Rect]) -> list[Rect]:
    """Return what is left of a rectangle without others, as rectangles.

    Args:
        rect: the rectangle.
        others: what is taken out of it.
    """
    left = [rect]
    for x0, x1, r0, r1 in others:
        rest: list[Rect] = []
        for a0, a1, b0, b1 in left:
            if not shared((a0, a1, b0, b1), (x0, x1, r0, r1)):
                rest.append((a0, a1, b0, b1))
                continue
            m0, m1 = max(a0, x0), min(a1, x1)
            rest += [(a0, x0, b0, b1)] * (a0 < x0 - SAME) + [(x1, a1, b0, b1)] * (a1 > x1 + SAME)
            rest += [(m0, m1, b0, r0)] * (b0 < r0 - SAME) + [(m0, m1, r1, b1)] * (b1 > r1 + SAME)
        left = rest
    return left


def joined(spans: Iterable[Span]) -> list[Span]:
    """Return spans in order, those that touch or overlap made one."""
    merged: list[Span] = []
    for low, high in sorted(spans):
        if merged and low <= merged[-1][1] + SAME:
            merged[-1] = (merged[-1][0], max(high, merged[-1][1]))
        else:
            merged.append((low, high))
    return merged


def gaps(spans: Iterable[Span], taken: Iterable[Span]) -> list[Span]:
    """Return what of some spans no span of the others covers.

    Args:
        spans: what is asked about.
        taken: what covers.
    """
    left = []
    for low, high in joined(spans):
        at = low
        for start, stop in joined(taken):
            if stop <= at + SAME or start >= high - SAME:
                continue
            if start > at + SAME:
                left.append((at, start))
            at = max(at, stop)
        if at < high - SAME:
            left.append((at, high))
    return left


def columns(rects: Iterable[Rect]) -> Iterator[tuple[Span, list[Span]]]:
    """Yield the strips between the ends of rectangles, left to right, each with the radii that are filled in it."""
    rects = list(rects)
    ends = sorted({round(end, 4) for rect in rects for end in rect[:2]})
    for left, right in pairwise(ends):
        inside = [(r[2], r[3]) for r in rects if r[0] < left + SAME and r[1] > right - SAME]
        yield (left, right), joined(inside)


@dataclass(frozen=True)
class Taken:
    """A rectangle and who has it.

    Args:
        owner: a body's number, or a word for what belongs to none.
        rect: where it is.
    """

    owner: object
    rect: Rect


@dataclass
class Room:
    """Everything that is in the half-section.

    Args:
        gap: distance to keep across the axis, mm.
        side: distance to keep along the axis, mm.
        taken: what is there.
    """

    gap: float
    side: float
    taken: list[Taken]

    def free(self, rect: Rect, owner: object) -> bool:
        """Return whether an owner may also fill a rectangle, with its distances to all others kept.

        Args:
            rect: the rectangle.
            owner: who would fill it.
        """
        wide = (rect[0] - self.side, rect[1] + self.side, rect[2] - self.gap, rect[3] + self.gap)
        return not any(each.owner != owner and shared(wide, each.rect) for each in self.taken)
