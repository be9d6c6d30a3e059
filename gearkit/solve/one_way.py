"""The one judgement on what applied elements do in a layout with one-way clutches; every command and picture asks it.

Nobody applies a one-way clutch. It holds when its parts turn alike and the torque on it acts in the sense that it can
hold; it overruns when its turning part runs in the free direction. A clutch that would have to turn in its blocked
direction locks, whatever the torque, and acts as an applied element; one that would carry torque in its free direction
lets go.

So with the input turning forward the clutches leave the output a span of speeds (`one_way_limits`), and the torque
presses the train against an end of it. In drive the output resists the motion: a lowest speed above 0 is what the train
runs at, and so is a highest speed below 0. In coast the output is pushed, and it is the other end. Between two ends no
torque passes: neutral. Where the input cannot turn forward it is locked, and where the output can only stand, that is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from gearkit.solve.loads.balance import balance, push_sense, sides_of
from gearkit.solve.mobility import Mobility, assess, checked, shaft_columns
from gearkit.solve.one_way_limits import Clutches, Limits, limits
from gearkit.solve.speeds import speeds
from gearkit.text.phrases import listed
from gearkit.train.layout import Layout
from gearkit.words.say import say, say_n
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
        listed: the one-way clutches that were named beside them, as a range does that relies on one.
        drive: drive or coast.
        holding: the one-way clutches that hold.
        mobility: the verdict on both together.
        clutches: what every one-way clutch does.
        others: in coast, other clutches that would hold were the output pushed the other way; always empty in drive.
    """

    layout: Layout
    applied: tuple[str, ...]
    listed: tuple[str, ...]
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

    @property
    def locked(self) -> bool:
        """Input or output cannot turn, or neither can."""
        return self.verdict.locked

    @property
    def note(self) -> str | None:
        """What one-way clutches make of the elements asked for, in a few words; None where they do as listed."""
        if self.locked:
            return say("locked by {elements}", elements=listed(self.holding)) if self.holding else None
        as_asked = assess(self.layout, {*self.applied, *self.listed})
        unasked = [name for name in self.holding if name not in self.listed]
        loose = [name for name in self.listed if name not in self.holding]
        if (as_asked.verdict, as_asked.ratio) == (self.verdict, self.ratio):
            # A range held by an applied element may list an idle one-way clutch beside it.
            return None
        parts = []
        if unasked:
            parts.append(say_n("{elements} holds", "{elements} hold", len(unasked), elements=listed(unasked)))
        if loose:
            parts.append(say_n("{elements} freewheels", "{elements} freewheel", len(loose), elements=listed(loose)))
        return say("{does} in {drive}", does=", ".join(parts), drive=self.drive)


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


def one_way_clutches(layout: Layout) -> dict[str, FreeDirection]:
    """Return the one-way clutches of a layout and the way in which each lets its first part turn."""
    return {e.name: e.free_direction for e in layout.elements if e.kind is ElementKind.ONE_WAY_CLUTCH}


def working(
    layout: Layout,
    applied: Iterable[str],
    drive: Drive = Drive.DRIVE,
    clutches: Mapping[str, FreeDirection] | None = None,
    known: Mobility | None = None,
) -> Working:
    """Return what applied elements do once the one-way clutches have taken hold or let go.

    Args:
        layout: the layout.
        applied: names of the applied elements; one-way clutches among them are left out, for nobody applies them.
        drive: which end pushes, with the input turning forward.
        clutches: one-way clutch -> free direction, in place of the layout's own; a one-way clutch that is not named
            here is an ordinary element (seized, when it is applied).
        known: the verdict on the applied elements without any one-way clutch, where it is known already.

    Raises:
        UsageError: the layout has no such element.
    """
    acting = one_way_clutches(layout) if clutches is None else dict(clutches)
    asked = checked(layout, applied)
    names = tuple(name for name in asked if name not in acting)
    columns = shaft_columns(layout)
    senses = {name: push_sense(layout.element_named(name), columns, free) for name, free in acting.items()}
    trial = _Trial(layout, names, tuple(name for name in asked if name in acting), drive, senses)
    alone = known or assess(layout, names)
    if not acting or alone.verdict is Verdict.TIE_UP:
        return trial.result((), alone, ())
    first, *rest = [checked(layout, by) for by in _holding(limits(layout, names, senses), drive)]
    mobility = assess(layout, (*names, *first)) if first else alone
    return trial.result(first, mobility, tuple(rest))


