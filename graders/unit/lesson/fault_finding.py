"""Faults in a lesson on a layout: stuck off, stuck on, a one-way clutch that fails, and readings that give a suspect away."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from gearkit.solve.service.faults import ElementFault, FaultCase
from gearkit.text.phrases import decimal, fixed, listed
from gearkit.words.terms import FaultEffect, FaultMode
from graders.unit.facts import Facts
from graders.unit.words.cells import Cell, code, gate, prose, several
from graders.unit.words.saying import escaped, verb

OUTPUT_SPEED = 1000
_MOST_ROWS = 4


def cells(facts: Facts) -> Iterator[Cell]:
    """Yield the cells on faults; nothing where no fault of an element changes a range."""
    lost = {fault: facts.faults.lost(fault) for fault in facts.faults.faults}
    off = [fault for fault, ranges in lost.items() if fault.mode is FaultMode.STUCK_OFF and ranges]
    on = [fault for fault, ranges in lost.items() if fault.mode is FaultMode.STUCK_ON and ranges]
    turned = [fault for fault, ranges in lost.items() if fault.mode is FaultMode.REVERSED and ranges]
    if not off and not on:
        return
    yield prose(
        "faults",
        "by-hand",
        "## When one element fails",
        "An element is *stuck off* when it cannot hold, *stuck on* when it cannot let go. The train then does what the "
        "remaining elements make of it; nothing new has to be learned.",
    )
    yield prose(
        "faults-caution",
        "caution",
        "**Before anybody goes near a vehicle:** with an element stuck on, neutral can drive. Wheels chocked, parking brake on, "
        "raised wheels clear, low speed, an instructor present. Follow the maker's procedure; this lesson tells what to expect, not how to repair.",
    )
    if off:
        yield from _stuck_off(facts, max(off, key=lambda fault: (len(lost[fault]) < len(facts.drives), len(lost[fault]))))
    if on:
        yield from _stuck_on(facts, _telling(facts, on))
    if turned:
        yield from _turned(facts, turned[0])
    yield from _reading(facts)
    yield prose(
        "fault-predict",
        "predict",
        "### Find a hidden fault",
        "Eight vehicles, one hidden fault in each, four tests. Ask for the range in which your suspects *differ*.",
    )
    yield gate(
        "fault-panel",
        f'lesson.predict_about("faults", "{facts.file}"',
        "How many of your tests told nothing new? A range that fits every suspect is a test wasted; the best test is one that half of "
        "them would fail.",
    )
    yield code("fault-explore", "explore", f'lesson.explore_about("faults", "{facts.file}")')


def _rows(cases: list[FaultCase]) -> str:
    """A table of symptoms, each with the ranges that show it."""
    ranges: dict[str, list[str]] = {}
    for case in cases:
        ranges.setdefault(case.symptom(), []).append(case.range_name)
    shown = list(ranges.items())[:_MOST_ROWS]
    rows = "\n".join(f"| {escaped(listed(names))} | {escaped(symptom)} |" for symptom, names in shown)
    return f"| asked for | what happens |\n|---|---|\n{rows}"


def _stuck_off(facts: Facts, fault: ElementFault) -> Iterator[Cell]:
    cases = [case for case in facts.faults.of(fault) if case.lost]
    limp = facts.faults.limp_home(fault)
    name = escaped(fault.element)
    yield prose(
        "stuck-off",
        "by-hand",
        f"### {name} cannot hold",
        f"Look down the column of {name} in the chart: every range that has it is in danger.",
        _rows(cases),
    )
    keep = (
        f"{'Range' if len(limp) == 1 else 'Ranges'} {listed(map(escaped, limp))} still {verb(len(limp), 'drive')} as {'it' if len(limp) == 1 else 'they'} should."
        if limp
        else f"Without {name} nothing drives as it should."
    )
    yield prose("stuck-off-limp", "by-hand", keep)
    yield _checked("stuck-off-numbers", facts, fault, "STUCK_OFF", first=True)


def _checked(name: str, facts: Facts, fault: ElementFault, mode: str, *, first: bool) -> Cell:
    imports = (
        ["from gearkit.solve.service.faults import ElementFault, fault_table", "from gearkit.words.terms import FaultMode", ""]
        if first
        else []
    )
    return code(
        name,
        "worked",
        f"# Working: ranges that are lost with {_plain(fault.element)} {'stuck off' if mode == 'STUCK_OFF' else 'stuck on'}",
        *imports,
        f'fault = ElementFault("{_plain(fault.element)}", FaultMode.{mode})',
        'lesson.results(("Lost", ", ".join(fault_table(train).lost(fault))))',
    )


def _telling(facts: Facts, faults: list[ElementFault]) -> ElementFault:
    """The fault that shows most kinds of trouble."""

    def variety(fault: ElementFault) -> tuple[int, int]:
        effects = {case.effect for case in facts.faults.of(fault) if case.lost}
        return len(effects), -len(facts.faults.lost(fault))

    return max(faults, key=variety)


def _stuck_on(facts: Facts, fault: ElementFault) -> Iterator[Cell]:
    cases = [case for case in facts.faults.of(fault) if case.lost]
    name = escaped(fault.element)
    unsafe = facts.faults.unsafe(fault)
    limp = facts.faults.limp_home(fault)
    yield prose(
        "stuck-on",
        "by-hand",
        f"### {name} cannot let go",
        f"Add {name} to every row of the chart that has not got it, and ask each time what that makes.",
        _rows(cases),
    )
    words = []
    if limp:
        words.append(f"Not spoiled by {name}: {'range' if len(limp) == 1 else 'ranges'} {listed(map(escaped, limp))}.")
    if unsafe:
        words.append(
            f"Dangerous: in {'range' if len(unsafe) == 1 else 'ranges'} {listed(map(escaped, unsafe))} the vehicle moves although it should not, or the wrong way."
        )
    yield prose("stuck-on-limp", "by-hand", " ".join(words))
    yield _checked("stuck-on-numbers", facts, fault, "STUCK_ON", first=False)


def _turned(facts: Facts, fault: ElementFault) -> Iterator[Cell]:
    cases = [case for case in facts.faults.of(fault) if case.lost]
    name = escaped(fault.element)
    yield from several(
        "turned",
        "by-hand",
        [
            f"### {name} fitted the wrong way round",
            f"It holds where it should overrun, and overruns where it should hold. "
            f"{'One range shows' if len(cases) == 1 else 'Several ranges show'} it:",
            _rows(cases),
        ],
    )


def _reading(facts: Facts) -> Iterator[Cell]:
    """A reading whose ratio is that of another range."""
    case = next(
        (
            case
            for case in facts.faults.cases
            if case.effect is FaultEffect.OTHER_RANGE
            and case.actual_range
            and case.faulty.ratio
            and case.sound.ratio
            and case.faulty.ratio > 0
            and case.actual_range != case.range_name
        ),
        None,
    )
    if case is None:
        return
    assert case.faulty.ratio is not None
    assert case.sound.ratio is not None
    speed = OUTPUT_SPEED * case.faulty.ratio
    asked = escaped(case.range_name)
    alike = [escaped(drive.name) for drive in facts.drives if drive.ratio == case.faulty.ratio]
    row = f"the row of range {alike[0]}" if len(alike) == 1 else f"the rows of ranges {listed(alike)}"
    yield prose(
        "reading",
        "by-hand",
        "### Divide, then look",
        f"Range {asked} is asked for; the tester shows {fixed(speed, 0)} r/min at the input and {OUTPUT_SPEED} at the output. "
        f"The quotient {decimal(case.faulty.ratio)} is not the {decimal(case.sound.ratio)} of range {asked}: it stands in {row}. "
        f"Which element would have to fail for that, and in which way? Write your suspects down; a second range tells them apart.",
    )
    yield code(
        "reading-numbers",
        "worked",
        "# Working: suspects that fit this reading",
        "from gearkit.solve.service.diagnosis import diagnose, reading",
        "",
        f'found = diagnose(train, [reading(train, "{_reading_text(speed)}:{OUTPUT_SPEED}:{_plain(case.range_name)}")])',
        "suspects = [suspect.name for suspect in found.standing]",
        'lesson.results(("Suspects that fit this reading", ", ".join(suspects)))',
    )


def _reading_text(speed: Fraction) -> str:
    return f"{float(speed):.1f}"


def _plain(name: str) -> str:
    return name.replace("\\", "\\\\").replace('"', '\\"')
