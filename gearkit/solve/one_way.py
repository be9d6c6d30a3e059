"""What one-way clutches do: holding or overrunning, from speed and torque, in drive and in coast.

Nobody applies a one-way clutch. It holds when its parts turn alike and the torque on it acts in the sense that it can
hold; it overruns when its turning part runs in the free direction. Which clutches hold is found by trying: a choice
stands when every clutch that holds has its torque in the right sense, and every other one either overruns or stands idle.
A clutch that would have to overrun in the blocked direction locks, whatever the torque.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import combinations

from gearkit.solve.balance import balance, push_sense, sides_of
from gearkit.solve.mobility import Mobility, assess, checked, shaft_columns
from gearkit.solve.speeds import speeds
from gearkit.train.layout import Layout
from gearkit.words.terms import Drive, ElementKind, FreeDirection, OneWayState, Verdict


@dataclass(frozen=True)
class OneWay:
    """One one-way clutch at work.

    Args:
        name: the clutch.
        state: holding, overrunning, idle (no slip and no torque of its own) or free (nothing fixes its slip).
        slip: speed of its turning part seen from the other, as a multiple of the input's; None where nothing fixes it.
        torque: what it puts on its turning part, as a multiple of the input torque without losses; None for one that
            stands idle beside an applied element, where balance does not fix how the two share.
    """

    name: str
    state: OneWayState
    slip: Fraction | None
    torque: Fraction | None


@dataclass(frozen=True)
class Working:
    """What applied elements do once the one-way clutches have taken hold or let go.

    Args:
        layout: the layout.
        applied: the elements that are applied, one-way clutches not among them.
        drive: drive or coast.
        holding: the one-way clutches that hold.
        mobility: the verdict on both together.
        clutches: what every one-way clutch does.
        others: other choices of holding clutches that stand as well; empty in any layout made to be driven.
    """

    layout: Layout
    applied: tuple[str, ...]
    drive: Drive
    holding: tuple[str, ...]
    mobility: Mobility
    clutches: tuple[OneWay, ...]
    others: tuple[tuple[str, ...], ...]

    @cached_property
    def engaged(self) -> tuple[str, ...]:
        """Every element that joins or holds at the moment, in the layout's order."""
        return checked(self.layout, {*self.applied, *self.holding})

    @property
    def verdict(self) -> Verdict:
        """The verdict on them."""
        return self.mobility.verdict

    @property
    def ratio(self) -> Fraction | None:
        """Input speed / output speed where the verdict is range."""
        return self.mobility.ratio


@dataclass(frozen=True)
class Braking:
    """What a range does when the engine drives, and when the vehicle pushes.

    Args:
        range_name: the range.
        drive: with the engine driving.
        coast: with the vehicle pushing.
    """

    range_name: str
    drive: Working
    coast: Working

    @property
    def engine_braking(self) -> bool:
        """The vehicle can turn the engine: the range holds in coast as well."""
        return self.coast.verdict is Verdict.RANGE

    @property
    def as_listed(self) -> bool:
        """In drive the one-way clutches hold that the range lists, or others that give the same ratio."""
        listed = assess(self.drive.layout, self.drive.layout.engaged_in(self.range_name))
        return listed.verdict is self.drive.verdict and listed.ratio == self.drive.ratio


def one_way_clutches(layout: Layout) -> dict[str, FreeDirection]:
    """Return the one-way clutches of a layout and the way in which each lets its first part turn."""
    return {e.name: e.free_direction for e in layout.elements if e.kind is ElementKind.ONE_WAY_CLUTCH}


def working(
    layout: Layout,
    applied: Iterable[str],
    drive: Drive = Drive.DRIVE,
    clutches: Mapping[str, FreeDirection] | None = None,
) -> Working:
    """Return what applied elements do once the one-way clutches have taken hold or let go.

    Args:
        layout: the layout.
        applied: names of the applied elements; one-way clutches among them are left out, for nobody applies them.
        drive: which end pushes, with the input turning forward.
        clutches: one-way clutch -> free direction, in place of the layout's own; a one-way clutch that is not named
            here is an ordinary element (seized, when it is applied).

    Raises:
        UsageError: the layout has no such element.
    """
    acting = one_way_clutches(layout) if clutches is None else dict(clutches)
    names = tuple(name for name in checked(layout, applied) if name not in acting)
    columns = shaft_columns(layout)
    senses = {name: push_sense(layout.element_named(name), columns, free) for name, free in acting.items()}
    trial = _Trial(layout, names, drive, senses)
    alone = assess(layout, names)
    if alone.verdict in (Verdict.TIE_UP, Verdict.INPUT_LOCKED, Verdict.OUTPUT_LOCKED) or not acting:
        return trial.result((), alone, ())
    blocked = trial.blocked()
    if not blocked and alone.verdict is Verdict.RANGE:
        return trial.result((), alone, ())
    # Every clutch that holds takes one freedom away, and a range keeps one.
    standing = [chosen for chosen in trial.choices(alone.freedom - 1) if trial.stands(chosen)]
    if standing:
        first = standing[0]
        mobility = assess(layout, (*names, *first))
        others = tuple(c for c in standing[1:] if assess(layout, (*names, *c)).ratio != mobility.ratio)
        return trial.result(first, mobility, others)
    if blocked:
        return trial.result(blocked, assess(layout, (*names, *blocked)), ())
    return trial.result((), alone, ())


