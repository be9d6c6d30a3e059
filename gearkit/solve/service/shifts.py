"""Shifts: what lets go, what takes hold, how far the engine speed changes, and what the gap between the two does.

During a shift road speed hardly changes, so the engine speed follows the ratio: ``n_after = n_before * i_to / i_from``. If
both elements hold for a moment (overlap) the train does what all of them together do, most often a tie-up; if neither
does (underlap) it does what is left, most often a neutral, and a driving engine flares.

A one-way clutch is never applied or released: it takes hold and lets go by itself. Speeds are in the unit of the input
speed asked for, positive in the input's sense; slip is the speed of an element's first part less that of its second.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from itertools import chain, pairwise

from gearkit.solve.enumeration import all_combinations
from gearkit.solve.one_way import Working, one_way_clutches, working
from gearkit.solve.ratios import RatioChart, chart
from gearkit.solve.service.running_as import RangesAlike
from gearkit.solve.speeds import speeds
from gearkit.text.phrases import decimal, listed
from gearkit.train.layout import Layout
from gearkit.words.say import say
from gearkit.words.terms import ShiftKind, Verdict

Speed = Fraction | None

_SINGLE = frozenset({ShiftKind.SINGLE_SWAP, ShiftKind.APPLY, ShiftKind.RELEASE})


@dataclass(frozen=True)
class Shift:
    """One change from range to range at constant road speed.

    Args:
        layout: the layout.
        from_range: the range before.
        to_range: the range after.
        off_going: elements that are released.
        on_coming: elements that are applied.
        letting_go: one-way clutches that hold before and no more after.
        taking_hold: one-way clutches that hold after and not before.
        kind: how many elements change over.
        step: ratio before / ratio after; None from or to a neutral.
        input_before: input speed before the shift.
        input_after: input speed after it, at the same output speed; None from or to a neutral.
        slip_before: slip of each on-coming element before the shift; None where nothing fixes it.
        slip_after: slip of each off-going element after the shift.
        overlap: what the train does while old and new elements all hold.
        underlap: what it does while neither off-going nor on-coming elements hold.
        ranges: which range a state runs as, for the words.
    """

    layout: Layout
    from_range: str
    to_range: str
    off_going: tuple[str, ...]
    on_coming: tuple[str, ...]
    letting_go: tuple[str, ...]
    taking_hold: tuple[str, ...]
    kind: ShiftKind
    step: Fraction | None
    input_before: Fraction
    input_after: Speed
    slip_before: dict[str, Speed]
    slip_after: dict[str, Speed]
    overlap: Working
    underlap: Working
    ranges: RangesAlike = field(repr=False, compare=False)

    @property
    def name(self) -> str:
        """The two ranges, such as "1-2"."""
        return f"{self.from_range}-{self.to_range}"

    @property
    def by_itself(self) -> bool:
        """A one-way clutch takes part in the shift."""
        return bool(self.letting_go or self.taking_hold)

    def overlap_words(self) -> str:
        """Return what happens while old and new elements all hold, in a sentence."""
        if not self.off_going:
            if self.letting_go:
                return say(
                    "Nothing has to be released: {clutches} lets go by itself, so no overlap can bind.",
                    clutches=listed(self.letting_go),
                )
            return say("Nothing has to be released, so no overlap can bind.")
        if not self.on_coming:
            if self.taking_hold:
                return say(
                    "Nothing has to be applied: {clutches} takes hold by itself, so no overlap can bind.",
                    clutches=listed(self.taking_hold),
                )
            return say("Nothing has to be applied, so no overlap can bind.")
        start = say("Overlap, while {all_hold}:", all_hold=_all_hold((*self.off_going, *self.on_coming)))
        match self.overlap.verdict:
            case Verdict.RANGE:
                return say(
                    "{start} the train runs in {ratio_words}; nothing binds.",
                    start=start,
                    ratio_words=self._ratio_words(self.overlap),
                )
            case Verdict.NEUTRAL:
                return say("{start} the train is in neutral; nothing binds.", start=start)
        return say(
            "{start} {verdict}; the train binds, drags the output back and pulls the engine down.",
            start=start,
            verdict=self.overlap.verdict,
        )

    def underlap_words(self) -> str:
        """Return what happens while neither off-going nor on-coming elements hold, in a sentence."""
        moving = (*self.off_going, *self.on_coming)
        if not moving:
            return say("No element is applied or released.")
        start = say("Underlap, while {none_holds}:", none_holds=_none_holds(moving))
        match self.underlap.verdict:
            case Verdict.RANGE if self.underlap.holding and self.step is not None:
                catch = say(
                    "{holding} takes hold at {ratio_words}",
                    holding=listed(self.underlap.holding),
                    ratio_words=self._ratio_words(self.underlap),
                )
                return say("{start} the engine is free until {catch}.", start=start, catch=catch)
            case Verdict.RANGE:
                return say(
                    "{start} the train runs in {ratio_words}.", start=start, ratio_words=self._ratio_words(self.underlap)
                )
            case Verdict.NEUTRAL if self.step is not None:
                return say("{start} input and output are independent; a driving engine flares.", start=start)
            case Verdict.NEUTRAL:
                return say("{start} input and output are independent; nothing drives yet.", start=start)
        return f"{start} {self.underlap.verdict}."

    def _ratio_words(self, state: Working) -> str:
        assert state.ratio is not None
        if name := self.ranges.named(state):
            return say("the ratio of range {name}", name=name)
        return say("a ratio of {ratio}, which no range has", ratio=decimal(state.ratio))


@dataclass(frozen=True)
class ShiftChart:
    """The shifts of a layout, lowest range first.

    Args:
        layout: the layout.
        ladder: the forward ranges, highest ratio first, one range per ratio.
        input_speed: input speed before each shift.
        up: upshifts between neighbouring forward ranges.
        down: downshifts between neighbouring forward ranges.
        garage: from neutral at standstill into the lowest forward ranges and reverse.
        warnings: what a designer should know, in sentences; empty where no neighbouring shift needs more than a swap.
    """

    layout: Layout
    ladder: tuple[str, ...]
    input_speed: Fraction
    up: tuple[Shift, ...]
    down: tuple[Shift, ...]
    garage: tuple[Shift, ...]
    warnings: tuple[str, ...]

    @cached_property
    def skips(self) -> tuple[Shift, ...]:
        """Shifts that leave out one or more ranges, up and down."""
        pairs = [
            (first, second) for i, first in enumerate(self.ladder) for j, second in enumerate(self.ladder) if abs(i - j) > 1
        ]
        ranges = RangesAlike(self.layout)
        return tuple(_shift(self.layout, first, second, self.input_speed, ranges) for first, second in pairs)


def shift(layout: Layout, from_range: str, to_range: str, input_speed: Fraction | int = 1) -> Shift:
    """Return what a shift from one range to another changes, with the engine driving.

    From a neutral the vehicle stands still: the output speed is 0.

    Args:
        layout: the layout.
        from_range: the range before.
        to_range: the range after.
        input_speed: input speed before the shift.

    Raises:
        UsageError: the layout has no such range.

    >>> from gearkit.train.catalogue import find
    >>> found = shift(find("Q36"), "3", "4", 3000)
    >>> found.off_going, found.on_coming, str(found.kind)
    (('D',), ('E',), 'single swap')
    """
    return _shift(layout, from_range, to_range, input_speed, RangesAlike(layout))


def _shift(layout: Layout, from_range: str, to_range: str, input_speed: Fraction | int, alike: RangesAlike) -> Shift:
    applied = [_applied(layout, name) for name in (from_range, to_range)]
    before, after = (working(layout, names) for names in applied)
    off_going = tuple(name for name in applied[0] if name not in applied[1])
    on_coming = tuple(name for name in applied[1] if name not in applied[0])
    speed = Fraction(input_speed)
    ratios = before.ratio, after.ratio
    step = ratios[0] / ratios[1] if ratios[0] is not None and ratios[1] is not None else None
    input_after = None if step is None else speed / step
    return Shift(
        layout,
        from_range,
        to_range,
        off_going,
        on_coming,
        tuple(name for name in before.holding if name not in after.holding),
        tuple(name for name in after.holding if name not in before.holding),
        _kind(len(off_going), len(on_coming), before.holding != after.holding),
        step,
        speed,
        input_after,
        _slips(before, on_coming, speed),
        {} if input_after is None else _slips(after, off_going, input_after),
        working(layout, {*applied[0], *applied[1]}),
        working(layout, set(applied[0]) & set(applied[1])),
        alike,
    )


def shift_chart(layout: Layout, input_speed: Fraction | int = 1) -> ShiftChart:
    """Return the shifts of a layout: neighbours up and down, skips, and from neutral at standstill.

    Args:
        layout: the layout.
        input_speed: input speed before each shift.
    """
    ranges = chart(layout)
    ladder = tuple(row.name for row in ranges.forward)
    neutrals = [row.name for row in ranges.rows if row.mobility.verdict is Verdict.NEUTRAL]
    alike = RangesAlike(layout)
    up = tuple(_shift(layout, low, high, input_speed, alike) for low, high in pairwise(ladder))
    down = tuple(_shift(layout, high, low, input_speed, alike) for low, high in pairwise(ladder))
    starts = _starts(ranges)
    garage = [
        tuple(_shift(layout, neutral, name, input_speed, alike) for neutral in neutrals for name in same) for same in starts
    ]
    warnings = (*_double_swaps(layout, up), *_hard_starts(garage))
    return ShiftChart(layout, ladder, Fraction(input_speed), up, down, tuple(chain(*garage)), warnings)


def _starts(ranges: RatioChart) -> list[list[str]]:
    """Ranges to start in, alternatives together: all with the lowest forward ratio, and each reverse."""
    forward = ranges.forward
    lowest = forward[0].ratio.exact if forward and forward[0].ratio else None
    first = [row.name for row in ranges.rows if row.ratio and row.ratio.exact == lowest]
    reverses = [[row.name] for row in ranges.rows if row.ratio and row.ratio.exact < 0]
    return [names for names in [first, *reverses] if names]


def ways_round(layout: Layout, from_range: str, to_range: str) -> tuple[str, ...]:
    """Return the forward ranges by which a double swap can be made as two single swaps.

    Args:
        layout: the layout.
        from_range: the range before.
        to_range: the range after.
    """
    ends = [set(_applied(layout, name)) for name in (from_range, to_range)]
    names = []
    for row in chart(layout).forward:
        own = set(_applied(layout, row.name))
        if row.name not in (from_range, to_range) and all(_kind(len(e - own), len(own - e)) in _SINGLE for e in ends):
            names.append(row.name)
    return tuple(names)


def equivalents(layout: Layout, from_range: str, to_range: str) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return other applied elements that give the ratio of one of two ranges and make the shift between them a single swap.

    Args:
        layout: the layout.
        from_range: the range before.
        to_range: the range after.

    Returns:
        Pairs of a range and the elements that may be applied in place of its own.
    """
    rows = {row.name: row for row in chart(layout).rows}
    others = []
    for name, other in ((to_range, from_range), (from_range, to_range)):
        row, beside = rows[name], set(_applied(layout, other))
        if row.ratio is None:
            continue
        sizes = {len(beside) + more for more in (-1, 0, 1)}
        for engaged, mobility in all_combinations(layout, sorted(sizes)):
            own = set(engaged)
            if (
                mobility.ratio == row.ratio.exact
                and own != set(_applied(layout, name))
                and not own & set(one_way_clutches(layout))
                and _kind(len(beside - own), len(own - beside)) in _SINGLE
            ):
                others.append((name, engaged))
    return tuple(others)


