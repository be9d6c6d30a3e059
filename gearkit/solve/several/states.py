"""What a train with machines is doing, told from the signs of its powers; and the states that a range allows.

Power that goes in at the input comes from the engine; a machine with power going in drives, one with power coming out
generates; power that comes out at the outputs drives the vehicle, power that goes in there brakes it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from gearkit.solve.several.motions import Motions
from gearkit.solve.several.speeds_given import speeds_with_motions
from gearkit.solve.several.torques_given import GivenTorques, torques_given
from gearkit.text.phrases import listed
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say, say_n
from gearkit.words.terms import LoadState


@dataclass(frozen=True)
class State:
    """One thing that a range can do.

    Args:
        name: what it is called.
        asked: what it was worked out for, in words.
        speeds: machine -> speed, as a multiple of what was set to 1.
        torques: machine -> torque, as a multiple of what was set to 1.
        does: what the machines do, in words.
    """

    name: str
    asked: str
    speeds: dict[str, Fraction]
    torques: dict[str, Fraction]
    does: str


@dataclass(frozen=True)
class _Asked:
    """A state: speeds of input and output, torques on input and on all outputs together, each with 1 for its unit."""

    name: str
    words: str
    turning_along: str
    in_speed: int
    out_speed: int
    in_torque: int
    out_torque: int


_ASKED = (
    _Asked(
        later("electric drive"),
        later("input standing and free, output forward against a load of 1"),
        later("input turning along without torque, output forward against a load of 1"),
        0,
        1,
        0,
        -1,
    ),
    _Asked(
        later("reverse by machine"),
        later("input standing and free, output backward against a load of 1"),
        later("input turning along without torque, output backward against a load of 1"),
        0,
        -1,
        0,
        1,
    ),
    _Asked(
        later("regenerative braking"),
        later("input standing and free, output forward and pushed with 1"),
        later("input turning along without torque, output forward and pushed with 1"),
        0,
        1,
        0,
        1,
    ),
    _Asked(later("engine start"), later("output standing without torque, engine turned against a drag of 1"), "", 1, 0, -1, 0),
)


def operating_state(torques: GivenTorques) -> str | None:
    """Return what a train is doing, in words; None where speeds or torques are not known.

    Args:
        torques: torques and power.
    """
    if not torques.power or torques.speeds is None:
        return None
    terminals = torques.motions.terminals
    at = {name: torques.power[name] for name in terminals.names}
    driving = [name for name in terminals.machines if at[name] > 0]
    driven = [name for name in terminals.machines if at[name] < 0]
    engine = sum((at[name] for name in terminals.inputs), Fraction(0))
    road = -sum((at[name] for name in terminals.outputs), Fraction(0))
    parts = []
    if engine > 0:
        parts.append(say("the engine drives"))
    elif engine < 0 and road > 0 and driving:
        parts.append(say("the engine is turned while the vehicle is driven"))
    elif engine < 0 and road < 0:
        parts.append(say("engine braking"))
    elif engine < 0:
        parts.append(say("engine start"))
    if road < 0:
        parts.append(say("regenerative braking") if driven else say("the vehicle is braked"))
    elif road > 0 and engine <= 0 and driving:
        backward = all((torques.speeds.of[name] or 0) <= 0 for name in terminals.outputs)
        parts.append(say("reverse by machine") if backward else say("electric drive"))
    if driven:
        parts.append(say_n("{driven} generates", "{driven} generate", len(driven), driven=listed(driven)))
    if driving:
        parts.append(say_n("{driving} drives", "{driving} drive", len(driving), driving=listed(driving)))
    return ", ".join(parts) or say("no power flows")


def states_of(left_free: Motions) -> tuple[State, ...]:
    """Return the operating states that a range allows, each worked out without losses.

    Args:
        left_free: what the range leaves free, with one input.
    """
    made = []
    for asked in _ASKED:
        for words, answer in _answers(left_free, asked):
            if not any(answer.power[machine] for machine in left_free.terminals.machines):
                continue
            assert answer.speeds is not None
            turning = {machine: answer.speeds.of[machine] or Fraction(0) for machine in left_free.terminals.machines}
            pushing = {machine: answer.terminals[machine] or Fraction(0) for machine in left_free.terminals.machines}
            made.append(State(say(asked.name), words, turning, pushing, operating_state(answer) or ""))
    return tuple(made)


def _answers(motions: Motions, asked: _Asked) -> Iterator[tuple[str, GivenTorques]]:
    """The state with what is asked; where balance leaves the machines' shares open, with one machine after the other idle."""
    terminals = motions.terminals
    (inp,) = terminals.inputs
    torques = {inp: Fraction(asked.in_torque)}
    torques |= dict.fromkeys(terminals.outputs, Fraction(asked.out_torque, len(terminals.outputs)))
    speeds = dict.fromkeys(terminals.outputs, asked.out_speed)
    standing = speeds_with_motions(motions, {inp: asked.in_speed, **speeds})
    words = say(asked.words)
    if standing.conflict:
        if asked.in_torque:
            return  # the engine cannot be turned while the outputs stand
        words = say(asked.turning_along)
    else:
        speeds[inp] = asked.in_speed
    answer = _answer(motions, speeds, torques)
    if answer is None or answer.state is LoadState.SETTLED:
        yield from [] if answer is None else [(words, answer)]
        return
    for idle in answer.would_do:
        if set(idle) <= set(terminals.machines):
            more = _answer(motions, speeds, torques | dict.fromkeys(idle, Fraction(0)))
            if more is not None and more.state is LoadState.SETTLED:
                yield say("{words}; {idle} without torque", words=words, idle=listed(idle)), more


def _answer(motions: Motions, speeds: dict[str, int], torques: dict[str, Fraction]) -> GivenTorques | None:
    try:
        return torques_given(motions.terminals.layout, motions.engaged, torques, speeds, 1)
    except UsageError:
        return None  # this range does not let input and output turn so
