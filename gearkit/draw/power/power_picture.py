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
from gearkit.draw.stick.stick_geometry import CARD_TYPE, measure
from gearkit.solve.loads.torques import Torques, torques
from gearkit.text.phrases import capital, decimal, listed, member_label, set_words
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import UsageError
from gearkit.words.say import say
from gearkit.words.terms import LoadState


def draw(layout: Layout, engaged: Iterable[str], placement: Placement | None = None) -> str:
    """Return the torque and power-flow picture as SVG text.

    Args:
        layout: any layout.
        engaged: names of applied elements.
        placement: as for the stick diagram.

    Raises:
        UsageError: the layout has no such element.
    """
    return picture(layout, engaged, placement).svg()


def picture(
    layout: Layout,
    engaged: Iterable[str],
    placement: Placement | None = None,
    given: Mapping[str, Fraction | int] | None = None,
) -> Picture:
    """Return the torque and power-flow picture.

    Args:
        layout: any layout.
        engaged: names of applied elements.
        placement: as for the stick diagram.
        given: member or terminal -> speed, for a layout with several drivers or outputs.
    """
    if not layout.plain:
        return several_picture.picture(layout, engaged, placement, given)
    if given:
        raise UsageError(
            f"{layout.name}: with one input and one output the power picture is for input speed 1; leave the speeds out."
        )
    state = state_of(layout, engaged)
    found = torques(layout, state.engaged)
    spot = placement or placed(layout)
    cards = {pset.name: _card_rows(pset, found) for pset in layout.sets}
    place = measure(layout, spot, card_width=max(_card_width(rows) for rows in cards.values()))
    line = f"{state.heading[:1].upper()}{state.heading[1:]}{_summary(found)}"
    drawn = Picture(
        title=say("Torque and power flow of {layout}", layout=layout.name), description=describe(found, line), kind="power"
    )
    top = heading(drawn, layout.name, line) + 14
    width = max(place.width, heading_width(layout.name, line), key_width(layout), _words_width(found))
    body = PowerBody(layout, state, place, (MARGIN, top))
    body.fill(found, cards)
    body.draw(drawn)
    body.arrows(drawn)
    bottom = line_key(drawn, top + place.height + LINE * 4 + 40)
    bottom = element_key(drawn, layout, state.engaged, MARGIN, bottom, width)
    bottom = _holding(drawn, found, bottom + 10)
    drawn.width, drawn.height = width + 2 * MARGIN, bottom + MARGIN * 0.7
    return drawn


def describe(found: Torques, line: str) -> str:
    """Return the text alternative of a power-flow picture.

    Args:
        found: torques and power.
        line: the picture's heading line.
    """
    said = [say("{line}. Torques and powers as multiples of the input's.", line=line)]
    if found.state is not LoadState.SETTLED or found.power is None:
        said.append(found.reason)
        return " ".join(said)
    for element, torque in found.elements.items():
        if torque is not None:
            said.append(say("{element} carries torque {torque}.", element=element, torque=decimal(torque)))
    for pset in found.layout.sets:
        parts = [
            say(
                "{member} torque {number}, power {number2}",
                member=member,
                number=_number(found.members[f"{pset.name}.{member}"]),
                number2=_number(found.power.members[f"{pset.name}.{member}"]),
            )
            for member in ROWS
        ]
        said.append(f"{capital(set_words(pset.name))}: {'; '.join(parts)}.")
    if found.power.loop:
        said.append(
            say(
                "Power goes round through {member_label}.", member_label=listed(member_label(name) for name in found.power.loop)
            )
        )
    return " ".join(said)


def _card_rows(pset: PlanetarySet, found: Torques) -> list[tuple[str, str, str]]:
    rows = [(set_words(pset.name), say("torque"), say("power"))]
    for member in ROWS:
        name = f"{pset.name}.{member}"
        power = found.power.members.get(name) if found.power else None
        rows.append((say(member), _number(found.members.get(name)), _number(power)))
    return rows


def _card_width(rows: list[tuple[str, str, str]]) -> float:
    return sum(max(text_width(row[column], CARD_TYPE, bold=True) for row in rows) for column in range(3)) + 2 * COLUMN_GAP


def _summary(found: Torques) -> str:
    if found.state is not LoadState.SETTLED or found.efficiency is None:
        return say("; torques: {state}", state=found.state)
    text = say(", efficiency {efficiency}", efficiency=decimal(found.efficiency))
    if found.recirculation:
        text += say(", recirculation {recirculation}", recirculation=decimal(found.recirculation))
    return text


def _number(value: Fraction | None) -> str:
    return "–" if value is None else ratio_text(value)


def _words_width(found: Torques) -> float:
    return max(text_width(_holding_words(found), CARD_TYPE), 110 + text_width(say(KEY), CARD_TYPE))


def _holding_words(found: Torques) -> str:
    """The torque of every applied element; or why it is not known."""
    known = [(name, torque) for name, torque in found.elements.items() if torque is not None]
    if not known:
        return found.reason
    return (say("Torque in applied elements:") + "  ") + ",  ".join(f"{name} {ratio_text(torque)}" for name, torque in known)


def _holding(drawn: Picture, found: Torques, top: float) -> float:
    drawn.text(Text(MARGIN, top + 10, _holding_words(found), CARD_TYPE))
    return top + 18
