"""Shifts in a lesson on a layout: what changes over, where the engine ends up, double swaps, one-way clutches, timing."""

from __future__ import annotations

from collections.abc import Iterator

from gearkit.solve.service.shifts import Shift, ways_round
from gearkit.text.phrases import OR, capital, decimal, fixed, listed
from gearkit.words.say import later, say, say_n
from gearkit.words.terms import ShiftKind
from graders.unit.facts import SHIFT_SPEED, Facts
from graders.unit.words.cells import Cell, code, gate, prose, quoted, result, several, working_title
from graders.unit.words.saying import escaped, number, ranges_words

_SWAPS = (ShiftKind.SINGLE_SWAP, ShiftKind.APPLY, ShiftKind.RELEASE, ShiftKind.FREEWHEEL)


def cells(facts: Facts) -> Iterator[Cell]:
    """Yield the cells on shifts; nothing where fewer than two forward ranges have ratios of their own."""
    if not facts.shifts:
        return
    first = next((shift for shift in facts.shifts if shift.kind is ShiftKind.SINGLE_SWAP), facts.shifts[0])
    yield prose(
        "shifts",
        "by-hand",
        say("## Shifting"),
        say(
            "Compare two rows of the chart. An element in the first row only is *off-going*, one in the second row only is "
            "*on-coming*; what stands in both stays applied and goes on carrying torque."
        ),
        _rows(first),
    )
    yield from _speed(facts, first)
    yield from _slip(first)
    yield from _one_way(facts)
    yield from _double(facts)
    yield from several(
        "timing", "by-hand", [say("### In time, too early, too late"), first.overlap_words(), first.underlap_words()]
    )
    yield prose(
        "shift-predict",
        "predict",
        say("### Predict a shift"),
        say(
            "Choose a shift and a timing. Say what goes off and comes on, where the engine speed ends and what is felt; then reveal. Try one "
            "upshift with all three timings."
        ),
    )
    yield gate("shift-panel", f'lesson.predict_about("shifts", "{facts.file}"', _wrong(first))
    yield code("shift-explore", "explore", f'lesson.explore_about("shifts", "{facts.file}")')


def _rows(shift: Shift) -> str:
    off, on = listed(map(escaped, shift.off_going)), listed(map(escaped, shift.on_coming))
    pieces = []
    if off:
        pieces.append(say_n("{elements} lets go", "{elements} let go", len(shift.off_going), elements=off))
    if on:
        pieces.append(say_n("{elements} takes hold", "{elements} take hold", len(shift.on_coming), elements=on))
    by_itself = (*shift.letting_go, *shift.taking_hold)
    told = [listed(pieces) or say("no applied element changes")]
    if by_itself:
        told.append(
            say_n(
                "{elements} does its part by itself",
                "{elements} do their part by themselves",
                len(by_itself),
                elements=listed(map(escaped, by_itself)),
            )
        )
    return say(
        "From range {first} to range {second}: {changes}. That is {kind}.",
        first=escaped(shift.from_range),
        second=escaped(shift.to_range),
        changes="; ".join(told),
        kind=say(_KINDS[shift.kind]),
    )


_KINDS = {
    ShiftKind.APPLY: later("a shift with one element applied"), ShiftKind.RELEASE: later("a shift with one element released"),
    ShiftKind.SINGLE_SWAP: later("a single swap"), ShiftKind.DOUBLE_SWAP: later("a double swap"),
    ShiftKind.UNEVEN: later("an uneven swap"), ShiftKind.FREEWHEEL: later("a freewheel shift"),
    ShiftKind.NO_CHANGE: later("no swap at all"),
}  # fmt: skip


def _speed(facts: Facts, shift: Shift) -> Iterator[Cell]:
    assert shift.step is not None
    assert shift.input_after is not None
    ratios = {fact.name: fact for fact in facts.drives}
    before, after = ratios[shift.from_range], ratios[shift.to_range]
    sum_up = f"${SHIFT_SPEED} \\times {decimal(after.ratio, 4)}/{decimal(before.ratio, 4)} = {fixed(shift.input_after, 0)}$"
    words = say("before"), say("after")
    early, late = (rf"\text{{{word}}}" for word in words)
    first, second = quoted(shift.from_range), quoted(shift.to_range)
    yield prose(
        "shift-speed",
        "by-hand",
        say("During a shift the vehicle hardly changes speed, so the output turns as before and the engine follows the ratio:"),
        rf"$$n_{{{late}}} = n_{{{early}}}\,\frac{{i_{{{late}}}}}{{i_{{{early}}}}}$$",
        say("At {speed} r/min: {sum} r/min.", speed=SHIFT_SPEED, sum=sum_up),
    )
    yield code(
        "shift-speed-numbers",
        "worked",
        working_title(say("engine speed after the shift")),
        "from gearkit.solve.service.shifts import shift",
        "",
        f"before, after = (in_range(train, name).ratio for name in ({first}, {second}))",
        f"engine = {SHIFT_SPEED} * after / before",
        f"found = shift(train, {first}, {second}, {SHIFT_SPEED}).input_after",
        "lesson.results(",
        result(say("Engine after the shift"), "float(engine)", '"r/min"', "0"),
        result(say("Engine, solved by the kit"), "float(found)", '"r/min"', "0"),
        ")",
    )


