"""Faults: what every range becomes when one element does not apply, does not release, or sits the wrong way round.

A commanded range applies its elements; a fault takes one away, adds one, or turns a one-way clutch round; then the train
does what is left. Everything follows from the same verdict as a sound range, with the one-way clutches taking hold by
themselves. The engine drives; engine braking is told beside.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from gearkit.solve.one_way import Working, one_way_clutches, working
from gearkit.solve.service.running_as import RangesAlike
from gearkit.text.phrases import fixed
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say
from gearkit.words.terms import Drive, ElementKind, FaultEffect, FaultMode, FreeDirection, Verdict

CAUTION = later(
    "This tells what a fault does to the ratios, not how to repair it. For any real unit follow the maker's service procedure and data, local codes and licensed practice; park and neutral are no chocks, and a first start after a repair may drive."
)


@dataclass(frozen=True)
class ElementFault:
    """One faulty element.

    Args:
        element: its name.
        mode: stuck off, stuck on, or (a one-way clutch) fitted the wrong way round.
    """

    element: str
    mode: FaultMode

    def __str__(self) -> str:
        return f"{self.element} {self.mode}"

    def words(self) -> str:
        """Return the fault in the reader's language."""
        return say("{element} {mode}", element=self.element, mode=self.mode)


@dataclass(frozen=True)
class FaultCase:
    """What one faulty element makes of one commanded range.

    Args:
        fault: the faulty element.
        range_name: the range that is asked for.
        sound: what the range does without the fault.
        faulty: what it does with it.
        effect: same, other range, neutral, input locked, output locked or tie-up.
        actual_range: the range whose ratio it has, of several the one whose elements are most like those that hold; None where
            no range has it, or there is no ratio.
        braking_lost: the range brakes the engine without the fault, and no more with it.
    """

    fault: ElementFault
    range_name: str
    sound: Working
    faulty: Working
    effect: FaultEffect
    actual_range: str | None
    braking_lost: bool

    @property
    def lost(self) -> bool:
        """The range does not do what it should."""
        return self.effect is not FaultEffect.SAME

    @property
    def rolls(self) -> bool:
        """The range should hold the output, as park does, and does not."""
        held = not self.sound.verdict.output_turns
        return held and self.effect in (FaultEffect.NEUTRAL, FaultEffect.INPUT_LOCKED)

    def symptom(self) -> str:
        """Return what the driver or the technician notices, in a sentence."""
        if self.rolls:
            return say("does not hold: the vehicle may roll; not safe")
        match self.effect:
            case FaultEffect.SAME if self.sound.note:
                return say("{verdict} with or without the fault: {note}", verdict=self.sound.verdict, note=self.sound.note)
            case FaultEffect.SAME:
                also = say(" in drive, but does not brake the engine") if self.braking_lost else ""
                return say("as it should{also}", also=also)
            case FaultEffect.NEUTRAL:
                return say("no drive: the engine speeds up and the vehicle does not pull")
            case FaultEffect.TIE_UP:
                return say("binds: the engine is pulled down or stalls, or an element slips and burns")
            case FaultEffect.INPUT_LOCKED:
                return say("binds: the engine is pulled down or stalls while the vehicle can still roll")
            case FaultEffect.OUTPUT_LOCKED:
                return say("the vehicle is held as by a brake while the engine runs free")
        return self._wrong_ratio()

    def _wrong_ratio(self) -> str:
        actual, wanted = self.faulty.ratio, self.sound.ratio
        if actual is None:
            # A state without words of its own here says what it means.
            return say(self.faulty.verdict.means)
        runs = (
            say("runs as in {actual_range}", actual_range=self.actual_range)
            if self.actual_range
            else say("runs at {actual}, no range's ratio", actual=fixed(actual, 3))
        )
        if wanted is None and self.sound.note:
            way = say("forward") if actual > 0 else say("backward")
            return say(
                "drives {way}, {verdict} without the fault: {runs}; not safe", way=way, verdict=self.sound.verdict, runs=runs
            )
        if wanted is None:
            way = say("creeps forward") if actual > 0 else say("creeps backward")
            return say("{way} although in {range_name}: {runs}; not safe", way=way, range_name=self.range_name, runs=runs)
        if (actual > 0) != (wanted > 0):
            return say("drives the wrong way: {runs}; not safe", runs=runs)
        if abs(actual) > abs(wanted):
            return say("engine speed too high for the road speed: {runs}", runs=runs)
        return say("sluggish, engine speed too low for the road speed: {runs}", runs=runs)