def _applied(layout: Layout, range_name: str) -> tuple[str, ...]:
    acting = one_way_clutches(layout)
    return tuple(name for name in layout.engaged_in(range_name) if name not in acting)


def _kind(off_going: int, on_coming: int, by_itself: bool = False) -> ShiftKind:
    if by_itself and max(off_going, on_coming) == 1:
        return ShiftKind.FREEWHEEL
    match off_going, on_coming:
        case 0, 0:
            return ShiftKind.NO_CHANGE
        case 0, 1:
            return ShiftKind.APPLY
        case 1, 0:
            return ShiftKind.RELEASE
        case 1, 1:
            return ShiftKind.SINGLE_SWAP
        case 2, 2:
            return ShiftKind.DOUBLE_SWAP
    return ShiftKind.UNEVEN


def _slips(state: Working, elements: Sequence[str], input_speed: Fraction) -> dict[str, Speed]:
    if not elements:
        return {}
    standstill = Fraction(0) if state.verdict is Verdict.NEUTRAL else None
    if state.verdict.locked:
        return dict.fromkeys(elements)
    turning = speeds(state.layout, state.engaged, input_speed, standstill)
    return {name: turning.slip[name] for name in elements}


def _double_swaps(layout: Layout, shifts: Sequence[Shift]) -> Iterator[str]:
    for item in shifts:
        if item.kind in (ShiftKind.DOUBLE_SWAP, ShiftKind.UNEVEN):
            ways = ways_round(layout, item.from_range, item.to_range)
            by = (
                say("single swaps lead by way of {ways}", ways=listed(ways))
                if ways
                else say("no range is a single swap from both")
            )
            same = "".join(
                say(
                    " With {engaged} applied, {name} has the same ratio and the shift is a single swap.",
                    engaged=listed(engaged),
                    name=name,
                )
                for name, engaged in equivalents(layout, item.from_range, item.to_range)[:2]
            )
            yield (
                say(
                    "{name} is a {kind}: {off} off, {on} on; {by}.{same}",
                    name=item.name,
                    kind=item.kind,
                    off=listed(item.off_going) or say("nothing"),
                    on=listed(item.on_coming) or say("nothing"),
                    by=by,
                    same=same,
                )
            )


def _hard_starts(garage: Sequence[Sequence[Shift]]) -> Iterator[str]:
    for alternatives in garage:
        best = min(alternatives, key=lambda item: len(item.on_coming), default=None)
        if best is not None and len(best.on_coming) > 1:
            yield say(
                "{name} at standstill: {on_coming} must come on together.", name=best.name, on_coming=listed(best.on_coming)
            )


def _all_hold(names: Sequence[str]) -> str:
    return (
        say("both {first} and {second} hold", first=names[0], second=names[1])
        if len(names) == 2
        else say("{names} all hold", names=listed(names))
    )


def _none_holds(names: Sequence[str]) -> str:
    if len(names) == 1:
        return say("{names} does not hold", names=names[0])
    return (
        say("neither {first} nor {second} holds", first=names[0], second=names[1])
        if len(names) == 2
        else say("none of {names} holds", names=", ".join(names))
    )
