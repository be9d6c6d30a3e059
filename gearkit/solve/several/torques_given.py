"""Torques and power at every terminal, member and element from given torques, with losses where the speeds are known.

Signs and units as everywhere: a torque is what acts on a part from outside, positive in the input's sense, so a load is
negative; power goes in where torque and speed have one sense. A machine that drives takes more from its battery than it
gives to its shaft, one that is driven gives less.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations

from gearkit.solve.loads.losses import Efficiencies, basic_efficiencies
from gearkit.solve.several.losses import Case, Settled
from gearkit.solve.several.motions import Motions, motions
from gearkit.solve.several.speeds_given import GivenSpeeds, speeds_with_motions
from gearkit.solve.several.statics import BATTERY, Balance, Question, Torque
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say
from gearkit.words.terms import LoadState


@dataclass(frozen=True)
class GivenTorques:
    """Torques and power when some torques are given; None marks what is not fixed.

    Args:
        motions: what the applied elements leave free.
        given: terminal or member -> torque.
        speeds: the speeds, where enough are known; None where they are not, and then there are no losses and no power.
        basic_efficiency: set -> efficiency between sun and ring with the carrier held.
        state: what can be said of the torques; "settled" and "without losses" are full answers.
        reason: the state in a sentence.
        members: torque on every member.
        elements: torque of every applied element on its turning part.
        terminals: torque from outside at every terminal.
        housing: torque that the housing puts on the train.
        fixed_by: terminal -> {given: share} without losses.
        power: terminal -> power that goes in there, in the units of torque times speed.
        electrical: machine -> power that it takes from its battery; below 0 where it gives.
        rolling: set -> power through its meshes as seen from the carrier.
        efficiency: power out / power in, at the terminals.
        conflict: given torques that cannot all be, a smallest such set.
        missing: how many more torques are needed.
        would_do: choices of terminals, each of which would be enough beside what is given.
    """

    motions: Motions
    given: dict[str, Fraction]
    speeds: GivenSpeeds | None
    basic_efficiency: dict[str, Fraction]
    state: LoadState
    reason: str
    members: dict[str, Torque]
    elements: dict[str, Torque]
    terminals: dict[str, Torque]
    housing: Torque
    fixed_by: dict[str, dict[str, Fraction]]
    power: dict[str, Fraction]
    electrical: dict[str, Fraction]
    rolling: dict[str, Fraction]
    efficiency: Fraction | None
    conflict: tuple[str, ...]
    missing: int
    would_do: tuple[tuple[str, ...], ...]

    @property
    def answered(self) -> bool:
        """Every torque at a terminal is known."""
        return self.state in (LoadState.SETTLED, LoadState.WITHOUT_LOSSES)


def torques_given(
    layout: Layout,
    engaged: Iterable[str],
    given: Mapping[str, Fraction | int],
    speeds: Mapping[str, Fraction | int] | None = None,
    basic_efficiency: Efficiencies = None,
    battery_at_rest: bool = False,
) -> GivenTorques:
    """Return all torques that given ones fix.

    Args:
        layout: any layout.
        engaged: names of the engaged elements.
        given: terminal, or member of a set -> torque on it.
        speeds: member or terminal -> speed; where they are left out and one speed would be enough, the input's is 1.
        basic_efficiency: as in `gearkit.solve.loads.torques.torques`.
        battery_at_rest: the machines' electrical powers add to zero; this stands for one given torque.

    Raises:
        UsageError: no such element, member or terminal; more torques than are needed, with losses; a battery at rest
            without two machines whose speeds are known.

    >>> from gearkit.train.catalogue import find
    >>> found = torques_given(find("planetary_transfer"), [], {"input": 100}, basic_efficiency=1)
    >>> {name: str(found.terminals[name]) for name in ("front", "rear")}
    {'front': '-34', 'rear': '-66'}
    """
    left_free = motions(layout, engaged)
    turning = _speeds(left_free, speeds)
    question = _question(left_free, given, turning if turning and turning.enough else None, battery_at_rest)
    efficiencies = basic_efficiencies(layout, basic_efficiency)
    if turning is not None and turning.conflict:
        raise UsageError(f"{layout.name}: the speeds given for {', '.join(turning.conflict)} contradict each other.")
    fixed = question.lossless_shares
    first = question.first_terminal
    by = {name: parts for name, parts in zip(left_free.terminals.names, fixed.by[first:], strict=True) if parts is not None}
    shares = {
        name: {terminal: factor for terminal, factor in parts.items() if terminal != BATTERY} for name, parts in by.items()
    }
    answer = _Answer(left_free, question, turning, efficiencies, shares)
    if fixed.conflict:
        which = tuple(name for name in fixed.conflict if name != BATTERY)
        return answer.without(LoadState.CONTRADICTORY, which, 0, ())
    if fixed.missing:
        return answer.without(LoadState.NOT_ENOUGH, (), fixed.missing, _would_do(question, fixed.missing))
    return answer.settled()


def _speeds(left_free: Motions, given: Mapping[str, Fraction | int] | None) -> GivenSpeeds | None:
    if given:
        return speeds_with_motions(left_free, given)
    if left_free.speeds_to_give != 1:
        return speeds_with_motions(left_free, {}) if not left_free.speeds_to_give else None
    choice = next(
        (terminals for terminals in left_free.choices if terminals[0] in left_free.terminals.inputs), left_free.choices[0]
    )
    return speeds_with_motions(left_free, {choice[0]: 1})


def _question(
    left_free: Motions, given: Mapping[str, Fraction | int], turning: GivenSpeeds | None, battery_at_rest: bool
) -> Question:
    terminals = left_free.terminals
    at_rest: dict[str, Fraction] = {}
    if battery_at_rest:
        if len(terminals.machines) < 2:
            raise UsageError(
                f"{terminals.layout.name}: a battery at rest needs two machines or more, one giving what another takes."
            )
        if turning is None:
            raise UsageError(
                f"{terminals.layout.name}: a battery at rest needs the speeds of the machines; give speeds as well."
            )
        at_rest = {name: turning.of[name] or Fraction(0) for name in terminals.machines}
    return Question(terminals, left_free.engaged, {name: Fraction(value) for name, value in given.items()}, at_rest)


def _would_do(question: Question, missing: int) -> tuple[tuple[str, ...], ...]:
    free = [name for name in question.terminals.names if name not in question.given]
    enough = []
    for rest in combinations(free, missing):
        more = {**question.given, **dict.fromkeys(rest, Fraction(0))}
        if not Question(question.terminals, question.engaged, more, question.at_rest).lossless_shares.missing:
            enough.append(rest)
    return tuple(enough)


@dataclass(frozen=True)
class _Answer:
    motions: Motions
    question: Question
    speeds: GivenSpeeds | None
    efficiencies: dict[str, Fraction]
    shares: dict[str, dict[str, Fraction]]

    def without(
        self, state: LoadState, conflict: tuple[str, ...], missing: int, would_do: tuple[tuple[str, ...], ...]
    ) -> GivenTorques:
        layout = self.motions.terminals.layout
        nothing = Balance(
            dict.fromkeys(layout.members), dict.fromkeys(self.question.engaged), dict.fromkeys(self.motions.terminals.names)
        )
        return self._made(state, nothing, {}, {}, None, conflict, missing, would_do)

    def settled(self) -> GivenTorques:
        lossy = any(eta < 1 for eta in self.efficiencies.values())
        if self.speeds is None or not self.speeds.enough:
            balance = self.question.balance()
            assert balance is not None
            state = LoadState.SETTLED if balance.complete else LoadState.STATICALLY_UNDETERMINED
            state = LoadState.WITHOUT_LOSSES if lossy and balance.complete else state
            return self._made(state, balance, {}, {}, None, (), 0, ())
        if lossy and len(self.question.given) > self._wanted():
            raise UsageError(
                f"{self.motions.terminals.layout.name}: {len(self.question.given)} torques are given where "
                f"{self._wanted()} fix all; with losses the others need not agree with them. Give {self._wanted()}."
            )
        case = Case(self.question, self.speeds.of, self.efficiencies, self._machine_efficiencies())
        done = case.settled()
        if done.state in (LoadState.SELF_LOCKING, LoadState.NOT_UNIQUE):
            return self.without(done.state, (), 0, ())
        return self._with_power(case, done)

    def _wanted(self) -> int:
        return self.motions.torques_to_give - bool(self.question.at_rest)

    def _machine_efficiencies(self) -> dict[str, Fraction]:
        return {machine.name: machine.efficiency or Fraction(1) for machine in self.motions.terminals.layout.machines}

    def _with_power(self, case: Case, done: Settled) -> GivenTorques:
        if None in done.balance.terminals.values():
            return self._made(done.state, done.balance, {}, {}, None, (), 0, ())
        power = case.powers(done.balance)
        going_in = sum((amount for amount in power.values() if amount > 0), Fraction(0))
        going_out = -sum((amount for amount in power.values() if amount < 0), Fraction(0))
        efficiency = going_out / going_in if going_in else None
        return self._made(done.state, done.balance, power, case.rolling(done.balance), efficiency, (), 0, ())

    def _made(
        self, state: LoadState, balance: Balance, power: dict[str, Fraction], rolling: dict[str, Fraction],
        efficiency: Fraction | None, conflict: tuple[str, ...], missing: int, would_do: tuple[tuple[str, ...], ...],
    ) -> GivenTorques:  # fmt: skip
        eta = self._machine_efficiencies()
        electrical = {
            name: power[name] / eta[name] if power[name] > 0 else power[name] * eta[name]
            for name in self.motions.terminals.machines
            if name in power
        }
        return GivenTorques(
            self.motions, dict(self.question.given), self.speeds, self.efficiencies, state, say(_REASONS[state]), balance.members,
            balance.elements, balance.terminals, self._housing(balance), self.shares, power, electrical, rolling, efficiency,
            conflict, missing, would_do,
        )  # fmt: skip

    @staticmethod
    def _housing(balance: Balance) -> Torque:
        total = Fraction(0)
        for torque in balance.terminals.values():
            if torque is None:
                return None
            total -= torque
        return total


_REASONS = {
    LoadState.SETTLED: later("Balance fixes every torque, and power rolls one way only in every set."),
    LoadState.WITHOUT_LOSSES: (
        later("Without losses: they depend on which way power rolls, and so on the speeds. Give speeds as well to have them.")
    ),
    LoadState.STATICALLY_UNDETERMINED: (
        later(
            "Statically undetermined: the elements or joins are more than is needed and do not contradict each other, so how they share torque depends on stiffness and clearances."
        )
    ),
    LoadState.SELF_LOCKING: later("Self-locking: with these losses no power gets through this way, whatever the torques."),
    LoadState.NOT_UNIQUE: later("Not unique: with these losses more than one way for power to roll is in balance."),
    LoadState.NOT_ENOUGH: later("Not enough torques are given to fix all of them."),
    LoadState.CONTRADICTORY: later("The torques given contradict each other."),
}
