"""How a lesson on a layout begins: its question, what one can do after it, and what is on which shaft."""

from __future__ import annotations

from collections.abc import Iterator

from gearkit.text.phrases import capital, listed, sets_words
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, ElementKind, PinionKind
from graders.unit.facts import Facts
from graders.unit.words.cells import Cell, code, prose, several
from graders.unit.words.saying import counted, does, escaped, free_way, kind_words, number, shaft_words, verb

_KINDS = {
    PinionKind.DOUBLE: ("has planets in meshing pairs", "have planets in meshing pairs"), PinionKind.STEPPED: ("has stepped planets", "have stepped planets"),
    PinionKind.BEVEL: ("is a bevel set with equal side gears", "are bevel sets with equal side gears"),
}  # fmt: skip


def cells(facts: Facts, minutes: int) -> Iterator[Cell]:
    """Yield the first cells.

    Args:
        facts: the layout.
        minutes: planned time.
    """
    yield _title(facts, minutes)
    yield prose(
        "outcomes",
        "outcomes",
        "After this lesson you can",
        "\n".join(f"- {outcome}," for outcome in _outcomes(facts))[:-1] + ".",
    )
    yield code(
        "open", "open", "# Run this first: it opens the lesson and your record", "from fractions import Fraction", "", "from gearkit import find_layout, open_lesson",
        "from gearkit.solve.one_way import in_range", "from sympy import Symbol, solve, symbols", "",
        f'lesson = open_lesson("{facts.file}")', f'train = find_layout("{facts.file}")', "lesson",
    )  # fmt: skip
    yield from _shafts(facts)
    yield from _elements(facts)
    yield from _count(facts)


def _title(facts: Facts, minutes: int) -> Cell:
    layout = facts.layout
    elements, ranges = (
        counted(len(layout.elements), "shift element"),
        counted(len(facts.drives), "range that drives", "ranges that drive"),
    )
    question = (
        f"*The question:* {counted(len(layout.sets), 'planetary set')}, {elements}, {ranges}. Which parts turn, which stand, "
        f"and what follows for ratio, torque and fault?"
    )
    needs = "Needs lessons 2 and 3" if len(layout.sets) == 1 else "Needs lessons 2, 3 and 5"
    return prose(
        "title",
        "title",
        f"# {capital(facts.short)}: from its shafts to its faults",
        f"**{minutes} minutes. {needs}** (one planetary set, and how sets are joined).",
        question,
    )


def _outcomes(facts: Facts) -> Iterator[str]:
    yield f"say what is on which shaft of {facts.called}"
    yield f"derive range {escaped(facts.simplest.name)} from the tooth counts"
    if len(facts.by_effort) > 1:
        yield f"predict direction and ratio of {'every' if len(facts.by_effort) > 2 else 'the'} other range"
    if facts.tie_up or facts.others:
        yield "tell what drives from what is free or locked"
    yield "find the torque on each applied element"
    if facts.shifts:
        yield "say what changes over in a shift, and what the engine does"
    if facts.layout.elements:
        yield "name the ranges that are lost when one element fails"


def _shafts(facts: Facts) -> Iterator[Cell]:
    layout = facts.layout
    yield prose(
        "shafts",
        "by-hand",
        "## What is on which shaft",
        f"{capital(facts.called)} has {_sets_words(facts)}. Members that are always joined are *one shaft*: they always turn alike, "
        "whatever is applied.",
    )
    yield code("shafts-picture", "picture", f'lesson.show("{facts.file}", "stick")')
    rows = "\n".join(f"| {place} | {shaft_words(shaft)} |" for place, shaft in enumerate(facts.shafts, start=1))
    held = [shaft for shaft in layout.shafts if HOUSING in shaft and len(shaft) > 1]
    still = shaft_words([member for member in held[0] if member != HOUSING]) if held else ""
    yield prose(
        "shafts-table",
        "by-hand",
        f"Follow the lines with a finger. {capital(counted(len(facts.shafts), 'shaft'))} can turn:",
        f"| shaft | on it |\n|---|---|\n{rows}",
        f"Always held to the housing: {still}." if still else "",
    )
    yield prose("shafts-ends", "by-hand", " ".join(_ends(facts)))