def _slip(shift: Shift) -> Iterator[Cell]:
    known = {name: value for name, value in shift.slip_before.items() if value}
    if known:
        name, value = next(iter(known.items()))
        yield prose(
            "shift-slip",
            "by-hand",
            say(
                "In range {range}, before {element} holds, the speeds of its two sides differ by {speed} r/min. This difference is its *slip*. "
                "{element} must bring it to zero, and gets hot while it does so.",
                element=escaped(name),
                speed=fixed(abs(value), 0),
                range=escaped(shift.from_range),
            ),
        )


def _one_way(facts: Facts) -> Iterator[Cell]:
    free = next((shift for shift in facts.shifts if shift.by_itself), None)
    if free is not None:
        by_itself = (*free.letting_go, *free.taking_hold)
        names = listed(map(escaped, by_itself))
        heading = say_n(
            "### {elements} takes part by itself",
            "### {elements} take part by themselves",
            len(by_itself),
            elements=capital(names),
        )
        told = say(
            "In the shift from {first} to {second} nobody has to time {elements}: the moment the torque turns, the clutch lets go or takes "
            "hold. So there is neither overlap nor gap.",
            first=escaped(free.from_range),
            second=escaped(free.to_range),
            elements=names,
        )
        yield prose("shift-one-way", "by-hand", heading, told)
    if facts.coasting:
        ranges = ranges_words(list(map(escaped, facts.coasting)))
        # A price is spoken of only where the gain stands right before.
        told = (
            say(
                "In {ranges} the engine does not brake, because a one-way clutch overruns as soon as the vehicle pushes.",
                ranges=ranges,
            )
            if free is None
            else say(
                "The price: in {ranges} the engine does not brake, because a one-way clutch overruns as soon as the vehicle pushes.",
                ranges=ranges,
            )
        )
        yield prose("coasting", "by-hand", told)


def _double(facts: Facts) -> Iterator[Cell]:
    double = next((shift for shift in facts.shifts if shift.kind not in _SWAPS), None)
    if double is None:
        yield prose("no-double", "by-hand", _no_double(len(facts.shifts)))
        return
    ways = ways_round(facts.layout, double.from_range, double.to_range)
    by = (
        say("It can also be made in two simpler shifts, by way of range {ranges}.", ranges=escaped(listed(ways, OR)))
        if ways
        else say("No other range shares enough elements with both, so there is no simpler way.")
    )
    off, on = (escaped(listed(names)) or say("nothing") for names in (double.off_going, double.on_coming))
    told = say(
        "{off} off, {on} on: {kind}. All of them must act at the right moment.",
        off=capital(off),
        on=on,
        kind=say(_KINDS[double.kind]),
    )
    heading = say(
        "### The most difficult shift: {first} to {second}", first=escaped(double.from_range), second=escaped(double.to_range)
    )
    yield prose("double", "by-hand", heading, f"{told} {by}")


def _no_double(shifts: int) -> str:
    if shifts < 2:
        return ""
    if shifts == 2:
        return say(
            "Look at both upshifts between neighbours in the chart: neither of them asks more than one element to let go or more than one "
            "to take hold."
        )
    return say(
        "Look at all {number} upshifts between neighbours in the chart: none of them asks more than one element to let go or more than one "
        "to take hold.",
        number=number(shifts),
    )


def _wrong(shift: Shift) -> str:
    assert shift.step is not None
    return say(
        "{wrong} r/min from {first} to {second} is the step the wrong way up: on an upshift the engine becomes slower. {speed} takes the "
        "engine speed as unchanged. A flare needs a gap: while nothing holds the engine back, it speeds up.",
        wrong=fixed(SHIFT_SPEED * shift.step, 0),
        first=escaped(shift.from_range),
        second=escaped(shift.to_range),
        speed=SHIFT_SPEED,
    )