def in_range(layout: Layout, range_name: str, drive: Drive = Drive.DRIVE) -> Working:
    """Return what a range does.

    Args:
        layout: the layout.
        range_name: one of its ranges.
        drive: which end pushes, with the input turning forward.

    Raises:
        UsageError: the layout has no such range.

    >>> from gearkit.train.catalogue import find
    >>> found = in_range(find("Q24"), "1", Drive.COAST)
    >>> str(found.verdict), found.note
    ('neutral', 'F freewheels in coast')
    """
    listed = layout.engaged_in(range_name)
    if (listed, drive) not in layout.worked_out:
        layout.worked_out[listed, drive] = working(layout, listed, drive)
    state: Working = layout.worked_out[listed, drive]
    return state


def braking(layout: Layout, range_name: str) -> Braking:
    """Return what a range does in drive and in coast.

    Args:
        layout: the layout.
        range_name: one of its ranges.
    """
    return Braking(range_name, in_range(layout, range_name), in_range(layout, range_name, Drive.COAST))


def _holding(bounds: Limits, drive: Drive) -> list[Clutches]:
    """The clutches that hold; in coast there may be two choices, of which the one with fewer clutches comes first."""
    if bounds.input_by is not None:
        if bounds.forward_by is None or bounds.reverse_by is None:
            return [bounds.input_by]
        return [bounds.input_by | bounds.forward_by | bounds.reverse_by]
    if bounds.low == bounds.high == 0:
        return [bounds.low_by | bounds.high_by]
    push = 1 if drive is Drive.DRIVE else -1
    ends = []
    if bounds.low is not None and bounds.low * push > 0:
        ends.append(bounds.low_by)
    if bounds.high is not None and bounds.high * push < 0:
        ends.append(bounds.high_by)
    return sorted(ends, key=lambda by: (len(by), sorted(by))) or [frozenset()]


@dataclass(frozen=True)
class _Trial:
    layout: Layout
    applied: tuple[str, ...]
    listed: tuple[str, ...]
    drive: Drive
    senses: dict[str, int]

    def slips(self, holding: Sequence[str]) -> dict[str, Fraction | None]:
        """Speed of each clutch's turning part seen from the other."""
        if not self.senses:
            return {}
        slip = speeds(self.layout, (*self.applied, *holding)).slip
        return {name: self._turned(name, slip[name]) for name in self.senses}

    def _turned(self, name: str, slip: Fraction | None) -> Fraction | None:
        element = self.layout.element_named(name)
        turning, _ = sides_of(element, shaft_columns(self.layout))
        return slip if slip is None or turning == element.between[0] else -slip

    def torques(self, holding: Sequence[str]) -> dict[str, Fraction | None] | None:
        engaged = checked(self.layout, (*self.applied, *holding))
        balanced = balance(self.layout, engaged, Fraction(1 if self.drive is Drive.DRIVE else -1), {})
        return None if balanced is None else balanced.elements

    def result(self, holding: tuple[str, ...], mobility: Mobility, others: tuple[tuple[str, ...], ...]) -> Working:
        turning = mobility.verdict.input_turns
        slips = self.slips(holding) if turning else dict.fromkeys(self.senses, Fraction(0))
        torques = (self.torques(holding) or {}) if holding and mobility.verdict is Verdict.RANGE else {}
        clutches = []
        for name in self.senses:
            state = OneWayState.HOLDING if name in holding else OneWayState.IDLE
            if turning:
                state = self._state(name, holding, slips[name])
            torque = None if state is OneWayState.IDLE or not turning else torques.get(name, Fraction(0))
            clutches.append(OneWay(name, state, slips[name], torque))
        return Working(self.layout, self.applied, self.listed, self.drive, holding, mobility, tuple(clutches), others)

    def _state(self, name: str, holding: Sequence[str], slip: Fraction | None) -> OneWayState:
        if name in holding:
            return OneWayState.HOLDING
        if slip is None:
            # It would hold in drive with the wrong torque now: that is what letting go means.
            lets_go = assess(self.layout, (*self.applied, name)).verdict is Verdict.RANGE
            return OneWayState.OVERRUNNING if lets_go else OneWayState.FREE
        return OneWayState.OVERRUNNING if slip else OneWayState.IDLE
