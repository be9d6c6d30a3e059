"""Torques, losses and power of a combination of applied elements: the one call that answers all of it.

Signs and units: torques are what acts on a member from outside, positive in the input's sense; torques of input, output
and housing add to zero. Speeds are multiples of the input's, so power is in units of input torque times input speed.
A *drive* torque on the input is positive; in *coast* the vehicle pushes, and the input torque is negative.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from gearkit.solve.loads.balance import Statics, Torque, push_sense
from gearkit.solve.loads.losses import Efficiencies, Settled, basic_efficiencies, settle
from gearkit.solve.loads.power import PowerFlow, power_flow
from gearkit.solve.mobility import Mobility, applied_words, assess, checked, shaft_columns
from gearkit.solve.one_way import Working
from gearkit.solve.speeds import Speeds, speeds_with
from gearkit.text.phrases import listed, sentence
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import say
from gearkit.words.terms import OUTPUT, Drive, ElementKind, LoadState, Verdict


@dataclass(frozen=True)
class Torques:
    """Torques and power of a combination of applied elements; None marks what is not fixed.

    Args:
        layout: the layout.
        engaged: the applied elements.
        mobility: the verdict on them.
        state: what can be said of the torques; only "settled" is a full answer.
        reason: the state in a sentence.
        input_torque: torque on the input.
        basic_efficiency: set -> efficiency between sun and ring with the carrier held.
        members: torque on every member.
        elements: torque of every applied element on its turning part: the held member, or the first-named part.
        output_torque: torque on the output; it is the load, so it acts against the motion in drive.
        housing_torque: torque that the housing puts on the train.
        efficiency: power out / power in.
        power: what flows where; None where there is no range.
        speeds: speeds as multiples of the input's; None where the input cannot turn.
        margin: how near the losses come to deciding which way power rolls; below 0.5 the answer is the only one.
    """

    layout: Layout
    engaged: tuple[str, ...]
    mobility: Mobility
    state: LoadState
    reason: str
    input_torque: Fraction
    basic_efficiency: dict[str, Fraction]
    members: dict[str, Torque]
    elements: dict[str, Torque]
    output_torque: Torque
    housing_torque: Torque
    efficiency: Fraction | None
    power: PowerFlow | None
    speeds: Speeds | None
    margin: Fraction | None

    @property
    def drive(self) -> Drive:
        """Which end pushes."""
        return Drive.DRIVE if self.input_torque > 0 else Drive.COAST

    @property
    def recirculation(self) -> Fraction | None:
        """The largest power that goes round inside the train, as a multiple of the power that goes in."""
        if self.power is None or self.power.circulating is None or self.power_in is None:
            return None
        return self.power.circulating / self.power_in

    @property
    def power_in(self) -> Fraction | None:
        """Power that goes into the train, at the input in drive and at the output in coast."""
        if self.speeds is None:
            return None
        if self.drive is Drive.DRIVE:
            return self.input_torque
        return _product(self.output_torque, self.speeds.shafts[OUTPUT])

    @property
    def loss(self) -> Fraction | None:
        """Power that all meshes turn into heat, as a multiple of the power that goes in."""
        return None if self.efficiency is None else 1 - self.efficiency


def torques(
    layout: Layout,
    engaged: Iterable[str],
    input_torque: Fraction | int = 1,
    basic_efficiency: Efficiencies = None,
) -> Torques:
    """Return torques, losses and power while some elements are applied.

    Args:
        layout: the layout.
        engaged: names of the engaged elements; a one-way clutch among them is taken to hold, and checked.
        input_torque: torque on the input; negative when the vehicle pushes the engine (coast).
        basic_efficiency: one number for every set, or set -> number; where left out the layout's own, else 0.98
            (common practice, no source); 1 means no losses.

    Raises:
        UsageError: no such element, no torque on the input, or a basic efficiency outside 0 to 1.

    >>> from gearkit.train.catalogue import find
    >>> found = torques(find("Q36"), ["A", "C"], basic_efficiency=1)
    >>> found.elements["C"], found.output_torque
    (Fraction(93, 59), Fraction(-152, 59))
    """
    names = checked(layout, engaged)
    torque = Fraction(input_torque)
    if not torque:
        raise UsageError(f"{layout.name}: input torque 0; give a torque above 0 for drive, below 0 for coast.")
    efficiencies = basic_efficiencies(layout, basic_efficiency)
    mobility = assess(layout, names)
    if mobility.verdict is not Verdict.RANGE:
        return _no_range(layout, names, mobility, torque, efficiencies)
    turning = speeds_with(layout, names, mobility)
    rolling = {p.name: _seen_from_carrier(turning, p.name) for p in layout.sets}
    output_speed = turning.shafts[OUTPUT]
    assert output_speed is not None
    settled = settle(layout, names, torque, rolling, efficiencies, output_speed)
    return _answer(layout, names, mobility, torque, efficiencies, turning, settled)


def torques_of(state: Working, input_torque: Fraction | int = 1, basic_efficiency: Efficiencies = None) -> Torques:
    """Return torques, losses and power of what elements do once the one-way clutches have taken hold or let go.

    Args:
        state: what they do, in drive or in coast.
        input_torque: size of the torque on the input; in coast it acts backward.
        basic_efficiency: as in `torques`.

    Raises:
        UsageError: no torque on the input, or a basic efficiency outside 0 to 1.

    >>> from gearkit.solve.one_way import in_range
    >>> from gearkit.train.catalogue import find
    >>> torques_of(in_range(find("Q24"), "1", Drive.COAST)).state.value
    'freewheel'
    """
    size = abs(Fraction(input_torque))
    result = torques(state.layout, state.engaged, size if state.drive is Drive.DRIVE else -size, basic_efficiency)
    if result.state is not LoadState.NO_RANGE or state.note is None:
        return result
    if state.verdict is Verdict.NEUTRAL:
        reason = _reason(result.mobility, state.engaged, LoadState.FREEWHEEL, state.listed)
        return replace(result, state=LoadState.FREEWHEEL, reason=reason)
    return replace(result, reason=f"{result.reason} {sentence(state.note)}")


def _seen_from_carrier(turning: Speeds, name: str) -> Fraction | None:
    sun, carrier = turning.members[f"{name}.sun"], turning.members[f"{name}.carrier"]
    if sun is not None and carrier is not None:
        return sun - carrier
    # Two members that are one shaft turn alike even where nothing fixes how fast.
    columns = turning.layout.groups
    return Fraction(0) if columns.name_of(f"{name}.sun") == columns.name_of(f"{name}.carrier") else None


def _answer(
    layout: Layout,
    names: tuple[str, ...],
    mobility: Mobility,
    torque: Fraction,
    efficiencies: dict[str, Fraction],
    turning: Speeds,
    settled: Settled,
) -> Torques:
    state, statics = settled.state, settled.statics
    released = [name for name in names if _lets_go(layout, name, statics.elements[name])]
    if released and state is LoadState.SETTLED:
        state = LoadState.FREEWHEEL
    reason = _reason(mobility, names, state, released)
    if state not in (LoadState.SETTLED, LoadState.STATICALLY_UNDETERMINED):
        statics = Statics(dict.fromkeys(statics.members), dict.fromkeys(statics.elements), None, None)
    output_speed = turning.shafts[OUTPUT]
    output_power = _product(statics.output, output_speed)
    efficiency = None
    if output_power is not None:
        efficiency = -output_power / torque if torque > 0 else -torque / output_power
    flow = power_flow(layout, names, statics, {**turning.members, **turning.shafts})
    return Torques(
        layout, names, mobility, state, reason, torque, efficiencies, statics.members, statics.elements,
        statics.output, _housing(torque, statics), efficiency, flow, turning, settled.margin,
    )  # fmt: skip


def _housing(torque: Fraction, statics: Statics) -> Torque:
    """What the housing takes up: however elements share it, torques from outside add to zero."""
    return -(torque + statics.output) if statics.housing is None and statics.output is not None else statics.housing


def _no_range(
    layout: Layout, names: tuple[str, ...], mobility: Mobility, torque: Fraction, efficiencies: dict[str, Fraction]
) -> Torques:
    why = {
        Verdict.NEUTRAL: say("input and output are independent, so no torque reaches the output"),
        Verdict.INPUT_LOCKED: say("the input cannot turn: it is held, whatever torque is put on it"),
        Verdict.OUTPUT_LOCKED: say("the output cannot turn and the input turns without load"),
        Verdict.TIE_UP: say("neither input nor output can turn, and how the elements share torque is undetermined"),
    }.get(mobility.verdict, mobility.verdict.means)
    reason = say(
        "With {applied} the verdict is {verdict}: {why}.",
        applied=applied_words(layout, names),
        verdict=mobility.verdict,
        why=why,
    )
    members: dict[str, Torque] = dict.fromkeys(layout.members)
    elements: dict[str, Torque] = dict.fromkeys(names)
    return Torques(
        layout, names, mobility, LoadState.NO_RANGE, reason, torque, efficiencies, members, elements,
        None, None, None, None, None, None,
    )  # fmt: skip


def _lets_go(layout: Layout, name: str, torque: Torque) -> bool:
    element = layout.element_named(name)
    if element.kind is not ElementKind.ONE_WAY_CLUTCH or not torque:
        return False
    return torque * push_sense(element, shaft_columns(layout)) < 0


def _reason(mobility: Mobility, names: Sequence[str], state: LoadState, released: Sequence[str]) -> str:
    # Where the applied elements are not to blame, the joins alone fix some motion twice.
    who = listed(names) if mobility.redundant else say("The joins of the sets")
    match state:
        case LoadState.SETTLED:
            return say("Balance fixes every torque, and power rolls one way only in every set.")
        case LoadState.STATICALLY_UNDETERMINED:
            return say(
                "Statically undetermined: {who} are more than is needed and do not contradict each other, so how they share torque depends on stiffness and clearances.",
                who=who,
            )
        case LoadState.FREEWHEEL:
            return say(
                "Freewheel: {elements} would have to hold in the free direction, so it lets go and no torque passes.",
                elements=", ".join(released),
            )
        case LoadState.SELF_LOCKING:
            return say("Self-locking: with these losses no power gets through in this direction, whatever the torque.")
        case _:
            return say("Not unique: with these losses more than one way for power to roll is in balance.")


def _product(first: Torque, second: Torque) -> Fraction | None:
    return None if first is None or second is None else first * second
