"""Stick diagram of a layout: half-section with sets, shafts, clutches, brakes and housing, placed automatically.

With elements applied, what happens is visible without colour: applied elements are closed blocks, the power path is
heavy, held shafts have cross strokes, shafts at input speed arrow heads, shafts without load are thin and dashed. The
card under each set says the same in figures.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from operator import itemgetter

from gearkit.draw.core.frame import (
    CHIP_HEIGHT,
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
from gearkit.draw.core.svg import Group, Look, Picture, Text
from gearkit.draw.power.power_path import Piece, pieces
from gearkit.draw.stick import stick_geometry, stick_symbols
from gearkit.draw.stick.placement import Placement, fitting
from gearkit.draw.stick.stick_cards import WALL_NAME, card_height, card_width, draw_card, wall_name, wall_name_width
from gearkit.draw.stick.stick_geometry import PLATE, SHORT, STEM, STEM_ASIDE, StickGeometry, measure
from gearkit.draw.stick.stick_hung import Hung, HungKind, driving_end, first_output, hung_on
from gearkit.draw.stick.stick_symbols import Line
from gearkit.draw.stick.stick_words import describe
from gearkit.text.phrases import member_label
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import later, say
from gearkit.words.terms import MEMBERS, PinionKind

POWER = Line("ink", 5.0)
HELD = Line("ink", 2.0, held=True)
IDLE = Line("ink", 1.4, (2, 3))
MOVING = Line("ink", 2.4)
WALL_CORNER = (8.0, 8.0)
SUBTITLE = later("Half-section above the axis; a dot joins lines, a half circle passes over.")


def picture(
    layout: Layout,
    engaged: Iterable[str] | None = None,
    placement: Placement | None = None,
    *,
    alone: bool = True,
    letters: float | None = None,
) -> Picture:
    """Return the stick diagram as a picture.

    Args:
        layout: any layout.
        engaged: names of the engaged elements, to show what they do; None for the bare diagram.
        placement: from `placement.place`; None for the one stored with the layout, or a new one.
        alone: False leaves heading and list of elements out, for a place where they stand beside the diagram.
        letters: for a wall, how many times as large as usual the letters are; heading, cards and keys are left out then,
            only the sets' names stay.

    Raises:
        UsageError: the layout has no such element.
    """
    state = None if engaged is None else state_of(layout, engaged)
    spot = fitting(layout, placement)
    if letters is not None:
        return for_wall(
            Picture(
                title=say("Stick diagram of {layout}", layout=layout.said_name),
                description=describe(layout, spot, state), kind="stick",
            ),
            Body(layout, state, measure(layout, spot, card_width=wall_name_width(layout, letters), letters=letters), WALL_CORNER),
        )  # fmt: skip
    place = measure(layout, spot, card_width=card_width(layout, state))
    line = say(SUBTITLE) if state is None else f"{state.heading[:1].upper()}{state.heading[1:]}."
    drawn = Picture(
        title=say("Stick diagram of {layout}", layout=layout.said_name), description=describe(layout, spot, state), kind="stick"
    )
    # Where no heading stands above it, the circle of a machine is what reaches highest.
    reach = max((stick_symbols.machine_reach(machine.name) for machine in layout.machines), default=0.0)
    bare = max(MARGIN * 0.5, reach - place.ys[spot.grid.housing])
    top = heading(drawn, layout.said_name, line) + 14 if alone else bare
    width = max(place.width, heading_width(layout.said_name, line), key_width(layout)) if alone else place.width
    body = Body(layout, state, place, (MARGIN, top))
    body.draw(drawn)
    bottom = top + place.height + card_height(state) + 16
    if state is not None:
        bottom = _line_key(drawn, body, bottom, MARGIN + width)
    if alone:
        bottom = element_key(drawn, layout, state.engaged if state else (), MARGIN, bottom, width)
    drawn.width, drawn.height = width + 2 * MARGIN, bottom + MARGIN * 0.7
    return drawn


def for_wall(drawn: Picture, body: Body) -> Picture:
    """Draw a half-section with nothing but the sets' names below it and return the picture.

    Args:
        drawn: the empty picture.
        body: the half-section, measured with its letters.
    """
    body.names_alone = True
    body.draw(drawn)
    drawn.width = body.place.width + 2 * WALL_CORNER[0]
    drawn.height = body.dy + body.place.axis + 8 + 1.5 * WALL_NAME * body.place.letters
    return drawn


class Body:
    """Draws the half-section at a place on the page; other pictures of a layout change its lines and cards.

    Args:
        layout: the layout.
        state: the applied elements; None for the bare diagram.
        place: where everything goes.
        corner: top left of the drawing on the page.
    """

    def __init__(self, layout: Layout, state: DriveState | None, place: StickGeometry, corner: tuple[float, float]) -> None:
        self.layout, self.state, self.place = layout, state, place
        self.dx, self.dy = corner
        self.codes = shaft_codes(layout)
        self.parts = pieces(place.placement, state)
        self.lines: dict[int, Line] = {}
        self.names_alone = False

    def line(self, net: int) -> Line:
        """How the lines of a shaft are drawn."""
        if net not in self.lines:
            self.lines[net] = self._line_by_state(net)
        return self.lines[net]

    def _line_by_state(self, net: int) -> Line:
        code = self.codes[max(net, 0)]
        moving = Line(code.role, MOVING.width, code.dash)
        if self.state is None or net <= 0:
            return moving
        arrows = self.state.at_input_speed(net)
        if self.state.still(net):
            return replace(moving, width=HELD.width, held=True)
        if self.state.idle(net):
            return replace(moving, width=IDLE.width, dash=IDLE.dash)
        return replace(moving, width=POWER.width if self.state.power(net) else MOVING.width, arrows=arrows)

    def draw(self, drawn: Picture) -> None:
        """Draw everything."""
        self._housing(drawn.group({"part": "housing"}))
        self._shafts(drawn)
        self._dots(drawn)
        self._sets(drawn)
        self._plates(drawn)
        self._ends(drawn)

    def x(self, column: int) -> float:
        """Return the x of a column on the page."""
        return self.dx + self.place.xs[column]

    def y(self, row: int) -> float:
        """Return the y of a row on the page."""
        return self.dy + self.place.ys[row]

    def _state_word(self, net: int) -> str:
        if self.state is None:
            return "shown"
        line = self.line(net)
        word = "held" if line.held else "power" if line.width == POWER.width else "idle" if line.dash == IDLE.dash else "moving"
        return say("{word} input-speed", word=word) if line.arrows else word

    def _housing(self, group: Group) -> None:
        y = self.y(self.place.placement.grid.housing)
        left, right = self.dx, self.dx + self.place.width
        group.line((left, y), (right, y), Look("ink", None, 2.4))
        ground_strokes(group, left, right, y, 7.0, upwards=True)
        axis = self.dy + self.place.axis
        group.line((left, axis), (right, axis), Look("soft", None, 1.2, (14, 4, 3, 4)))

    def _shafts(self, drawn: Picture) -> None:
        """Level pieces first, then uprights, which hop over them; light lines before heavy ones."""
        for upright in (False, True):
            lines = [
                (line.width, piece.net, line, piece)
                for piece in self.parts
                if (piece.first[0] == piece.last[0]) is upright
                for line in (self.piece_line(piece),)
            ]
            lines.sort(key=itemgetter(0, 1))
            groups: dict[int, Group] = {}
            for _, net, line, piece in lines:
                if net not in groups:
                    groups[net] = drawn.group({"shaft": str(net), "state": self._state_word(net)})
                self._piece(groups[net], piece, line)

    def piece_line(self, piece: Piece) -> Line:
        """How one piece of a shaft is drawn."""
        line = self.line(piece.net)
        # A branch that leads to nothing that works turns with its shaft but carries no power.
        return line if piece.live or line.width != POWER.width else replace(line, width=MOVING.width)

    def passed(self, piece: Piece) -> list[float]:
        """Return where other shafts pass a level piece, as x; or an upright one, as y."""
        (column, row), (end_column, end_row) = piece.first, piece.last
        if column == end_column:
            return [self.y(at) for at in self.place.crossings.get(column, []) if row < at < end_row]
        return [self.x(at) for at, rows in self.place.crossings.items() if row in rows and column < at < end_column]

    def _piece(self, group: Group, piece: Piece, line: Line) -> None:
        (column, row), (end_column, end_row) = piece.first, piece.last
        if column != end_column:
            stick_symbols.level(group, self.x(column), self.x(end_column), self.y(int(row)), line, self.passed(piece))
            return
        low, high = self.place.ends((column, row, end_row, piece.net))
        if low - high > 0.1:
            stick_symbols.upright(group, self.x(column), self.dy + low, self.dy + high, self.passed(piece), line)

    def _dots(self, drawn: Picture) -> None:
        for column, row, net in self.place.dots:
            line = self.line(net)
            radius = max(3.6, line.width * 0.9)
            drawn.circle((self.x(column), self.y(row)), radius, Look(line.role, line.role, 1.0))

    def _sets(self, drawn: Picture) -> None:
        nets = self.place.placement.nets
        gear = self.place.placement.grid.gear
        rows = (self.y(gear), self.y(gear + 1), self.y(gear + 2))
        for seat, sets in enumerate(self.place.placement.sets):
            if len(sets) == 2:
                self._shared_set(drawn, seat, sets, rows)
                continue
            [index] = sets
            pset = self.layout.sets[index]
            x = self.dx + self.place.middle(seat)
            group = drawn.group({"set": pset.name})
            lines = tuple(self._member_line(index, member) for member in range(3))
            if pset.pinions is PinionKind.BEVEL:
                self._side_gears(group, seat, index, rows[0])
            stick_symbols.gears(group, pset.pinions, x, rows, (lines[0], lines[1], lines[2]))
            for member in range(3):
                mark = group.group({"member": f"{pset.name}.{MEMBERS[member]}"})
                if nets.grounded[3 * index + member]:
                    self._grounded(mark, pset.pinions is PinionKind.BEVEL, member, x, rows)
            self._under(group, pset, x)

    def _shared_set(self, drawn: Picture, seat: int, sets: tuple[int, ...], rows: tuple[float, float, float]) -> None:
        """Draw two sets that are built as one, each with its card under its own sun."""
        long, short = sets
        left, right = (self.dx + self.place.set_x(seat, index) for index in sets)
        middle, small = self.dx + self.place.middle(seat), rows[0] + SHORT
        large_line, carrier_line, ring_line = (self._member_line(long, member) for member in range(3))
        lines = (self._member_line(short, 0), large_line, carrier_line, ring_line)
        body = drawn.group({"set": self.layout.sets[long].name})
        stick_symbols.shared_set(body, (left, middle, right), (small, *rows), lines)
        for index, x, sun in ((long, left, rows[0]), (short, right, small)):
            pset = self.layout.sets[index]
            group = body if index == long else drawn.group({"set": pset.name})
            for member, spot in ((0, x), (1, right + STEM_ASIDE), (2, middle)):
                mark = group.group({"member": f"{pset.name}.{MEMBERS[member]}"})
                # Carrier and ring are there once.
                if self.place.placement.nets.grounded[3 * index + member] and (member == 0 or index == long):
                    self._grounded(mark, False, member, spot, (sun, *rows[1:]))
            self._under(group, pset, x)

    def _side_gears(self, group: Group, seat: int, index: int, y: float) -> None:
        """Join the side gears of a bevel set, which stand apart from its middle, to the columns of their shafts."""
        middle = self.place.placement.grid.middle(seat)
        for member, side in ((0, -1), (2, 1)):
            if self.place.placement.nets.members[3 * index + member] > 0:
                line = self._member_line(index, member)
                ends = sorted((self.x(middle + side), self.x(middle) + side * stick_symbols.SIDE_GEAR))
                group.line((ends[0], y), (ends[1], y), line.look)

    def _under(self, group: Group, pset: PlanetarySet, x: float) -> None:
        bottom = self.dy + self.place.axis
        if self.names_alone:
            size = WALL_NAME * self.place.letters
            group.text(Text(x, bottom + 8 + size, wall_name(pset), size, "middle", True))
        else:
            self.card(group, pset, x, bottom + 22)

    def card(self, group: Group, pset: PlanetarySet, x: float, top: float) -> None:
        """Draw the card under a set.

        Args:
            group: where to.
            pset: the set.
            x: its middle.
            top: base line of the card's title.
        """
        draw_card(group, self.layout, self.state, pset, x, top)

    def _member_line(self, index: int, member: int) -> Line:
        return self.line(self.layout.shaft_of(f"{self.layout.sets[index].name}.{MEMBERS[member]}"))

    def _grounded(self, group: Group, bevel: bool, member: int, x: float, rows: tuple[float, float, float]) -> None:
        if bevel:
            spots = ((x - 16, rows[0], 1), (x, rows[2], -1), (x + 16, rows[0], 1))
            stick_symbols.grounded(group, *spots[member])
        elif member == 1:
            group.line((x, rows[1]), (x + STEM, rows[1]), Look("ink", None, 2.4))
            stick_symbols.grounded(group, x + STEM, rows[1] - 3, 1)
        else:
            stick_symbols.grounded(group, x, rows[member], 1 if member == 0 else -1)

    def _plates(self, drawn: Picture) -> None:
        for column, row, number, below, above in self.place.placement.wiring.plates:
            if number >= len(self.layout.elements):
                self._hung(drawn, hung_on(self.layout)[number - len(self.layout.elements)], column, row, (below, above))
                continue
            element = self.layout.elements[number]
            engaged = self.state is not None and element.name in self.state.engaged
            group = drawn.group({"plates": element.name, "closed": "yes" if engaged else "no"})
            x, y = self.x(column), self.dy + self.place.between(row)
            roles = (self.line(below).role, self.line(above).role if above else "ink")
            if not above:
                group.line((x, y - 4), (x, self.y(self.place.placement.grid.housing)), Look("ink", None, 2.4))
            stick_symbols.plates(group.group({"faces": element.name}), element.kind, x, y, roles, engaged=engaged)
            letters = self.place.letters
            wide = chip_width(element.name, letters)
            if above:
                chip(group, x + PLATE + 6, y, element, engaged=engaged, letters=letters)
            else:
                middle = self.y(self.place.placement.grid.housing) - 16 - CHIP_HEIGHT / 2 * letters
                chip(group, x - wide / 2, middle, element, engaged=engaged, letters=letters)

    def _hung(self, drawn: Picture, part: Hung, column: int, row: int, nets: tuple[int, int]) -> None:
        """Draw a machine, a further output or the converter where its lines end."""
        group = drawn.group({part.kind.value: part.name})
        x, y, housing = self.x(column), self.dy + self.place.between(row), self.y(self.place.placement.grid.housing)
        lines = self.line(nets[0]), self.line(nets[1])
        match part.kind:
            case HungKind.MACHINE:
                stick_symbols.machine(group, x, y, housing, part.name, lines[0])
            case HungKind.OUTPUT:
                stick_symbols.output_up(group, x, y, housing, member_label(part.name), lines[0])
            case HungKind.CONVERTER:
                stick_symbols.converter(group, x, y, (lines[0].role, lines[1].role))

    def _ends(self, drawn: Picture) -> None:
        wiring, nets = self.place.placement.wiring, self.place.placement.nets
        size = stick_geometry.CARD_TYPE * self.place.letters
        if wiring.entry is not None:
            group = drawn.group({"end": "input"})
            x, y = self.x(0), self.y(wiring.entry)
            stick_symbols.arrow(group, (x + 4, y), 1, self.line(nets.input))
            group.text(Text(x - 12, y + 0.36 * size, member_label(driving_end(self.layout)), size, "end", True))
        if wiring.leaving is not None:
            self._leaving(drawn.group({"end": "output"}), wiring.leaving, nets.output, member_label(first_output(self.layout)))
        for column, row, number in wiring.aside:
            name = hung_on(self.layout)[number - len(self.layout.elements)].name
            self._leaving(
                drawn.group({HungKind.OUTPUT.value: name}), (column, row), nets.elements[number][0], member_label(name)
            )

    def _leaving(self, group: Group, place: tuple[int, int], net: int, words: str) -> None:
        """Draw the arrow and the name of an output that leaves at a side."""
        sense = -1 if place[0] == 0 else 1
        x, y, size = self.x(place[0]), self.y(place[1]), stick_geometry.CARD_TYPE * self.place.letters
        stick_symbols.arrow(group, (x + sense * 10, y), sense, self.line(net))
        group.text(Text(x + sense * 16, y + 0.36 * size, words, size, "start" if sense > 0 else "end", True))


def _line_key(drawn: Picture, body: Body, top: float, right: float) -> float:
    """Say what the lines mean, for those that occur; return the y below."""
    state = body.state
    assert state is not None
    shafts = body.place.placement.nets.wired
    rows = [
        (say("power path"), POWER, any(state.power(net) for net in shafts)),
        (say("stands still"), HELD, any(state.still(net) for net in shafts)),
        (say("at input speed"), Line(arrows=True), any(state.at_input_speed(net) for net in shafts)),
        (say("carries no load"), IDLE, any(state.idle(net) for net in shafts)),
    ]
    x = MARGIN
    group = drawn.group({"part": "lines"})
    for words, line, there in rows:
        if not there:
            continue
        wide = 40 + 8 + text_width(words, stick_geometry.CARD_TYPE) + 24
        if x + wide - 24 > right and x > MARGIN:
            x, top = MARGIN, top + 22
        stick_symbols.level(group, x, x + 40, top + 6, line)
        group.text(Text(x + 48, top + 10.5, words, stick_geometry.CARD_TYPE))
        x += wide
    return top + 32
