"""How parts of one body hold together: tabs in slots, keys in grooves, screws in the casing; all close along the axis.

Joints get a drop of glue, but turning force goes through tabs and keys, whose strength is worked out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from gearkit.draw.cutaway.sizes import Rect
from gearkit.make.whole.half_section.room import SAME
from gearkit.make.whole.half_section.split import Split

# A ring's piece: its rectangle, the angle of its middle, its width in radians.
Block = tuple[Rect, float, float]
# A bore along the axis: from, to, radius of its middle, its own radius, angle.
Bore = tuple[float, float, float, float, float]
_TAB_DEEP, _TAB_LONG, _TAB_WIDE = 4.0, 9.0, 6.0
_KEY_WIDE = 4.0
# What a printed plastic takes in shear before it gives way, N/mm2, with room to spare (common practice, no source).
SHEAR = 8.0
SCREWS = 6


@dataclass
class Joint:
    """One joint.

    Args:
        first: number of the earlier part.
        second: number of the later part.
        kind: "tabs", "loose keys", "keys" or "screws".
        added: what is added to which part.
        cut: what is cut out of which part.
        loose: keys that are made by themselves and put into slots of both.
        bores: round holes along the axis in which part.
        area: of all that is sheared, mm2.
        radius: at which it is sheared, mm.
    """

    first: int
    second: int
    kind: str
    added: list[tuple[int, Block]] = field(default_factory=list)
    cut: list[tuple[int, Block]] = field(default_factory=list)
    loose: list[Block] = field(default_factory=list)
    bores: list[tuple[int, Bore]] = field(default_factory=list)
    area: float = 0.0
    radius: float = 0.0

    @property
    def torque(self) -> float:
        """What it carries, N·m."""
        return SHEAR * self.area * self.radius / 1000


def joints(split: Split) -> list[Joint]:
    """Return every joint of a split train; pins in plates are none of them, they are bores.

    Args:
        split: the parts.
    """
    return _Joiner(split).joints()


class _Joiner:
    def __init__(self, split: Split) -> None:
        self.split, self.pieces = split, split.stock.pieces
        self.home = {number: index for index, part in enumerate(split.parts) for number in part.pieces}
        self.gap = split.stock.train.sizes.gap / 2

    def joints(self) -> list[Joint]:
        made = []
        for a, b, how in self.split.joints:
            if how == "face":
                made.append(self._screws(a, b) if self.pieces[a].body == 0 else self._tabs(a, b))
            elif how == "edge":
                made.append(self._keys(a, b))
        return made

    def _tabs(self, a: int, b: int) -> Joint:
        """Tabs on an end that points upwards when it is printed, through slots of the other part; else loose keys."""
        rect, other = self.pieces[a].rect, self.pieces[b].rect
        left, right = (a, b) if abs(rect[1] - other[0]) < SAME else (b, a)
        face = self.pieces[left].rect[1]
        low, high = self._band(a, max(rect[2], other[2]), min(rect[3], other[3]))
        up = {left: self.split.parts[self.home[left]].up > 0, right: self.split.parts[self.home[right]].up < 0}
        ready = sorted((n for n in (left, right) if up[n]), key=lambda n: self.pieces[n].rect[3] - self.pieces[n].rect[2])
        joint = Joint(self.home[a], self.home[b], "tabs" if ready else "loose keys")
        count = 6 if low > 12 else 3
        width = min(_TAB_LONG / low, math.pi / count)
        slots = {n: self._slot(n, face, 1 if n == right else -1) for n in (left, right) if not ready or n != ready[0]}
        angles = [2 * math.pi * (place + 0.5) / count for place in range(count)]
        angles = [at for at in angles if not self._pinned(a, at, low, high, width)]
        for at in angles:
            for number, (start, stop, _) in slots.items():
                cut = ((start, stop, low - self.gap, high + self.gap), at, width + 2 * self.gap / low)
                joint.cut.append((self.home[number], cut))
            if ready:
                deep = next(iter(slots.values()))[2]
                x = (face - 1, face + deep - 0.1) if ready[0] == left else (face - deep + 0.1, face + 1)
                joint.added.append((self.home[ready[0]], ((*x, low, high), at, width)))
            else:
                joint.loose.append(((face - slots[left][2] + 0.1, face + slots[right][2] - 0.1, low, high), at, width))
        joint.area, joint.radius = len(angles) * width * low * (high - low), (low + high) / 2
        return joint

    def _slot(self, number: int, face: float, way: int) -> tuple[float, float, float]:
        """From where to where a slot goes into a piece from one of its ends, and how deep a tab in it is."""
        long = self.pieces[number].rect[1] - self.pieces[number].rect[0]
        deep = min(_TAB_DEEP, max(1.8, long - 1.2))
        return (*_span(face - 0.01 * way, face + (deep + 0.15) * way), deep)

    def _pinned(self, number: int, at: float, low: float, high: float, width: float) -> bool:
        """Whether a tab would meet a pin of its own body."""
        return any(
            pin.carrier == self.pieces[number].body
            and pin.band[2] < high + 1
            and pin.band[3] > low - 1
            and abs(math.remainder(pin.at - at, 2 * math.pi)) < width / 2 + (pin.size + 1) / pin.radius
            for pin in self.split.stock.train.pins
        )

    def _band(self, number: int, low: float, high: float) -> tuple[float, float]:
        """The radii of the tabs: no more than 6 mm, as far out as the pins leave room."""
        if high - low <= _TAB_WIDE:
            return low, high
        pins = [pin.band[2:] for pin in self.split.stock.train.pins if pin.carrier == self.pieces[number].body]
        tries = [high - 0.5 - _TAB_WIDE, (low + high - _TAB_WIDE) / 2, low + 0.5]
        free = [start for start in tries if not any(a < start + _TAB_WIDE + 1 and b > start - 1 for a, b in pins)]
        start = (free or tries)[0]
        return start, start + _TAB_WIDE

    def _keys(self, a: int, b: int) -> Joint:
        """Keys on the shorter part, grooves in the longer one along the way that it comes."""
        inner, outer = (a, b) if self.pieces[a].rect[3] < self.pieces[b].rect[2] + SAME else (b, a)
        short, long = sorted((inner, outer), key=lambda n: self.pieces[n].rect[1] - self.pieces[n].rect[0])
        x0 = max(self.pieces[a].rect[0], self.pieces[b].rect[0])
        x1 = min(self.pieces[a].rect[1], self.pieces[b].rect[1])
        edge = self.pieces[outer].rect[2]
        band = self.pieces[long].rect
        deep = 1.2 if band[3] - band[2] > 4 else 0.9
        count = 3 if edge < 20 else 6
        wide = min(_KEY_WIDE, 0.5 * edge) / edge
        ends = [self.pieces[n].rect for n in self.split.parts[self.home[long]].pieces]
        later = self.home[short] == self.home[b]
        way = (x0 - 0.01, max(r[1] for r in ends) + 1) if later else (min(r[0] for r in ends) - 1, x1 + 0.01)
        into = edge - deep if short == outer else edge + deep
        inwards = -1 if short == outer else 1
        key = (x0, x1, *_span(into, edge - 0.5 * inwards))
        groove = (*way, *_span(into + self.gap * inwards, edge - 0.05 * inwards))
        joint = Joint(self.home[a], self.home[b], "keys")
        for place in range(count):
            at = 2 * math.pi * place / count
            joint.added.append((self.home[short], (key, at, wide)))
            joint.cut.append((self.home[long], (groove, at, wide + 2 * self.gap / edge)))
        joint.area, joint.radius = count * wide * edge * (x1 - x0), edge
        return joint

    def _screws(self, a: int, b: int) -> Joint:
        """Screws along the axis through the base of the casing into its wall."""
        rect, other = self.pieces[a].rect, self.pieces[b].rect
        low, high = max(rect[2], other[2]), min(rect[3], other[3])
        joint = Joint(self.home[a], self.home[b], "screws", radius=(low + high) / 2)
        for place in range(SCREWS):
            at = 2 * math.pi * (place + 0.5) / SCREWS
            joint.bores.append((self.home[a], (rect[0] - 1, rect[1] + 0.01, joint.radius, 1.65, at)))
            joint.bores.append((self.home[b], (other[0] - 0.01, other[0] + 11.0, joint.radius, 1.3, at)))
        joint.area = SCREWS * math.pi * 1.3**2
        return joint


def _span(one: float, other: float) -> tuple[float, float]:
    return min(one, other), max(one, other)
