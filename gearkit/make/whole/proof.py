"""The checks of a whole train, each with its figure; nothing is written while one of them fails."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from gearkit.draw.cutaway.sizes import Rect
from gearkit.draw.cutaway.solid_train import Planet, Wheel
from gearkit.make.whole.checks import NOTHING, SLIDES, hanging, shared_room, slide_hits
from gearkit.make.whole.files import closed, triangles
from gearkit.make.whole.half_section.elements import Lock
from gearkit.make.whole.half_section.room import shared
from gearkit.make.whole.handles import gauge, place_of
from gearkit.make.whole.model import Whole
from gearkit.make.whole.solids import Solid
from gearkit.solve.speeds import speeds
from gearkit.text.phrases import set_words

_SCREW, _HEX = 1.5, 1.0
_MESH_STEPS = 12
# A body may travel along the axis no farther than this, mm.
MOST_PLAY = 4.0
# What a hand brings on a crank, N·m (common practice, no source).
HAND = 1.0
_FREE = 1000.0


_OTHERWISE = "print one set alone (gearkit bench LAYOUT SET)"
_ANOTHER = "one element less, or print one set alone (gearkit bench LAYOUT SET)"
_TEETH = "other tooth counts (gearkit teeth)"
_WIDER = "more clearance (--clearance)"


@dataclass(frozen=True)
class Check:
    """One check.

    Args:
        what: what was looked at, in a sentence with its figure.
        passed: whether it is as it must be.
        change: where it is not: the nearest change of the layout or of how it is made.
    """

    what: str
    passed: bool
    change: str = _OTHERWISE


def proof(whole: Whole, *, turns: int = 3, slides: tuple[float, ...] = SLIDES) -> list[Check]:
    """Return all checks of a train.

    Args:
        whole: the train.
        turns: positions of the input that are tried in every range.
        slides: distances at which a part is tried on its way in, mm.
    """
    prover = _Prover(whole)
    return [
        prover.surfaces(),
        prover.bed(),
        prover.supports(),
        prover.rest(),
        prover.mesh(),
        prover.cycle(turns),
        prover.insertion(slides),
        *prover.elements(),
        prover.joints(),
        prover.end_play(),
    ]


class _Prover:
    def __init__(self, whole: Whole) -> None:
        self.whole, self.lib, self.shop = whole, whole.workshop.lib, whole.workshop

    def surfaces(self) -> Check:
        """Whether every part is a closed surface once it is written in the precision of the files."""
        open_ = [made.name for made in self.whole.made if not closed(*triangles(made.solid))]
        return _told(
            f"{len(self.whole.made)} kinds of parts are closed surfaces", "these are no closed surfaces", open_, _ANOTHER
        )

    def bed(self) -> Check:
        """Whether every part fits the printer."""
        bed = self.whole.printer.bed
        large = []
        for made in self.whole.made:
            box = made.solid.bounding_box()
            if max(box[k + 3] - box[k] for k in range(3)) > bed:
                large.append(made.name)
        return _told(
            f"every part fits a bed and height of {bed:g} mm", "too large for the printer", large, "a larger printer (--bed)"
        )

    def supports(self) -> Check:
        """Whether every part prints without supports."""
        rows = [(made.name, hanging(self.lib, made.solid, made.up)) for made in [*gauge(self.shop), *self.whole.made]]
        return _told(
            "no part needs supports",
            "these need supports",
            [f"{name} {area:.0f} mm²" for name, area in rows if area > 0],
            _ANOTHER,
        )

    def rest(self) -> Check:
        """Whether nothing shares room at rest."""
        placed = self._placed({}, 0.0, ())
        pairs, clashes = _clashes(placed, alike=True)
        return _told(f"{pairs} pairs of parts share no room at rest", "in each other's way at rest", clashes, _ANOTHER)

    def mesh(self) -> Check:
        """Whether no teeth overlap while they roll through one pitch."""
        count, worst = 0, 0.0
        for wheel, planet in self._meshes():
            for step in range(_MESH_STEPS):
                worst = max(worst, mesh_overlap(self.whole, wheel, planet, step / _MESH_STEPS))
                count += 1
        return Check(f"teeth overlap by {worst:.3f} mm² at most in {count} positions of their mesh", worst < 0.002, _TEETH)

    def _meshes(self) -> Iterator[tuple[Wheel, Planet]]:
        train = self.whole.train
        for wheel in train.wheels:
            for planet in train.planets:
                reach = planet.radius + planet.module * planet.teeth / 2 * (1 if wheel.internal else -1)
                if planet.set == wheel.set and abs(reach - wheel.pitch_radius) < 0.3 * planet.module:
                    yield wheel, planet

    def cycle(self, turns: int) -> Check:
        """Whether nothing shares room while the train turns in each of its ranges, screws set as the range asks."""
        layout, clashes_, pairs, tried, ranges = self.whole.layout, list[str](), 0, 0, 0
        for item in layout.ranges:
            state = speeds(layout, item.engaged, 1)
            of = {body: state.of(names[0]) for body, names in enumerate(layout.shafts) if body}
            turning = {body: float(speed) for body, speed in of.items() if speed is not None}
            if len(turning) < len(of):
                # Nothing fixes one of its shafts, as in neutral: what it does there is not known.
                continue
            ranges += 1
            for step in range(1, turns + 1):
                # Turns that no tooth count divides.
                angle = 2 * math.pi * step * 0.38196601125
                count, clashes = _clashes(self._placed(turning, angle, item.engaged), alike=False)
                pairs, tried = pairs + count, tried + 1
                clashes_ += [f"range {item.name}: {clash}" for clash in clashes]
        return _told(
            f"{pairs} pairs share no room in {tried} positions of {ranges} ranges",
            "in each other's way while it turns",
            clashes_,
            _WIDER,
        )

    def _placed(self, turning: dict[int, float], angle: float, engaged: tuple[str, ...]) -> list[tuple[str, int, Solid]]:
        """Everything turned on: name, the body that it turns with (-2 and below for what turns by itself), solid."""
        whole = self.whole
        placed = []
        for made in [*whole.parts, *whole.extras]:
            solids = made.alike or [made.solid]
            turn = math.degrees(turning.get(made.body, 0.0) * angle)
            placed += [
                (f"{made.name} ({made.words})", made.body if made.body >= 0 else -2, solid.rotate((0.0, 0.0, turn)))
                for solid in solids
            ]
        for number, planet in enumerate(whole.train.planets):
            carrier, sun = turning.get(planet.carrier, 0.0) * angle, turning.get(planet.sun, 0.0) * angle
            placed.append(
                (f"planet of {set_words(whole.layout.sets[planet.set].name)}", -3 - number, self._planet(planet, carrier, sun))
            )
        for lock in whole.locks:
            name = whole.layout.elements[lock.pack.element].name
            turn = math.degrees(turning.get(lock.pack.above, 0.0) * angle)
            solid = self._screw(lock, applied=name in engaged).rotate((0.0, 0.0, turn))
            placed.append((f"screw of {name}", lock.pack.above, solid))
        return placed

    def _planet(self, planet: Planet, carrier: float, sun: float) -> Solid:
        section = self.shop.tooth_section(planet) - self.lib.CrossSection.circle(self.whole.train.sizes.pin + self.shop.gap, 48)
        solid = self.lib.Manifold.extrude(section, planet.x[1] - planet.x[0])
        own = math.degrees(float(planet.spin) * (sun - carrier))
        at = (planet.radius * math.cos(planet.at), planet.radius * math.sin(planet.at), planet.x[0])
        return solid.rotate((0.0, 0.0, own)).translate(at).rotate((0.0, 0.0, math.degrees(carrier)))

    def _screw(self, lock: Lock, *, applied: bool) -> Solid:
        tip = lock.tip if applied else lock.released
        return self._radial(lock.x, tip, tip + lock.length, _SCREW, lock.at)

    def _radial(self, x: float, r0: float, r1: float, size: float, at: float) -> Solid:
        rod = self.lib.Manifold.cylinder(r1 - r0, size, size, 24).rotate((0.0, 90.0, 0.0))
        return rod.translate((r0, 0.0, x)).rotate((0.0, 0.0, math.degrees(at)))

    def insertion(self, slides: tuple[float, ...]) -> Check:
        """Whether every part comes into its place from the right in the order that is told."""
        hits = slide_hits([(name, solids) for _, name, solids in self.whole.steps], slides)
        return _told(
            f"{len(self.whole.steps)} steps of assembly, each tried at {len(slides)} distances, meet nothing on their way",
            "in the way when it is put together",
            [f"{name} meets {before} at {far:g} mm" for name, before, far in hits],
            _ANOTHER,
        )

    def elements(self) -> Iterator[Check]:
        """Whether each element's screw can be reached, goes in freely and then holds."""
        placed = self._placed({}, 0.0, ())
        for lock in self.whole.locks:
            name = self.whole.layout.elements[lock.pack.element].name
            start = lock.released + lock.length
            way = self._radial(lock.x, start + 0.1, self.whole.train.outside + 5, _HEX, lock.at)
            blocked = sum(shared_room(way, solid) for name_, _, solid in placed if not name_.startswith("screw"))
            screw = self._screw(lock, applied=True)
            hub = [part.solid for part in self.whole.parts if part.body == lock.pack.below]
            loose = sum(shared_room(screw, solid) for solid in hub)
            held = sum(shared_room(screw, solid.rotate((0.0, 0.0, lock.step / 2))) for solid in hub)
            good = blocked < NOTHING and loose < NOTHING and held > 1.0
            told = f"element {name}: its key meets {max(blocked, 0.0):.2f} mm³ on its way, its screw {loose:.2f} mm³ in the hub"
            turned = f"a hub turned by half a hole would cut {held:.1f} mm³ of it"
            yield Check(
                f"{told}; {turned}, so it locks" if good else f"{told}, {turned}; so it cannot be locked from outside",
                good,
                _ANOTHER,
            )

    def joints(self) -> Check:
        """Whether every joint carries what a hand brings."""
        weak = [f"parts {j.first + 1} and {j.second + 1} {j.torque:.1f} N·m" for j in self.whole.joints if j.torque < HAND]
        least = min((joint.torque for joint in self.whole.joints), default=math.inf)
        return _told(
            f"{len(self.whole.joints)} joints carry {least:.1f} N·m or more",
            "joints too weak for a hand",
            weak,
            "a larger printer (--bed), so that everything gets larger",
        )

    def end_play(self) -> Check:
        """Whether no body can slide along the axis farther than planned."""
        plays = {body: sum(play) for body, play in end_plays(self.whole).items()}
        names = self.whole.layout.shafts
        loose = [
            f"the shaft of {names[body][0]} {'can slide out' if play >= _FREE else f'can slide by {play:.1f} mm'}"
            for body, play in plays.items()
            if play > MOST_PLAY
        ]
        most = max(play for body, play in plays.items() if play < _FREE)
        return _told(
            f"{len(plays) - len(loose)} shafts have at most {min(most, MOST_PLAY):.1f} mm of end play",
            "too loose along the axis",
            loose,
            _ANOTHER,
        )


