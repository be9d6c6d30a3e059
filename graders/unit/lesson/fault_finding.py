"""Faults in a lesson on a layout: stuck off, stuck on, a one-way clutch that fails, and readings that give a suspect away."""

from __future__ import annotations

from collections.abc import Iterator

from gearkit.solve.service.faults import ElementFault, FaultCase
from gearkit.text.phrases import decimal, fixed, listed
from gearkit.words.say import say, say_n
from gearkit.words.terms import FaultEffect, FaultMode
from graders.unit.facts import Facts
from graders.unit.words.cells import Cell, code, gate, prose, quoted, several, working_title
from graders.unit.words.saying import escaped, ranges_words

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
        say("## When one element fails"),
        say(
            "An element is *stuck off* when it cannot hold, *stuck on* when it cannot let go. The train then does what all that really "
            "holds makes it do; nothing new has to be learned."
        ),
    )
    yield prose(
        "faults-caution",
        "caution",
        say(
            "**Before anybody goes near a vehicle:** with an element stuck on, neutral can drive. Wheels chocked, parking brake on, raised "
            "wheels clear, low speed, an instructor present. Follow the maker's procedure; this lesson tells what to expect, not how to "
            "repair."
        ),
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
        say("### Find a hidden fault"),
        say("Eight vehicles, one hidden fault in each, four tests. Ask for the range in which your suspects *differ*."),
    )
    yield gate(
        "fault-panel",
        f'lesson.predict_about("faults", "{facts.file}"',
        say(
            "How many of your tests told you nothing new? A test in which all suspects show the same tells nothing; the best one is a test "
            "in which half of them show something else."
        ),
    )
    yield code("fault-explore", "explore", f'lesson.explore_about("faults", "{facts.file}")')


def _rows(cases: list[FaultCase]) -> str:
    """A table of symptoms, each with the ranges that show it."""
    ranges: dict[str, list[str]] = {}
    for case in cases:
        ranges.setdefault(case.symptom(), []).append(case.range_name)
    shown = list(ranges.items())[:_MOST_ROWS]
    rows = "\n".join(f"| {escaped(listed(names))} | {escaped(symptom)} |" for symptom, names in shown)
    heads = (say("asked for"), say("what happens"))
    return f"| {heads[0]} | {heads[1]} |\n|---|---|\n{rows}"


def _stuck_off(facts: Facts, fault: ElementFault) -> Iterator[Cell]:
    cases = [case for case in facts.faults.of(fault) if case.lost]
    limp = facts.faults.limp_home(fault)
    name = escaped(fault.element)
    yield prose(
        "stuck-off",
        "by-hand",
        say("### {element} cannot hold", element=name),
        say("Look down the column of {element} in the chart: every range that has it may be lost.", element=name),
        _rows(cases),
    )
    keep = (
        say_n(
            "Range {ranges} still drives as it should.",
            "Ranges {ranges} still drive as they should.",
            len(limp),
            ranges=listed(map(escaped, limp)),
        )
        if limp
        else say("Without {element} nothing drives as it should.", element=name)
    )
    yield prose("stuck-off-limp", "by-hand", keep)
    yield _checked("stuck-off-numbers", fault, "STUCK_OFF", first=True)


def _checked(name: str, fault: ElementFault, mode: str, *, first: bool) -> Cell:
    imports = (
        ["from gearkit.solve.service.faults import ElementFault, fault_table", "from gearkit.words.terms import FaultMode", ""]
        if first
        else []
    )
    title = (
        say("ranges that are lost with {element} stuck off", element=fault.element)
        if mode == "STUCK_OFF"
        else say("ranges that are lost with {element} stuck on", element=fault.element)
    )
    label = quoted(say("Lost"))
    return code(
        name,
        "worked",
        working_title(title),
        *imports,
        f"fault = ElementFault({quoted(fault.element)}, FaultMode.{mode})",
        f'lesson.results(({label}, ", ".join(fault_table(train).lost(fault))))',
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
        say("### {element} cannot let go", element=name),
        say(
            "Add {element} to every row of the chart that does not have it, and ask each time what the train does then.",
            element=name,
        ),
        _rows(cases),
    )
    words = []
    if limp:
        words.append(
            say(
                "As it should be, although {element} is stuck on: {ranges}.",
                element=name,
                ranges=ranges_words(list(map(escaped, limp))),
            )
        )
    if unsafe:
        words.append(
            say(
                "Dangerous: in {ranges} the vehicle moves although it should not, or the wrong way.",
                ranges=ranges_words(list(map(escaped, unsafe))),
            )
        )
    yield prose("stuck-on-limp", "by-hand", " ".join(words))
    yield _checked("stuck-on-numbers", fault, "STUCK_ON", first=False)


def _turned(facts: Facts, fault: ElementFault) -> Iterator[Cell]:
    cases = [case for case in facts.faults.of(fault) if case.lost]
    yield from several(
        "turned",
        "by-hand",
        [
            say("### {element} fitted the wrong way round", element=escaped(fault.element)),
            say_n(
                "It holds where it should overrun, and overruns where it should hold. One range shows it:",
                "It holds where it should overrun, and overruns where it should hold. Several ranges show it:",
                len(cases),
            ),
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
    read = say(
        "Range {range} is asked for; the tester shows {input_speed} r/min at the input and {output_speed} at the output.",
        range=asked,
        input_speed=fixed(speed, 0),
        output_speed=OUTPUT_SPEED,
    )
    divided = say_n(
        "The quotient {quotient} is not the {ratio} of range {range}: it stands in the row of range {others}.",
        "The quotient {quotient} is not the {ratio} of range {range}: it stands in the rows of ranges {others}.",
        len(alike),
        quotient=decimal(case.faulty.ratio),
        ratio=decimal(case.sound.ratio),
        range=asked,
        others=listed(alike),
    )
    which = say(
        "Which element would have to fail for that, and in which way? Write your suspects down; a second range tells them apart."
    )
    shown = quoted(f"{float(speed):.1f}:{OUTPUT_SPEED}:{case.range_name}")
    label = quoted(say("Suspects that fit this reading"))
    yield prose("reading", "by-hand", say("### Divide, then look"), f"{read} {divided} {which}")
    yield code(
        "reading-numbers",
        "worked",
        working_title(say("suspects that fit this reading")),
        "from gearkit.solve.service.diagnosis import diagnose, reading",
        "",
        f"found = diagnose(train, [reading(train, {shown})])",
        "suspects = [suspect.name for suspect in found.standing]",
        f'lesson.results(({label}, ", ".join(suspects)))',
    )
