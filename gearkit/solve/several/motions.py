"""What applied elements do to any number of inputs, machines and outputs: the verdict by exact rank.

An output that the input moves belongs to smallest dependent groups with it. By what else is in such a group:

* input and output alone: **range**;
* machines that drive as well: **power split**;
* further outputs: **splits torque**;
* machines and further outputs: **both**;
* no such group: **neutral**; where input, output or both stand still, they are **locked**, or it is a **tie-up**.

A machine that turns in a fixed proportion to the input or follows from the outputs alone decides nothing: it adds torque,
not a freedom. With one input, one output and no machine this is the verdict of `gearkit.solve.mobility`, word for word.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from gearkit.solve.exact.linear import echelon
from gearkit.solve.mobility import checked
from gearkit.solve.several.ranks import Relations, generic_relations, named_relations, relations, sufficient
from gearkit.solve.several.terminals import Terminals, terminals_of
from gearkit.train.layout import Layout
from gearkit.words.terms import TrainVerdict

_LOCKED = (TrainVerdict.INPUT_LOCKED, TrainVerdict.OUTPUT_LOCKED, TrainVerdict.TIE_UP)


@dataclass(frozen=True)
class Motions:
    """What a combination of applied elements leaves free.

    Args:
        terminals: the train.
        engaged: the applied elements.
        verdict: on the whole.
        outputs: output -> the verdict on it.
        freedom: number of independent motions left.
        idle_freedom: those that move no terminal.
        redundant: the elements are more than is needed and do not contradict each other.
        ratios: output -> input speed / output speed, where the verdict on it is range.
        generic_verdict: the verdict at tooth counts without coincidences.
        relations: independent relations between terminal speeds, {terminal: whole number} with sum 0.
        speeds_to_give: how many terminal speeds can be chosen, and must be given.
        torques_to_give: how many torques from outside can be chosen, and must be given.
        choices: every smallest choice of terminals whose speeds fix all; the others' torques fix all torques.
    """

    terminals: Terminals
    engaged: tuple[str, ...]
    verdict: TrainVerdict
    outputs: dict[str, TrainVerdict]
    freedom: int
    idle_freedom: int
    redundant: bool
    ratios: dict[str, Fraction]
    generic_verdict: TrainVerdict
    relations: tuple[dict[str, int], ...]
    speeds_to_give: int
    torques_to_give: int
    choices: tuple[tuple[str, ...], ...]

    @property
    def ratio(self) -> Fraction | None:
        """Input speed / output speed, where the verdict is range and every output has the same."""
        alike = set(self.ratios.values())
        same = self.verdict is TrainVerdict.RANGE and len(self.ratios) == len(self.outputs) and len(alike) == 1
        return alike.pop() if same else None

    @property
    def shares_fixed(self) -> bool:
        """Balance alone says how torque is shared: there is no more to choose than one torque."""
        return self.torques_to_give <= 1

    @property
    def standing(self) -> tuple[str, ...]:
        """Terminals that cannot turn."""
        return tuple(name for relation in self.relations if len(relation) == 1 for name in relation)


def motions(layout: Layout, engaged: Iterable[str]) -> Motions:
    """Return what a combination of applied elements leaves free.

    Args:
        layout: any layout.
        engaged: names of the engaged elements; a one-way clutch among them is taken to hold.

    Raises:
        UsageError: the layout has no such element.

    >>> from gearkit.train.catalogue import find
    >>> found = motions(find("power_split_one_set"), [])
    >>> str(found.verdict), found.relations[0], found.torques_to_give
    ('power split', {'output': 19, 'M1': 8, 'input': -27}, 2)
    """
    names = checked(layout, engaged)
    terminals = terminals_of(layout, names)
    ranks = relations(terminals, names)
    verdict, outputs = _verdicts(terminals, ranks)
    generic, _ = _verdicts(terminals, generic_relations(terminals, names))
    freedom = terminals.size - ranks.full_rank
    return Motions(
        terminals,
        names,
        verdict,
        outputs,
        freedom,
        freedom - ranks.freedom,
        ranks.surplus > 0 and verdict is not TrainVerdict.TIE_UP,
        {name: _ratio(terminals, ranks, name) for name, word in outputs.items() if word is TrainVerdict.RANGE},
        generic,
        named_relations(terminals, ranks),
        ranks.freedom,
        len(terminals.names) - ranks.freedom,
        sufficient(terminals, ranks),
    )


def _verdicts(terminals: Terminals, ranks: Relations) -> tuple[TrainVerdict, dict[str, TrainVerdict]]:
    rank_of = ranks.rank_of
    inputs = {terminals.place(name) for name in terminals.inputs}
    outputs = {terminals.place(name) for name in terminals.outputs}
    machines = {terminals.place(name) for name in terminals.machines}
    deciding = {
        machine
        for machine in machines
        if rank_of({*outputs, machine}) > rank_of(outputs) and rank_of({*inputs, machine}) > rank_of(inputs)
    }
    each = {name: _verdict_on(terminals.place(name), inputs, deciding, outputs, ranks) for name in terminals.outputs}
    words = set(each.values())
    if TrainVerdict.BOTH in words or {TrainVerdict.POWER_SPLIT, TrainVerdict.SPLITS_TORQUE} <= words:
        return TrainVerdict.BOTH, each
    for verdict in (TrainVerdict.SPLITS_TORQUE, TrainVerdict.POWER_SPLIT, TrainVerdict.RANGE, TrainVerdict.NEUTRAL):
        if verdict in words:
            return verdict, each
    if not rank_of(inputs | outputs):
        return TrainVerdict.TIE_UP, each
    return (TrainVerdict.INPUT_LOCKED if not rank_of(inputs) else TrainVerdict.OUTPUT_LOCKED), each


def _verdict_on(output: int, inputs: set[int], machines: set[int], outputs: set[int], ranks: Relations) -> TrainVerdict:
    turns_in, turns_out = ranks.rank_of(inputs), ranks.rank_of((output,))
    if not turns_in or not turns_out:
        return _LOCKED[2] if not turns_in and not turns_out else _LOCKED[0] if turns_out else _LOCKED[1]
    if any(ranks.rank_of((column,)) and ranks.rank_of((column, output)) == 1 for column in inputs):
        return TrainVerdict.RANGE
    # An output on the input's own shaft was a range already, so these are different columns.
    groups = [group for column in inputs for group in ranks.groups_with(inputs | machines | outputs, (column, output))]
    kinds = {(len(group & (inputs | machines)) > 1, len(group - inputs - machines) > 1) for group in groups}
    if (True, False) in kinds:
        return TrainVerdict.POWER_SPLIT
    if (False, True) in kinds:
        return TrainVerdict.SPLITS_TORQUE
    return TrainVerdict.BOTH if kinds else TrainVerdict.NEUTRAL


def _ratio(terminals: Terminals, ranks: Relations, output: str) -> Fraction:
    """Input speed / output speed from the relation between the two, which the verdict says there is."""
    out = terminals.place(output)
    for name in terminals.inputs:
        inp = terminals.place(name)
        if inp == out:
            return Fraction(1)
        others = [column for column in range(ranks.columns) if column not in (inp, out)]
        done, pivots = echelon([[row[column] for column in (*others, out, inp)] for row in ranks.rows], len(others) + 2)
        left = [row for row, pivot in zip(done, pivots, strict=True) if pivot >= len(others)]
        if len(left) == 1 and left[0][-2] and left[0][-1]:
            return Fraction(-left[0][-2], left[0][-1])
    raise AssertionError("a range has an input that moves the output")
