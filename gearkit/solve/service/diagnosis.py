"""From speed readings to the faulty element: suspects in order, each with the rows that support or refute it.

A reading is input speed, output speed and the range that was asked for. The actual ratio is input over output; what was
asked for is not what happened. Each suspect predicts what its range would do, and every reading agrees, disagrees or says
nothing:

* a range: input and output must stand in its ratio, within the tolerance;
* a neutral: the two are independent, so any ratio but the range's own fits, and a standing output fits best;
* a train that cannot turn: nothing moves, or one of the other applied elements gives way, and then the ratio is that of
  what is left; a reading in the asked ratio refutes it.

Suspects are single faults, and pairs in which one element stays on and another off, as when a shift is not made. The
fewest refuting rows come first, then the strongest support; of two that fit alike, the single fault.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import permutations

from gearkit.solve.mobility import assess
from gearkit.solve.one_way import Working, one_way_clutches
from gearkit.solve.ratios import names_by_ratio
from gearkit.solve.service.faults import ElementFault, element_faults, with_faults
from gearkit.text.numbers import exact
from gearkit.text.phrases import decimal, listed
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import later, said, say
from gearkit.words.terms import FaultMode, Verdict

TOLERANCE = Fraction(2, 100)
SLIPS = later("slips")
_EXACT, _STOPPED, _GIVES_WAY, _LOOSE, _AS_ASKED = 4, 4, 3, 2, 1


@dataclass(frozen=True)
class Reading:
    """One pair of speeds with the range that was asked for.

    Args:
        input_speed: input speed, in the unit of the output's; 0 or more.
        output_speed: output speed, below 0 in reverse.
        range_name: the range that was asked for.
    """

    input_speed: Fraction
    output_speed: Fraction
    range_name: str

    @property
    def ratio(self) -> Fraction | None:
        """The actual ratio; None where the output or the input stands."""
        return self.input_speed / self.output_speed if self.output_speed and self.input_speed else None

    def slip(self, ratio: Fraction) -> Fraction | None:
        """Return how far the input runs ahead of a ratio, as a share of its speed: (n_in - ratio*n_out)/n_in."""
        return (self.input_speed - ratio * self.output_speed) / self.input_speed if self.input_speed else None

    def __str__(self) -> str:
        return f"{decimal(self.input_speed)}:{decimal(self.output_speed)}:{self.range_name}"


@dataclass(frozen=True)
class Evidence:
    """What one reading says about one suspect.

    Args:
        reading: the reading.
        supports: it fits the suspect (True), cannot be with it (False).
        strength: how much it says, 1 (fits, but a sound range fits as well) to 4.
        words: the reason, in a sentence.
    """

    reading: Reading
    supports: bool
    strength: int
    words: str


@dataclass(frozen=True)
class Suspect:
    """One explanation with its evidence.

    Args:
        faults: one faulty element, or one that stays on and one that stays off.
        evidence: one entry a reading, in their order.
        slips: an element that is let go would leave input and output independent, but the output is still driven in the
            sense of the range with the input running ahead of its ratio: the element slips.
    """

    faults: tuple[ElementFault, ...]
    evidence: tuple[Evidence, ...]
    slips: bool = False

    @property
    def name(self) -> str:
        """The faults in words."""
        return listed(say("{element} {mode}", element=fault.element, mode=say(self.mode_of(fault))) for fault in self.faults)

    def mode_of(self, fault: ElementFault) -> str:
        """How an element of this suspect fails: a word of `FaultMode`, or "slips".

        Args:
            fault: one of the suspect's faults.
        """
        return SLIPS if self.slips and fault.mode is FaultMode.STUCK_OFF else fault.mode.value

    @property
    def refuted(self) -> int:
        """Number of readings that cannot be with it."""
        return sum(not item.supports for item in self.evidence)

    @property
    def support(self) -> int:
        """Strength of the readings that fit."""
        return sum(item.strength for item in self.evidence if item.supports)


@dataclass(frozen=True)
class Diagnosis:
    """What readings say about a layout.

    Args:
        layout: the layout.
        readings: the readings.
        tolerance: how far a ratio may be off, as a share.
        sound: every reading is as the range that was asked for.
        signal_factor: where all readings are off by one and the same factor, that factor; then the speed signal is
            suspect (tooth count of a tone wheel, tyre or final drive entered), not an element.
        suspects: in order; those that no reading refutes first.
    """

    layout: Layout
    readings: tuple[Reading, ...]
    tolerance: Fraction
    sound: bool
    signal_factor: Fraction | None
    suspects: tuple[Suspect, ...]

    @property
    def standing(self) -> tuple[Suspect, ...]:
        """The suspects that no reading refutes."""
        return tuple(suspect for suspect in self.suspects if not suspect.refuted)


@dataclass(frozen=True)
class NextTest:
    """The range to ask for next, because it splits the suspects best.

    Args:
        range_name: the range.
        outcomes: what may be seen -> the suspects that would show it.
    """

    range_name: str
    outcomes: dict[str, tuple[Suspect, ...]]


def reading(layout: Layout, text: str) -> Reading:
    """Return a reading from text such as "2400:931.6:3": input speed, output speed, range asked for.

    Args:
        layout: the layout.
        text: the reading.

    Raises:
        UsageError: not three parts, no numbers, an input that turns backward, or a range that the layout does not have.
    """
    parts = text.replace("−", "-").split(":")
    form = say(
        "Reading {text}: write input speed, output speed and range with colons, such as {example}.",
        text=f"{text!r}",
        example="2400:931.6:3",
    )
    if len(parts) != 3:
        raise UsageError(form)
    turning, driven = exact(parts[0]), exact(parts[1])
    if turning is None or driven is None:
        raise UsageError(form)
    if turning < 0:
        raise UsageError(f"Reading {text!r}: input speed {parts[0]}; the engine turns one way, so give 0 or more.")
    return Reading(turning, driven, layout.range_named(parts[2].strip()).name)


def diagnose(layout: Layout, readings: Iterable[Reading], tolerance: Fraction = TOLERANCE) -> Diagnosis:
    """Return the suspects that readings leave, in order.

    Args:
        layout: the layout.
        readings: at least one.
        tolerance: how far a ratio may be off, as a share above 0 and below 0.2.

    Raises:
        UsageError: no reading, or a tolerance outside 0 to 0.2.
    """
    taken = tuple(readings)
    if not taken:
        raise UsageError("No reading: give at least one, such as 2400:931.6:3.")
    if not 0 < tolerance < Fraction(1, 5):
        raise UsageError(f"Tolerance {decimal(tolerance)}: give a share above 0 and below 0.2, such as 0.02.")
    judge = _Judge(layout, tolerance)
    sound = all(judge.evidence(item, ()).supports for item in taken)
    suspects = [judge.suspect((fault,), taken) for fault in element_faults(layout)]
    pairs = [judge.suspect(pair, taken) for pair in _pairs(layout)]
    suspects += [pair for pair in pairs if not pair.refuted and _says_more(pair, suspects)]
    # A suspect that is refuted, and otherwise only fits where a sound range fits too, has nothing for it.
    suspects = [s for s in suspects if s.support and (not s.refuted or s.support > _AS_ASKED * len(taken) - s.refuted)]
    suspects.sort(key=lambda suspect: (suspect.refuted, len(suspect.faults) - 1 - suspect.support, len(suspect.faults)))
    return Diagnosis(layout, taken, tolerance, sound, None if sound else _factor(judge, taken), tuple(suspects))


def next_test(diagnosis: Diagnosis) -> NextTest | None:
    """Return the range whose outcome would split the standing suspects most evenly; None where none splits them.

    Args:
        diagnosis: the diagnosis so far.
    """
    best: NextTest | None = None
    asked = {item.range_name for item in diagnosis.readings}
    names = names_by_ratio(diagnosis.layout)
    for item in diagnosis.layout.ranges:
        if item.name in asked:
            continue
        outcomes: dict[str, tuple[Suspect, ...]] = {}
        for suspect in diagnosis.standing:
            seen = _outcome(with_faults(diagnosis.layout, item.name, suspect.faults), names)
            outcomes[seen] = (*outcomes.get(seen, ()), suspect)
        largest = max((len(group) for group in outcomes.values()), default=0)
        if len(outcomes) > 1 and (best is None or largest < max(map(len, best.outcomes.values()))):
            best = NextTest(item.name, outcomes)
    return best


def _pairs(layout: Layout) -> Iterable[tuple[ElementFault, ElementFault]]:
    acting = one_way_clutches(layout)
    for stays_on, stays_off in permutations([e.name for e in layout.elements if e.name not in acting], 2):
        yield ElementFault(stays_on, FaultMode.STUCK_ON), ElementFault(stays_off, FaultMode.STUCK_OFF)


def _says_more(pair: Suspect, singles: Sequence[Suspect]) -> bool:
    """Both faults are needed: neither alone explains the readings as well."""
    alone = [s for s in singles if s.faults[0] in pair.faults and not s.refuted]
    return all(pair.support > single.support for single in alone)


def _factor(judge: _Judge, readings: Sequence[Reading]) -> Fraction | None:
    factors = []
    for item in readings:
        wanted = judge.state(item.range_name).ratio
        if wanted is None or item.ratio is None:
            return None
        factors.append(item.ratio / wanted)
    mean = sum(factors, Fraction(0)) / len(factors)
    alike = all(judge.near(factor, mean) for factor in factors)
    several = len({item.range_name for item in readings}) > 1
    return mean if alike and several and not judge.near(mean, Fraction(1)) and mean > 0 else None


def _outcome(state: Working, names: Mapping[Fraction, str]) -> str:
    if state.ratio is None:
        return said(state.verdict)
    name = names.get(state.ratio)
    return (
        say("the ratio of {name}, {ratio}", name=name, ratio=decimal(state.ratio))
        if name
        else say("a ratio of {ratio}", ratio=decimal(state.ratio))
    )


class _Judge:
    """Holds readings against faults; what a range does with a fault is worked out once."""

    def __init__(self, layout: Layout, tolerance: Fraction) -> None:
        self.layout = layout
        self.tolerance = tolerance
        self.names = names_by_ratio(layout)
        self._known: dict[tuple[str, tuple[ElementFault, ...]], Working] = {}

    def state(self, range_name: str, faults: tuple[ElementFault, ...] = ()) -> Working:
        key = range_name, faults
        if key not in self._known:
            self._known[key] = with_faults(self.layout, range_name, faults)
        return self._known[key]

    def near(self, value: Fraction, wanted: Fraction) -> bool:
        return abs(value - wanted) <= self.tolerance * abs(wanted)

    def suspect(self, faults: tuple[ElementFault, ...], readings: Sequence[Reading]) -> Suspect:
        return Suspect(faults, tuple(self.evidence(item, faults) for item in readings), self._slips(faults, readings))

    def _slips(self, faults: tuple[ElementFault, ...], readings: Sequence[Reading]) -> bool:
        """Whether a single element that is said to be stuck off slips instead, in every reading that needs it."""
        if [fault.mode for fault in faults] != [FaultMode.STUCK_OFF]:
            return False
        needed = [
            item
            for item in readings
            if self.state(item.range_name, faults).verdict is Verdict.NEUTRAL and self.state(item.range_name).ratio is not None
        ]
        return bool(needed) and all(self._driven_with_slip(item) for item in needed)

    def _driven_with_slip(self, item: Reading) -> bool:
        ratio = self.state(item.range_name).ratio
        slip = item.slip(ratio) if ratio is not None else None
        # A ratio of another range is no slip but that range. At a slip of 1 the output stands; above it the output turns
        # against the range, which friction cannot do.
        known = item.ratio is not None and any(self.near(item.ratio, other) for other in self.names)
        return slip is not None and self.tolerance < slip < 1 and not known

    def evidence(self, item: Reading, faults: tuple[ElementFault, ...]) -> Evidence:
        state = self.state(item.range_name, faults)
        match state.verdict:
            case Verdict.RANGE:
                return self._of_range(item, state)
            case Verdict.NEUTRAL:
                return self._of_neutral(item)
        return self._of_locked(item, state, faults)

    def _of_range(self, item: Reading, state: Working) -> Evidence:
        assert state.ratio is not None
        expected = _outcome(state, self.names)
        if item.ratio is None or not self.near(item.ratio, state.ratio):
            return Evidence(
                item, False, 0, say("it would run at {expected}, but {seen}", expected=expected, seen=self._seen(item))
            )
        asked = self.state(item.range_name)
        strength = _AS_ASKED if asked.ratio == state.ratio else _EXACT
        return Evidence(item, True, strength, say("runs at {expected}", expected=expected))

    def _of_neutral(self, item: Reading) -> Evidence:
        asked = self.state(item.range_name)
        if not item.input_speed and not item.output_speed:
            return Evidence(item, False, 0, say("it would turn freely, but nothing turns"))
        if item.ratio is not None and asked.ratio is not None and self.near(item.ratio, asked.ratio):
            return Evidence(
                item, False, 0, say("input and output would be independent, not at {ratio}", ratio=decimal(asked.ratio))
            )
        if asked.verdict is Verdict.NEUTRAL:
            return Evidence(item, True, _AS_ASKED, say("input and output are independent, as asked"))
        strength = _STOPPED if not item.output_speed else _LOOSE
        return Evidence(item, True, strength, say("input and output are independent: {seen}", seen=self._seen(item)))

    def _of_locked(self, item: Reading, state: Working, faults: tuple[ElementFault, ...]) -> Evidence:
        verdict = state.verdict
        if not item.input_speed and not item.output_speed:
            return Evidence(item, True, _STOPPED, say("{verdict}: nothing turns", verdict=verdict))
        if verdict is Verdict.OUTPUT_LOCKED and not item.output_speed:
            return Evidence(item, True, _STOPPED, say("{verdict}: the output stands", verdict=verdict))
        if verdict is Verdict.INPUT_LOCKED and not item.input_speed:
            return Evidence(item, True, _STOPPED, say("{verdict}: the input stands", verdict=verdict))
        fixed = {fault.element for fault in faults if fault.mode is not FaultMode.STUCK_OFF}
        for weak in (name for name in state.engaged if name not in fixed):
            left = assess(self.layout, [name for name in state.engaged if name != weak])
            if left.ratio is not None and item.ratio is not None and self.near(item.ratio, left.ratio):
                rest = listed(name for name in state.engaged if name != weak)
                return Evidence(
                    item,
                    True,
                    _GIVES_WAY,
                    say(
                        "{verdict}, but {weak} gives way: {rest} give {ratio}",
                        verdict=verdict,
                        weak=weak,
                        rest=rest,
                        ratio=decimal(left.ratio),
                    ),
                )
        if not item.output_speed:
            return Evidence(
                item, True, _LOOSE, say("{verdict}: the output is held, an element slips at the input", verdict=verdict)
            )
        return Evidence(item, False, 0, say("{verdict}: it could not turn, but {seen}", verdict=verdict, seen=self._seen(item)))

    def _seen(self, item: Reading) -> str:
        if item.ratio is not None:
            return say("the reading gives {ratio}", ratio=decimal(item.ratio))
        if item.input_speed:
            return say("the output stands")
        return say("the input stands") if item.output_speed else say("nothing turns")
