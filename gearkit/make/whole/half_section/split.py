"""Bodies split into parts that slide together along the axis and print without supports.

Disjoint rectangles can always be put in an order from left to right; so a train cut into all its pieces can always be put
together along the axis. Joints between pieces are closed again one by one, as long as such an order is left and each part
still prints standing on one of its ends. What hangs in the air there is filled down to the bed or carried by a slope of 45
degrees, where that room is free.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import partial

from gearkit.draw.cutaway.sizes import Rect
from gearkit.make.whole.half_section.pieces import Piece, Stock
from gearkit.make.whole.half_section.room import SAME, Room, Span, Taken, columns, gaps, shared, touching

# What may hang over by so much, one line of a nozzle or two (common practice, no source).
LEDGE = 0.85
# A slope is no higher than this.
_SLOPE = 7.0


@dataclass(frozen=True)
class Slope:
    """A ring with a triangular section under something that hangs over.

    Args:
        rect: the room that it takes.
        wide: the radius at which it is as high as the rectangle.
        top: the place along the axis where it is as wide as the rectangle.
    """

    rect: Rect
    wide: float
    top: float


@dataclass
class Part:
    """Pieces of one body that are made in one.

    Args:
        pieces: their numbers in the stock.
        up: +1 when it is printed with its left end down, -1 with its right end down.
        fills: rectangles that were filled so that nothing hangs in the air.
        slopes: what carries what hangs over.
        either: whether it prints as well the other way up.
    """

    pieces: frozenset[int]
    up: int = 1
    fills: tuple[Rect, ...] = ()
    slopes: tuple[Slope, ...] = ()
    either: bool = False


@dataclass
class Split:
    """A whole train as parts.

    Args:
        stock: the pieces.
        parts: in the order in which they are put together, the first one leftmost; planets stand in it as seat numbers.
        order: numbers of parts, and ("planets", seat, radius) for a ring of planets.
        joints: pairs of touching pieces that lie in different parts: (piece of the earlier part, piece of the later, how).
    """

    stock: Stock
    parts: list[Part]
    order: list[object] = field(default_factory=list)
    joints: list[tuple[int, int, str]] = field(default_factory=list)


def split(stock: Stock, *, cups: frozenset[int] = frozenset()) -> Split:
    """Return a train as parts.

    Args:
        stock: its pieces.
        cups: numbers of the packs whose discs take their rims first, before whatever lies nearest the axis.
    """
    return _Splitter(stock, cups=cups).split()


class _Splitter:
    def __init__(self, stock: Stock, *, cups: frozenset[int] = frozenset()) -> None:
        self.stock, self.pieces, self.cups = stock, stock.pieces, cups
        self.parts: dict[int, Part] = {number: self._single(number) for number in range(len(self.pieces))}
        self.home = list(range(len(self.pieces)))
        self.planets = _planet_rects(stock)

    def split(self) -> Split:
        """Close joints as long as that is possible."""
        joints = [
            (a, b, touching(self.pieces[a].rect, self.pieces[b].rect))
            for b in range(len(self.pieces))
            for a in range(b)
            if self.pieces[a].body == self.pieces[b].body >= 0 and touching(self.pieces[a].rect, self.pieces[b].rect)
        ]
        joints += self._pin_joints()
        for a, b, _ in sorted(joints, key=lambda joint: self._rank(joint[0], joint[1])):
            self._close(a, b)
        order = self._order(self.parts)
        assert order is not None
        return self._named(order, joints)

    def _pin_joints(self) -> list[tuple[int, int, str]]:
        pairs = []
        for a, pin in enumerate(self.pieces):
            if pin.kind != "pins":
                continue
            for b, plate in enumerate(self.pieces):
                if plate.body == pin.body and plate.kind != "pins" and shared(pin.rect, plate.rect):
                    pairs.append((min(a, b), max(a, b), "pins"))
        return pairs

    def _rank(self, a: int, b: int) -> tuple[int, float, float]:
        """Which joints are closed first: those of gears, then those near the axis, which are loaded most."""
        piece, other = self.pieces[a], self.pieces[b]
        kinds = {piece.kind, other.kind}
        first = 0 if "gear" in kinds else 1 if "shaft" in kinds else 2 if "pins" in kinds else 4
        if first == 4 and self._cup(piece, other):
            first = 1
        if piece.body == 0:
            # The casing is a base and a cup that comes last.
            return (5, -max(piece.rect[1], other.rect[1]), 0.0)
        return (first, min(piece.rect[2], other.rect[2]), piece.rect[0])

    def _cup(self, piece: Piece, other: Piece) -> bool:
        """Whether the two are a disc and a rim of a clutch or brake on it, which print well in one."""
        disc, rim = sorted((piece.rect, other.rect), key=lambda r: r[2] - r[3])
        packs = [pack for number, pack in enumerate(self.stock.train.packs) if number in self.cups]
        inside = any(
            pack.x[0] - SAME < rim[0] and rim[1] < pack.x[1] + 6 and pack.r[0] - SAME < rim[2] and rim[3] < pack.r[1] + SAME
            for pack in packs
        )
        return inside and rim[3] - rim[2] < 12 < disc[3] - disc[2]

    def _single(self, number: int) -> Part:
        return Part(frozenset({number}), either=True)

    def _close(self, a: int, b: int) -> None:
        home, other = self.home[a], self.home[b]
        if home == other:
            return
        together = self.parts[home].pieces | self.parts[other].pieces
        rest = {key: part for key, part in self.parts.items() if key not in (home, other)}
        ways = standing([self.pieces[n] for n in sorted(together)], self._room(together, rest))
        for part in ways:
            part.pieces = together
            trial = {**rest, home: part}
            if self._order(trial) is not None:
                self.parts = trial
                for number in together:
                    self.home[number] = home
                return

    def _room(self, mine: frozenset[int], rest: dict[int, Part]) -> Room:
        """What is taken by everything else: other bodies with their distances, own ones as they are."""
        body = self.pieces[next(iter(mine))].body
        room = self.stock.room
        taken = [each for each in room.taken if each.owner != body]
        for part in rest.values():
            owner = self.pieces[next(iter(part.pieces))].body
            rects = [*part.fills, *(slope.rect for slope in part.slopes)]
            taken += [Taken(owner if owner != body else "own", _less(rect, room) if owner == body else rect) for rect in rects]
            if owner == body:
                taken += [Taken("own", _less(self.pieces[n].rect, room)) for n in part.pieces]
        return Room(room.gap, room.side, taken)

    def rects(self, part: Part) -> Iterable[tuple[Piece | None, Rect]]:
        for number in part.pieces:
            yield self.pieces[number], self.pieces[number].rect
        for rect in part.fills:
            yield None, rect
        for slope in part.slopes:
            yield None, slope.rect

    def _order(self, parts: dict[int, Part]) -> list[object] | None:
        """Parts and planets from left to right, so that each can come in from the right; None if there is no order."""
        nodes: dict[object, list[tuple[Piece | None, Rect]]] = {key: list(self.rects(part)) for key, part in parts.items()}
        for planet, rects in self.planets.items():
            nodes[planet] = [(None, rect) for rect in rects]
        before: dict[object, set[object]] = {node: set() for node in nodes}
        keys = list(nodes)
        for number, u in enumerate(keys):
            for v in keys[number + 1 :]:
                if self._left_of(nodes[u], nodes[v]):
                    before[v].add(u)
                if self._left_of(nodes[v], nodes[u]):
                    before[u].add(v)
        start = {node: min(rect[0] for _, rect in rects) for node, rects in nodes.items()}
        order: list[object] = []
        left = set(nodes)
        while left:
            ready = [node for node in left if not before[node] & left]
            if not ready:
                return None
            node = min(ready, key=lambda n: (not self._is_base(n, parts), start[n], str(n)))
            order.append(node)
            left.remove(node)
        return order

    def _is_base(self, node: object, parts: dict[int, Part]) -> bool:
        """Whether a part is the end of the casing on which everything is stacked."""
        return isinstance(node, int) and self.pieces[min(parts[node].pieces)].body == 0 and len(parts[node].pieces) == 1

    def _left_of(self, first: list[tuple[Piece | None, Rect]], second: list[tuple[Piece | None, Rect]]) -> bool:
        """Whether something of the one stands to the left of something of the other, at the same radius."""
        for piece, rect in first:
            for beside, other in second:
                if rect[1] <= other[0] + SAME and min(rect[3], other[3]) - max(rect[2], other[2]) > SAME:
                    return True
                pins = {piece.kind if piece else "", beside.kind if beside else ""}
                mounted = pins == {"pins", "solid"} and piece and beside and piece.body == beside.body and shared(rect, other)
                # A plate slides onto the end of a pin; the pin stands left of the plate's middle or right of it.
                if mounted and sum(rect[:2]) < sum(other[:2]):
                    return True
        return False

    def _named(self, order: list[object], joints: list[tuple[int, int, str]]) -> Split:
        place = {key: number for number, key in enumerate(key for key in order if isinstance(key, int))}
        parts = [self.parts[key] for key in order if isinstance(key, int)]
        made = Split(self.stock, parts, [place[key] if isinstance(key, int) else key for key in order])
        for a, b, how in joints:
            if self.home[a] != self.home[b]:
                first, second = sorted((a, b), key=lambda n: place[self.home[n]])
                made.joints.append((first, second, how))
        self._turn(made)
        return made

    def _turn(self, made: Split) -> None:
        """Turn parts over that print either way up, so that of each pair of end faces that meet one points upwards."""
        home = {number: part for part in made.parts for number in part.pieces}
        faces = [
            (home[a], home[b]) if abs(self.pieces[a].rect[1] - self.pieces[b].rect[0]) < SAME else (home[b], home[a])
            for a, b, how in made.joints
            if how == "face" and self.pieces[a].body
        ]

        def wrong() -> int:
            return sum(left.up < 0 < right.up for left, right in faces)

        for part in made.parts:
            before = wrong()
            if part.either and before:
                part.up = -part.up
                if wrong() >= before:
                    part.up = -part.up


def _less(rect: Rect, room: Room) -> Rect:
    """A rectangle that keeps no distance: pieces of one body may touch."""
    return (rect[0] + room.side, rect[1] - room.side, rect[2] + room.gap, rect[3] - room.gap)


def _planet_rects(stock: Stock) -> dict[object, list[Rect]]:
    """What rings of planets sweep, pins left out, up to the pitch circles; one node for all planets on one circle."""
    swept: dict[object, list[Rect]] = {}
    for planet in stock.train.planets:
        key = ("planets", planet.seat, round(planet.radius, 2))
        size = planet.module * planet.teeth / 2
        pin = stock.train.sizes.pin
        swept[key] = [
            (*planet.x, planet.radius - size, planet.radius - pin),
            (*planet.x, planet.radius + pin, planet.radius + size),
        ]
    return swept


def standing(pieces: list[Piece], room: Room) -> list[Part]:
    """Return the ways in which pieces print in one without supports, the one with the least filling first.

    Args:
        pieces: of one body.
        room: what is taken by all else.
    """
    ways = []
    for up in (1, -1):
        turned = [_turned(piece.rect, up) for piece in pieces if piece.kind != "pins"]
        pins = [_turned(piece.rect, up) for piece in pieces if piece.kind == "pins"]
        if pins and not all(any(shared(pin, r) and r[0] < pin[0] + SAME for r in turned) for pin in pins):
            continue
        if not turned:
            ways.append(Part(frozenset(), up))
            continue
        bears = [_turned(piece.bears, up) for piece in pieces if piece.kind != "pins"]
        carried = _Carrier(turned, bears, partial(_free, room, up)).carried()
        if carried is not None:
            fills, slopes = carried
            part = Part(frozenset(), up, tuple(_turned(r, up) for r in fills))
            part.slopes = tuple(Slope(_turned(s.rect, up), s.wide, s.top * up) for s in slopes)
            ways.append(part)
    for part in ways:
        part.either = len(ways) == 2 and not any(other.fills or other.slopes for other in ways)
    return sorted(ways, key=lambda part: sum((r[1] - r[0]) * (r[3] ** 2 - r[2] ** 2) for r in part.fills))


def _free(room: Room, up: int, rect: Rect) -> bool:
    return room.free(_turned(rect, up), None)


def _turned(rect: Rect, up: int) -> Rect:
    return rect if up > 0 else (-rect[1], -rect[0], rect[2], rect[3])


class _Carrier:
    """Carries what hangs over, strip by strip from the top down; upwards is to the right.

    Args:
        rects: of the part.
        bears: what of them can carry.
        free: whether a rectangle may be filled.
    """

    def __init__(self, rects: list[Rect], bears: list[Rect], free: Callable[[Rect], bool]) -> None:
        self.rects, self.bears, self.free = rects, bears, free

    def carried(self) -> tuple[list[Rect], list[Slope]] | None:
        """Return fillings and slopes, or None where something would hang in the air."""
        strips = list(columns(self.rects))
        bearing = dict(_strips(self.bears, [strip for strip, _ in strips]))
        fills: list[Rect] = []
        slopes: list[Slope] = []
        above: list[Span] = []
        for number in range(len(strips) - 1, 0, -1):
            (x0, _), spans = strips[number]
            need = _join(spans, above)
            below, left = strips[number - 1][0]
            holds = bearing[strips[number - 1][0]]
            above = []
            for low, high in gaps(need, holds):
                touches = [abs(low - end) < SAME for _, end in holds], [abs(high - start) < SAME for start, _ in holds]
                inner, outer = any(touches[0]), any(touches[1])
                if (inner or outer) and high - low <= LEDGE * (2 if inner and outer else 1):
                    continue
                slope = self._slope(x0, low, high, inner)
                if (inner or outer) and slope is not None:
                    slopes.append(slope)
                    continue
                block = (below, left, low, high)
                if self._own_teeth(block) or not self.free(block):
                    return None
                fills.append(block)
                above.append((low, high))
        return fills, slopes

    def _own_teeth(self, block: Rect) -> bool:
        """Whether a filling would close the part's own teeth."""
        return any(shared(block, rect) for rect in self.rects)

    def _slope(self, x0: float, low: float, high: float, inner: bool) -> Slope | None:
        high_ = high - low
        if high_ > _SLOPE:
            return None
        rect = (x0 - high_, x0, low, high)
        bed = min(r[0] for r in self.rects)
        if rect[0] < bed - SAME or any(shared(rect, r) for r in self.rects) or not self.free(rect):
            return None
        return Slope(rect, low if inner else high, x0)


def _strips(rects: list[Rect], strips: list[Span]) -> Iterable[tuple[Span, list[Span]]]:
    for strip in strips:
        inside = [(r[2], r[3]) for r in rects if r[0] < strip[0] + SAME and r[1] > strip[1] - SAME]
        yield strip, _join(inside, [])


def _join(one: list[Span], other: list[Span]) -> list[Span]:
    return gaps([*one, *other], [])
