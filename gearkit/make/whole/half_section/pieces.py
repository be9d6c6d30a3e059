"""A solid train made ready to print: solid suns, bearings, thrust sleeves, and every body cut into disjoint pieces.

Bodies are still unions of rectangles in the half-section; nothing has teeth, joints or holes yet.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from gearkit.draw.cutaway.sizes import Rect
from gearkit.draw.cutaway.solid_train import Train, Wheel
from gearkit.make.whole.half_section import stops
from gearkit.make.whole.half_section.room import SAME, Room, Taken, columns, joined, minus, shared

# A gap inside one body that is narrower than this is filled.
_POCKET = 4.5
# A disc is lengthened inwards by no more than this to run on what lies below.
_REACH = 12.0
# How far the innermost shaft reaches into the next one, which then bears it.
_SPIGOT = 12.0
_LONG_DISC = 8.0
# A rim on one side of its disc is lengthened up to this, disc included, where there is room.
_LONG_RIM = 11.0
# A disc round the innermost shaft gets a boss of this length.
_BOSS = 10.0
# End play in all, mm, and the travel above which a sleeve is put in.
END_PLAY, _TOO_LOOSE = 0.8, 2.5
SLEEVE = "sleeve"
_FAR = 1000.0


@dataclass(frozen=True)
class Piece:
    """A rectangle of a body's half-section.

    Args:
        body: the shaft that it belongs to, 0 for the casing; -1 for a loose sleeve.
        kind: "gear", "shaft" (of the lanes near the axis), "solid", "pins" or "sleeve".
        rect: where it is, tips of teeth included.
        wheel: the gear, of a "gear".
        seat: seat of the "pins".
    """

    body: int
    kind: str
    rect: Rect
    wheel: Wheel | None = None
    seat: int = -1

    @property
    def bears(self) -> Rect:
        """What of it can carry what is printed on top of it: of a gear all but its teeth."""
        if self.wheel is None:
            return self.rect
        x0, x1, r0, r1 = self.rect
        low, high = self.wheel.band[2:]
        return (x0, x1, high, r1) if self.wheel.internal else (x0, x1, r0, low)


@dataclass
class Stock:
    """The pieces of a whole train.

    Args:
        train: as solid bodies.
        pieces: disjoint.
        room: everything that is taken.
        bearings: for every body, what it runs on: (body below, length along the axis, radius).
    """

    train: Train
    pieces: list[Piece]
    room: Room
    bearings: dict[int, list[tuple[int, float, float]]] = field(default_factory=dict)


def stock(train: Train, choice: int = 0) -> Stock:
    """Return a train as pieces to print.

    Args:
        train: solid bodies without overlap.
        choice: which of its possible stops a loose shaft gets, see `stops.stop`.
    """
    return _Maker(train, choice).made()


class _Maker:
    def __init__(self, train: Train, choice: int) -> None:
        self.train, self.gap, self.choice = train, train.sizes.gap, choice
        self.rects = {body: self._solid_suns(body, rects) for body, rects in train.bodies.items()}
        self.gears = {(w.body, w.set, w.member): self._gear(w) for w in train.wheels}
        self.sleeves: list[Rect] = []

    def made(self) -> Stock:
        self._one_sided()
        self._drums()
        self._pockets()
        self._spigots()
        bearings = self._bearings()
        self._pockets()
        self._sleeves()
        self._stops()
        return Stock(self.train, list(self._pieces()), self._closed_room(), bearings)

    def _closed_room(self) -> Room:
        """All that is taken, what stands out of the casing included: that is for the handles."""
        room = self._room()
        for x0, x1 in ((-_FAR, self.train.case[0]), (self.train.case[1], _FAR)):
            room.taken.append(Taken("outside", (x0, x1, 0.0, _FAR)))
        return room

    def _own(self, body: int) -> list[Rect]:
        return self.rects[body] + [rect for key, rect in self.gears.items() if key[0] == body]

    def _room(self) -> Room:
        train = self.train
        taken = [Taken(body, rect) for body, rects in self.rects.items() for rect in rects]
        taken += [Taken(key[0], rect) for key, rect in self.gears.items()]
        taken += [Taken("planets", planet.band) for planet in train.planets]
        taken += [Taken(pin.carrier, pin.band) for pin in train.pins]
        taken += [Taken(SLEEVE, rect) for rect in self.sleeves]
        return Room(self.gap, 0.5, list(dict.fromkeys(taken)))

    def _solid_suns(self, body: int, rects: list[Rect]) -> list[Rect]:
        solid = list(rects)
        for wheel in self.train.wheels:
            if wheel.body == body and not wheel.internal:
                below = [r[2] for r in rects if wheel.x[0] < r[0] and r[1] < wheel.x[1] and r[2] < wheel.rim - SAME]
                if below:
                    solid.append((*wheel.x, min(below), wheel.rim))
        return solid

    def _gear(self, wheel: Wheel) -> Rect:
        low, high = wheel.band[2:]
        return (*wheel.x, low, wheel.rim) if wheel.internal else (*wheel.x, wheel.rim, high)

    def _one_sided(self) -> None:
        """Let the rims of clutches and brakes stand out to one side of their disc, so that it can lie on the bed."""
        for pack in self.train.packs:
            for body, rim in ((pack.below, pack.r[0]), (pack.above, pack.r[1] - self.train.sizes.rim)):
                if body == 0:
                    continue
                own = self.rects[body]
                for number, rect in enumerate(own):
                    if abs(rect[2] - rim) > SAME or rect[0] < pack.x[0] - SAME or rect[1] > pack.x[1] + SAME:
                        continue
                    disc = next((r for r in own if rect[0] + 2 < r[0] and r[1] < rect[1] - 2 and r[3] - r[2] > _LONG_DISC
                                 and (abs(r[3] - rect[3]) < 3.1 or abs(r[2] - rect[2]) < 3.1)), None)  # fmt: skip
                    if disc is not None:
                        own[number] = (disc[0], rect[1], rect[2], rect[3])
        room = self._room()
        for pack in self.train.packs:
            for body, rim in ((pack.below, pack.r[0]), (pack.above, pack.r[1] - self.train.sizes.rim)):
                for number, rect in enumerate(self.rects[body]):
                    near = abs(rect[2] - rim) < SAME and pack.x[0] - SAME < rect[0] and abs(rect[1] - pack.x[1]) < SAME
                    if body and near and rect[1] - rect[0] < _LONG_RIM:
                        longer = [rect[1] + 0.5 * step for step in range(1, 12) if rect[1] + 0.5 * step - rect[0] <= _LONG_RIM]
                        ends = [end for end in longer if room.free((rect[1], end, rect[2], rect[3]), body)]
                        end = ends[-1] if ends else rect[1]
                        # No slivers: it ends before or with what else of its body stands beside it.
                        beside = [
                            r for r in self.rects[body] if r[0] > rect[1] - SAME and r[3] > rect[2] - 3 and r[2] < rect[3] + 3
                        ]
                        end = min([end, *(r[0] if r[1] > end else r[1] for r in beside if r[0] < end)])
                        self.rects[body][number] = (rect[0], max(end, rect[1]), rect[2], rect[3])

    def _drums(self) -> None:
        """Fill the drum of every clutch down to its hub, so that it holds a screw's thread and bears."""
        rim = self.train.sizes.rim
        for pack in self.train.packs:
            if pack.above == 0:
                continue
            own = self.rects[pack.above]
            drum = [r for r in own if pack.x[0] - SAME < r[0] and r[1] < pack.x[1] + 6 and abs(r[3] - pack.r[1]) < SAME]
            for x0, x1, r0, _ in drum:
                block = (x0, x1, pack.r[0] + rim + self.gap, r0)
                if self._room().free(block, pack.above):
                    self.rects[pack.above].append(block)

    def _pockets(self) -> None:
        """Fill narrow gaps between two rectangles of one body."""
        room = self._room()
        for body, rects in self.rects.items():
            every = [*rects, *(rect for key, rect in self.gears.items() if key[0] == body)]
            for lower in every:
                for upper in every:
                    x0, x1 = max(lower[0], upper[0]), min(lower[1], upper[1])
                    pocket = (x0, x1, lower[3], upper[2])
                    if x1 - x0 > SAME and SAME < upper[2] - lower[3] < _POCKET and room.free(pocket, body):
                        rects.append(pocket)

    def _spigots(self) -> None:
        """Lengthen what is solid to the axis into the hollow beside it, so that each bears the other."""
        size = self.train.sizes.shaft
        for body, rects in self.rects.items():
            rods = _merged([(*r[:2], 0.0, size) for r in rects if r[2] == 0.0])
            for number, (x0, x1, _, _) in enumerate(rods):
                for side in (-1, 1):
                    end = x0 if side < 0 else x1
                    if not any(abs(at - end) < SAME for _, at, _ in self.train.ends.values()):
                        more = self._spigot(end, side, body)
                        x0, x1 = min(x0, more), max(x1, more)
                rods[number] = (x0, x1, 0.0, size)
            if rods:
                self.rects[body] = [r for r in rects if r[2] > 0.0 or r[3] > size] + rods
                self._bosses(body)

    def _spigot(self, end: float, side: int, body: int) -> float:
        """Where a shaft may end that ends here now."""
        room = self._room()
        for reach in range(40, 3, -1):
            tip = end + side * reach
            more = (min(end, tip), max(end, tip), 0.0, self.train.sizes.shaft)
            inside = self.train.length[0] + 4 < tip < self.train.length[1] - 4
            if inside and room.free(more, body) and self._hollow(more, body, side):
                return tip
        return end

    def _bosses(self, body: int) -> None:
        """Thicken a disc round the shaft that it sits on, on the side of its rim: a thin one would turn on its keys."""
        size, room = self.train.sizes.shaft, self._room()
        for x0, x1, r0, r1 in list(self.rects[body]):
            if r0 > 0.0 or x1 - x0 >= _BOSS or r1 <= size + 5:
                continue
            rims = [r for r in self.rects[body] if r[3] > r1 - 4 and r[2] > r0 and r[0] < x1 and r[1] > x0]
            left_first = sum(r[0] + r[1] for r in rims) < len(rims) * (x0 + x1)
            for boss in [(x1 - _BOSS, x0, size, size + 5), (x1, x0 + _BOSS, size, size + 5)][:: 1 if left_first else -1]:
                if room.free(boss, body):
                    self.rects[body].append(boss)
                    break

    def _hollow(self, more: Rect, body: int, side: int) -> bool:
        """Whether a lengthened shaft then stands 8 to 12 mm inside a body that goes round it."""
        tip = more[0] if side < 0 else more[1]
        for other, rects in self.rects.items():
            for rect in rects:
                inside = tip - rect[0] if side > 0 else rect[1] - tip
                if other not in (body, 0) and rect[2] > more[3] and rect[2] - more[3] < _REACH and 8 <= inside <= _SPIGOT + 1:
                    return True
        return False

    def _bearings(self) -> dict[int, list[tuple[int, float, float]]]:
        """Lengthen discs and short tubes inwards until they run on what lies below; longest first."""
        bearings: dict[int, list[tuple[int, float, float]]] = {}
        for body in self.rects:
            own = [r for r in self.rects[body] if r[2] > 0]
            for rect in sorted(own, key=lambda r: (r[2], r[0])):
                below = self._below(body, rect)
                if below is None:
                    continue
                other, radius = below
                neck = (rect[0], rect[1], radius + self.gap, rect[2])
                if neck[3] - neck[2] > SAME and (rect[1] - rect[0] > 20 or not self._room().free(neck, body)):
                    continue
                if neck[3] - neck[2] > SAME:
                    self.rects[body].append(neck)
                bearings.setdefault(body, []).append((other, rect[1] - rect[0], radius))
        return bearings

    def _below(self, body: int, rect: Rect) -> tuple[int, float] | None:
        """The body that lies unbroken below a rectangle, and its outer radius there."""
        best: tuple[int, float] | None = None
        for other, rects in self.rects.items():
            if other == body:
                continue
            for low in rects:
                over = low[0] <= rect[0] + SAME and low[1] >= rect[1] - SAME and low[3] < rect[2] + SAME
                if over and rect[2] - low[3] < _REACH and (best is None or low[3] > best[1]):
                    best = (other, low[3])
        return best

    def travel(self, body: int, side: int) -> float:
        """How far a body could slide along the axis before it meets another."""
        own = self._own(body) + [stops.handle(self.train, name) for name, end in self.train.ends.items() if end[0] == body]
        far = _FAR
        for each in self._room().taken:
            if each.owner in (body, "planets"):
                continue
            for rect in own:
                if min(rect[3], each.rect[3]) - max(rect[2], each.rect[2]) > 0.4:
                    apart = each.rect[0] - rect[1] if side > 0 else rect[0] - each.rect[1]
                    if apart > -SAME:
                        far = min(far, apart)
        return far

    def _sleeves(self) -> None:
        """Put loose sleeves on shafts where a body could slide too far."""
        wall = self.train.sizes.wall
        for body in self.rects:
            for side in (1, -1):
                if body == 0 or self.travel(body, side) <= _TOO_LOOSE:
                    continue
                best: Rect | None = None
                for rect in self.rects[body]:
                    for ride in (r for rects in self.rects.values() for r in rects if r[3] < 30):
                        start = rect[1] if side > 0 else rect[0]
                        low = ride[3] + self.gap
                        stop = self._next_face(body, start, side, low, low + wall)
                        if stop is None or rect[3] < low + 1.2 or rect[2] > low + wall - 1.2:
                            continue
                        x0, x1 = sorted((start, stop))
                        sleeve = (x0 + END_PLAY / 2, x1 - END_PLAY / 2, low, low + wall)
                        on = ride[0] < x0 + 1 and ride[1] > x1 - 1
                        if on and x1 - x0 > 2 and self._clear(sleeve) and (best is None or x1 - x0 < best[1] - best[0]):
                            best = sleeve
                if best is not None:
                    self.sleeves.append(best)

    def _stops(self) -> None:
        """Where a body can still slide too far, make one of its ends longer or put a collar on it, on its looser side first."""
        for body in self.rects:
            for _ in range(2):
                loose = {side: self.travel(body, side) for side in (1, -1)}
                if body == 0 or sum(loose.values()) <= stops.LOOSE:
                    break
                for side in sorted(loose, key=lambda side: -loose[side]):
                    more = stops.stop(body, side, self._own(body), self._closed_room(), self.choice)
                    if more is not None and loose[side] > _TOO_LOOSE:
                        self.rects[body].append(more)
                        break

    def _next_face(self, body: int, start: float, side: int, low: float, high: float) -> float | None:
        """Where the next body along the axis has a face for a sleeve to stand against."""
        ends = [
            each.rect[0] if side > 0 else each.rect[1]
            for each in self._room().taken
            if each.owner not in (body, "planets") and min(each.rect[3], high) - max(each.rect[2], low) > 1.2
        ]
        ahead = [end for end in ends if (end - start) * side > 0]
        return (min if side > 0 else max)(ahead) if ahead else None

    def _clear(self, rect: Rect) -> bool:
        wide = (rect[0] - 0.3, rect[1] + 0.3, rect[2] - self.gap / 2, rect[3] + self.gap)
        return not any(shared(wide, each.rect) for each in self._room().taken)

    def _pieces(self) -> list[Piece]:
        pieces = []
        for (body, *_), rect in self.gears.items():
            wheel = next(w for w in self.train.wheels if self.gears[w.body, w.set, w.member] == rect and w.body == body)
            pieces.append(Piece(body, "gear", rect, wheel))
        for body, rects in self.rects.items():
            taken = [p.rect for p in pieces if p.body == body]
            shafts = _merged([r for r in rects if self._lane(r, body)])
            for rect in shafts:
                for rest in minus(rect, taken):
                    pieces.append(Piece(body, "shaft", rest))
            taken += shafts
            loose = [rest for rect in rects for rest in minus(rect, taken)]
            pieces += [Piece(body, "solid", rect) for rect in _runs(loose)]
        for pin in self.train.pins:
            key = (pin.carrier, pin.band)
            if not any(p.kind == "pins" and (p.body, p.rect) == key for p in pieces):
                pieces.append(Piece(pin.carrier, "pins", pin.band, None, pin.seat))
        return pieces + [Piece(-1, SLEEVE, rect) for rect in self.sleeves]

    def _lane(self, rect: Rect, body: int) -> bool:
        """Whether a rectangle is a shaft or tube of the lanes near the axis."""
        inner = [band for band in self.train.rows.values() if band[1] < self.train.ring]
        return (
            body != 0
            and rect[1] - rect[0] > 9
            and any(abs(rect[2] - low) < SAME and abs(rect[3] - high) < SAME for low, high in inner)
        )


def _merged(rects: list[Rect]) -> list[Rect]:
    """Make rectangles of one band that touch one rectangle."""
    merged = []
    for low, high in {(r[2], r[3]) for r in rects}:
        merged += [(x0, x1, low, high) for x0, x1 in joined((r[0], r[1]) for r in rects if (r[2], r[3]) == (low, high))]
    return sorted(merged)


def _runs(rects: list[Rect]) -> list[Rect]:
    """Cut a union of rectangles into strips along the axis, those with the same radii made one."""
    open_: dict[tuple[float, float], Rect] = {}
    done = []
    for (x0, x1), spans in columns(rects):
        kept = {}
        for low, high in spans:
            before = open_.pop((low, high), None)
            kept[low, high] = (before[0] if before and abs(before[1] - x0) < SAME else x0, x1, low, high)
            if before and abs(before[1] - x0) >= SAME:
                done.append(before)
        done += list(open_.values())
        open_ = kept
    return done + list(open_.values())
