"""Shifts in a lesson on a layout: what changes over, where the engine ends up, double swaps, one-way clutches, timing."""

from __future__ import annotations

from collections.abc import Iterator

from gearkit.solve.service.shifts import Shift, ways_round
from gearkit.text.phrases import capital, decimal, fixed, listed
from gearkit.words.terms import ShiftKind
from graders.unit.facts import SHIFT_SPEED, Facts
from graders.unit.words.cells import Cell, code, gate, prose, several
from graders.unit.words.saying import escaped, number, verb

_SWAPS = (ShiftKind.SINGLE_SWAP, ShiftKind.APPLY, ShiftKind.RELEASE, ShiftKind.FREEWHEEL)


def cells(facts: Facts) -> Iterator[Cell]:
    """Yield the cells on shifts; nothing where fewer than two forward ranges have ratios of their own."""
    if not facts.shifts:
        return
    first = next((shift for shift in facts.shifts if shift.kind is ShiftKind.SINGLE_SWAP), facts.shifts[0])
    yield prose(
        "shifts",
        "by-hand",
        "## Shifting",
        "Hold two rows of the chart against each other. An element in the first row only is *off-going*, one in the second row only is "
        "*on-coming*; what stands in both stays applied and goes on carrying torque.",
        _rows(first),
    )
    yield from _speed(facts, first)
    yield from _slip(facts, first)
    yield from _one_way(facts)
    yield from _double(facts)
    yield from several("timing", "by-hand", ["### In time, too early, too late", first.overlap_words(), first.underlap_words()])
    yield prose(
        "shift-predict",
        "predict",
        "### Predict a shift",
        "Choose a shift and a timing. Say what goes off and comes on, where the engine speed ends and what is "
        "felt; then reveal. Try one upshift with all three timings.",
    )
    yield gate("shift-panel", f'lesson.predict_about("shifts", "{facts.file}"', _wrong(first))
    yield code("shift-explore", "explore", f'lesson.explore_about("shifts", "{facts.file}")')


def _rows(shift: Shift) -> str:
    off, on = listed(map(escaped, shift.off_going)), listed(map(escaped, shift.on_coming))
    pieces = []
    if off:
        pieces.append(f"{off} {verb(len(shift.off_going), 'let')} go")
    if on:
        pieces.append(f"{on} {verb(len(shift.on_coming), 'take')} hold")
    free = listed(map(escaped, (*shift.letting_go, *shift.taking_hold)))
    by = (
        f"; {free} {'does its part by itself' if len((*shift.letting_go, *shift.taking_hold)) == 1 else 'do their part by themselves'}"
        if free
        else ""
    )
    told = " and ".join(pieces) or "no applied element changes"
    return f"From range {escaped(shift.from_range)} to range {escaped(shift.to_range)}: {told}{by}. That is {_article(shift.kind)}."


def _article(kind: ShiftKind) -> str:
    return {
        ShiftKind.APPLY: "a shift with one element applied",
        ShiftKind.RELEASE: "a shift with one element released",
        ShiftKind.UNEVEN: "an uneven swap",
        ShiftKind.NO_CHANGE: "no swap at all",
    }.get(kind, f"a {kind}")


def _speed(facts: Facts, shift: Shift) -> Iterator[Cell]:
    assert shift.step is not None
    assert shift.input_after is not None
    ratios = {fact.name: fact for fact in facts.drives}
    before, after = ratios[shift.from_range], ratios[shift.to_range]
    yield prose(
        "shift-speed",
        "by-hand",
        "During a shift the vehicle hardly changes speed, so the output turns as before and the engine follows the ratio:",
        r"$$n_{\text{after}} = n_{\text{before}}\,\frac{i_{\text{after}}}{i_{\text{before}}}$$",
        f"At {SHIFT_SPEED} r/min: ${SHIFT_SPEED} \\times {decimal(after.ratio, 4)}/{decimal(before.ratio, 4)} = {fixed(shift.input_after, 0)}$ r/min.",
    )
    yield code(
        "shift-speed-numbers",
        "worked",
        "# Working: engine speed after the shift",
        "from gearkit.solve.service.shifts import shift",
        "",
        f'before, after = (in_range(train, name).ratio for name in ("{_plain(shift.from_range)}", "{_plain(shift.to_range)}"))',
        f"engine = {SHIFT_SPEED} * after / before",
        f'found = shift(train, "{_plain(shift.from_range)}", "{_plain(shift.to_range)}", {SHIFT_SPEED}).input_after',
        "lesson.results(",
        '    ("Engine after the shift", float(engine), "r/min", 0), ("Engine, solved by the kit", float(found), "r/min", 0),',
        ")",
    )


