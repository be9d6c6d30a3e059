"""How a lesson on a layout ends: the whole chart, where the model ends, key points, something to talk about, progress, sources."""

from __future__ import annotations

from collections.abc import Iterator

from gearkit.text.markdown import as_words
from gearkit.text.phrases import OR, capital, decimal, listed, sets_words
from gearkit.words.say import later, say, say_n
from gearkit.words.terms import ElementKind, SourceKind
from graders.unit.facts import Facts, RangeFact
from graders.unit.lesson.road import road_ranges
from graders.unit.words.cells import Cell, code, prose, several
from graders.unit.words.saying import counted_shafts, escaped, number

FOOT = later(
    "This lesson teaches how ratios come about. For any real unit follow the maker's service procedure and data, local codes and "
    "licensed practice."
)
_IN_ONE_CELL = 4
_SOURCES = {
    SourceKind.PUBLISHED: later("published"), SourceKind.COMMON_PRACTICE: later("common practice, no source"),
    SourceKind.MEMORY: later("not compared with a source yet"), SourceKind.OWN: later("an invention of its author"),
}  # fmt: skip


def cells(facts: Facts) -> Iterator[Cell]:
    """Yield the last cells."""
    yield prose(
        "limits",
        "limits",
        say("## Where this model ends"),
        say(
            "Joins are rigid, elements hold without slip, and torques are without losses where nothing else is said. Of the gears only the "
            "numbers of teeth are used: room, strength, oil and control are left out."
        ),
        say(FOOT),
    )
    yield from several("recap", "key-points", [say("## Recap: the whole chart"), _recap(facts)])
    yield code("recap-chart", "picture", f'lesson.show("{facts.file}", "chart")')
    points = [f"- {point}" for point in _points(facts)]
    yield prose("key-points", "key-points", say("## Key points"), "\n".join(points[:_IN_ONE_CELL]))
    yield prose("key-points-more", "key-points", "\n".join(points[_IN_ONE_CELL:]))
    yield prose("discuss", "discuss", say("**To talk about.** {question}", question=_question(facts)))
    yield code("progress", "progress", "lesson.progress()")
    yield prose("sources", "sources", _sources(facts))


def _recap(facts: Facts) -> str:
    low, top = facts.forward[0] if facts.forward else None, facts.forward[-1] if facts.forward else None
    pieces = []
    if low is not None and top is not None and low is not top:
        pieces.append(_from_low_to_top(facts, low, top))
    elif low is not None:
        pieces.append(say("One forward ratio, {ratio} in range {range}.", ratio=decimal(low.ratio), range=escaped(low.name)))
    pieces.append(
        say("Cover the ratio column with a hand and say for each row which members stand and which way the output turns.")
    )
    return " ".join(pieces)


def _from_low_to_top(facts: Facts, low: RangeFact, top: RangeFact) -> str:
    sets = len(facts.layout.sets)
    if sets == 1:
        return say(
            "Everything from {low} to {top} comes from one set, by holding or joining another member.",
            low=decimal(low.ratio),
            top=decimal(top.ratio),
        )
    values = {
        "low": decimal(low.ratio), "low_range": escaped(low.name), "top": decimal(top.ratio), "top_range": escaped(top.name), "number": number(sets),
    }  # fmt: skip
    if facts.reverses:
        return say(
            "From {low} in range {low_range} to {top} in range {top_range}, and {reverse} in reverse: every ratio comes from the same "
            "{number} sets.",
            reverse=decimal(facts.reverses[0].ratio),
            **values,
        )
    return say(
        "From {low} in range {low_range} to {top} in range {top_range}: every ratio comes from the same {number} sets.",
        **values,
    )


def _points(facts: Facts) -> Iterator[str]:
    fact = facts.simplest
    shafts = counted_shafts(len(facts.shafts))
    yield say("Joined members are one shaft: {train} has {shafts} that can turn.", train=facts.called, shafts=shafts)
    if not fact.together:
        yield say(
            "Begin with the set of which two speeds are known; in range {range} it leads straight to {ratio}.",
            range=escaped(fact.name),
            ratio=decimal(fact.ratio),
        )
    joint = sorted(
        (range_fact for range_fact in facts.by_effort if range_fact.together), key=lambda solved: not solved.together_at_once
    )
    if joint:
        name = escaped(joint[0].name)
        yield (
            say("Where no set has two known speeds, as in range {range}, sets are solved together with a letter.", range=name)
            if joint[0].together_at_once
            else say(
                "Where no further set has two known speeds, as in range {range}, sets are solved together with a letter.",
                range=name,
            )
        )
    direct = facts.direct(facts.drives)
    if direct is not None:
        yield (
            say(
                "Input and output joined to each other need no set: that is why range {range} is direct.",
                range=escaped(direct.name),
            )
            if facts.straight(direct)
            else say(
                "Two members of a set on one shaft make it a block: that is why range {range} is direct.",
                range=escaped(direct.name),
            )
        )
    if facts.reverses:
        back = escaped(facts.reverses[0].name)
        yield say("Reverse needs a member that reverses while another stands still: range {range}.", range=back)
    if facts.tie_up is not None:
        yield say(
            "One element too many, such as {element} beside range {range}, contradicts the others.",
            element=escaped(facts.tie_up[1]),
            range=escaped(facts.tie_up[0].name),
        )
    yield say("The housing supplies {formula}; what clutches pass on stays inside.", formula="$T\\,(i - 1)$")
    if facts.shifts:
        yield say("In a shift the output keeps its speed and the engine follows the ratio.")
    if facts.kinds(ElementKind.ONE_WAY_CLUTCH):
        names = [escaped(clutch.name) for clutch in facts.kinds(ElementKind.ONE_WAY_CLUTCH)]
        yield say_n(
            "{element} needs no command; motion and load decide.",
            "One-way clutches need no command; motion and load decide.",
            len(names),
            element=names[0],
        )


def _question(facts: Facts) -> str:
    never = [pset.name for pset in facts.layout.sets if all(pset.name in fact.story.idle for fact in facts.drives)]
    if never:
        return say_n(
            "{sets} carries no torque in any range of the chart. What would you hold or join to make it work, and which range would that give?",
            "{sets} carry no torque in any range of the chart. What would you hold or join to make them work, and which range would that give?",
            len(never),
            sets=escaped(capital(sets_words(never))),
        )
    case = facts.idle_and_why()
    if case is not None:
        idle, spare = case
        return say_n(
            "In range {range} {sets} carries no torque. Why is it there all the same, and what would be lost without it?",
            "In range {range}, {sets} carry no torque. Why are they there all the same, and what would be lost without them?",
            len(spare),
            range=escaped(idle.name),
            sets=escaped(sets_words(spare)),
        )
    if len(facts.layout.elements) > 1:
        names = [escaped(element.name) for element in facts.layout.elements]
        return say(
            "You may make one of {elements} stronger. Which one do you choose, after what you found about torque, and what else do you look at?",
            elements=listed(names, OR),
        )
    return say("Which further element would give {train} one more range, and which ratio would it have?", train=facts.called)


def _sources(facts: Facts) -> str:
    source = facts.layout.source
    cited = as_words(source.citation)
    told = say(
        "**Sources.** {train}: {kind}; {source}. Everything else is derived above, from mechanics.",
        train=capital(facts.called),
        kind=say(_SOURCES[source.kind]),
        source=cited,
    )
    van = say("The van and its engine are made up.") if road_ranges(facts) else ""
    words = say("Words that are new to you stand in the glossary of the course.")
    return " ".join(filter(None, (told, van, words)))
