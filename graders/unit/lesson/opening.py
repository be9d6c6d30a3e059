"""How a lesson on a layout begins: its question, what one can do after it, and what is on which shaft."""

from __future__ import annotations

from collections.abc import Iterator

from gearkit.text.phrases import OR, capital, listed, sets_words
from gearkit.words.say import later, say, say_in, say_n
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, ElementKind, PinionKind
from graders.unit.facts import Facts
from graders.unit.words.cells import Cell, code, comment, prose, result, several, working_title
from graders.unit.words.saying import (
    counted_drives,
    counted_elements,
    counted_sets,
    counted_shafts,
    element_words,
    escaped,
    number,
    shaft_words,
)

_KINDS = {
    PinionKind.DOUBLE: (later("{sets} has planets in meshing pairs"), later("{sets} have planets in meshing pairs")),
    PinionKind.STEPPED: (later("{sets} has stepped planets"), later("{sets} have stepped planets")),
    PinionKind.BEVEL: (later("{sets} is a bevel set with equal side gears"), later("{sets} are bevel sets with equal side gears")),
}  # fmt: skip


def cells(facts: Facts, minutes: int) -> Iterator[Cell]:
    """Yield the first cells.

    Args:
        facts: the layout.
        minutes: planned time.
    """
    yield _title(facts, minutes)
    outcomes = list(_outcomes(facts))
    ends = [*("," for _ in outcomes[1:]), "."]
    yield prose(
        "outcomes",
        "outcomes",
        say("After this lesson you can"),
        "\n".join(f"- {outcome}{end}" for outcome, end in zip(outcomes, ends, strict=True)),
    )
    yield code(
        "open", "open", comment(say("Run this first: it opens the lesson and your record")), "from fractions import Fraction", "", "from gearkit import find_layout, open_lesson",
        "from gearkit.solve.one_way import in_range", "from sympy import Symbol, solve, symbols", "",
        f'lesson = open_lesson("{facts.file}")', f'train = find_layout("{facts.file}")', "lesson",
    )  # fmt: skip
    yield from _shafts(facts)
    yield from _elements(facts)
    yield from _count(facts)


def _title(facts: Facts, minutes: int) -> Cell:
    layout = facts.layout
    question = say(
        "*The question:* {sets}, {elements}, {ranges}. Which parts turn, which stand, and what follows for ratio, torque and fault?",
        sets=counted_sets(len(layout.sets)),
        elements=counted_elements(len(layout.elements)),
        ranges=counted_drives(len(facts.drives)),
    )
    needs = (
        say("**{minutes} minutes. Needs lessons 2 and 3** (one planetary set, and how sets are joined).", minutes=minutes)
        if len(layout.sets) == 1
        else say(
            "**{minutes} minutes. Needs lessons 2, 3 and 5** (one planetary set, and how sets are joined).", minutes=minutes
        )
    )
    heading = say("# {train}: from its shafts to its faults", train=capital(facts.short))
    return prose("title", "title", heading, needs, question)


def _outcomes(facts: Facts) -> Iterator[str]:
    yield say("say what is on which shaft of {train}", train=facts.called)
    yield say("work out the ratio of range {range} from the tooth counts", range=escaped(facts.simplest.name))
    if len(facts.by_effort) > 2:
        yield say("predict direction and ratio of every other range")
    elif len(facts.by_effort) > 1:
        yield say("predict direction and ratio of the other range")
    if facts.tie_up or facts.others:
        yield say("tell what drives from what is free or locked")
    yield say("find the torque on each applied element")
    if facts.shifts:
        yield say("say which elements let go and take hold in a shift, and what the engine does")
    if facts.layout.elements:
        yield say("name the ranges that are lost when one element fails")


def _shafts(facts: Facts) -> Iterator[Cell]:
    yield prose(
        "shafts",
        "by-hand",
        say("## What is on which shaft"),
        say(
            "{train} has {sets}. Members that are always joined are *one shaft*: they always turn alike, whatever is applied.",
            train=capital(facts.called),
            sets=_sets_words(facts),
        ),
    )
    yield code("shafts-picture", "picture", f'lesson.show("{facts.file}", "stick")')
    rows = "\n".join(f"| {place} | {shaft_words(shaft)} |" for place, shaft in enumerate(facts.shafts, start=1))
    shaft, on_it = say("shaft"), say("on it")
    yield prose(
        "shafts-table",
        "by-hand",
        say("Follow the lines with a finger. {shafts} can turn:", shafts=capital(counted_shafts(len(facts.shafts)))),
        f"| {shaft} | {on_it} |\n|---|---|\n{rows}",
        say("Always held to the housing: {members}.", members=shaft_words(facts.held)) if facts.held else "",
    )
    yield prose("shafts-ends", "by-hand", " ".join(_ends(facts)))


