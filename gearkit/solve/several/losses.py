"""Which way power rolls, with power going in at any number of places; and the torques that go with it.

As with one input (`gearkit.solve.loads.losses`): solve without losses, take the signs, solve with losses, and look whether
the signs stand. Q is the lossless rolling power times (1 - eta) over all power that goes in. With torques given, signs that
were confirmed at Q below 0.5 were the only ones in 1,963 of 1,963 random cases (first exception at 0.685); with a battery
at rest a second balance was met from Q = 0.06 on, so then every pattern of signs is tried. A balance counts where power
leaves somewhere. That every terminal keeps the sense of its lossless torque would be too much to ask: near a torque of 0
losses turn it round.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from gearkit.solve.loads.losses import SAFE_MARGIN, sign_of
from gearkit.solve.several.statics import Balance, Question
from gearkit.words.terms import LoadState


@dataclass(frozen=True)
class Settled:
    """Torques with losses, and how sure the answer is.

    Args:
        state: settled, statically undetermined, self-locking or not unique.
        balance: the torques; where the state is self-locking or not unique, those without losses.
        margin: Q as in the module's description; None where it cannot be told.
    """

    state: LoadState
    balance: Balance
    margin: Fraction | None


@dataclass(frozen=True)
class Case:
    """Speeds, given torques and losses of one state of a train.

    Args:
        question: the train and what is given of its torques.
        speeds: speed of every member and terminal; None where it is not fixed.
        efficiencies: set -> basic efficiency.
        machine_efficiencies: machine -> efficiency; used only where the battery is at rest.
    """

    question: Question
    speeds: Mapping[str, Fraction | None]
    efficiencies: Mapping[str, Fraction]
    machine_efficiencies: Mapping[str, Fraction]

    def settled(self) -> Settled:
        """Return the torques with losses."""
        lossless = self.question.balance()
        assert lossless is not None, "what contradicts itself without losses is told before"
        if not lossless.complete:
            return self._undetermined(lossless)
        if any(self._rolling_speed(name) is None and lossless.members[f"{name}.sun"] for name in self.efficiencies):
            # A set carries torque while nothing fixes its own speeds: its loss cannot be told.
            return Settled(LoadState.NOT_UNIQUE, lossless, None)
        signs = {name: sign_of(power) if self.efficiencies[name] < 1 else 0 for name, power in self.rolling(lossless).items()}
        margin = self._margin(lossless)
        if not self.question.at_rest and margin is not None and margin < SAFE_MARGIN:
            balance = self._confirmed(signs, {})
            if balance is not None and self._power_leaves(balance):
                return Settled(LoadState.SETTLED, balance, margin)
        standing = self.standing()
        if len(standing) == 1:
            return Settled(LoadState.SETTLED, standing[0], margin)
        return Settled(LoadState.NOT_UNIQUE if standing else LoadState.SELF_LOCKING, lossless, margin)

    def standing(self) -> list[Balance]:
        """Return every different balance that stands, by trying all signs."""
        sets = [name for name, eta in self.efficiencies.items() if eta < 1 and self._rolling_speed(name)]
        machines = [name for name, speed in self.question.at_rest.items() if speed and self.machine_efficiencies[name] < 1]
        balances: list[Balance] = []
        for pattern in product((1, -1), repeat=len(sets) + len(machines)):
            signs = dict.fromkeys(self.efficiencies, 0) | dict(zip(sets, pattern, strict=False))
            balance = self._confirmed(signs, dict(zip(machines, pattern[len(sets) :], strict=True)))
            if balance is not None and self._power_leaves(balance) and balance not in balances:
                balances.append(balance)
        return balances

    def rolling(self, balance: Balance) -> dict[str, Fraction]:
        """Return the power through each set's meshes as seen from its carrier, positive from sun to ring.

        Args:
            balance: torques, all of sets known.
        """
        powers = {}
        for name in self.efficiencies:
            torque, speed = balance.members[f"{name}.sun"], self._rolling_speed(name)
            powers[name] = torque * speed if torque and speed else Fraction(0)
        return powers

    def powers(self, balance: Balance) -> dict[str, Fraction]:
        """Return the power that goes in at each terminal.

        Args:
            balance: torques, all of terminals known.
        """
        powers = {}
        for name, torque in balance.terminals.items():
            speed = self.speeds[name]
            powers[name] = torque * speed if torque and speed else Fraction(0)
        return powers

    def _rolling_speed(self, name: str) -> Fraction | None:
        sun, carrier = self.speeds[f"{name}.sun"], self.speeds[f"{name}.carrier"]
        if sun is None or carrier is None:
            columns = self.question.terminals.columns
            return Fraction(0) if columns[f"{name}.sun"] == columns[f"{name}.carrier"] else None
        return sun - carrier

    def _with_signs(self, signs: Mapping[str, int], machines: Mapping[str, int]) -> Balance | None:
        return self.question.balance(
            {name: self.efficiencies[name] ** sign for name, sign in signs.items()},
            {name: self.machine_efficiencies[name] ** -sign for name, sign in machines.items()},
        )

    def _confirmed(self, signs: Mapping[str, int], machines: Mapping[str, int]) -> Balance | None:
        """The torques for these signs, where the power that follows from them goes as they say."""
        balance = self._with_signs(signs, machines)
        if balance is None or not balance.complete:
            return None
        rolling, powers = self.rolling(balance), self.powers(balance)
        right = all(self.efficiencies[name] == 1 or sign_of(rolling[name]) in (0, sign) for name, sign in signs.items())
        right = right and all(sign_of(powers[name]) in (0, sign) for name, sign in machines.items())
        return balance if right else None

    def _power_leaves(self, balance: Balance) -> bool:
        powers = self.powers(balance).values()
        return any(power < 0 for power in powers) or not any(powers)

    def _margin(self, lossless: Balance) -> Fraction | None:
        going_in = sum((power for power in self.powers(lossless).values() if power > 0), Fraction(0))
        lost = sum((abs(p) * (1 - self.efficiencies[name]) for name, p in self.rolling(lossless).items()), Fraction(0))
        return lost / going_in if going_in else None if lost else Fraction(0)

    def _undetermined(self, lossless: Balance) -> Settled:
        """Balance does not fix every torque; what it fixes stands only where no mesh loses anything unknown."""
        state = LoadState.STATICALLY_UNDETERMINED
        rolls = [name for name, eta in self.efficiencies.items() if eta < 1 and self._rolling_speed(name) != 0]
        if not any(lossless.members[f"{name}.sun"] != 0 for name in rolls):
            return Settled(state, lossless, Fraction(0))
        nothing = Balance(dict.fromkeys(lossless.members), dict.fromkeys(lossless.elements), dict.fromkeys(lossless.terminals))
        if (
            any(lossless.members[f"{name}.sun"] is None or self._rolling_speed(name) is None for name in rolls)
            or self.question.at_rest
        ):
            return Settled(state, nothing, None)
        signs = {name: sign_of(power) if name in rolls else 0 for name, power in self.rolling(lossless).items()}
        balance = self._with_signs(signs, {})
        if balance is None or any(sign_of(power) not in (0, signs[name]) for name, power in self.rolling(balance).items()):
            return Settled(state, nothing, None)
        return Settled(state, balance, None)