@dataclass(frozen=True)
class FaultTable:
    """What every single fault makes of every range.

    Args:
        layout: the layout.
        cases: fault by fault, range by range.
    """

    layout: Layout
    cases: tuple[FaultCase, ...]

    @cached_property
    def faults(self) -> tuple[ElementFault, ...]:
        """The faults, in the layout's order."""
        return tuple(dict.fromkeys(case.fault for case in self.cases))

    def of(self, fault: ElementFault) -> tuple[FaultCase, ...]:
        """Return the cases of one fault, range by range."""
        return tuple(case for case in self.cases if case.fault == fault)

    def lost(self, fault: ElementFault) -> tuple[str, ...]:
        """Return the ranges that do not do what they should."""
        return tuple(case.range_name for case in self.of(fault) if case.lost)

    def limp_home(self, fault: ElementFault) -> tuple[str, ...]:
        """Return the driving ranges that still do what they should."""
        return tuple(case.range_name for case in self.of(fault) if not case.lost and case.sound.verdict is Verdict.RANGE)

    def unsafe(self, fault: ElementFault) -> tuple[str, ...]:
        """Return the ranges in which the vehicle moves or may roll although it should not, or goes the wrong way."""
        return tuple(case.range_name for case in self.of(fault) if _unsafe(case))


def element_faults(layout: Layout) -> tuple[ElementFault, ...]:
    """Return every single fault of a layout: each element stuck off, stuck on, each one-way clutch also turned round."""
    faults = []
    for element in layout.elements:
        faults += [ElementFault(element.name, FaultMode.STUCK_OFF), ElementFault(element.name, FaultMode.STUCK_ON)]
        if element.kind is ElementKind.ONE_WAY_CLUTCH:
            faults.append(ElementFault(element.name, FaultMode.REVERSED))
    return tuple(faults)


def with_faults(layout: Layout, range_name: str, faults: Iterable[ElementFault] = (), drive: Drive = Drive.DRIVE) -> Working:
    """Return what a commanded range does with faulty elements.

    Args:
        layout: the layout.
        range_name: the range that is asked for.
        faults: the faulty elements; none gives the sound range.
        drive: which end pushes.

    Raises:
        UsageError: no such range or element, or a clutch or brake fitted the wrong way round.
    """
    clutches = one_way_clutches(layout)
    engaged = set(layout.engaged_in(range_name))
    for fault in faults:
        element = layout.element_named(fault.element)
        match fault.mode:
            case FaultMode.STUCK_OFF:
                engaged.discard(element.name)
                clutches.pop(element.name, None)
            case FaultMode.STUCK_ON:
                engaged.add(element.name)
                clutches.pop(element.name, None)
            case FaultMode.REVERSED:
                if element.name not in clutches:
                    raise UsageError(
                        f"Element {element.name} is a {element.kind}; only a one-way clutch can be fitted the wrong way "
                        "round. Ask for stuck on or stuck off."
                    )
                forward = clutches[element.name] is FreeDirection.FORWARD
                clutches[element.name] = FreeDirection.REVERSE if forward else FreeDirection.FORWARD
    return working(layout, engaged, drive, clutches)


def fault_table(layout: Layout) -> FaultTable:
    """Return what every single fault makes of every range.

    Args:
        layout: the layout.

    >>> from gearkit.train.catalogue import find
    >>> table = fault_table(find("Q36"))
    >>> table.lost(ElementFault("D", FaultMode.STUCK_OFF))
    ('3', '5')
    """
    without = _WithoutFault(layout)
    return FaultTable(layout, tuple(case for fault in element_faults(layout) for case in without.cases(fault)))


def fault_cases(layout: Layout, fault: ElementFault) -> tuple[FaultCase, ...]:
    """Return what one fault makes of every range.

    Args:
        layout: the layout.
        fault: the faulty element.

    Raises:
        UsageError: no such element, or a clutch or brake fitted the wrong way round.
    """
    return _WithoutFault(layout).cases(fault)


class _WithoutFault:
    """A layout with what its ranges do without a fault."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.ranges = RangesAlike(layout)
        self.sound = {item.name: (with_faults(layout, item.name), _brakes(layout, item.name)) for item in layout.ranges}

    def cases(self, fault: ElementFault) -> tuple[FaultCase, ...]:
        return tuple(self.case(fault, item.name) for item in self.layout.ranges)

    def case(self, fault: ElementFault, name: str) -> FaultCase:
        right, brakes = self.sound[name]
        faulty = with_faults(self.layout, name, [fault])
        effect = effect_of(right, faulty)
        actual = self.ranges.named(faulty)
        if effect is FaultEffect.SAME:
            actual = name if right.ratio is not None else None
        lost = brakes and effect is FaultEffect.SAME and not _brakes(self.layout, name, fault)
        return FaultCase(fault, name, right, faulty, effect, actual, lost)


def effect_of(sound: Working, faulty: Working) -> FaultEffect:
    """Return what a fault made of a range.

    Args:
        sound: what the range does without the fault.
        faulty: what it does with it.
    """
    if (sound.verdict, sound.ratio) == (faulty.verdict, faulty.ratio):
        return FaultEffect.SAME
    return FaultEffect.OTHER_RANGE if faulty.verdict is Verdict.RANGE else FaultEffect(faulty.verdict)


def _brakes(layout: Layout, range_name: str, fault: ElementFault | None = None) -> bool:
    if not one_way_clutches(layout):
        return False
    state = with_faults(layout, range_name, [fault] if fault else [], Drive.COAST)
    return state.verdict is Verdict.RANGE


def _unsafe(case: FaultCase) -> bool:
    actual, wanted = case.faulty.ratio, case.sound.ratio
    return case.rolls or (actual is not None and (wanted is None or (actual > 0) != (wanted > 0)))
