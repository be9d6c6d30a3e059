"""Lever diagram: every lever upright, its nodes at distances by the tooth counts, speeds as displacements to the side.

A node's name stands on its line, its elements hang under it. Levers that share a shaft are linked along that line. With
elements applied, an arrow at each node shows its speed as a multiple of the input's: to the right is forward. The ends
of the arrows of one lever lie on a straight line: that is the whole point of the picture.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from gearkit.draw.core.frame import (
    MARGIN,
    chip,
    chip_width,
    clear_text,
    element_key,
    ground_strokes,
    heading,
    heading_width,
    key_width,
    machine_chip,
    machine_width,
)
from gearkit.draw.core.measure import text_width
from gearkit.draw.core.member_mark import RADIUS, member_mark
from gearkit.draw.core.shaft_code import shaft_codes
from gearkit.draw.core.state import DriveState, member_list, state_of
from gearkit.draw.core.svg import Group, Look, Picture, Text
from gearkit.draw.lever.lever_geometry import Lever, levers
from gearkit.draw.lever.lever_links import routes
from gearkit.draw.lever.lever_places import Standing, spread, stand
from gearkit.draw.lever.lever_words import describe
from gearkit.text.phrases import decimal, member_label, sets_words
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.words.say import later, say
from gearkit.words.terms import HOUSING, INPUT, MEMBERS

TYPE = 13.0
ROW = 46.0
# What a notebook shows of a picture on a laptop, in px, and the shortest arrow for the input's speed that is tried to fit it.
WIDEST, LEAST_UNIT = 880.0, 44.0
BAR = Look("ink", None, 4.0, cap="round")
SPEED_LINE = Look("soft", None, 2.6)
ARROW = Look("ink", None, 2.0)
BARE = later("Levers: node distances by tooth counts; linked nodes are one shaft.")


@dataclass
class Column:
    """One lever with its place on the page.

    Args:
        standing: the lever and the heights of its nodes.
        labels: shaft -> its name here.
        elements: shaft -> elements at it.
        machines: shaft -> names of the machines on it.
        bar: x of the lever.
        left: where its names end, x.
        start: where its names begin, x.
        end: where it ends to the right, x.
        nodes: shaft -> y of the node.
        rows: shaft -> y of the line with its name.
    """

    standing: Standing
    labels: dict[int, str]
    elements: dict[int, list[Element]]
    machines: dict[int, list[str]]
    nodes: dict[int, float]
    rows: dict[int, float]
    bar: float = 0.0
    left: float = 0.0
    start: float = 0.0
    end: float = 0.0


def picture(layout: Layout, engaged: Iterable[str] | None = None, given: Mapping[str, Fraction | int] | None = None) -> Picture:
    """Return the lever diagram as a picture.

    Args:
        layout: any layout.
        engaged: names of the engaged elements, to show speeds; None for the bare levers.
        given: member or terminal -> speed; the input at 1 when left out.

    Raises:
        UsageError: the layout has no such element.
    """
    state = None if engaged is None else state_of(layout, engaged, given)
    standings = stand(levers(layout), layout.shaft_of(INPUT), layout.shaft_of(layout.output_names[-1]))
    name = layout.said_name
    unit_words = say("Speeds as given") if given else say("Speeds as multiples of the input's")
    line = say(BARE) if state is None else f"{state.heading[:1].upper()}{state.heading[1:]}. {unit_words}."
    drawn = Picture(
        title=say("Lever diagram of {name}", name=name), description=describe(layout, standings, state), kind="levers"
    )
    top = heading(drawn, name, line) + 44
    height = _height(standings)
    columns = [_column(layout, standing, top, height) for standing in standings]
    _lower(columns, top)
    unit = _unit(columns, state)
    room = _set_across(columns, state, unit)
    while columns[-1].end > WIDEST and unit > LEAST_UNIT:
        # Shorter arrows, rather than a picture that a notebook on a laptop cuts off.
        unit *= 0.9
        room = _set_across(columns, state, unit)
    bottom = max(max(column.rows.values()) for column in columns) + 34
    bottom = _draw_links(drawn, layout, columns, room, bottom)
    for column in columns:
        _draw_column(drawn, layout, column, state, unit)
    right = max(columns[-1].end, MARGIN + heading_width(name, line), MARGIN + key_width(layout))
    bottom = element_key(drawn, layout, state.engaged if state else (), MARGIN, bottom + 18, right - MARGIN)
    drawn.width, drawn.height = right + MARGIN, bottom + MARGIN * 0.7
    return drawn


def _height(standings: list[Standing]) -> float:
    gaps = []
    for standing in standings:
        heights = sorted(standing.heights.values())
        gaps += [b - a for a, b in pairwise(heights) if b - a > 0.02]
    return min(420.0, max(190.0, ROW / min(gaps, default=1.0)))


def _column(layout: Layout, standing: Standing, top: float, height: float) -> Column:
    shafts = sorted(standing.heights, key=lambda shaft: -standing.heights[shaft])
    nodes = {shaft: top + (1 - standing.heights[shaft]) * height for shaft in shafts}
    rows = dict(zip(shafts, spread([nodes[shaft] for shaft in shafts], ROW), strict=True))
    elements: dict[int, list[Element]] = {shaft: [] for shaft in shafts}
    for element in layout.elements:
        for shaft in dict.fromkeys(layout.shaft_of(name) for name in element.between):
            if shaft in elements and HOUSING not in layout.shafts[shaft]:
                elements[shaft].append(element)
    labels = {
        shaft: " · ".join(member_label(name) for name in standing.lever.members(layout, shaft) or member_list(layout, shaft))
        for shaft in shafts
    }
    machines: dict[int, list[str]] = {shaft: [] for shaft in shafts}
    for machine in layout.machines:
        if (shaft := layout.shaft_of(machine.shaft)) in machines:
            machines[shaft].append(machine.name)
    return Column(standing, labels, elements, machines, nodes, rows)


def _lower(columns: list[Column], top: float) -> None:
    """Move everything down where names had to be spread above the highest lever."""
    by = top - min(min(column.rows.values()) for column in columns)
    if by > 0:
        for column in columns:
            column.nodes = {shaft: y + by for shaft, y in column.nodes.items()}
            column.rows = {shaft: y + by for shaft, y in column.rows.items()}


def _unit(columns: list[Column], state: DriveState | None) -> float:
    """Pixels for one input speed: one scale for all levers."""
    if state is None:
        return 0.0
    known = [state.speed(shaft) for column in columns for shaft in column.nodes]
    largest = max([abs(speed) for speed in known if speed is not None], default=Fraction(1)) or Fraction(1)
    # Multiples of the input's keep the input's own arrow at a length that can be compared between pictures.
    largest = max(largest, Fraction(1)) if state.speeds.input_speed == 1 and largest < 1 else largest
    return min(84.0, 190.0 / float(largest))


def _set_across(columns: list[Column], state: DriveState | None, unit: float) -> list[tuple[float, float]]:
    """Give every column its x places; return the free strip before each, for the links."""
    x = MARGIN
    strips = []
    counts = routes([set(column.nodes) for column in columns]).verticals
    for index, column in enumerate(columns):
        strip = 14.0 + 11.0 * counts[index] if index else 0.0
        strips.append((x, x + strip))
        widest = max(
            max(text_width(column.labels[shaft], TYPE, bold=True), _chips_width(column.elements[shaft], column.machines[shaft]))
            for shaft in column.nodes
        )
        back, ahead = _reach(column, state, unit)
        column.start = x + strip
        column.left = column.start + widest + 6
        column.bar = column.left + 22 + back
        title = text_width(sets_words(column.standing.lever.sets), TYPE)
        column.end = max(column.bar + ahead, column.start + title + 10)
        x = column.end
    return strips


def _chips_width(elements: list[Element], machines: list[str]) -> float:
    return sum(chip_width(element.name) + 13 for element in elements) + sum(machine_width(name) + 13 for name in machines)


def _reach(column: Column, state: DriveState | None, unit: float) -> tuple[float, float]:
    if state is None:
        return 0.0, 18.0
    back, ahead = 0.0, 30.0
    for shaft in column.nodes:
        speed = state.speed(shaft)
        if speed is None:
            ahead = max(ahead, 18 + text_width(say("free"), TYPE))
            continue
        room = abs(float(speed)) * unit + 14 + text_width(decimal(speed), TYPE)
        if speed < 0:
            back = max(back, room)
        else:
            ahead = max(ahead, room)
    return back, ahead


def _draw_links(
    drawn: Picture, layout: Layout, columns: list[Column], strips: list[tuple[float, float]], bottom: float
) -> float:
    """Join the lines of shared shafts: straight on to the next lever, or along a rail below the levers between."""
    plan, codes = routes([set(column.nodes) for column in columns]), shaft_codes(layout)
    links = drawn.group({"part": "links"})
    used = [0] * len(columns)

    def lane(strip: int) -> float:
        used[strip] += 1
        return strips[strip][0] + 3 + 11 * used[strip]

    for hop in plan.hops:
        first, second = columns[hop.first], columns[hop.second]
        here, there = first.nodes[hop.shaft], second.rows[hop.shaft]
        if hop.rail is None:
            x = lane(hop.second)
            points = [(first.bar, here), (x, here), (x, there), (second.start, there)]
            if abs(here - there) < 0.5:
                points = [(first.bar, here), (second.start, there)]
        else:
            y = bottom + 12 * hop.rail
            out, back = lane(hop.first + 1), lane(hop.second)
            points = [(first.bar, here), (out, here), (out, y), (back, y), (back, there), (second.start, there)]
        group = links.group({"shaft": str(hop.shaft)})
        group.polyline(points, Look("paper", None, 6.0))
        group.polyline(points, Look(codes[hop.shaft].role, None, 1.8, codes[hop.shaft].dash))
    rails = max([hop.rail for hop in plan.hops if hop.rail is not None], default=-1) + 1
    return bottom + 12 * rails - (0 if rails else 12)


def _draw_column(drawn: Picture, layout: Layout, column: Column, state: DriveState | None, unit: float) -> None:
    group = drawn.group({"lever": " ".join(column.standing.lever.sets)})
    nodes, codes = column.nodes, shaft_codes(layout)
    for shaft, y in nodes.items():
        row = column.rows[shaft]
        group.polyline([(column.start, row), (column.bar - 20, row), (column.bar, y)], Look("paper", None, 4.0))
        code = codes[shaft]
        group.polyline([(column.start, row), (column.bar - 20, row), (column.bar, y)], Look(code.role, None, 1.4, code.dash))
        _draw_label(group, column, shaft, state)
    if column.standing.lever.sets:
        above = min(*nodes.values(), *column.rows.values()) - 28
        group.text(Text(column.start + 2, above, sets_words(column.standing.lever.sets), TYPE, role="soft"))
    if len(nodes) > 1:
        group.line((column.bar, min(nodes.values())), (column.bar, max(nodes.values())), BAR)
    if state is not None:
        _draw_speeds(group, column, state, unit)
    for shaft, y in nodes.items():
        letter = all(other == shaft or abs(at - y) >= 2.4 * RADIUS for other, at in nodes.items())
        _draw_node(group, layout, column.standing.lever, (column.bar, y), shaft, state, letter=letter)


def _draw_label(group: Group, column: Column, shaft: int, state: DriveState | None) -> None:
    row = column.rows[shaft]
    group.text(Text(column.start + 2, row - 5, column.labels[shaft], TYPE, bold=True))
    x = column.start + 2
    for element in column.elements[shaft]:
        engaged = state is not None and element.name in state.engaged
        x = chip(group, x, row + 14, element, engaged=engaged).right + 13
    for name in column.machines[shaft]:
        x = machine_chip(group, x, row + 14, name) + 13


def _draw_node(
    group: Group,
    layout: Layout,
    lever: Lever,
    place: tuple[float, float],
    shaft: int,
    state: DriveState | None,
    *,
    letter: bool,
) -> None:
    x, y = place
    names = layout.shafts[shaft]
    held = HOUSING in names or (state is not None and shaft in state.held)
    inner = group.group({"node": str(shaft), "state": "held" if held else "free"})
    if held:
        inner.polyline([(x - 8, y + 9), (x, y), (x + 8, y + 9)], Look("ink", "paper", 1.6), closed=True)
        ground_strokes(inner, x - 9, x + 9, y + 9, 5.0)
        inner.circle((x, y), 3.4, Look("ink", "ink", 1.0))
        return
    code = shaft_codes(layout)[shaft]
    kind = lever.kind(layout, shaft)
    if kind in MEMBERS:
        member_mark(inner, x, y, kind, code, letter=letter)
    else:
        # Where members of two kinds are one shaft, its names say which.
        inner.circle((x, y), 6.0, Look(code.role, "paper", 2.4))


def _draw_speeds(group: Group, column: Column, state: DriveState, unit: float) -> None:
    known: Mapping[int, float] = {shaft: float(speed) for shaft in column.nodes if (speed := state.speed(shaft)) is not None}
    ends = [(column.bar + known[shaft] * unit, y) for shaft, y in column.nodes.items() if shaft in known]
    if len(ends) > 1:
        group.polyline(ends, Look("paper", None, 5.0))
        group.polyline(ends, SPEED_LINE)
    tags = _tag_lines(column, known)
    for shaft, y in column.nodes.items():
        inner = group.group({"speed": str(shaft)})
        speed = state.speed(shaft)
        if speed is None:
            clear_text(inner, Text(column.bar + 15, tags[shaft], say("free"), TYPE, role="soft"), 0.5)
            continue
        tip = column.bar + float(speed) * unit
        if abs(tip - column.bar) > 12:
            sense = 1 if speed > 0 else -1
            inner.line((column.bar, y), (tip - sense * 8, y), ARROW)
            inner.polyline(
                [(tip, y), (tip - sense * 9, y - 4.5), (tip - sense * 9, y + 4.5)], Look("ink", "ink", 1.0), closed=True
            )
        backwards = speed < 0
        place = min(tip - 6, column.bar - 15) if backwards else max(tip + 6, column.bar + 15)
        clear_text(inner, Text(place, tags[shaft], decimal(speed), TYPE, "end" if backwards else "start"), 0.5)


def _tag_lines(column: Column, known: Mapping[int, float]) -> dict[int, float]:
    """Base lines of the speeds: above the arrow or below it, on the side away from the slanting line."""
    order = sorted(column.nodes, key=lambda shaft: column.nodes[shaft])
    ends = [known[shaft] for shaft in order if shaft in known]
    rises_right = len(ends) > 1 and ends[0] > ends[-1]
    wanted = []
    for number, shaft in enumerate(order):
        backwards = known.get(shaft, 0.0) < 0
        struck = number > 0 and len(ends) > 1 and ends[0] != ends[-1] and backwards is not rises_right
        wanted.append(column.nodes[shaft] + (14.0 if struck else -5.0))
    return dict(zip(order, spread(wanted, 16.0), strict=True))
