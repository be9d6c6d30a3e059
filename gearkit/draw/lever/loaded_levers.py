"""Levers under load: each set an upright bar, the torque on each member an arrow to the side.

On such a bar speeds are displacements and torques are forces: they add up to zero and have no moment about any
point. To the right is the input's sense.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from gearkit.draw.core.frame import MARGIN, heading, heading_width
from gearkit.draw.core.measure import Box, text_width
from gearkit.draw.core.member_mark import RADIUS, member_mark
from gearkit.draw.core.shaft_code import shaft_codes
from gearkit.draw.core.svg import Group, Look, Picture, Text
from gearkit.draw.lever.lever_places import spread
from gearkit.text.phrases import capital, decimal, member_label, set_words
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import later, say
from gearkit.words.terms import MEMBERS

TYPE = 13.0
HEIGHT = 170.0
# The longest arrow; a shorter one where a notebook on a laptop would cut the picture off.
REACH, LEAST_REACH, WIDEST = 71.0, 31.0, 880.0
# An arrow begins beyond the mark of its node, so that a small torque is seen as well; its head is no longer than itself.
BESIDE, HEAD = 1.55 * RADIUS, 9.0
SUBTITLE = later("Torque on each member, in N·m; to the right: with the input. Forces on a bar add up to zero.")
BAR = Look("ink", None, 4.0, cap="round")

Torque = Fraction | float | None


def draw(layout: Layout, torques: Mapping[str, Torque], title: str) -> str:
    """Return the loaded levers as SVG text.

    Args:
        layout: the layout.
        torques: member -> torque on it in N·m; None for one that is not shown yet.
        title: heading of the picture.
    """
    return picture(layout, torques, title).svg()


def picture(layout: Layout, torques: Mapping[str, Torque], title: str) -> Picture:
    """Return the loaded levers as a picture.

    Args:
        layout: the layout.
        torques: member -> torque on it in N·m; None for one that is not shown yet.
        title: heading of the picture.
    """
    drawn = Picture(title=title, description=describe(layout, torques), kind="loaded")
    top = heading(drawn, title, say(SUBTITLE)) + 40
    largest = max((abs(float(value)) for value in torques.values() if value is not None), default=0.0) or 1.0
    figure = max(text_width(_figure(value), TYPE) for value in torques.values())
    names = [max(text_width(member_label(f"{pset.name}.{member}"), TYPE) for member in MEMBERS) for pset in layout.sets]
    fixed = sum(names) + len(names) * (2 * figure + 46 + 2 * BESIDE)
    reach = min(REACH, max(LEAST_REACH, (WIDEST - MARGIN - fixed) / (2 * len(names))))
    x = MARGIN
    for pset, name in zip(layout.sets, names, strict=True):
        bar = x + name + 16 + BESIDE + reach + figure
        _lever(drawn, layout, pset, torques, bar, top, largest, reach)
        x = bar + BESIDE + reach + figure + 30
    drawn.width = max(x - 10, MARGIN + heading_width(title, say(SUBTITLE))) + MARGIN * 0.5
    drawn.height = top + HEIGHT + MARGIN * 1.2
    return drawn


def describe(layout: Layout, torques: Mapping[str, Torque]) -> str:
    """Return the text alternative of loaded levers.

    Args:
        layout: the layout.
        torques: as drawn.
    """
    said = [say("Torques on the members of {sets} levers, in N·m; positive is with the input.", sets=len(layout.sets))]
    for pset in layout.sets:
        parts = [f"{say(member)} {_figure(torques[f'{pset.name}.{member}'])}" for member in MEMBERS]
        said.append(f"{capital(set_words(pset.name))}: {', '.join(parts)}.")
    return " ".join(said)


def _figure(torque: Torque) -> str:
    return "?" if torque is None else decimal(torque, 1)


def _places(pset: PlanetarySet) -> dict[str, float]:
    """Return each member's place along the bar, from 0 at one end to 1 at the other."""
    sun, ring = pset.weights
    places = {"sun": Fraction(1), "ring": Fraction(0), "carrier": Fraction(sun, sun + ring)}
    low, high = min(places.values()), max(places.values())
    return {member: float((place - low) / (high - low)) for member, place in places.items()}


def _lever(
    drawn: Picture,
    layout: Layout,
    pset: PlanetarySet,
    torques: Mapping[str, Torque],
    x: float,
    top: float,
    largest: float,
    reach: float,
) -> None:
    group = drawn.group({"lever": pset.name})
    group.text(Text(x, top - 24, set_words(pset.name), TYPE, "middle", bold=True))
    group.line((x, top), (x, top + HEIGHT), BAR)
    places = _places(pset)
    order = sorted(MEMBERS, key=lambda member: places[member])
    heights = [top + HEIGHT * places[member] for member in order]
    names = spread(heights, 18.0)
    widest = max(text_width(member_label(f"{pset.name}.{member}"), TYPE) for member in MEMBERS)
    figure = max(text_width(_figure(value), TYPE) for value in torques.values())
    edge = x - BESIDE - reach - figure - 16
    codes = shaft_codes(layout)
    for member, y, label in zip(order, heights, names, strict=True):
        code = codes[layout.shaft_of(f"{pset.name}.{member}")]
        torque = torques[f"{pset.name}.{member}"]
        inner = group.group({"member": f"{pset.name}.{member}"})
        inner.text(Text(edge - widest, label + TYPE * 0.36, member_label(f"{pset.name}.{member}"), TYPE))
        inner.polyline([(edge + 2, label), (edge + 8, y), (x, y)], Look("faint", None, 1.0))
        _arrow(inner, torque, x, y, reach / largest, code.role)
        letter = all(other == y or abs(other - y) >= 2.4 * RADIUS for other in heights)
        member_mark(inner, x, y, member, code, letter=letter)


def _arrow(group: Group, torque: Torque, x: float, y: float, unit: float, role: str) -> None:
    if torque is None:
        group.text(Text(x + BESIDE + 4, y + TYPE * 0.36, "?", TYPE, bold=True))
        return
    length = unit * abs(float(torque))
    way = 1 if torque >= 0 else -1
    end = x + way * (BESIDE + length)
    if length > 0:
        tail = end - min(length, HEAD) * way
        if length > HEAD:
            group.line((x + way * BESIDE, y), (tail, y), Look(role, None, 3.0))
        group.polyline([(tail, y - 5), (end, y), (tail, y + 5)], Look(role, role, 1.5), closed=True)
    figure = Text(end + 9 * way, y + TYPE * 0.36, _figure(torque), TYPE, "start" if way > 0 else "end")
    # Clear of the guide line by more than a minus sign is long, lest the two be taken for one.
    box = figure.box
    group.rect(Box(box.left - 8, box.top, box.right + 8, box.bottom), Look(None, "paper"))
    group.text(figure)
