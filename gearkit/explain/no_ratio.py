"""Stories of combinations that are no range: what is free in neutral, what contradicts what when something is locked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from gearkit.explain.applied import idle_steps, lock_steps
from gearkit.explain.chain import derive
from gearkit.explain.clauses import shafts_words, speed_words
from gearkit.explain.conflict import odd_one_out, smallest_conflict
from gearkit.explain.derivation import Derivation
from gearkit.explain.shafts import Merged
from gearkit.explain.step import Step, StoryPart
from gearkit.solve.mobility import Mobility, assess
from gearkit.solve.one_way import working
from gearkit.text.phrases import OR, count_words, decimal, listed, member_words, sentence
from gearkit.train.layout import Layout
from gearkit.words.say import say, say_n
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, ElementKind, Verdict


def free_steps(merged: Merged, mobility: Mobility) -> list[Step]:
    """Return the steps of a neutral: why no torque passes, what is free, and what would make it a range.

    Args:
        merged: the shafts.
        mobility: the verdict.
    """
    names = [pset.name for pset in merged.layout.sets]
    steps = [*lock_steps(merged, StoryPart.SETS), *idle_steps(merged, names)]
    if merged.members(merged.input) == (INPUT,):
        steps.append(Step(StoryPart.FREE, say("The input is joined to nothing: it turns by itself.")))
    motions, more = count_words(mobility.freedom), mobility.idle_freedom
    if more:
        words = say_n(
            "{motions} motions are left: input and output turn independently of each other, and one more concerns neither. That is neutral.",
            "{motions} motions are left: input and output turn independently of each other, and {more} more concern neither. That is neutral.",
            more,
            motions=motions,
            more=count_words(more),
        )
    else:
        words = say(
            "{motions} motions are left: input and output turn independently of each other. That is neutral.", motions=motions
        )
    steps.append(Step(StoryPart.FREE, sentence(words)))
    steps.append(_one_more(merged.layout, merged.engaged))
    return steps + _standing(merged)


def _one_more(layout: Layout, engaged: Sequence[str]) -> Step:
    helpers = []
    # By what holds then: a range may list a one-way clutch, which nobody applies, or leave it out.
    named = {frozenset(working(layout, item.engaged).engaged): item.name for item in reversed(layout.ranges)}
    for element in layout.elements:
        if element.name in engaged or element.kind is ElementKind.ONE_WAY_CLUTCH:
            # Nobody applies a one-way clutch.
            continue
        names = [*engaged, element.name]
        state = working(layout, names)
        if state.ratio is not None:
            known = named.get(frozenset(state.engaged))
            gives = say("range {range_name}", range_name=known) if known else say("ratio {ratio}", ratio=decimal(state.ratio))
            helpers.append(f"{element.name} ({gives})")
    if not helpers:
        return Step(StoryPart.FREE, say("No single further element would make it a range."))
    return Step(StoryPart.FREE, say("One element more makes it a range: {found}.", found=listed(helpers, OR)))


def _standing(merged: Merged) -> list[Step]:
    """Every speed that follows when the input turns and the output stands, as at the kerb."""
    if merged.output == merged.ground:
        return []
    told = Derivation(merged, {INPUT: Fraction(1), OUTPUT: Fraction(0), HOUSING: Fraction(0)}, StoryPart.STANDING)
    steps = [told.start(say("Let the input make one turn while the output stands."))]
    moves, speeds = derive(merged, told.speeds, [pset.name for pset in merged.layout.sets], [""])
    steps += told.steps(moves)
    missing = dict.fromkeys(merged.root(m) for m in merged.layout.members if merged.root(m) not in speeds)
    if missing:
        steps.append(
            Step(StoryPart.STANDING, say("Even so nothing fixes the speed of {shafts}.", shafts=shafts_words(merged, missing)))
        )
    return steps


def locked_steps(merged: Merged, mobility: Mobility) -> tuple[tuple[str, ...], list[Step]]:
    """Return the fewest applied elements that lock it, and the steps that show how they contradict each other.

    Args:
        merged: the shafts.
        mobility: the verdict.
    """
    layout = merged.layout
    conflict = smallest_conflict(layout, merged.engaged)
    means, verdict = say(mobility.verdict.means), say(mobility.verdict)
    last = Step(StoryPart.CONFLICT, sentence(f"{means}: {verdict}"))
    if not conflict:
        return conflict, [Step(StoryPart.CONFLICT, say("The joins alone do this, whatever is applied.")), last]
    odd = odd_one_out(layout, conflict)
    rest = [name for name in conflict if name != odd]
    steps = [Step(StoryPart.CONFLICT, _which(merged, conflict))] if len(merged.engaged) > 1 else []
    without = assess(layout, rest)
    end = OUTPUT if Verdict.OUTPUT_LOCKED is mobility.verdict or without.verdict is Verdict.INPUT_LOCKED else INPUT
    if without.verdict.locked:
        # Two locks one after the other: the first is told by itself.
        steps += locked_steps(Merged(layout, rest), without)[1]
    return conflict, [*steps, *_other_story(layout, rest, odd, end), last]


def _which(merged: Merged, conflict: Sequence[str]) -> str:
    others = [name for name in merged.engaged if name not in conflict]
    words = (
        say("{conflict} cannot all do their work at once.", conflict=listed(conflict))
        if len(conflict) > 1
        else say("{element} alone does it.", element=conflict[0])
    )
    if others:
        words += " " + say_n(
            "{others} does not change that.", "{others} do not change that.", len(others), others=listed(others)
        )
    return words


def _other_story(layout: Layout, rest: Sequence[str], odd: str, end: str) -> list[Step]:
    """With one element of the conflict left out: the speeds of the two parts that it would have to join."""
    merged = Merged(layout, rest)
    names = [pset.name for pset in layout.sets]
    sides = layout.element_named(odd).between
    roots = [merged.root(side) for side in sides]
    given = {end: Fraction(1)}
    locks = lock_steps(merged, StoryPart.CONFLICT)
    if locks:
        # What turns as a block is said before anything turns with it.
        first = (
            say("Think of only {rest} as applied.", rest=listed(rest)) if rest else say("Think of {odd} as left out.", odd=odd)
        )
        locks = [Step(StoryPart.CONFLICT, first, engaged=merged.engaged), *locks]
        words = say("Let {end} make one turn", end=member_words(end))
    else:
        words = say("With only {rest} applied", rest=listed(rest)) if rest else say("Without {odd}", odd=odd)
        words += say(", let {end} make one turn", end=member_words(end))
    _, speeds = derive(merged, {merged.root(end): Fraction(1), merged.ground: Fraction(0)}, names, [""])
    free = [side for side, root in zip(sides, roots, strict=True) if root not in speeds]
    if free:
        # Only the difference of the two is fixed, so one of them may be put at any speed.
        given[free[0]] = Fraction(0)
        words += say(". Nothing fixes {free}, so let it stand", free=member_words(free[0]))
    told = Derivation(merged, {**given, HOUSING: Fraction(0)}, StoryPart.CONFLICT, end)
    steps = [*locks, told.start(words + ".")]
    moves, speeds = derive(merged, told.speeds, names, roots)
    steps += told.steps(moves)
    values = {side: speeds[root] for side, root in zip(sides, roots, strict=True) if side != HOUSING}
    return [*steps, _clash(end, odd, values, HOUSING in sides, bool(free))]


def _clash(end: str, odd: str, values: Mapping[str, Fraction], holds: bool, shifted: bool) -> Step:
    clauses = [
        say("{member} turns", member=member_words(side)) if side == end else f"{member_words(side)} {speed_words(value, end)}"
        for side, value in values.items()
    ]
    does = say("{first} while {second}", first=clauses[0], second=clauses[1]) if len(clauses) > 1 else clauses[0]
    anyway = say(", and they differ as much however the free one turns") if shifted else ""
    role = say("hold it to the housing") if holds else say("make the two turn alike")
    words = say(
        "So {does}{anyway}. But {odd} is to {role}. Both can be true only while {end} stands still.",
        does=does,
        anyway=anyway,
        odd=odd,
        role=role,
        end=member_words(end),
    )
    return Step(StoryPart.CONFLICT, words, uses=tuple(values))
