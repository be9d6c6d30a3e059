"""The hatched half-section: the train cut along its axis, each shaft one solid body.

Section faces are hatched, each body in a way of its own; teeth, pins and plates are left plain, as on a shop drawing. With
elements applied their plates are black, what is held is hatched crosswise, the power path is edged heavily, and what carries
no load is left without tint and hatching.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from gearkit.draw.core.frame import (
    MARGIN,
    chip,
    chip_width,
    element_key,
    ground_strokes,
    heading,
    heading_width,
    key_width,
)
from gearkit.draw.core.measure import text_width
from gearkit.draw.core.shaft_code import shaft_codes
from gearkit.draw.core.state import DriveState, state_of
from gearkit.draw.core.svg import Look, Picture, Point, Text
from gearkit.draw.cutaway import section_marks as marks
from gearkit.draw.cutaway.build import solid_train
from gearkit.draw.cutaway.section_marks import BODY_EDGE, Filling
from gearkit.draw.cutaway.section_words import describe
from gearkit.draw.cutaway.solid_placement import SolidPlacement, solid_placement
from gearkit.draw.cutaway.solid_train import Planet, Train
from gearkit.draw.stick.placement import Placement, placed
from gearkit.draw.stick.stick_cards import card_height, card_width, draw_card
from gearkit.draw.stick.stick_geometry import CARD_TYPE
from gearkit.text.phrases import member_label
from gearkit.train.layout import Layout
from gearkit.words.say import later, say

SUBTITLE = later("Cut along the axis, seen above it; every hatching is one shaft.")
WIDEST, MOST = 820.0, 4.6
_PITCHES = (7.0, 9.0, 5.5)
_CARD_GAP = 18.0


def picture(layout: Layout, engaged: Iterable[str] | None = None) -> Picture:
    """Return the hatched half-section of a layout.

    Args:
        layout: any layout.
        engaged: names of the engaged elements, to show what they do; None for the bare train.

    Raises:
        UsageError: the layout has no such element.
        NotSolidError: the bodies would have to pass through each other.
    """
    state = None if engaged is None else state_of(layout, engaged)
    solid = solid_placement(layout)
    return _Section(layout, state, solid, solid_train(layout, solid=solid)).picture()


def stick_placement(layout: Layout, solid: SolidPlacement) -> Placement:
    """Return the placement of the stick diagram that belongs beside a solid train: the same places where it can draw them.

    Args:
        layout: the layout.
        solid: where the solid parts go.
    """
    return placed(layout) if len(solid.placement.nets.elements) > solid.fixings else solid.placement


class _Section:
    def __init__(self, layout: Layout, state: DriveState | None, solid: SolidPlacement, train: Train) -> None:
        self.layout, self.state, self.solid, self.train = layout, state, solid, train
        self.codes = shaft_codes(layout)
        self.scale = min(MOST, WIDEST / (train.length[1] - train.length[0]))
        self.cards = _spread(layout, state, train, self.scale)
        line = say(SUBTITLE) if state is None else f"{state.heading[:1].upper()}{state.heading[1:]}."
        text = describe(layout, solid.placement, state, train)
        self.drawn = Picture(title=say("Cutaway of {layout}", layout=layout.said_name), description=text, kind="cutaway")
        self.top = heading(self.drawn, layout.said_name, line) + 30
        # Cards may stand out to the left of the train.
        left = min(0.0, min(middle - wide / 2 for middle, wide in self.cards))
        right = max((train.length[1] - train.length[0]) * self.scale, max(middle + wide / 2 for middle, wide in self.cards))
        self.left = MARGIN + 46 - left
        self.width = max(right - left + 92, heading_width(layout.said_name, line), key_width(layout))

    def to(self, x: float, r: float) -> Point:
        """From millimetres to the page."""
        return self.left + (x - self.train.length[0]) * self.scale, self.top + (self.train.outside - r) * self.scale

    def filling(self, body: int) -> Filling:
        """How the cut face of a body is drawn."""
        slant, pitch = 1 - 2 * (body % 2), _PITCHES[body // 2 % len(_PITCHES)]
        if body == 0:
            return Filling("faint", 1, 6.0)
        code, state = self.codes[body], self.state
        # A second shaft of the same hue has a dashed edge, as its line has in the stick diagram.
        edge = replace(BODY_EDGE, dash=code.dash)
        if state is None:
            return Filling(code.role, slant, pitch, edge)
        if state.still(body):
            return Filling(code.role, 0, 6.0, edge)
        if state.idle(body):
            return Filling(None, slant, 0.0, Look(code.role, None, 1.0, (2, 3)))
        if state.power(body):
            return Filling(code.role, slant, pitch, Look(code.role, None, 2.8, code.dash))
        return Filling(code.role, slant, pitch, edge)

    def picture(self) -> Picture:
        """Draw everything."""
        drawn, train = self.drawn, self.train
        for body, rects in train.bodies.items():
            if rects:
                group = drawn.group({"shaft": str(body)})
                marks.area(group, self.to, rects, self.filling(body))
        self._gears(drawn)
        self._packs(drawn)
        start, end = self.to(train.length[0] - 3, 0.0), self.to(train.length[1] + 3, 0.0)
        drawn.line(start, end, Look("soft", None, 1.2, (14, 4, 3, 4)))
        self._labels(drawn)
        bottom = self._cards(drawn, start[1] + 26)
        bottom = self._line_key(drawn, bottom) if self.state is not None else bottom
        bottom = element_key(drawn, self.layout, self.state.engaged if self.state else (), MARGIN, bottom, self.width)
        drawn.width, drawn.height = self.width + 2 * MARGIN, bottom + MARGIN * 0.7
        return drawn

    def _gears(self, drawn: Picture) -> None:
        train = self.train
        for wheel in train.wheels:
            group = drawn.group({"teeth": f"{self.layout.sets[wheel.set].name}.{wheel.member}"})
            marks.wheel(group, self.to, wheel, self.filling(wheel.body))
        first = _one_of_each(train.planets)
        shown = {(round(planet.radius, 3), planet.seat) for planet in first}
        # The outer pinion of a pair lies behind: it is turned into the plane first.
        for planet in sorted(first, key=lambda each: -each.radius):
            group = drawn.group({"planet": self.layout.sets[planet.set].name})
            marks.planet(group, self.to, planet, self.filling(planet.carrier), train.sizes.pin)
        done: set[tuple[float, int]] = set()
        for pin in train.pins:
            key = (round(pin.radius, 3), pin.seat)
            if key in done or (pin.inner is None and key not in shown):
                continue
            if pin.inner is not None and any(seat == pin.seat for _, seat in done):
                continue
            done.add(key)
            marks.pin(drawn.group({"pin": str(pin.carrier)}), self.to, pin.band, across=pin.inner is not None)

    def _packs(self, drawn: Picture) -> None:
        for pack in self.train.packs:
            element = self.layout.elements[pack.element]
            engaged = self.state is not None and element.name in self.state.engaged
            group = drawn.group({"plates": element.name, "closed": "yes" if engaged else "no"})
            marks.plates(group, self.to, pack, engaged=engaged)
            middle = sum(pack.x) / 2
            x, y = self.to(middle, sum(pack.r) / 2)
            if pack.above == 0:
                # A brake's letter stands outside the casing, over its plates.
                y = self.to(middle, self.train.outside)[1] - 14
            chip(group, x - chip_width(element.name) / 2, y, element, engaged=engaged)

    def _labels(self, drawn: Picture) -> None:
        for name, (body, x, r) in self.train.ends.items():
            left = x < sum(self.train.length) / 2
            at, y = self.to(x, r)
            drawn.group({"end": name, "shaft": str(body)}).text(
                Text(at + (-8 if left else 8), y - 6, member_label(name), CARD_TYPE, "end" if left else "start", True)
            )
        x, y = self.to(self.train.case[1], self.train.outside)
        drawn.text(Text(x + 8, y + 12, say("housing"), CARD_TYPE))
        ground_strokes(drawn, x - 40, x, y, 6.0, upwards=True)

    def _cards(self, drawn: Picture, top: float) -> float:
        order = [number for sets in self.solid.placement.sets for number in sets]
        for number, (middle, _) in zip(order, self.cards, strict=True):
            x = self.left + middle
            group = drawn.group({"set": self.layout.sets[number].name})
            wheel = next(wheel for wheel in self.train.wheels if wheel.set == number and wheel.member == "sun")
            from_x = self.to(sum(wheel.x) / 2, 0.0)[0]
            group.line((from_x, top - 22), (x, top - 12), Look("soft", None, 0.9))
            draw_card(group, self.layout, self.state, self.layout.sets[number], x, top)
        return top + card_height(self.state) + 6

    def _line_key(self, drawn: Picture, top: float) -> float:
        assert self.state is not None
        rows = [
            (say("power path"), Filling("soft", 1, 7.0, Look("ink", None, 2.8)), self.state.power),
            (say("stands still"), Filling(None, 0, 6.0), self.state.still),
            (say("carries no load"), Filling(None, 1, 0.0, Look("ink", None, 1.0, (2, 3))), self.state.idle),
        ]
        x, group = MARGIN, drawn.group({"part": "lines"})
        for words, filling, has in rows:
            if not any(has(body) for body in range(1, len(self.layout.shafts))):
                continue
            marks.area(group, lambda a, b, left=x: (left + a, top + 17 - b), [(0.0, 34.0, 1.0, 17.0)], filling)  # type: ignore[misc]  # mypy cannot tell what a lambda with a default takes
            group.text(Text(x + 42, top + 12.5, words, CARD_TYPE))
            x += 42 + text_width(words, CARD_TYPE) + 24
        return top + 32


def _one_of_each(planets: list[Planet]) -> list[Planet]:
    kinds: dict[tuple[int, int, float, float], Planet] = {}
    for planet in planets:
        kinds.setdefault((planet.seat, planet.teeth, round(planet.radius, 3), planet.x[0]), planet)
    return list(kinds.values())


def _spread(layout: Layout, state: DriveState | None, train: Train, scale: float) -> list[tuple[float, float]]:
    """Middles and widths of the cards below the axis, each as near to its sun as the others let it."""
    width = card_width(layout, state) + _CARD_GAP
    suns = {wheel.set: sum(wheel.x) / 2 for wheel in train.wheels if wheel.member == "sun"}
    wanted = sorted((x - train.length[0]) * scale for x in suns.values())
    middles = list(wanted)
    for _ in range(200):
        moved = False
        for number in range(1, len(middles)):
            short = width - (middles[number] - middles[number - 1])
            if short > 0.01:
                middles[number - 1] -= short / 2
                middles[number] += short / 2
                moved = True
        if not moved:
            break
    return [(middle, width) for middle in middles]