def _sets_words(facts: Facts) -> str:
    sets = facts.layout.sets
    special = []
    for kind, (one, many) in _KINDS.items():
        alike = [pset.name for pset in sets if pset.pinions is kind]
        if alike:
            who = (
                say_in("planetary sets of a train", "it")
                if len(sets) == 1
                else say_in("planetary sets of a train", "all")
                if len(alike) == len(sets) > 2
                else say_in("planetary sets of a train", "both")
                if len(alike) == len(sets)
                else escaped(sets_words(alike))
            )
            special.append(say(one if len(alike) == 1 else many, sets=who))
    start = counted_sets(len(sets))
    return say("{count}; {special}", count=start, special=listed(special)) if special else start


def _ends(facts: Facts) -> Iterator[str]:
    layout = facts.layout
    entry = [member for member in layout.shafts[layout.shaft_of(INPUT)] if member not in (INPUT, OUTPUT)]
    leave = [member for member in layout.shafts[layout.shaft_of(OUTPUT)] if member not in (INPUT, OUTPUT)]
    reached, ground = layout.shaft_of(INPUT), layout.shaft_of(HOUSING)
    by = [
        element.name
        for element in layout.elements
        if reached in (ends := {layout.shaft_of(end) for end in element.between}) and ground not in ends
    ]
    on = shaft_words(entry)
    if entry and not by:
        yield say("The input is *always* on {members}.", members=on)
    elif entry:
        yield say_n(
            "The input is *always* on {members}, and {elements} can bring it to a further shaft.",
            "The input is *always* on {members}, and {elements} can each bring it to a further shaft.",
            len(by),
            members=on,
            elements=listed(by),
        )
    elif by:
        yield say_n(
            "The input is a shaft of its own and reaches the sets through {elements} alone.",
            "The input is a shaft of its own: it reaches the sets only through {elements}, so one of them is applied in every range.",
            len(by),
            elements=listed(by, OR),
        )
    if leave:
        yield say_n(
            "The output is on {members}: whatever turns there turns the vehicle.",
            "The output is one piece with {members}: whatever turns there turns the vehicle.",
            len(leave),
            members=shaft_words(leave),
        )


def _elements(facts: Facts) -> Iterator[Cell]:
    if not facts.layout.elements:
        return
    lines = [f"- {element_words(facts, element)}" for element in facts.layout.elements]
    yield from several("elements", "by-hand", [say("## What the elements do"), "\n".join(lines)])
    names = [escaped(element.name) for element in facts.kinds(ElementKind.ONE_WAY_CLUTCH)]
    if names:
        told = say_n(
            "Nobody applies {elements}: the load makes it hold, and the motion makes it let go. Look in each range what it does.",
            "Nobody applies {elements}: the load makes them hold, and the motion makes them let go. Look in each range what they do.",
            len(names),
            elements=listed(names),
        )
        yield prose("elements-one-way", "by-hand", told)
    rows = "\n".join(
        f"| {escaped(named_range.name)} | {escaped(listed(named_range.engaged)) or '–'} |"
        for named_range in facts.layout.ranges
    )
    heads = (say("range"), say("elements"))
    yield prose(
        "elements-chart",
        "by-hand",
        say("The chart of the ranges, still without a single ratio:"),
        f"| {heads[0]} | {heads[1]} |\n|---|---|\n{rows}",
    )


def _count(facts: Facts) -> Iterator[Cell]:
    layout = facts.layout
    shafts, sets, free = len(facts.shafts), len(layout.sets), facts.free
    plain = (
        say_n(
            "Each shaft has a speed, and each set ties three speeds together by one equation: {shafts} minus one set leaves {free} free.",
            "Each shaft has a speed, and each set ties three speeds together by one equation: {shafts} minus {sets} sets leaves {free} free.",
            sets,
            shafts=counted_shafts(shafts),
            sets=number(sets),
            free=number(free),
        )
        if shafts - sets == free
        else say(
            "Each shaft has a speed, and each set ties three speeds together by one equation: the equations of the sets repeat each "
            "other in part, and of {shafts} {free} may still be chosen free.",
            shafts=counted_shafts(shafts),
            free=number(free),
        )
    )
    usual = {len(fact.state.engaged) for fact in facts.drives if not fact.state.mobility.redundant}
    need = ""
    if usual == {free - 1} and free > 1:
        need = say_n(
            "In a range only *one* speed is left free, the input's. So one element holds in each range: look at the chart.",
            "In a range only *one* speed is left free, the input's. So {number} elements hold in each range: look at the chart.",
            free - 1,
            number=number(free - 1),
        )
    elif free > 1:
        need = say(
            "In a range only *one* speed is left free, the input's; the elements take away the others, and some of them may say the same thing twice."
        )
    yield prose("count", "by-hand", say("## Count what is free"), plain, need)
    yield code(
        "count-numbers",
        "worked",
        working_title(say("count what is free")),
        "from gearkit.solve.mobility import assess",
        "",
        f"shafts, sets = {shafts}, {sets}",
        "lesson.results(",
        *([result(say("Shafts minus sets"), "shafts - sets")] if shafts - sets == free else []),
        result(say("Free while nothing is applied"), "assess(train, []).freedom"),
        ")",
    )
