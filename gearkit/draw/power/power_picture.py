"""Torque and power flow of a range: the stick diagram with lines as wide as the power in them and arrows along it.

The card under each set gives torque and power of its members, the key below the torque of every applied element; all as
multiples of the input's.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from gearkit.draw.core.frame import MARGIN, element_key, heading, heading_width, key_width
from gearkit.draw.core.measure import text_width
from gearkit.draw.core.state import state_of
from gearkit.draw.core.svg import Picture, Text
from gearkit.draw.core.wording import ratio_text
from gearkit.draw.power import several_picture
from gearkit.draw.power.power_body import COLUMN_GAP, KEY, LINE, ROWS, PowerBody, line_key
from gearkit.draw.stick.placement import Placement, placed
from gearkit.draw.stick.stick_cards import wall_name_width
from gearkit.draw.stick.stick_diagram import WALL_CORNER, for_wall
from gearkit.draw.stick.stick_geometry import CARD_TYPE, measure
from gearkit.solve.loads.torques import Torques, torques
from gearkit.text.phrases import capital, decimal, listed, member_label, set_words
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import UsageError
from gearkit.words.say import say
from gearkit.words.terms import LoadState


def picture(
    layout: Layout,
    engaged: Iterable[str],
    placement: Placement | None = None,
    given: Mapping[str, Fraction | int] | None = None,
    *,
    letters: float | None = None,
) -> Picture:
    """Return the torque and power-flow picture.

    Args:
        layout: any layout.
        engaged: names of the engaged elements.
        placement: as for the stick diagram.
        letters: as for the stick diagram, for a layout with one input and one output.
        given: member or terminal -> speed, for a layout with several drivers or outputs.
    """
    if not layout.plain:
        return several_picture.picture(layout, engaged, placement, given)
    if given:
        raise UsageError(
            f"{layout.name}: with one input and one output the power picture is for input speed 1; leave the speeds out."
        )
    state = state_of(layout, engaged)
    loads = torques(layout, state.engaged)
    spot = placement or placed(layout)
    line = f"{state.heading[:1].upper()}{state.heading[1:]}{_summary(loads)}"
    drawn = Picture(
        title=say("Torque and power flow of {layout}", layout=layout.said_name), description=describe(loads, line), kind="power"
    )
    cards = {pset.name: _card_rows(pset, loads) for pset in layout.sets}
    if letters is not None:
        place = measure(layout, spot, card_width=wall_name_width(layout, letters), letters=letters)
        wall = PowerBody(layout, state, place, WALL_CORNER)
        wall.fill(loads, cards)
        for_wall(drawn, wall)
        wall.arrows(drawn)
        return drawn
    place = measure(layout, spot, card_width=max(_card_width(rows) for rows in cards.values()))
    top = heading(drawn, layout.said_name, line) + 14
    width = max(place.width, heading_width(layout.said_name, line), key_width(layout), _words_width(loads))
    body = PowerBody(layout, state, place, (MARGIN, top))
    body.fill(loads, cards)
    body.draw(drawn)
    body.arrows(drawn)
    bottom = line_key(drawn, top + place.height + LINE * 4 + 40)
    bottom = element_key(drawn, layout, state.engaged, MARGIN, bottom, width)
    bottom = _holding(drawn, loads, bottom + 10)
    drawn.width, drawn.height = width + 2 * MARGIN, bottom + MARGIN * 0.7
    return drawn


def describe(loads: Torques, line: str) -> str:
    """Return the text alternative of a power-flow picture.

    Args:
        loads: torques and power.
        line: the picture's heading line.
    """
    said = [say("{line}. Torques and powers as multiples of the input's.", line=line)]
    if loads.state is not LoadState.SETTLED or loads.power is None:
        said.append(loads.reason)
        return " ".join(said)
    for element, torque in loads.elements.items():
        if torque is not None:
            said.append(say("{element} carries torque {torque}.", element=element, torque=decimal(torque)))
    for pset in loads.layout.sets:
        parts = [
            say(
                "{member} torque {number}, power {number2}",
                member=member,
                number=_number(loads.members[f"{pset.name}.{member}"]),
                number2=_number(loads.power.members[f"{pset.name}.{member}"]),
            )
            for member in ROWS
        ]
        said.append(f"{capital(set_words(pset.name))}: {'; '.join(parts)}.")
    if loads.power.loop:
        said.append(
            say(
                "Power goes round through {member_label}.", member_label=listed(member_label(name) for name in loads.power.loop)
            )
        )
    return " ".join(said)


def _card_rows(pset: PlanetarySet, loads: Torques) -> list[tuple[str, str, str]]:
    rows = [(set_words(pset.name), say("torque"), say("power"))]
    for member in ROWS:
        name = f"{pset.name}.{member}"
        power = loads.power.members.get(name) if loads.power else None
        rows.append((say(member), _number(loads.members.get(name)), _number(power)))
    return rows


def _card_width(rows: list[tuple[str, str, str]]) -> float:
    return sum(max(text_width(row[column], CARD_TYPE, bold=True) for row in rows) for column in range(3)) + 2 * COLUMN_GAP


def _summary(loads: Torques) -> str:
    if loads.state is not LoadState.SETTLED or loads.efficiency is None:
        return say("; torques: {state}", state=loads.state)
    text = say(", efficiency {efficiency}", efficiency=decimal(loads.efficiency))
    if loads.recirculation:
        text += say(", recirculation {recirculation}", recirculation=decimal(loads.recirculation))
    return text


def _number(value: Fraction | None) -> str:
    return "–" if value is None else ratio_text(value)


def _words_width(loads: Torques) -> float:
    return max(text_width(_holding_words(loads), CARD_TYPE), 110 + text_width(say(KEY), CARD_TYPE))


def _holding_words(loads: Torques) -> str:
    """The torque of every applied element; or why it is not known."""
    known = [(name, torque) for name, torque in loads.elements.items() if torque is not None]
    if not known:
        return loads.reason
    return (say("Torque in applied elements:") + "  ") + ",  ".join(f"{name} {ratio_text(torque)}" for name, torque in known)


def _holding(drawn: Picture, loads: Torques, top: float) -> float:
    drawn.text(Text(MARGIN, top + 10, _holding_words(loads), CARD_TYPE))
    return top + 18
