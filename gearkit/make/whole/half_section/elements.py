"""How every clutch and brake is locked by hand from outside: where its screw sits and how a key gets there.

A set screw in the drum goes into a ring of holes in the hub. What turns between the drum and the outside has a ring of
windows, so that a key gets through it in most positions; the casing has one hole for each element. A one-way clutch is made
like the others: the model does not freewheel by itself.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from gearkit.draw.core.wording import shaft_words
from gearkit.draw.cutaway.sizes import Rect
from gearkit.draw.cutaway.solid_train import Pack, Train
from gearkit.make.whole.half_section.room import SAME, Span, joined
from gearkit.make.whole.half_section.split import Split
from gearkit.text.phrases import set_words
from gearkit.words.errors import GearkitError

# A set screw M3: its thread cuts itself into the smaller hole, runs free in the larger one (common practice, no source).
THREAD, FREE, KEY = 1.35, 1.7, 1.9
LENGTHS = (5, 6, 8, 10, 12, 16, 20, 25)
# As long as this where there is room; its thread is no deeper than this.
WISHED, DEEPEST = 8, 9.0
# How deep the tip goes into the hub.
BITE = 2.2
HALF_WINDOW = 2.6
_EDGE = 0.8
_THICKEST = 26.0
# Screws sit on a grid along the axis, so that one ring of holes can serve two of them; holes are a multiple of 6 where they can.
_GRID = 0.2
_HOLES = (36, 24, 18, 12, 6, 4)
# Two rings of holes or windows in one part keep their middles so far apart.
_APART = 2 * HALF_WINDOW + 0.8
# A window is no longer than what a printer bridges well (common practice, no source).
BRIDGE, POST = 9.0, 4.5


class NotPrintableError(GearkitError):
    """A train that cannot be made as a whole; says why and what to change.

    Args:
        why: in a sentence or more.
        change: the nearest change, without the full stop; "" where ``why`` tells it.
        elsewhere: whether another arrangement of the same parts may help.
    """

    def __init__(self, why: str, change: str = "", *, elsewhere: bool = False) -> None:
        super().__init__(f"{why} Nearest change: {change}." if change else why)
        self.why, self.elsewhere = why, elsewhere


class OutOfReachError(NotPrintableError):
    """An element that cannot be reached from outside.

    Args:
        number: of its pack.
        why: in a sentence.
        change: the nearest change.
    """

    def __init__(self, number: int, why: str, change: str) -> None:
        super().__init__(why, change, elsewhere=True)
        self.number = number


@dataclass(frozen=True)
class Lock:
    """The screw of one element.

    Args:
        pack: its clutch or brake.
        x: place of the screw along the axis, mm.
        at: its angle at rest, radians.
        hub: outer radius of the hub, mm.
        drum: from where to where the drum goes at the screw, mm.
        holes: in the hub.
        length: of the screw, mm.
        free: room above the drum, mm.
    """

    pack: Pack
    x: float
    at: float
    hub: float
    drum: Span
    holes: int
    length: int
    free: float

    @property
    def tip(self) -> float:
        """Radius of its tip when it holds."""
        return self.hub - BITE

    @property
    def released(self) -> float:
        """Radius of its tip when it is backed out."""
        return self.hub + 0.2

    @property
    def step(self) -> float:
        """Turn of the hub from one hole to the next, degrees."""
        return 360 / self.holes


def locks(split: Split) -> list[Lock]:
    """Return how each element is locked, in the layout's order.

    Args:
        split: the parts.

    Raises:
        NotPrintableError: an element cannot be reached from outside, or its screw has no room.
    """
    finder = _Finder(split)
    packs = split.stock.train.packs
    choices = [list(finder.places(pack, number)) for number, pack in enumerate(packs)]
    for number, (pack, places) in enumerate(zip(packs, choices, strict=True)):
        if not places:
            name = split.stock.train.layout.elements[pack.element].name
            raise OutOfReachError(
                number,
                f"Element {name} cannot be reached from outside: {finder.reason}.",
                f"let element {name} join other shafts so that it lies farther out, or print one set alone (gearkit bench LAYOUT SET)",
            )
    chosen = finder.choose(choices, [])
    if chosen is None:
        raise NotPrintableError(
            "The screws of the elements would get into each other's way.",
            "print one set alone (gearkit bench LAYOUT SET)",
            elsewhere=True,
        )
    return chosen


class _Finder:
    def __init__(self, split: Split) -> None:
        self.split, self.train = split, split.stock.train
        self.parts: list[tuple[int, list[Rect]]] = []
        for part in split.parts:
            pieces = [split.stock.pieces[number] for number in sorted(part.pieces)]
            rects = [p.rect for p in pieces if p.kind != "pins"] + list(part.fills) + [s.rect for s in part.slopes]
            self.parts.append((pieces[0].body, rects))
        self.reason = ""

    def places(self, pack: Pack, number: int) -> Iterator[Lock]:
        """Yield where the screw of an element can sit, the middle first."""
        hub = pack.r[0] + self.train.sizes.rim
        at = number * math.pi / (3 if len(self.train.packs) <= 6 else 6)
        middle = sum(pack.x) / 2
        tries = [_GRID * step for step in range(math.ceil(pack.x[0] / _GRID), math.floor((pack.x[1] + 5) / _GRID) + 1)]
        for x in sorted(tries, key=lambda place: abs(place - middle)):
            if not self._filled(pack.below, x, hub - 2.4, hub):
                self.reason = self.reason or "its hub is too narrow for a ring of holes"
                continue
            drum = self._drum(pack, x, hub)
            if drum is None:
                continue
            if not self._open(pack, x, drum[1]):
                continue
            free = 20.0 if pack.above == 0 else self._free(x, drum[1])
            length = _length(hub, drum, free, outside=pack.above == 0)
            if length is None:
                self.reason = "there is no room for its screw"
                continue
            room = 2 * math.pi * (hub - BITE) / (2 * FREE + 0.9)
            holes = next((count for count in _HOLES if count <= room), None)
            if holes is None:
                self.reason = "its hub is too small for a ring of holes"
                continue
            yield Lock(pack, round(x, 3), at, hub, drum, holes, length, free)

    def choose(self, choices: list[list[Lock]], taken: list[Lock]) -> list[Lock] | None:
        """Return one place for each element so that none is in another's way; None if there is no such choice."""
        if len(taken) == len(choices):
            return taken
        for lock in choices[len(taken)]:
            if all(self._apart(lock, other) for other in taken):
                chosen = self.choose(choices, [*taken, lock])
                if chosen is not None:
                    return chosen
        return None

    def _apart(self, lock: Lock, other: Lock) -> bool:
        """Whether the holes and windows of two elements lie far enough from each other, or in one ring."""
        apart = abs(lock.x - other.x)
        # At the same place along the axis the deeper one's key goes through the upper one's ring of holes.
        return apart >= _APART or apart < SAME

    def _spans(self, index: int, x: float) -> list[Span]:
        return joined((r[2], r[3]) for r in self.parts[index][1] if r[0] - SAME <= x <= r[1] + SAME)

    def _filled(self, body: int, x: float, low: float, high: float) -> bool:
        """Whether one part of a body fills a band round the screw."""
        for index, (owner, _) in enumerate(self.parts):
            if owner == body and all(
                any(a <= low + SAME and b >= high - SAME for a, b in self._spans(index, place))
                for place in (x - 2.1, x, x + 2.1)
            ):
                return True
        return False

    def _drum(self, pack: Pack, x: float, hub: float) -> Span | None:
        """From where to where one part of the drum's body goes round the screw, right above the hub."""
        spans_ = []
        for index, (owner, _) in enumerate(self.parts):
            if owner == pack.above:
                spans = [[s for s in self._spans(index, place) if s[0] > hub - SAME] for place in (x - 1.9, x, x + 1.9)]
                if all(spans) and len({each[0] for each in spans}) == 1:
                    spans_.append(spans[0][0])
        # Of a brake the casing is the drum, whatever is in between.
        if spans_ and (pack.above == 0 or min(spans_)[0] < hub + 2):
            return min(spans_)
        self.reason = self.reason or "its drum is too narrow for a screw"
        return None

    def _open(self, pack: Pack, x: float, above: float) -> bool:
        """Whether a key gets from outside to the drum once windows are cut."""
        wide = (x - KEY - 0.3, x + KEY + 0.3)
        moving = [(f"the planets of {set_words(self.train.layout.sets[p.set].name)}", p.band) for p in self.train.planets]
        moving += [(f"the teeth of {set_words(self.train.layout.sets[w.set].name)}", w.band) for w in self.train.wheels]
        moving += [("a carrier's pins", pin.band) for pin in self.train.pins]
        for what, band in moving:
            if band[3] > above and band[0] < wide[1] and band[1] > wide[0]:
                self.reason = f"{what} are in the way"
                return False
        for index, (owner, _) in enumerate(self.parts):
            half, edge = (KEY, _EDGE) if owner in (pack.above, 0) else (HALF_WINDOW, _EDGE)
            seen = [self._above(index, place, above) for place in (x - half, x - half / 2, x, x + half / 2, x + half)]
            beside = [self._above(index, x - half - edge, above), self._above(index, x + half + edge, above)]
            held = all(any(a <= low + SAME and b >= high - SAME for a, b in side) for side in beside for low, high in seen[0])
            if any(each != seen[0] for each in seen) or not held or any(b - a > _THICKEST for a, b in seen[0]):
                self.reason = f"a disc of the shaft of {_named(self.train, owner)} is in the way"
                return False
        return True

    def _above(self, index: int, x: float, above: float) -> list[Span]:
        return [(max(low, above), high) for low, high in self._spans(index, x) if high > above + SAME]

    def _free(self, x: float, above: float) -> float:
        """Room above the drum, in which a screw that is backed out may stand."""
        lowest = self.train.outside
        for _, rects in self.parts:
            lowest = min([lowest, *(r[2] for r in rects if r[2] > above - SAME and r[0] < x + 2 and r[1] > x - 2)])
        bands = [p.band for p in self.train.planets] + [pin.band for pin in self.train.pins]
        lowest = min([lowest, *(b[2] for b in bands if b[2] > above - SAME and b[0] < x + 2 and b[1] > x - 2)])
        return max(0.0, lowest - above)


def _named(train: Train, body: int) -> str:
    return shaft_words(train.layout.shafts[body]) if body > 0 else "the casing" if body == 0 else "a sleeve"


def _length(hub: float, drum: Span, free: float, *, outside: bool) -> int | None:
    """The longest screw that can be backed out of the hub without reaching what turns above; at a brake: that can be gripped."""
    if outside:
        return next((length for length in LENGTHS if hub - BITE + length > drum[1] + 1), None)
    fitting = [length for length in LENGTHS if hub + 0.2 + length <= drum[1] + max(0.0, free - 0.3)]
    held = [length for length in fitting if hub - BITE + length - drum[0] >= 2.5]
    return next((length for length in held if length >= WISHED), held[-1] if held else None)
