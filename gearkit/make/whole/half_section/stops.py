"""Where the handles stand, and stops against end play: where a shaft could slide too far along the axis, one of its ends gets longer or it gets a collar."""

from __future__ import annotations

from collections.abc import Iterator

from gearkit.draw.cutaway.sizes import Rect
from gearkit.draw.cutaway.solid_train import Train
from gearkit.make.whole.half_section.room import SAME, Room

# A shaft that can slide farther than this in all gets a stop, mm.
LOOSE = 4.0
# A stop overlaps the face against which it runs by so much, and is so thick, mm.
_HOLD, _WIDE, _THICK = 2.0, 4.0, 3.0
# An end gets longer by no more than this, mm.
_LONGEST = 30.0
# A bore no wider than this round a tube guides it, mm.
_BORE = 3.0
# A handle is so thick, and stands so far from the casing; so it keeps its shaft from sliding in.
HANDLE, OFF = 8.0, 0.6


def handle(train: Train, name: str) -> Rect:
    """Return where the hub of the handle on an end stands in the half-section.

    Args:
        train: solid bodies.
        name: "input" or "output".
    """
    body, x, _ = train.ends[name]
    outer = outer_at(train, body, x)
    at = train.case[0] - OFF - HANDLE if x < sum(train.case) / 2 else train.case[1] + OFF
    return at, at + HANDLE, outer, outer + 7


def outer_at(train: Train, body: int, x: float) -> float:
    """Return the outer radius of a shaft's end, mm.

    Args:
        train: solid bodies.
        body: the shaft.
        x: place of the end, mm.
    """
    return max(r[3] for r in train.bodies[body] if r[0] - 0.1 <= x <= r[1] + 0.1)


def stop(body: int, side: int, own: list[Rect], room: Room, choice: int = 0) -> Rect | None:
    """Return a small piece that keeps a shaft from sliding to one side; None where there is no room for any.

    Args:
        body: the shaft.
        side: +1 to the right, -1 to the left.
        own: its rectangles, its gears included.
        room: everything that is taken.
        choice: 0 for the smallest piece, 1 for the next one; the last one where there are fewer.
    """
    others = [each.rect for each in room.taken if each.owner not in (body, "planets") and isinstance(each.owner, int)]
    mine = [each.rect for each in room.taken if each.owner == body]
    fitting = {
        rect for rect in _all(side, own, others, room.side + 2 * SAME) if room.free(rect, body) and not _meets(rect, mine)
    }
    ordered = sorted(fitting, key=lambda r: ((r[1] - r[0]) * (r[3] ** 2 - r[2] ** 2), r))
    return ordered[min(choice, len(ordered) - 1)] if ordered else None


def _all(side: int, own: list[Rect], others: list[Rect], play: float) -> Iterator[Rect]:
    for rect in own:
        for other in others:
            yield from _longer(side, rect, other, play)
            yield from _collars(side, rect, other, play)


def _longer(side: int, rect: Rect, other: Rect, play: float) -> Iterator[Rect]:
    """An end that reaches the next face."""
    low, high = max(rect[2], other[2]), min(rect[3], other[3])
    start, face = (rect[1], other[0]) if side > 0 else (rect[0], other[1])
    reach = (face - start) * side - play
    if high - low >= _HOLD and 0.5 < reach <= _LONGEST:
        # At the inside of the end or at its outside, where it is one with the tube that it lengthens.
        for r0, r1 in {(low, min(high, low + _WIDE)), (max(low, high - _WIDE), high)}:
            yield (min(start, start + side * reach), max(start, start + side * reach), r0, r1)


def _collars(side: int, rect: Rect, other: Rect, play: float) -> Iterator[Rect]:
    """A collar on a tube that runs in or on another body, before that body's face."""
    face = other[0] if side > 0 else other[1]
    x0, x1 = sorted((face - side * play, face - side * (play + _THICK)))
    if rect[0] > x0 + SAME or rect[1] < x1 - SAME:
        return
    if -SAME < other[2] - rect[3] < _BORE and other[3] - other[2] > _HOLD:
        yield (x0, x1, rect[3], other[2] + _HOLD)
    if -SAME < rect[2] - other[3] < _BORE and other[3] - other[2] > _HOLD:
        yield (x0, x1, other[3] - _HOLD, rect[2])


def _meets(rect: Rect, own: list[Rect]) -> bool:
    """Whether a shaft has something of its own there already."""
    return any(min(rect[1], r[1]) - max(rect[0], r[0]) > SAME and min(rect[3], r[3]) - max(rect[2], r[2]) > SAME for r in own)