def _sets_words(facts: Facts) -> str:
    sets = facts.layout.sets
    special = []
    for kind, (one, some) in _KINDS.items():
        alike = [pset.name for pset in sets if pset.pinions is kind]
        if alike:
            who = (
                "it"
                if len(sets) == 1
                else "all"
                if len(alike) == len(sets) > 2
                else "both"
                if len(alike) == len(sets)
                else escaped(sets_words(alike))
            )
            special.append(f"{who} {one if len(alike) == 1 else some}")
    start = counted(len(sets), "planetary set")
    return f"{start}; {listed(special)}" if special else start


def _ends(facts: Facts) -> Iterator[str]:
    layout = facts.layout
    entry = [member for member in layout.shafts[layout.shaft_of(INPUT)] if member not in (INPUT, OUTPUT)]
    leave = [member for member in layout.shafts[layout.shaft_of(OUTPUT)] if member not in (INPUT, OUTPUT)]
    reached, ground = layout.shaft_of(INPUT), layout.shaft_of(HOUSING)
    by = [
        element
        for element in layout.elements
        if reached in (ends := {layout.shaft_of(end) for end in element.between}) and ground not in ends
    ]
    if entry:
        each = " each" if len(by) > 1 else ""
        more = f", and {listed(clutch.name for clutch in by)} can{each} bring it to a further shaft" if by else ""
        yield f"The input is *always* on {shaft_words(entry)}{more}."
    elif by:
        yield (
            f"The input is a shaft of its own: it reaches the sets only through {listed((clutch.name for clutch in by), 'or')}, so one of "
            "them is applied in every range."
            if len(by) > 1
            else f"The input is a shaft of its own and reaches the sets through {by[0].name} alone."
        )
    if leave:
        yield f"The output is {'one piece with' if len(leave) > 1 else 'on'} {shaft_words(leave)}: whatever turns there turns the vehicle."


def _elements(facts: Facts) -> Iterator[Cell]:
    if not facts.layout.elements:
        return
    lines = [
        f"- **{escaped(element.name)}**, {kind_words(element)}, {escaped(does(facts, element) + free_way(facts, element))}."
        for element in facts.layout.elements
    ]
    yield from several("elements", "by-hand", ["## What the elements do", "\n".join(lines)])
    if facts.kinds(ElementKind.ONE_WAY_CLUTCH):
        names = facts.kinds(ElementKind.ONE_WAY_CLUTCH)
        it = "it" if len(names) == 1 else "them"
        yield prose(
            "elements-one-way",
            "by-hand",
            f"Nobody applies {listed(escaped(name.name) for name in names)}: the load makes {it} hold, and the motion makes "
            f"{it} let go. Keep an eye on {it} in what follows.",
        )
    rows = "\n".join(
        f"| {escaped(named_range.name)} | {escaped(listed(named_range.engaged)) or '–'} |"
        for named_range in facts.layout.ranges
    )
    yield prose(
        "elements-chart",
        "by-hand",
        "The chart of the ranges, still without a single ratio:",
        f"| range | elements |\n|---|---|\n{rows}",
    )


def _count(facts: Facts) -> Iterator[Cell]:
    layout = facts.layout
    shafts, sets = len(facts.shafts), len(layout.sets)
    plain = (
        f"{counted(shafts, 'shaft')} less {counted(sets, 'set')} leaves {number(facts.free)}"
        if shafts - sets == facts.free
        else f"the equations of the sets repeat each other in part, and of {counted(shafts, 'shaft')} {number(facts.free)} may still be chosen"
    )
    usual = {len(fact.state.engaged) for fact in facts.drives if not fact.state.mobility.redundant}
    need = ""
    if usual == {facts.free - 1} and facts.free > 1:
        need = (
            f"A range is left with *one* free speed, the input's. So {counted(facts.free - 1, 'element')} "
            f"{verb(facts.free - 1, 'hold')} in each range: look at the chart."
        )
    elif facts.free > 1:
        need = "In a range only *one* speed is left free, the input's; the elements take away the others, and some of them may say the same thing twice."
    yield prose(
        "count",
        "by-hand",
        "## Count what is free",
        f"Each shaft has a speed, and each set ties three speeds together by one equation: {plain} free.",
        need,
    )
    yield code(
        "count-numbers",
        "worked",
        "# Working: count what is free",
        "from gearkit.solve.mobility import assess",
        "",
        f"shafts, sets = {shafts}, {sets}",
        "lesson.results(",
        *(['    ("Shafts less sets", shafts - sets),'] if shafts - sets == facts.free else []),
        '    ("Free while nothing is applied", assess(train, []).freedom),',
        ")",
    )
