"""How a lesson on a layout ends: the whole chart, where the model ends, key points, something to talk about, progress, sources."""

from __future__ import annotations

from collections.abc import Iterator

from gearkit.text.markdown import as_words
from gearkit.text.phrases import capital, decimal, listed, set_words, sets_words
from gearkit.words.terms import ElementKind, SourceKind
from graders.unit.facts import Facts
from graders.unit.lesson.road import road_ranges
from graders.unit.words.cells import Cell, code, prose, several
from graders.unit.words.saying import counted, escaped, verb

FOOT = (
    "This lesson teaches how ratios come about. For any real unit follow the maker's service procedure and data, local codes and "
    "licensed practice."
)
_IN_ONE_CELL = 4
_SOURCES = {
    SourceKind.PUBLISHED: "published", SourceKind.COMMON_PRACTICE: "common practice, no source", SourceKind.MEMORY: "from memory, to be checked",
    SourceKind.OWN: "an invention of its author",
}  # fmt: skip


def cells(facts: Facts) -> Iterator[Cell]:
    """Yield the last cells."""
    yield prose(
        "limits",
        "limits",
        "## Where this model ends",
        "Joins are rigid, elements hold without slip, torques are without losses unless a panel says otherwise, and gears are numbers of teeth: room, "
        "strength, oil and control are not in it.",
        FOOT,
    )
    yield from several("recap", "key-points", ["## Recap: the whole chart", _recap(facts)])
    yield code("recap-chart", "picture", f'lesson.show("{facts.file}", "chart")')
    points = [f"- {point}" for point in _points(facts)]
    yield prose("key-points", "key-points", "## Key points", "\n".join(points[:_IN_ONE_CELL]))
    yield prose("key-points-more", "key-points", "\n".join(points[_IN_ONE_CELL:]))
    yield prose("discuss", "discuss", f"**To talk about.** {_question(facts)}")
    yield code("progress", "progress", "lesson.progress()")
    yield prose("sources", "sources", _sources(facts))


def _recap(facts: Facts) -> str:
    low, top = facts.forward[0] if facts.forward else None, facts.forward[-1] if facts.forward else None
    pieces = []
    if low is not None and top is not None and low is not top:
        pieces.append(
            f"From {decimal(low.ratio)} in range {escaped(low.name)} to {decimal(top.ratio)} in range {escaped(top.name)}"
            f"{', and ' + decimal(facts.reverses[0].ratio) + ' in reverse' if facts.reverses else ''}: every ratio comes from the same "
            f"{counted(len(facts.layout.sets), 'set')}."
            if len(facts.layout.sets) > 1
            else f"Everything from {decimal(low.ratio)} to {decimal(top.ratio)} comes from one set, by holding or joining another member."
        )
    elif low is not None:
        pieces.append(f"One forward ratio, {decimal(low.ratio)} in range {escaped(low.name)}.")
    pieces.append("Cover the ratio column with a hand and say for each row which members stand and which way the output turns.")
    return " ".join(pieces)


def _points(facts: Facts) -> Iterator[str]:
    fact = facts.simplest
    yield f"Joined members are one shaft: {facts.called} has {counted(len(facts.shafts), 'shaft')} that can turn."
    if not fact.together:
        yield f"Begin with the set of which two speeds are known; in range {escaped(fact.name)} it leads straight to {decimal(fact.ratio)}."
    joint = next((range_fact for range_fact in facts.by_effort if range_fact.together), None)
    if joint is not None:
        yield f"Where no set has two known speeds, as in range {escaped(joint.name)}, sets are solved together with a letter."
    direct = facts.direct(facts.drives)
    if direct is not None:
        yield (
            f"Input and output joined to each other need no set: that is why range {escaped(direct.name)} is direct."
            if facts.straight(direct)
            else f"Two members of a set on one shaft make it a block: that is why range {escaped(direct.name)} is direct."
        )
    if facts.reverses:
        yield f"Reverse needs a member that reverses while another stands still: range {escaped(facts.reverses[0].name)}."
    if facts.tie_up is not None:
        yield f"One element too many, such as {escaped(facts.tie_up[1])} beside range {escaped(facts.tie_up[0].name)}, contradicts the others."
    yield "The housing supplies $T\\,(i - 1)$; what clutches pass on stays inside."
    if facts.shifts:
        yield "In a shift the output keeps its speed and the engine follows the ratio."
    if facts.kinds(ElementKind.ONE_WAY_CLUTCH):
        yield (
            f"{listed(escaped(clutch.name) for clutch in facts.kinds(ElementKind.ONE_WAY_CLUTCH))} needs no command; motion and load decide."
            if len(facts.kinds(ElementKind.ONE_WAY_CLUTCH)) == 1
            else "One-way clutches need no command; motion and load decide."
        )


def _question(facts: Facts) -> str:
    never = [pset.name for pset in facts.layout.sets if all(pset.name in fact.story.idle for fact in facts.drives)]
    if never:
        return (
            f"{escaped(capital(sets_words(never)))} {verb(len(never), 'carry')} no torque in any range of the chart. What would you hold or join to make "
            f"{'it' if len(never) == 1 else 'them'} work, and which range would that give?"
        )
    case = facts.idle_and_why()
    if case is not None:
        idle, spare = case
        return (
            f"In range {escaped(idle.name)} {escaped(set_words(spare[0]))} could be taken out and nobody would notice. Why is it there all the same, and what would be "
            f"lost in which other range?"
            if len(spare) == 1
            else f"In range {escaped(idle.name)}, {escaped(sets_words(spare))} do nothing. Where do they earn their place?"
        )
    if len(facts.layout.elements) > 1:
        names = [escaped(element.name) for element in facts.layout.elements]
        return f"Suppose you may make one of {listed(names, 'or')} stronger. Which one, after what you found about torque, and what would you look at besides?"
    return f"Which further element would give {facts.called} one more range, and which ratio would it have?"


def _sources(facts: Facts) -> str:
    source = facts.layout.source
    cited = as_words(source.citation)
    van = "The van and its engine are made up. " if road_ranges(facts) else ""
    return (
        f"**Sources.** {capital(facts.called)}: {_SOURCES[source.kind]}; {cited}. Everything else is derived above, from mechanics. {van}"
        "Words that are new to you stand in the glossary of the course."
    )
