"""A train as solid bodies: rectangles in the half-section, gears, planets, pins and packs; what overlaps, exactly.

Everything but teeth, pins and planets is a body of revolution whose half-section is a union of rectangles along the axis
and the radius. What turns round the axis is judged by the ring that it sweeps, so "nothing is in the way of anything" is a
test on rectangles alone. Lengths are in millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from gearkit.draw.core.wording import shaft_words
from gearkit.draw.cutaway.set_gears import BEVEL_DEPTH, ROOT, TIP
from gearkit.draw.cutaway.sizes import Rect, Sizes
from gearkit.train.layout import Layout
from gearkit.words.say import say
from gearkit.words.terms import HOUSING

# Two faces that touch do not overlap.
TOUCH = 1e-6


@dataclass(frozen=True)
class Wheel:
    """A sun, a ring or a side gear.

    Args:
        body: the shaft that it belongs to.
        set: number of its set.
        member: "sun" or "ring".
        teeth: tooth count.
        module: pitch diameter / teeth.
        internal: whether its teeth point inwards.
        x: its width along the axis.
        angle: of a tooth, of a tooth space of a ring; as in the front view.
        rim: the other radius of its solid part: bore of a sun, outside of a ring.
        cone: of a bevel gear: where its pitch cone ends on the axis, and the place of its large end; None for a spur gear.
    """

    body: int
    set: int
    member: str
    teeth: int
    module: float
    internal: bool
    x: tuple[float, float]
    angle: float
    rim: float
    cone: tuple[float, float] | None = None

    @property
    def pitch_radius(self) -> float:
        """Radius of its pitch circle."""
        return self.module * self.teeth / 2

    @property
    def band(self) -> Rect:
        """The ring that its teeth sweep."""
        pitch = self.pitch_radius
        if self.cone is not None:
            return (*self.x, BEVEL_DEPTH * pitch - TIP * self.module, pitch + TIP * self.module)
        root = pitch + (ROOT if self.internal else -ROOT) * self.module
        tip = pitch - (TIP if self.internal else -TIP) * self.module
        return (*self.x, min(root, tip), max(root, tip))


@dataclass(frozen=True)
class Planet:
    """A planet pinion on its pin.

    Args:
        carrier: body of its carrier.
        seat: number of its seat, from the left.
        set: the set whose sun sets its spin.
        sun: body of that sun.
        teeth: tooth count.
        module: pitch diameter / teeth.
        radius: of the circle of pins; of a bevel planet: of its large end.
        at: angle of the pin, as in the front view.
        angle: angle of one of its teeth.
        spin: turns about its pin for one turn of the sun, both seen from the carrier.
        x: its width along the axis; of a bevel planet: its large end.
        bevel: whether its pin stands across the axis.
    """

    carrier: int
    seat: int
    set: int
    sun: int
    teeth: int
    module: float
    radius: float
    at: float
    angle: float
    spin: Fraction
    x: tuple[float, float]
    bevel: bool = False

    @property
    def tip_radius(self) -> float:
        """Radius over its teeth."""
        return self.module * (self.teeth / 2 + TIP)

    @property
    def band(self) -> Rect:
        """The ring that it sweeps."""
        if self.bevel:
            return (*self.x, BEVEL_DEPTH * self.radius, self.radius + TIP * self.module)
        return (*self.x, self.radius - self.tip_radius, self.radius + self.tip_radius)


@dataclass(frozen=True)
class Pin:
    """A pin on a carrier, along the axis or (for a bevel set) across it.

    Args:
        carrier: body that it belongs to.
        seat: number of its seat.
        radius: of the circle of pins; of a pin across the axis: its outer end.
        at: angle, as in the front view.
        size: its own radius.
        x: from where to where it goes along the axis.
        inner: for a pin across the axis: its inner end; None else.
    """

    carrier: int
    seat: int
    radius: float
    at: float
    size: float
    x: tuple[float, float]
    inner: float | None = None

    @property
    def band(self) -> Rect:
        """The ring that it sweeps."""
        if self.inner is not None:
            return (*self.x, self.inner, self.radius)
        return (*self.x, self.radius - self.size, self.radius + self.size)


@dataclass(frozen=True)
class Pack:
    """A clutch, a brake or a one-way clutch between two bodies.

    Args:
        element: its number in the layout.
        below: body with its hub.
        above: body with its drum; 0 for the casing.
        x: along the axis.
        r: inside of the hub, outside of the drum.
        inner: plates on the hub.
        outer: plates in the drum.
    """

    element: int
    below: int
    above: int
    x: tuple[float, float]
    r: tuple[float, float]
    inner: tuple[Rect, ...]
    outer: tuple[Rect, ...]


@dataclass
class Train:
    """A layout as solid bodies; bodies are numbered as ``layout.shafts``, 0 is the casing.

    Args:
        layout: the layout.
        sizes: the lengths that it was built with.
        bodies: rectangles of each body's half-section.
        wheels: suns, rings and side gears.
        planets: pinions.
        pins: of the carriers.
        packs: clutches and brakes.
        ring: outside radius of the rings.
        outside: radius of the casing.
        length: first and last place along the axis, stubs of the shafts included.
        case: first and last place of the casing.
        middles: for every seat, from the left, the middle of its gears along the axis.
        ends: body, place along the axis and radius of "input" and "output".
        columns: for every column of the placement that is used: its width along the axis.
        rows: for every lane row that is used: inside and outside radius.
        notes: what had to be assumed or left out, in sentences.
    """

    layout: Layout
    sizes: Sizes
    bodies: dict[int, list[Rect]]
    wheels: list[Wheel] = field(default_factory=list)
    planets: list[Planet] = field(default_factory=list)
    pins: list[Pin] = field(default_factory=list)
    packs: list[Pack] = field(default_factory=list)
    ring: float = 0.0
    outside: float = 0.0
    length: tuple[float, float] = (0.0, 0.0)
    case: tuple[float, float] = (0.0, 0.0)
    middles: list[float] = field(default_factory=list)
    ends: dict[str, tuple[int, float, float]] = field(default_factory=dict)
    columns: dict[int, tuple[float, float]] = field(default_factory=dict)
    rows: dict[int, tuple[float, float]] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)

    def add(self, body: int, x0: float, x1: float, r0: float, r1: float) -> None:
        """Add a rectangle to a body; one without width or height adds nothing.

        Args:
            body: its number.
            x0: where it begins along the axis.
            x1: where it ends.
            r0: its inside.
            r1: its outside.
        """
        rect = (round(x0, 3), round(x1, 3), round(r0, 3), round(r1, 3))
        if rect[1] - rect[0] > TOUCH and rect[3] - rect[2] > TOUCH and rect not in self.bodies[body]:
            self.bodies[body].append(rect)


@dataclass(frozen=True)
class Overlap:
    """Two parts that are in each other's way.

    Args:
        first: what the one is, in words.
        second: what the other is.
        where: the rectangle that both take.
    """

    first: str
    second: str
    where: Rect


def overlaps(train: Train) -> list[Overlap]:
    """Return every pair of parts that do not turn together and share room in the half-section.

    Gears that mesh are left out here: whether their teeth fit is a question for their outlines.
    """
    pairs = []
    parts = list(_parts(train))
    for number, (name, keys, rect) in enumerate(parts):
        for other_name, other_keys, other in parts[number + 1 :]:
            if keys & other_keys:
                continue
            where = (max(rect[0], other[0]), min(rect[1], other[1]), max(rect[2], other[2]), min(rect[3], other[3]))
            if where[1] - where[0] > TOUCH and where[3] - where[2] > TOUCH:
                pairs.append(Overlap(name, other_name, where))
    return pairs


def clearance(train: Train) -> float:
    """Return the least distance between the half-sections of two bodies."""
    rects = [(body, rect) for body, own in train.bodies.items() for rect in own]
    return min(
        (
            _apart(rect, other)
            for number, (body, rect) in enumerate(rects)
            for beside, other in rects[number + 1 :]
            if body != beside
        ),
        default=math.inf,
    )


def pieces(train: Train, body: int) -> int:
    """Return into how many loose pieces a body's half-section falls; pins and gear rims count as parts of it.

    Args:
        train: the solid bodies.
        body: number of the body.
    """
    rects = list(train.bodies[body])
    rects += [pin.band for pin in train.pins if pin.carrier == body]
    rects += [wheel.band for wheel in train.wheels if wheel.body == body]
    left, count = set(range(len(rects))), 0
    while left:
        count += 1
        todo = [left.pop()]
        while todo:
            rect = rects[todo.pop()]
            near = [number for number in left if _apart(rect, rects[number]) < 1e-3]
            left.difference_update(near)
            todo += near
    return count


def _apart(one: Rect, other: Rect) -> float:
    along = max(one[0], other[0]) - min(one[1], other[1])
    out = max(one[2], other[2]) - min(one[3], other[3])
    return math.hypot(max(along, 0.0), max(out, 0.0))


def _parts(train: Train) -> Iterator[tuple[str, set[object], Rect]]:
    """Every part as (its name, keys, its rectangle); two parts with a key in common may share room."""
    shaft = [
        say("the shaft of {shaft}", shaft=shaft_words(names)) if HOUSING not in names else say("the casing")
        for names in train.layout.shafts
    ]
    for body, rects in train.bodies.items():
        for rect in rects:
            yield shaft[body], {body}, rect
    for wheel in train.wheels:
        yield (
            say("teeth of {name} {member}", name=train.layout.sets[wheel.set].name, member=wheel.member),
            {wheel.body, ("mesh", wheel.set, wheel.member)},
            wheel.band,
        )
    for planet in train.planets:
        meshing: set[object] = {("seat", planet.seat)}
        meshing |= {("mesh", w.set, w.member) for w in train.wheels if w.set == planet.set and _meet(w, planet)}
        yield say("planet of {name}", name=train.layout.sets[planet.set].name), meshing, planet.band
    for pin in train.pins:
        yield (
            say("pin of {shaft}", shaft=shaft_words(train.layout.shafts[pin.carrier])),
            {pin.carrier, ("seat", pin.seat)},
            pin.band,
        )
    for pack in train.packs:
        name = train.layout.elements[pack.element].name
        for body, plates in ((pack.below, pack.inner), (pack.above, pack.outer)):
            for rect in plates:
                yield say("plates of {name}", name=name), {body}, rect


def _meet(wheel: Wheel, planet: Planet) -> bool:
    """Whether a planet's pitch circle touches the wheel's, or both are cones; half a tooth is left to profile shift."""
    reach = planet.radius + planet.module * planet.teeth / 2 * (1 if wheel.internal else -1)
    return planet.bevel or abs(reach - wheel.pitch_radius) < 0.6 * planet.module