def _slip(facts: Facts, shift: Shift) -> Iterator[Cell]:
    known = {name: value for name, value in shift.slip_before.items() if value}
    if known:
        name, value = next(iter(known.items()))
        yield prose(
            "shift-slip",
            "by-hand",
            f"Before it holds, {escaped(name)} slips: its two sides differ by {fixed(abs(value), 0)} r/min in range "
            f"{escaped(shift.from_range)}. That is what {escaped(name)} must bring to zero, and what becomes heat.",
        )


def _one_way(facts: Facts) -> Iterator[Cell]:
    free = next((shift for shift in facts.shifts if shift.by_itself), None)
    if free is not None:
        names = listed(map(escaped, (*free.letting_go, *free.taking_hold)))
        yield prose(
            "shift-one-way",
            "by-hand",
            f"### {capital(names)} {verb(len((*free.letting_go, *free.taking_hold)), 'take')} part by itself"
            if len((*free.letting_go, *free.taking_hold)) == 1
            else f"### {capital(names)} take part by themselves",
            f"In the shift from {escaped(free.from_range)} to {escaped(free.to_range)} nobody has to time {names}: the moment the torque turns, "
            "the clutch lets go or takes hold. Neither overlap nor gap.",
        )
    if facts.coasting:
        names = listed(map(escaped, facts.coasting))
        yield prose(
            "coasting",
            "by-hand",
            f"The price: in {'range' if len(facts.coasting) == 1 else 'ranges'} {names} the engine does not brake, "
            "because a one-way clutch overruns as soon as the vehicle pushes.",
        )


def _double(facts: Facts) -> Iterator[Cell]:
    double = next((shift for shift in facts.shifts if shift.kind not in _SWAPS), None)
    if double is None:
        yield prose(
            "no-double",
            "by-hand",
            f"Look at {'both' if len(facts.shifts) == 2 else f'all {number(len(facts.shifts))}'} upshifts between neighbours in the chart: {'neither' if len(facts.shifts) == 2 else 'none'} of them asks more than one element to let go "
            "or more than one to take hold."
            if len(facts.shifts) > 1
            else "",
        )
        return
    ways = ways_round(facts.layout, double.from_range, double.to_range)
    by = (
        f"It can be made by way of {escaped(listed(ways, 'or'))}, in simpler steps."
        if ways
        else "No other range shares enough elements with both to lead round it."
    )
    yield prose(
        "double",
        "by-hand",
        f"### The awkward one: {escaped(double.from_range)} to {escaped(double.to_range)}",
        f"{escaped(listed(double.off_going)) or 'Nothing'} off, {escaped(listed(double.on_coming)) or 'nothing'} on: {_article(double.kind)}. All of them must "
        f"be in time at once. {by}",
    )


def _wrong(shift: Shift) -> str:
    assert shift.step is not None
    wrong = SHIFT_SPEED * shift.step
    return (
        f"{fixed(wrong, 0)} r/min from {escaped(shift.from_range)} to {escaped(shift.to_range)} turns the step upside down: it lets the engine rise on an upshift. "
        f"{SHIFT_SPEED} takes the engine for unchanged. And a flare needs a gap: while nothing holds the engine back it speeds up."
    )


def _plain(name: str) -> str:
    return name.replace("\\", "\\\\").replace('"', '\\"')
