"""Speed of every member and pinion, and the slip across every open element."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from gearkit.solve.exact.linear import solve
from gearkit.solve.mobility import Mobility, applied_words, assess, checked, element_rows, set_rows, shaft_columns
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, Verdict

if TYPE_CHECKING:
    from gearkit.solve.several.motions import Motions

Speed = Fraction | None


@dataclass(frozen=True)
class Speeds:
    """What turns how fast while some elements are applied; None marks a shaft that nothing fixes.

    Args:
        layout: the layout.
        engaged: the applied elements.
        mobility: the verdict on them.
        input_speed: speed of the input, in the unit of all other speeds.
        shafts: speed of input, output and housing.
        members: speed of every member, "P1.sun" and so on.
        planets: speed of every pinion seen from the housing, "P1.planet" and so on, where its teeth are known.
        planet_spins: the same seen from the carrier.
        slip: speed of an open element's first shaft less that of its second; 0 across an applied one.
    """

    layout: Layout
    engaged: tuple[str, ...]
    mobility: Mobility | Motions
    input_speed: Fraction
    shafts: dict[str, Speed]
    members: dict[str, Speed]
    planets: dict[str, Speed]
    planet_spins: dict[str, Speed]
    slip: dict[str, Speed]

    def of(self, shaft: str) -> Speed:
        """Return the speed of a member, "input", "output" or "housing"."""
        if shaft in self.members:
            return self.members[shaft]
        if shaft not in self.shafts:
            known = (*self.members, *self.shafts)
            raise UsageError(f"Layout {self.layout.name}: no member {shaft!r}. Members: {', '.join(known)}.")
        return self.shafts[shaft]


def speeds(
    layout: Layout,
    engaged: Iterable[str],
    input_speed: Fraction | int = 1,
    output_speed: Fraction | int | None = None,
) -> Speeds:
    """Return the speeds while some elements are applied.

    Args:
        layout: the layout.
        engaged: names of the engaged elements.
        input_speed: speed of the input; 1 gives every speed as a multiple of the input's.
        output_speed: speed of the output, for a neutral only, where the input does not fix it.

    Raises:
        UsageError: no such element, or the input (or output) cannot turn as asked.

    >>> from gearkit.train.catalogue import find
    >>> speeds(find("Q36"), ["A", "B"]).members["P2.ring"]
    Fraction(-19, 47)
    """
    names = checked(layout, engaged)
    return speeds_with(layout, names, assess(layout, names), input_speed, output_speed)


def speeds_with(
    layout: Layout,
    names: tuple[str, ...],
    mobility: Mobility,
    input_speed: Fraction | int = 1,
    output_speed: Fraction | int | None = None,
) -> Speeds:
    """Return the speeds where the verdict is known already; otherwise as `speeds`.

    Args:
        layout: the layout.
        names: the applied elements, in the layout's order.
        mobility: the verdict on them.
        input_speed: as in `speeds`.
        output_speed: as in `speeds`.
    """
    columns = shaft_columns(layout)
    size = max(columns.values()) + 1
    rows: list[list[int]] = set_rows(layout, columns) + element_rows(layout, columns, names)
    sides: list[Fraction | int] = [0] * len(rows)
    for shaft, speed in ((INPUT, input_speed), (OUTPUT, output_speed)):
        if speed is not None:
            rows.append([int(column == columns[shaft]) for column in range(size)])
            sides.append(speed)
    values = solve(rows, sides)
    if values is None:
        raise UsageError(_why_not(layout, names, mobility.verdict, input_speed, output_speed))

    def speed_of(member: str) -> Speed:
        return Fraction(0) if columns[member] == -1 else values[columns[member]]

    members = {member: speed_of(member) for member in layout.members}
    planets, spins = pinion_speeds(layout, members)
    slip = {
        element.name: _difference(speed_of(element.between[0]), speed_of(element.between[1])) for element in layout.elements
    }
    shafts = {shaft: speed_of(shaft) for shaft in (INPUT, OUTPUT, HOUSING)}
    return Speeds(layout, names, mobility, Fraction(input_speed), shafts, members, planets, spins, slip)


def pinion_speeds(layout: Layout, members: Mapping[str, Speed]) -> tuple[dict[str, Speed], dict[str, Speed]]:
    """Return the speed of every pinion whose teeth are known, seen from the housing and seen from its carrier.

    Args:
        layout: the layout.
        members: speed of every member.
    """
    planets: dict[str, Speed] = {}
    spins: dict[str, Speed] = {}
    for pset in layout.sets:
        carrier = members[f"{pset.name}.carrier"]
        relative = _difference(members[f"{pset.name}.sun"], carrier)
        for pinion, turns in pset.spins().items():
            key = f"{pset.name}.{pinion}"
            spins[key] = None if relative is None else turns * relative
            spin = spins[key]
            planets[key] = None if spin is None or carrier is None else carrier + spin
    return planets, spins


def _difference(first: Speed, second: Speed) -> Speed:
    return None if first is None or second is None else first - second


def _why_not(
    layout: Layout,
    engaged: tuple[str, ...],
    verdict: Verdict,
    input_speed: Fraction | int,
    output_speed: Fraction | int | None,
) -> str:
    start = f"{layout.name}: with {applied_words(layout, engaged)} the verdict is {verdict}"
    if output_speed is not None and verdict.input_turns:
        return f"{start}, so input {input_speed} and output {output_speed} cannot both be; leave the output speed out."
    return f"{start}: the input cannot turn at {input_speed}. Ask for input speed 0, or for another combination."
