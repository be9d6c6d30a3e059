"""What is odd in a layout that can be read all the same: worth a sentence, never silence.

Whoever types a transmission in wants to know at once that a set cannot be put together, that a range does not drive, that
an element never works, that a gear turns for nothing, or that a printed ratio is another one.
"""

from __future__ import annotations

from collections.abc import Iterator

from gearkit.solve.one_way import Working, in_range, one_way_clutches, working
from gearkit.solve.teeth.assembly import assembly, pairs_assembly
from gearkit.solve.teeth.from_chart import printed_ratios_that_differ
from gearkit.text.phrases import decimal, listed, member_words, set_words
from gearkit.train.elements import Range
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import say
from gearkit.words.terms import INPUT, OUTPUT, Drive, PinionKind, Verdict


def warnings(layout: Layout) -> tuple[str, ...]:
    """Return sentences on what is odd in a layout, part by part; none where nothing is.

    Args:
        layout: any layout.
    """
    sentences = [sentence for pset in layout.sets for sentence in set_warnings(pset)]
    sentences += _loose(layout)
    if layout.plain:
        sentences += [*_of_ranges(layout), *_idle_elements(layout), *_printed(layout)]
    return tuple(sentences)


def set_warnings(pset: PlanetarySet) -> Iterator[str]:
    """Yield why a set cannot be put together as its tooth counts and planets are given, each beginning with its name.

    Args:
        pset: any set; of one known by ratio only nothing is said.
    """
    sun, ring, planets = pset.sun_teeth, pset.ring_teeth, pset.planets
    if sun is None or ring is None:
        return
    if pset.pinions is PinionKind.SINGLE:
        if (ring - sun) % 2:
            yield say(
                "{set}: ring {ring} less sun {sun} is odd, so no pinion of whole teeth fits without profile shift; with ring {more} or {fewer} one would.",
                set=pset.name,
                ring=ring,
                sun=sun,
                more=ring + 1,
                fewer=ring - 1,
            )
        if planets is not None and planets > 1:
            fits = assembly(sun, max((ring - sun) // 2, 1), ring, planets)
            if not fits.equal_spacing:
                yield say(
                    "{set}: {planets} planets cannot sit at equal angles, since sun + ring = {sum} is no multiple of {planets}.",
                    set=pset.name,
                    planets=planets,
                    sum=sun + ring,
                )
            if not fits.neighbours:
                yield say(
                    "{set}: {planets} planets do not clear each other; take fewer, or a larger sun.",
                    set=pset.name,
                    planets=planets,
                )
    if pset.pinions is PinionKind.DOUBLE and planets is not None and planets > 1:
        if (ring - sun) % planets:
            yield say(
                "{set}: {planets} pairs of pinions cannot sit at equal angles, since ring less sun = {difference} is no multiple of {planets}.",
                set=pset.name,
                planets=planets,
                difference=ring - sun,
            )
        inner, outer = pset.sun_pinion_teeth, pset.ring_pinion_teeth
        if inner is not None and inner == outer:
            fits_pairs = pairs_assembly(sun, inner, ring, planets)
            if not fits_pairs.reaches or not fits_pairs.room:
                yield say(
                    "{set}: pairs of pinions with {teeth} teeth do not fit between sun {sun} and ring {ring}.",
                    set=pset.name,
                    teeth=inner,
                    sun=sun,
                    ring=ring,
                )


def _loose(layout: Layout) -> Iterator[str]:
    """Members and ends that nothing is joined to and on which no element acts."""
    size = {member: len(shaft) for shaft in layout.shafts for member in shaft}
    touched = {member for element in layout.elements for member in element.between}
    for end in (INPUT, OUTPUT):
        # A layout with named outputs or machines has other ends.
        if layout.plain and size.get(end) == 1 and end not in touched:
            yield f"The {end} is joined to nothing and no element acts on it."
    for pset in layout.sets:
        loose = [m for m in layout.members if m.startswith(f"{pset.name}.") and size[m] == 1 and m not in touched]
        if len(loose) == 3:
            yield f"{pset.name}: none of its members is joined to anything and no element acts on them, so the set does nothing."
        elif loose:
            yield (
                f"{listed(member_words(m) for m in loose)}: joined to nothing, and no element acts on it, so {set_words(pset.name)} never "
                "carries torque."
            )


def _of_ranges(layout: Layout) -> Iterator[str]:
    for item in layout.ranges:
        state = in_range(layout, item.name)
        verdict, name = state.mobility.verdict, item.name.upper()
        engaged = listed(item.engaged) or "nothing"
        if name.startswith("N"):
            wrong = verdict is not Verdict.NEUTRAL
        elif name.startswith("P"):
            wrong = verdict.output_turns
        else:
            wrong = verdict is not Verdict.RANGE
        if wrong:
            yield f"Range {item.name}: with {engaged} applied {verdict.means}."


def _idle_elements(layout: Layout) -> Iterator[str]:
    if not layout.ranges:
        return
    by_itself = one_way_clutches(layout)
    states = {item.name: in_range(layout, item.name) for item in layout.ranges}
    for element in layout.elements:
        if element.name in by_itself:
            if not any(element.name in state.holding for state in states.values()):
                yield f"{element.name}: this {element.kind} never holds in any range."
            continue
        where_engaged = [item for item in layout.ranges if element.name in item.engaged]
        if not where_engaged:
            yield f"{element.name}: this {element.kind} is never applied in any range."
        elif all(_same_without(layout, item, element.name, states[item.name]) for item in where_engaged):
            where = (
                f"range {where_engaged[0].name}"
                if len(where_engaged) == 1
                else f"ranges {listed(item.name for item in where_engaged)}"
            )
            yield f"{element.name}: this {element.kind} is applied in {where} alone, and without it nothing would be different there."


def _same_without(layout: Layout, item: Range, name: str, state: Working) -> bool:
    """Whether a range does without an element what it does with it, also when the vehicle pushes: an element may brake the engine."""
    names = [element for element in item.engaged if element != name]
    rest, pushed, without = (
        working(layout, names),
        in_range(layout, item.name, Drive.COAST),
        working(layout, names, Drive.COAST),
    )
    return (rest.verdict, rest.ratio, without.verdict) == (state.verdict, state.ratio, pushed.verdict)


def _printed(layout: Layout) -> Iterator[str]:
    for name, printed, exact in printed_ratios_that_differ(layout):
        yield f"Range {name}: {printed.replace('-', '−')} is printed, but the layout gives {decimal(exact, 4)}."
    for item in layout.ranges:
        if item.published_ratio and in_range(layout, item.name).ratio is None:
            yield f"Range {item.name}: {item.published_ratio.replace('-', '−')} is printed, but the layout has no ratio there."