def braking(layout: Layout, range_name: str) -> Braking:
    """Return what a range does in drive and in coast.

    Args:
        layout: the layout.
        range_name: one of its ranges.
    """
    applied = layout.engaged_in(range_name)
    return Braking(range_name, working(layout, applied), working(layout, applied, Drive.COAST))


@dataclass(frozen=True)
class _Trial:
    layout: Layout
    applied: tuple[str, ...]
    drive: Drive
    senses: dict[str, int]

    def choices(self, most: int) -> Iterable[tuple[str, ...]]:
        """Clutches that may hold, fewest first."""
        return (chosen for size in range(1, most + 1) for chosen in combinations(self.senses, size))

    def slips(self, holding: Sequence[str]) -> dict[str, Fraction | None]:
        """Speed of each clutch's turning part seen from the other."""
        if not self.senses:
            return {}
        found = speeds(self.layout, (*self.applied, *holding)).slip
        return {name: self._turned(name, found[name]) for name in self.senses}

    def _turned(self, name: str, slip: Fraction | None) -> Fraction | None:
        element = self.layout.element_named(name)
        turning, _ = sides_of(element, shaft_columns(self.layout))
        return slip if slip is None or turning == element.between[0] else -slip

    def blocked(self) -> tuple[str, ...]:
        """Clutches that would have to overrun in the direction in which they hold."""
        slips = self.slips(())
        return tuple(name for name, slip in slips.items() if slip is not None and slip * self.senses[name] < 0)

    def torques(self, holding: Sequence[str]) -> dict[str, Fraction | None] | None:
        engaged = checked(self.layout, (*self.applied, *holding))
        found = balance(self.layout, engaged, Fraction(1 if self.drive is Drive.DRIVE else -1), {})
        return None if found is None else found.elements

    def stands(self, holding: tuple[str, ...]) -> bool:
        mobility = assess(self.layout, (*self.applied, *holding))
        if mobility.verdict is not Verdict.RANGE:
            return False
        for name, slip in self.slips(holding).items():
            if name not in holding and slip is not None and slip * self.senses[name] < 0:
                return False
        torques = self.torques(holding)
        assert torques is not None, "a range can always carry torque"
        # A clutch without torque of its own is no reason for the range; a smaller choice does as well.
        return all((torques[name] or 0) * self.senses[name] > 0 for name in holding)

    def result(self, holding: tuple[str, ...], mobility: Mobility, others: tuple[tuple[str, ...], ...]) -> Working:
        turning = mobility.verdict in (Verdict.RANGE, Verdict.NEUTRAL, Verdict.OUTPUT_LOCKED)
        slips = self.slips(holding) if turning else dict.fromkeys(self.senses, Fraction(0))
        torques = (self.torques(holding) or {}) if holding and mobility.verdict is Verdict.RANGE else {}
        clutches = []
        for name in self.senses:
            state = OneWayState.HOLDING if name in holding else OneWayState.IDLE
            if turning:
                state = self._state(name, holding, slips[name])
            torque = None if state is OneWayState.IDLE or not turning else torques.get(name, Fraction(0))
            clutches.append(OneWay(name, state, slips[name], torque))
        return Working(self.layout, self.applied, self.drive, holding, mobility, tuple(clutches), others)

    def _state(self, name: str, holding: Sequence[str], slip: Fraction | None) -> OneWayState:
        if name in holding:
            return OneWayState.HOLDING
        if slip is None:
            # It would hold in drive with the wrong torque now: that is what letting go means.
            lets_go = assess(self.layout, (*self.applied, name)).verdict is Verdict.RANGE
            return OneWayState.OVERRUNNING if lets_go else OneWayState.FREE
        return OneWayState.OVERRUNNING if slip else OneWayState.IDLE
