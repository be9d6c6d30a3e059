"""Torques and power of a train with several drivers or outputs, in the form that the power picture draws."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from gearkit.solve.loads.balance import sides_of
from gearkit.solve.loads.power import circulating_power
from gearkit.solve.several.speeds_given import speeds_given
from gearkit.solve.several.torques_given import GivenTorques, torques_given
from gearkit.text.phrases import listed
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import INPUT, LoadState


@dataclass(frozen=True)
class SeveralPower:
    """Power at every place of a drawn train, as a multiple of the input's.

    Args:
        torques: torques and power.
        members: power that each member brings into its set.
        clutches: power that each applied clutch passes from its first-named part to its second.
        ends: terminal -> power that goes in there.
        circulating: the largest power that comes back to where it left.
        loop: members, clutches and machines on its way.
    """

    torques: GivenTorques
    members: dict[str, Fraction]
    clutches: dict[str, Fraction]
    ends: dict[str, Fraction]
    circulating: Fraction
    loop: tuple[str, ...]


def several_power(layout: Layout, engaged: Sequence[str], speeds: Mapping[str, Fraction | int]) -> SeveralPower:
    """Return the power in a train with an input torque of 1, the battery at rest where there are two machines.

    Args:
        layout: a layout with several drivers or outputs.
        engaged: names of the engaged elements.
        speeds: member or terminal -> speed.

    Raises:
        UsageError: these speeds, an input torque and a battery at rest do not fix all torques.
    """
    at_rest = len(layout.machines) > 1
    try:
        given_torques = torques_given(layout, engaged, {INPUT: 1}, speeds or None, battery_at_rest=at_rest)
    except UsageError as reason:
        raise UsageError(f"{reason}{_more_speeds(layout, engaged, speeds, 'Such as')}") from None
    if given_torques.missing:
        choices = listed([" with ".join(names) for names in given_torques.would_do[:4]], "or")
        # Asked for torques alone, a battery need not be at rest.
        enough = torques_given(layout, engaged, {INPUT: 1}).would_do
        amounts = zip(enough[0], (-50, 20, 10), strict=False) if enough else ()
        more = "".join(f" --torque {name}={amount}" for name, amount in amounts)
        raise UsageError(
            f"{layout.name}: the input's torque alone does not fix all torques, so there is no power to draw; "
            f"that of {choices} would have to be given too. Ask gearkit torques, such as --torque input=100{more}."
        )
    if given_torques.state is not LoadState.SETTLED or given_torques.speeds is None or not given_torques.power:
        raise UsageError(
            f"{layout.name}: the input's torque and these speeds do not fix all power ({given_torques.state})."
            f"{_more_speeds(layout, engaged, speeds, 'Give speeds that fix all, such as')}"
        )
    unit = given_torques.power[INPUT]
    if not unit:
        raise UsageError(f"{layout.name}: the input brings no power at these speeds; give it a speed other than 0.")
    of, columns = given_torques.speeds.of, given_torques.motions.terminals.columns
    members = {
        name: (torque or Fraction(0)) * (of[name] or Fraction(0)) / unit for name, torque in given_torques.members.items()
    }
    clutches = {}
    for name, torque in given_torques.elements.items():
        turning, other = sides_of(layout.element_named(name), columns)
        if columns[other] != -1 and torque is not None:
            clutches[name] = -torque * (of[turning] or Fraction(0)) / unit
    ends = {name: power / unit for name, power in given_torques.power.items()}
    machines = {name: (shaft, ends[name]) for name, shaft in given_torques.motions.terminals.machines.items()}
    circulating, loop = circulating_power(layout, given_torques.motions.engaged, members, machines)
    return SeveralPower(given_torques, members, clutches, ends, circulating, loop)


def _more_speeds(layout: Layout, engaged: Sequence[str], speeds: Mapping[str, Fraction | int], start: str) -> str:
    """Speeds that fix all, as one would give them, in a sentence that starts so; "" where more would not help."""
    given = {**speeds} or {INPUT: 2000}
    given_speeds = speeds_given(layout, engaged, given)
    names = given_speeds.would_do[0] if given_speeds.would_do else ()
    if given_speeds.conflict or not (names or not speeds):
        return ""
    more = [f"--speed {name}={amount}" for name, amount in [*given.items(), *zip(names, (1500, 1200, 900), strict=False)]]
    return f" {start} {' '.join(more)}."
