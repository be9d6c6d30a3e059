"""The electrical branch of a power split: machine speeds, mechanical points, share of power, recirculation, limits.

With input and output chosen, machine k turns at ``u*n(input) + v*n(output)``. Where that is 0 it stands at its mechanical
point, carries no power, and so with the battery at rest no other machine does: all power goes through the gears.
Everything is exact; the speed ratio is output speed / input speed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from gearkit.solve.loads.power import circulating_power
from gearkit.solve.several.motions import Motions, motions
from gearkit.solve.several.relation import Relation, relation
from gearkit.solve.several.speeds_given import speeds_with_motions
from gearkit.solve.several.torques_given import GivenTorques, torques_given
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import LoadState


@dataclass(frozen=True)
class MachineLine:
    """How fast one machine turns.

    Args:
        name: the machine.
        of_input: its speed for each turn of the input, the output standing.
        of_output: its speed for each turn of the output, the input standing.
        formula: the same in tooth symbols; None where no formula stands for it.
        point: speed ratio at which it stands; None where it never does, or always.
        point_formula: the speed ratio in tooth symbols; None as above.
    """

    name: str
    of_input: Fraction
    of_output: Fraction
    formula: Relation | None
    point: Fraction | None
    point_formula: str | None


@dataclass(frozen=True)
class Share:
    """Where the input's power goes at one speed ratio, the battery being at rest and the gears without losses.

    Args:
        speed_ratio: output speed / input speed.
        machine_speeds: machine -> speed for each turn of the input.
        machine_powers: machine -> power that it puts on its shaft, for an input power of 1.
        electrical: electrical power that the machines exchange, for an input power of 1.
        output: power that leaves at the output, for an input power of 1.
        circulating: the largest power that comes back to where it left, for an input power of 1.
        loop: members and machines on its way; empty where none circulates.
    """

    speed_ratio: Fraction
    machine_speeds: dict[str, Fraction]
    machine_powers: dict[str, Fraction]
    electrical: Fraction
    output: Fraction
    circulating: Fraction
    loop: tuple[str, ...]

    @property
    def generating(self) -> tuple[str, ...]:
        """The machines that are driven."""
        return tuple(name for name, power in self.machine_powers.items() if power < 0)


@dataclass(frozen=True)
class Limit:
    """What a machine's highest speed and torque allow.

    Args:
        machine: the machine.
        output_speeds: lowest and highest output speed at the input speed asked for; None where no limit follows.
        input_torque: highest torque at the input; None where the machine's torque does not follow from it alone.
    """

    machine: str
    output_speeds: tuple[Fraction, Fraction] | None
    input_torque: Fraction | None


@dataclass(frozen=True)
class PowerSplit:
    """A range whose machine speeds follow from input and output.

    Args:
        motions: what the range leaves free.
        output: the output's name.
        lines: the machines.
    """

    motions: Motions
    output: str
    lines: tuple[MachineLine, ...]

    @property
    def points(self) -> tuple[Fraction, ...]:
        """The mechanical points, lowest first."""
        return tuple(sorted({line.point for line in self.lines if line.point is not None}))

    def share(self, speed_ratio: Fraction | int) -> Share | None:
        """Return where power goes at a speed ratio; None where nothing fixes it, as with one machine or a standing output.

        Args:
            speed_ratio: output speed / input speed.
        """
        ratio = Fraction(speed_ratio)
        if len(self.lines) < 2 or not ratio:
            return None
        (inp,) = self.motions.terminals.inputs
        layout, engaged = self.motions.terminals.layout, self.motions.engaged
        given_torques = torques_given(layout, engaged, {inp: 1}, {inp: 1, self.output: ratio}, 1, battery_at_rest=True)
        if given_torques.state is not LoadState.SETTLED or given_torques.speeds is None:
            return None
        powers = {line.name: given_torques.power[line.name] for line in self.lines}
        circulating, loop = _circulation(given_torques)
        given = sum((-power for power in given_torques.electrical.values() if power < 0), Fraction(0))
        speeds = {line.name: line.of_input + line.of_output * ratio for line in self.lines}
        return Share(ratio, speeds, powers, given, -given_torques.power[self.output], circulating, loop)

    def limits(self, input_speed: Fraction | int = 0) -> tuple[Limit, ...]:
        """Return what the machines' figures allow.

        Args:
            input_speed: r/min.
        """
        made = []
        for line in self.lines:
            machine = next(machine_ for machine_ in self.motions.terminals.layout.machines if machine_.name == line.name)
            speeds = None
            if machine.highest_speed is not None and line.of_output:
                ends = [
                    (edge - line.of_input * input_speed) / line.of_output
                    for edge in (-machine.highest_speed, machine.highest_speed)
                ]
                speeds = (min(ends), max(ends))
            made.append(Limit(line.name, speeds, self._torque_limit(line.name, machine.highest_torque)))
        return tuple(made)

    def _torque_limit(self, name: str, highest: Fraction | None) -> Fraction | None:
        (inp,) = self.motions.terminals.inputs
        if highest is None:
            return None
        others = [other for other in self.motions.terminals.names if other not in (inp, name)]
        for other in others:
            given_torques = torques_given(
                self.motions.terminals.layout, self.motions.engaged, {inp: 1, other: 0}, basic_efficiency=1
            )
            share = given_torques.fixed_by.get(name)
            if share is not None and not given_torques.missing and set(share) == {inp}:
                return highest / abs(share[inp])
        return None


def power_split(layout: Layout, engaged: Iterable[str]) -> PowerSplit:
    """Return the electrical branch of a range.

    Args:
        layout: a layout with machines, one input and one output.
        engaged: names of the engaged elements.

    Raises:
        UsageError: no machine, several outputs, or input and output do not fix all machine speeds.

    >>> from gearkit.train.catalogue import find
    >>> power_split(find("power_split_one_set"), []).lines[0].point
    Fraction(27, 19)
    """
    left_free = motions(layout, engaged)
    terminals = left_free.terminals
    if not terminals.machines:
        raise UsageError(f"{layout.name}: it has no machine; add a [[machine]] to its file.")
    if len(terminals.outputs) > 1:
        raise UsageError(f"{layout.name}: it has several outputs; the electrical branch is worked out for one output.")
    (inp,), (out,) = terminals.inputs, terminals.outputs
    both = tuple(sorted(left_free.choices, key=lambda choice: choice != tuple(sorted(choice, key=terminals.names.index))))
    if not any(set(choice) == {inp, out} for choice in both):
        raise UsageError(
            f"{layout.name}: with {', '.join(left_free.engaged) or 'nothing'} applied the verdict is {left_free.verdict}, and input "
            "and output do not stand for all speeds; a range that is a power split by one input and one output is needed."
        )
    known = speeds_with_motions(left_free, {inp: 1, out: 1})
    lines = []
    for name in terminals.machines:
        by = known.fixed_by[name]
        factors = {terminal: by.get(terminal, Fraction(0)) for terminal in (inp, out)}
        point = -factors[inp] / factors[out] if factors[inp] and factors[out] else None
        formula = relation(terminals, left_free.engaged, name, factors)
        lines.append(MachineLine(name, factors[inp], factors[out], formula, point, _point_formula(left_free, name, point)))
    return PowerSplit(left_free, out, tuple(lines))


def _point_formula(left_free: Motions, machine: str, point: Fraction | None) -> str | None:
    """Output speed / input speed with the machine standing: the output's own formula over input and machine."""
    if point is None:
        return None
    (inp,), (out,) = left_free.terminals.inputs, left_free.terminals.outputs
    by = speeds_with_motions(left_free, {inp: 1, machine: 1}).fixed_by[out]
    made = relation(
        left_free.terminals, left_free.engaged, out, {terminal: by.get(terminal, Fraction(0)) for terminal in (inp, machine)}
    )
    return made.factors[inp].text() if made else None


def _circulation(given_torques: GivenTorques) -> tuple[Fraction, tuple[str, ...]]:
    """The largest power that comes back, the machines' powers meeting in one electrical place."""
    terminals, speeds = given_torques.motions.terminals, given_torques.speeds
    assert speeds is not None
    members = {
        name: (torque or Fraction(0)) * (speeds.of[name] or Fraction(0)) for name, torque in given_torques.members.items()
    }
    machines = {name: (shaft, given_torques.power[name]) for name, shaft in terminals.machines.items()}
    return circulating_power(terminals.layout, given_torques.motions.engaged, members, machines)
