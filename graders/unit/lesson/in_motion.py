"""The train in motion: cut open, with every body predicted before it turns, and then all of it live."""

from __future__ import annotations

from collections.abc import Iterator

from gearkit.solve.speeds import speeds
from gearkit.words.say import say
from gearkit.words.terms import HOUSING, INPUT
from graders.unit.facts import Facts, RangeFact
from graders.unit.lesson.first_range import applied_words
from graders.unit.words.cells import Cell, code, prose
from graders.unit.words.saying import escaped
from graders.unit.words.voice import Voice


def cells(facts: Facts, voice: Voice) -> Iterator[Cell]:
    """Yield the cutaway where the train can be built of solid bodies, and the live panel where there is more than one range.

    Args:
        facts: the layout.
        voice: what was said before.
    """
    if facts.solid:
        yield from _cut_open(facts)
    if facts.by_effort[1:]:
        live = say("Now all of it, live.")
        yield prose("explore", "", say("### See them move"), f"{live} {voice.choose(_to_watch(facts))}")
        yield code("explore-panel", "explore", f'lesson.explore("{facts.file}")')


def _cut_open(facts: Facts) -> Iterator[Cell]:
    fact = _telling(facts)
    same = say("The same train as solid bodies, in range {range}.", range=escaped(fact.name))
    yield prose(
        "solid",
        "predict",
        say("### Cut open, at rest"),
        " ".join((same, applied_words(facts, fact))),
        say(
            "**Before** it moves, say of every body whether it stands still or turns forward or backward. Then turn it, count the white "
            "stripes, and show one body in colour at a time."
        ),
    )
    yield code("solid-panel", "predict", f'lesson.cutaway("{facts.file}", "{fact.name}", predict=True)')


def _telling(facts: Facts) -> RangeFact:
    """The range in which bodies do most different things, not the one that was worked out in full where another serves as well."""
    return max(reversed(facts.by_effort), key=lambda fact: len(_kinds(facts, fact)))


def _kinds(facts: Facts, fact: RangeFact) -> set[int]:
    """The directions in which bodies turn, but for the input: 1, 0 or -1; 2 where nothing fixes the speed."""
    driven = speeds(facts.layout, fact.state.engaged, int(fact.state.verdict.input_turns))
    told = [driven.of(shaft[0]) for shaft in facts.layout.shafts if HOUSING not in shaft and INPUT not in shaft]
    return {2 if speed is None else (speed > 0) - (speed < 0) for speed in told}


def _to_watch(facts: Facts) -> str:
    back = facts.reverses[0] if facts.reverses else None
    if back:
        name = escaped(back.name)
        if len(facts.layout.sets) > 1:
            return say(
                "In range {range} some members turn forward and some backward: which set reverses the direction?", range=name
            )
        return say("In range {range} some members turn forward and some backward: which are they?", range=name)
    # In direct drive all turn alike; of two ranges without reverse one is not direct.
    top = next((fact for fact in reversed(facts.forward) if fact.ratio != 1), facts.simplest)
    return say("Which member turns fastest in range {range}, and in which range does it turn slowest?", range=escaped(top.name))
