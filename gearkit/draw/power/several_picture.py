"""Torque and power flow with several drivers or outputs: the stick diagram by power, and the electrical branch above it.

Power that machines exchange runs outside the train: a dashed line from the machine that generates to the one that drives.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from gearkit.draw.core.frame import MARGIN, element_key, heading, heading_width, key_width
from gearkit.draw.core.measure import text_width
from gearkit.draw.core.state import state_of
from gearkit.draw.core.svg import Look, Picture, Text
from gearkit.draw.core.wording import ratio_text
from gearkit.draw.power.power_body import COLUMN_GAP, KEY, LINE, ROWS, PowerBody, arrow_head, line_key
from gearkit.draw.power.power_path import taps
from gearkit.draw.power.power_streams import Node, streams
from gearkit.draw.stick.placement import Placement, placed
from gearkit.draw.stick.routing import ABOVE_PLATES, BELOW_PLATES
from gearkit.draw.stick.stick_geometry import CARD_TYPE, measure
from gearkit.draw.stick.stick_hung import Hung, HungKind, first_output, hung_on
from gearkit.solve.several.power import SeveralPower, several_power
from gearkit.text.phrases import capital, decimal, listed, member_label, set_words
from gearkit.train.layout import Layout
from gearkit.words.say import say
from gearkit.words.terms import ENGINE, INPUT, MEMBERS

ROOM_ABOVE = 46.0
WIRE = Look("blue", None, 2.4, (7, 4))


def picture(
    layout: Layout,
    engaged: Iterable[str],
    placement: Placement | None = None,
    given: Mapping[str, Fraction | int] | None = None,
) -> Picture:
    """Return the torque and power-flow picture of a train with several drivers or outputs.

    Args:
        layout: the layout.
        engaged: names of the engaged elements.
        placement: as for the stick diagram.
        given: member or terminal -> speed.

    Raises:
        UsageError: the speeds do not fix all power.
    """
    state = state_of(layout, engaged, given)
    power = several_power(layout, state.engaged, given or {})
    spot = placement or placed(layout)
    cards = {pset.name: _card(pset.name, power) for pset in layout.sets}
    widest = max(
        sum(max(text_width(row[c], CARD_TYPE, bold=True) for row in rows) for c in range(3)) + 2 * COLUMN_GAP
        for rows in cards.values()
    )
    place = measure(layout, spot, card_width=widest)
    line = f"{state.heading[:1].upper()}{state.heading[1:]}{_converter_words(power)}{_summary(power)}"
    ends = say(
        "Power that comes in from outside:  {join}",
        join=",  ".join((f"{member_label(name)} {ratio_text(value)}" for name, value in power.ends.items())),
    )
    drawn = Picture(
        title=say("Torque and power flow of {layout}", layout=layout.said_name),
        description=_describe(power, line),
        kind="power",
    )
    top = heading(drawn, layout.said_name, line) + 14 + (ROOM_ABOVE if power.torques.electrical else 0)
    width = max(
        place.width,
        heading_width(layout.said_name, line),
        key_width(layout),
        text_width(ends, CARD_TYPE),
        110 + text_width(KEY, CARD_TYPE),
    )
    body = _Body(layout, state, place, (MARGIN, top))
    body.fill_with(streams(body.parts, _drains(spot, layout, power)), cards)
    body.draw(drawn)
    body.arrows(drawn)
    body.wires(drawn, power)
    bottom = line_key(drawn, top + place.height + LINE * 4 + 40)
    bottom = element_key(drawn, layout, state.engaged, MARGIN, bottom, width)
    drawn.text(Text(MARGIN, bottom + 20, ends, CARD_TYPE))
    drawn.width, drawn.height = width + 2 * MARGIN, bottom + 28 + MARGIN * 0.7
    return drawn


class _Body(PowerBody):
    """The half-section with lines by power, which remembers where its machines are."""

    spots: dict[str, tuple[float, float]]

    def _hung(self, drawn: Picture, part: Hung, column: int, row: int, nets: tuple[int, int]) -> None:
        super()._hung(drawn, part, column, row, nets)
        if part.kind is HungKind.MACHINE:
            self.spots = {
                **getattr(self, "spots", {}),
                part.name: (self.x(column), self.y(self.place.placement.grid.housing) - 42),
            }

    def wires(self, drawn: Picture, power: SeveralPower) -> None:
        """Draw what machines exchange, from those that generate to those that drive.

        Args:
            drawn: the picture.
            power: the power.
        """
        electrical = power.torques.electrical
        giving = [name for name, value in electrical.items() if value < 0]
        taking = [name for name, value in electrical.items() if value > 0]
        if not giving or not taking:
            return
        group = drawn.group({"part": "electrical"})
        unit = power.torques.power[INPUT]
        level = min(y for _, y in self.spots.values()) - 18
        for start in giving:
            for end in taking:
                (x1, y1), (x2, y2) = self.spots[start], self.spots[end]
                group.polyline([(x1, y1), (x1, level), (x2, level), (x2, y2 - 10)], WIRE)
                arrow_head(group, x2, y2 - 7, (0, 1), 6.0)
                amount = ratio_text(-electrical[start] / unit)
                group.text(Text((x1 + x2) / 2, level - 5, say("electrical {amount}", amount=amount), CARD_TYPE, "middle"))


def _card(name: str, power: SeveralPower) -> list[tuple[str, str, str]]:
    rows = [(set_words(name), say("torque"), say("power"))]
    for member in ROWS:
        key = f"{name}.{member}"
        torque = power.torques.members[key]
        rows.append((say(member), "–" if torque is None else ratio_text(torque), ratio_text(power.members[key])))
    return rows


def _summary(power: SeveralPower) -> str:
    text = (
        say(", efficiency of the gears {efficiency}", efficiency=decimal(power.torques.efficiency, 4))
        if power.torques.efficiency is not None
        else ""
    )
    return text + (say(", recirculation {circulating}", circulating=decimal(power.circulating)) if power.circulating else "")


def _drains(placement: Placement, layout: Layout, power: SeveralPower) -> dict[Node, Fraction]:
    """What is taken out of each shaft at each spot; what comes in counts negative."""
    wanted: dict[Node, Fraction] = {}
    wiring, nets = placement.wiring, placement.nets

    def take(net: int, spot: tuple[int, float], amount: Fraction) -> None:
        wanted[net, spot] = wanted.get((net, spot), Fraction(0)) + amount

    for (net, number), spot in taps(placement).items():
        take(net, spot, power.members[f"{layout.sets[number // 3].name}.{MEMBERS[number % 3]}"])
    hung = hung_on(layout)
    for column, row, number, below, above in wiring.plates:
        part = hung[number - len(layout.elements)] if number >= len(layout.elements) else None
        if part is not None and part.kind is HungKind.CONVERTER:
            # What leaves the turbine comes in at the train; with the lock-up applied nothing goes through the converter.
            passed = Fraction(0) if _locked_up(power) else power.ends[INPUT]
            first = layout.shaft_of(part.between[0])
            take(below, (column, row + BELOW_PLATES), passed if below == first else -passed)
            take(above, (column, row + ABOVE_PLATES), passed if above == first else -passed)
        elif part is not None:
            take(below, (column, row + BELOW_PLATES), -power.ends[part.name])
        elif above and layout.elements[number].name in power.clutches:
            passed = power.clutches[layout.elements[number].name]
            first = layout.shaft_of(layout.elements[number].between[0])
            take(below, (column, row + BELOW_PLATES), passed if below == first else -passed)
            take(above, (column, row + ABOVE_PLATES), passed if above == first else -passed)
    if wiring.entry is not None:
        take(nets.input, (0, wiring.entry), -power.ends[INPUT])
    if wiring.leaving is not None:
        take(nets.output, wiring.leaving, -power.ends[first_output(layout)])
    for column, row, number in wiring.aside:
        take(nets.elements[number][0], (column, row), -power.ends[hung[number - len(layout.elements)].name])
    return wanted


def _locked_up(power: SeveralPower) -> bool:
    return power.torques.motions.terminals.inputs[INPUT] == ENGINE


def _converter_words(power: SeveralPower) -> str:
    """What the figures count from where a converter stands in front; "" where none does."""
    if power.torques.motions.terminals.layout.converter is None:
        return ""
    return say(", engine and input locked up") if _locked_up(power) else say(", figures from the turbine on")


def _describe(power: SeveralPower, line: str) -> str:
    said = [say("{line}. Torques and powers as multiples of the input's.", line=line)]
    said += [
        say("{name}: power {ratio} comes in from outside.", name=member_label(name), ratio=ratio_text(value))
        for name, value in power.ends.items()
    ]
    unit = power.torques.power[INPUT]
    for name, value in power.torques.electrical.items():
        if value:
            said.append(
                say("{name} takes electrical power {ratio}.", name=name, ratio=ratio_text(abs(value) / unit))
                if value > 0
                else say("{name} gives electrical power {ratio}.", name=name, ratio=ratio_text(abs(value) / unit))
            )
    for pset in power.torques.motions.terminals.layout.sets:
        parts = [
            say("{row} torque {row2}, power {row3}", row=row[0], row2=row[1], row3=row[2])
            for row in _card(pset.name, power)[1:]
        ]
        said.append(f"{capital(set_words(pset.name))}: {'; '.join(parts)}.")
    if power.loop:
        said.append(
            say("Power goes round through {member_label}.", member_label=listed(member_label(name) for name in power.loop))
        )
    return " ".join(said)
