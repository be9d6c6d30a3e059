"""Parts as solids: half-sections turned about the axis, teeth, pins, joints, holes and windows.

The axis is z, places along it are those of the half-section; angles are those of the front view. Needs the library
manifold3d, whose results are closed surfaces by construction.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from gearkit.draw.cutaway.sizes import Rect
from gearkit.draw.cutaway.solid_train import Planet, Wheel
from gearkit.make.involute import ToothedWheel
from gearkit.make.whole.half_section.elements import (
    BITE,
    BRIDGE,
    DEEPEST,
    FREE,
    HALF_WINDOW,
    KEY,
    POST,
    THREAD,
    Lock,
    NotPrintableError,
)
from gearkit.make.whole.half_section.joints import Joint
from gearkit.make.whole.half_section.room import SAME, Span, joined
from gearkit.make.whole.half_section.split import Part, Slope, Split
from gearkit.words.errors import GearkitError

EXTRA = "bench"
# Solids of revolution have so many sides: at 90 mm radius the chord lies 0.03 mm inside the circle.
SIDES = 128
# Gears reach so far into the rim that bears them, so that both are one solid.
_INTO = 0.3
Solid = Any


def engine() -> Any:
    """Return the library for solids.

    Raises:
        GearkitError: it is not installed.
    """
    try:
        import manifold3d
    except ImportError:
        raise GearkitError(
            f"A whole train to print needs the package manifold3d, which is not installed. Install it with: pip install 'gearkit[{EXTRA}]'"
        ) from None
    return manifold3d


@dataclass
class Made:
    """One part as a solid, in its place in the train.

    Args:
        name: of its files.
        words: what it is.
        body: the shaft that it turns with, 0 for the casing, -1 for a loose sleeve.
        solid: in place; of several one of them.
        up: +1 printed with its left end down, -1 with its right end down.
        count: how many are printed.
        alike: of loose keys: all of them, in place.
        before: number of the part before which they are put in; -1 for what has a place of its own.
    """

    name: str
    words: str
    body: int
    solid: Solid
    up: int
    count: int = 1
    alike: list[Solid] = field(default_factory=list)
    before: int = -1


class Workshop:
    """Makes solids.

    Args:
        split: the parts.
        locks: the screws.
        joints: how parts of one body hold together.
        sides: of solids of revolution.
    """

    def __init__(self, split: Split, locks: list[Lock], joints: list[Joint], sides: int = SIDES) -> None:
        self.split, self.locks, self.joints, self.sides = split, locks, joints, sides
        self.flank = (6, 2) if sides >= SIDES else (3, 1)
        self.train, self.lib = split.stock.train, engine()
        self.gap = self.train.sizes.gap

    def parts(self) -> list[Solid]:
        """Return the solid of every part, in the order of the split."""
        solids = [self._blank(part) for part in self.split.parts]
        for number, part in enumerate(self.split.parts):
            solids[number] = self._pins(part, solids[number])
        for joint in self.joints:
            for number, more in joint.added:
                solids[number] += self.block(more)
            for number, less in joint.cut:
                solids[number] -= self.block(less)
            for number, (x0, x1, radius, size, at) in joint.bores:
                solids[number] -= self.rod(x0, x1, radius, size, at)
        for lock in self.locks:
            self._lock(lock, solids)
        return solids

    def rod(self, x0: float, x1: float, radius: float, size: float, at: float) -> Solid:
        """Return a round rod along the axis.

        Args:
            x0: where it begins, mm.
            x1: where it ends.
            radius: at which its middle lies.
            size: its own radius.
            at: its angle, radians.
        """
        rod = self.lib.Manifold.cylinder(x1 - x0, size, size, 32)
        return rod.translate((radius * math.cos(at), radius * math.sin(at), x0))

    def radial(self, x: float, r0: float, r1: float, size: float, at: float) -> Solid:
        """Return a hole across the axis, pointed along it on both sides so that it prints without supports.

        Args:
            x: its place along the axis, mm.
            r0: from which radius it goes.
            r1: to which.
            size: its own radius.
            at: its angle, radians.
        """
        section = self.lib.CrossSection.circle(size, 24)
        tip = size * math.sqrt(2)
        half = size / math.sqrt(2)
        roof = [(tip, 0.0), (half, half), (-half, half), (-tip, 0.0), (-half, -half), (half, -half)]
        section += self.lib.CrossSection([roof])
        hole = self.lib.Manifold.extrude(section, r1 - r0)
        return hole.rotate((0.0, 90.0, 0.0)).translate((r0, 0.0, x)).rotate((0.0, 0.0, math.degrees(at)))

    def block(self, block: tuple[Rect, float, float]) -> Solid:
        """Return a piece of a ring: its rectangle, the angle of its middle and its width in radians."""
        (x0, x1, r0, r1), at, width = block
        steps = max(2, math.ceil(width / (2 * math.pi / self.sides)) + 1)
        angles = [at - width / 2 + width * step / (steps - 1) for step in range(steps)]
        outer = [(r1 * math.cos(a), r1 * math.sin(a)) for a in angles]
        inner = [(r0 * math.cos(a), r0 * math.sin(a)) for a in reversed(angles)]
        return self.lib.Manifold.extrude(self.lib.CrossSection([outer + inner]), x1 - x0).translate((0.0, 0.0, x0))

    def tooth_section(self, wheel: Wheel | Planet) -> Any:
        """Return the outline of a gear's teeth, turned as it stands at rest."""
        internal = getattr(wheel, "internal", False)
        play = max(0.12 * wheel.module, 0.6 * self.gap)
        outline = ToothedWheel(wheel.teeth, wheel.module, internal, thinning=play / 2).outline(*self.flank)
        return self.lib.CrossSection([outline]).rotate(math.degrees(wheel.angle))

    def planet(self, planet: Planet) -> Solid:
        """Return a planet at rest in its place."""
        pin = self.train.sizes.pin
        section = self.tooth_section(planet) - self.lib.CrossSection.circle(pin + self.gap, 48)
        solid = self.lib.Manifold.extrude(section, planet.x[1] - planet.x[0])
        return solid.translate((planet.radius * math.cos(planet.at), planet.radius * math.sin(planet.at), planet.x[0]))

    def _blank(self, part: Part) -> Solid:
        pieces = [self.split.stock.pieces[number] for number in sorted(part.pieces)]
        rects = [piece.bears for piece in pieces if piece.kind != "pins"] + list(part.fills)
        solid = self.lib.Manifold()
        if rects:
            solid = self._turned(rects, part.slopes)
        for piece in pieces:
            if piece.wheel is not None:
                solid += self._teeth(piece.wheel, piece.bears)
        return solid

    def _turned(self, rects: Iterable[Rect], slopes: Iterable[Slope]) -> Solid:
        section = self.lib.CrossSection()
        for x0, x1, r0, r1 in rects:
            section += self.lib.CrossSection.square((r1 - r0, x1 - x0)).translate((r0, x0))
        for slope in slopes:
            x0, x1, r0, r1 = slope.rect
            foot = x0 if abs(slope.top - x1) < SAME else x1
            corners = [(slope.wide, foot), (r0, slope.top), (r1, slope.top)]
            if _area(corners) < 0:
                corners.reverse()
            section += self.lib.CrossSection([corners])
        # Closes the hairlines between rectangles that touch.
        section = section.offset(0.01, self.lib.JoinType.Miter).offset(-0.01, self.lib.JoinType.Miter).simplify(0.003)
        return self.lib.Manifold.revolve(section, self.sides)

    def _teeth(self, wheel: Wheel, bears: Rect) -> Solid:
        section = self.tooth_section(wheel)
        if wheel.internal:
            section = self.lib.CrossSection.circle(bears[2] + _INTO, self.sides) - section
        else:
            section = section - self.lib.CrossSection.circle(bears[3] - _INTO, self.sides)
        return self.lib.Manifold.extrude(section, bears[1] - bears[0]).translate((0.0, 0.0, bears[0]))

    def _pins(self, part: Part, solid: Solid) -> Solid:
        pieces = [self.split.stock.pieces[index] for index in part.pieces]
        body = pieces[0].body
        own = {(piece.seat, piece.rect) for piece in pieces if piece.kind == "pins"}
        for pin in self.train.pins:
            if pin.carrier != body:
                continue
            if (pin.seat, pin.band) in own:
                solid += self.rod(*pin.x, pin.radius, pin.size, pin.at)
            elif any(_holds(piece.rect, pin.band) for piece in pieces):
                solid -= self.rod(pin.x[0] - 0.5, pin.x[1] + 0.5, pin.radius, pin.size + self.gap / 3, pin.at)
        return solid

    def _lock(self, lock: Lock, solids: list[Solid]) -> None:
        """Cut the hub's ring of holes, the drum's threads and everything through which a key has to get."""
        pack, top = lock.pack, self.train.outside
        for number, part in enumerate(self.split.parts):
            body, spans = self.spans_at(part, lock.x)
            if body == pack.below and any(
                a <= lock.hub - 2.2 and b >= lock.hub - SAME and b < lock.drum[0] + SAME for a, b in spans
            ):
                for hole in range(lock.holes):
                    at = lock.at + 2 * math.pi * hole / lock.holes
                    solids[number] -= self.radial(lock.x, lock.hub - BITE - 0.4, lock.hub + 0.2, FREE, at)
            above = [(max(a, lock.drum[0]), b) for a, b in spans if b > lock.drum[0] + SAME]
            if not above:
                continue
            if body == pack.above:
                solids[number] = self._through_drum(lock, body, above, solids[number])
            elif body == 0:
                solids[number] -= self.radial(lock.x, above[0][0] - 1, top + 1, KEY, lock.at)
            else:
                solids[number] -= self._windows(lock, number, above)

    def threaded(self, part: Part) -> list[Lock]:
        """Return the elements whose screw sits in a part that turns, so that it has to be in before the part is covered.

        Args:
            part: of the split.
        """
        sits = []
        for lock in self.locks:
            body, spans = self.spans_at(part, lock.x)
            if body == lock.pack.above != 0 and any(a < lock.drum[0] + SAME < b for a, b in spans):
                sits.append(lock)
        return sits

    def _through_drum(self, lock: Lock, body: int, above: list[Span], solid: Solid) -> Solid:
        """A thread where the screw sits, a wider way above it; in a turning drum a second thread stands opposite."""
        for at in [lock.at] if body == 0 else [lock.at, lock.at + math.pi]:
            for low, high in above:
                turn = min(high, low + DEEPEST) if abs(low - lock.drum[0]) < SAME else low
                past = 1.0 if body == 0 else 0.5
                if turn > low:
                    solid -= self.radial(lock.x, low - 0.5, turn + past, THREAD, at)
                if turn < high:
                    solid -= self.radial(lock.x, turn - 0.5 * (turn == low), high + past, KEY, at)
        return solid

    def _windows(self, lock: Lock, number: int, above: list[Span]) -> Solid:
        """A ring of windows, each short enough to be bridged; none where another screw has its thread or its holes."""
        mine = self.split.stock.pieces[next(iter(self.split.parts[number].pieces))].body
        same = [other for other in self.locks if other is not lock and abs(other.x - lock.x) < SAME]
        cut = self.lib.Manifold()
        for low, high in above:
            rings = [other for other in same if other.pack.below == mine and low < other.hub < high + SAME]
            if rings:
                # That element's ring of holes goes all the way through, and the key through it.
                for hole in range(rings[0].holes):
                    at = rings[0].at + 2 * math.pi * hole / rings[0].holes
                    cut += self.radial(lock.x, low - 0.5, high + 0.5, FREE, at)
                continue
            threads = [
                t for o in same if o.pack.above == mine and low < o.drum[1] < high + SAME for t in (o.at, o.at + math.pi)
            ]
            count = max(3, int(2 * math.pi * low / (BRIDGE * low / high + POST)) // 6 * 6)
            for place in range(count):
                at = lock.at + 2 * math.pi * place / count
                width = BRIDGE / high
                if all(abs(math.remainder(at - thread, 2 * math.pi)) * high > BRIDGE / 2 + 3 for thread in threads):
                    rect = (lock.x - HALF_WINDOW, lock.x + HALF_WINDOW, low - 0.5, high + 0.5)
                    cut += self.block((rect, at, width))
        return cut

    def spans_at(self, part: Part, x: float) -> tuple[int, list[Span]]:
        """Return a part's body and the radii that it fills at a place along the axis, teeth and pins left out.

        Args:
            part: the part.
            x: the place, mm.
        """
        pieces = [self.split.stock.pieces[number] for number in sorted(part.pieces)]
        rects = [p.rect for p in pieces if p.kind != "pins"] + list(part.fills) + [s.rect for s in part.slopes]
        return pieces[0].body, joined((r[2], r[3]) for r in rects if r[0] - SAME <= x <= r[1] + SAME)


def _holds(plate: Rect, pin: Rect) -> bool:
    return plate[0] < pin[1] and plate[1] > pin[0] and plate[2] < pin[3] and plate[3] > pin[2]


def _area(corners: list[tuple[float, float]]) -> float:
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(corners, [*corners[1:], corners[0]], strict=True))


def checked(solid: Solid, words: str) -> Solid:
    """Return a solid that is one closed piece.

    Args:
        solid: a part.
        words: what it is.

    Raises:
        NotPrintableError: it is empty or falls into pieces.
    """
    whole = [piece for piece in solid.decompose() if piece.volume() > 0.05]
    if len(whole) != 1:
        raise NotPrintableError(
            f"The part for {words} would {f'fall into {len(whole)} pieces' if whole else 'be cut away altogether'}.",
            "print one set alone (gearkit bench LAYOUT SET)",
            elsewhere=True,
        )
    return whole[0]