def mesh_overlap(whole: Whole, wheel: Wheel, planet: Planet, pitch: float, off: float = 0.0) -> float:
    """Return by how much the teeth of a wheel and a planet overlap in the plane, mm².

    Args:
        whole: the train.
        wheel: a sun or a ring.
        planet: a planet that meshes with it.
        pitch: how far both have rolled on, in teeth.
        off: how far the wheel is turned out of its place, in teeth.
    """
    shop = whole.workshop
    lib = shop.lib
    way = 1 if wheel.internal else -1
    gear = shop.tooth_section(planet).rotate(way * 360 * pitch / planet.teeth)
    gear = gear.translate((planet.radius * math.cos(planet.at), planet.radius * math.sin(planet.at)))
    section = shop.tooth_section(wheel)
    if wheel.internal:
        section = lib.CrossSection.circle(wheel.rim, 96) - section
    return float((section.rotate(360 * (pitch + off) / wheel.teeth) ^ gear).area())


def end_plays(whole: Whole) -> dict[int, tuple[float, float]]:
    """Return for every shaft how far it can slide to the left and to the right, mm."""
    split = whole.split
    rects: dict[int, list[Rect]] = {}
    for part in split.parts:
        pieces = [split.stock.pieces[number] for number in part.pieces]
        rects.setdefault(pieces[0].body, []).extend([*(p.rect for p in pieces if p.kind != "pins"), *part.fills])
    for name, (body, _, _) in whole.train.ends.items():
        rects[body].append(place_of(whole, name))
    plays = {}
    for body, own in rects.items():
        if body > 0:
            others = [rect for beside, more in rects.items() if beside != body for rect in more]
            plays[body] = (_travel(own, others, -1), _travel(own, others, 1))
    return plays


def _travel(own: list[Rect], others: list[Rect], side: int) -> float:
    far = _FREE
    for rect in own:
        for other in others:
            if min(rect[3], other[3]) - max(rect[2], other[2]) > 0.4 and not shared(rect, other):
                apart = other[0] - rect[1] if side > 0 else rect[0] - other[1]
                far = min(far, apart) if apart > -1e-3 else far
    return far


def _clashes(placed: list[tuple[str, int, Solid]], *, alike: bool) -> tuple[int, list[str]]:
    """Pairs looked at, and those that share room; parts of one body only where asked for, screws never in their own drum."""
    count, shared_pairs = 0, []
    for number, (name, group, solid) in enumerate(placed):
        for beside, other_group, other in placed[number + 1 :]:
            screws = name.startswith("screw") or beside.startswith("screw")
            if group == other_group and (screws or not alike):
                continue
            count += 1
            size = shared_room(solid, other)
            if size > NOTHING:
                shared_pairs.append(f"{name} and {beside} share {size:.2f} mm³")
    return count, shared_pairs


def _told(good: str, bad: str, faults: list[str], change: str) -> Check:
    return Check(good if not faults else f"{bad}: {'; '.join(faults[:4])}", not faults, change)
