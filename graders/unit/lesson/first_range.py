"""The simplest range by hand, step by step from its story, with the same working in Python."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gearkit.explain.step import Step, StoryPart
from gearkit.text.phrases import capital, listed, sentence, sets_words
from gearkit.text.phrases import set_words as named_set
from gearkit.words.say import say, say_n
from gearkit.words.terms import PinionKind
from graders.unit.facts import Facts, RangeFact
from graders.unit.words.cells import Cell, blocks, quoted, result, several
from graders.unit.words.saying import does, escaped
from graders.unit.working import working


def cells(facts: Facts) -> Iterator[Cell]:
    """Yield the derivation of the simplest range."""
    fact = facts.simplest
    why = (
        say("This range needs the fewest steps, so begin here.")
        if len(facts.by_effort) > 1
        else say("Every speed follows from the one before it.")
    )
    heading = say("## By hand: range {range}", range=escaped(fact.name))
    yield from several(
        "first",
        "by-hand",
        [heading, f"{applied_words(facts, fact)} {why}", *set_words(fact, idle=True)],
    )
    yield from several("first-steps", "by-hand", [step_text(step) for step in fact.chain])
    yield from several("first-ratio", "by-hand", [step_text(step) for step in fact.part(StoryPart.RATIO)])
    yield from worked(facts, fact)
    rest = fact.part(StoryPart.REST)
    if rest:
        also = (
            [say("What else turns in this range does nothing for the ratio, but it turns:")]
            if any(step.formulas for step in rest)
            else []
        )
        yield from several("first-rest", "by-hand", [*also, *(step_text(step) for step in rest)])


def worked(facts: Facts, fact: RangeFact) -> Iterator[Cell]:
    """Yield the derivation of a range in Python, with the solver's ratio beside its end.

    Args:
        facts: the layout.
        fact: the range.
    """
    work = working(facts, fact)
    lines = [
        *work.teeth,
        *map(str, work.lines),
        str(work.last),
        "lesson.results(",
        result(say("Ratio by hand"), work.name),
        result(say("Ratio, solved by the kit"), f"in_range(train, {quoted(fact.name)}).ratio"),
        ")",
    ]
    yield from blocks("first-numbers", "worked", say("the range by hand"), lines)


def applied_words(facts: Facts, fact: RangeFact) -> str:
    """Return what the applied elements of a range do, in a sentence.

    Args:
        facts: the layout.
        fact: the range.
    """
    # A one-way clutch that the chart lists and that has nothing to hold does not join what it stands between.
    loose = [name for name in fact.state.listed if name not in fact.state.holding]
    unlisted = [name for name in fact.state.holding if name not in fact.engaged]
    told = [_acts(facts, [name for name in fact.engaged if name not in loose])]
    if not told[0]:
        told = [say("In range {range} no element is applied.", range=fact.name)]
    if loose:
        told.append(
            say_n(
                "{elements} stands in the chart too, but has nothing to hold.",
                "{elements} stand in the chart too, but have nothing to hold.",
                len(loose),
                elements=listed(loose),
            )
        )
    if unlisted:
        told.append(
            say_n(
                "{elements} holds by itself, although the chart does not list it here.",
                "{elements} hold by themselves, although the chart does not list them here.",
                len(unlisted),
                elements=listed(unlisted),
            )
        )
        told.append(_acts(facts, unlisted))
    return escaped(" ".join(told))


def _acts(facts: Facts, names: Sequence[str]) -> str:
    """What elements do, in a sentence; "" for none."""
    acts = [(name, does(facts, facts.layout.element_named(name))) for name in names]
    return sentence("; ".join(say("{element} {acts}", element=name, acts=what) for name, what in acts)) if acts else ""


def set_words(fact: RangeFact, *, idle: bool) -> Iterator[str]:
    """Yield sentences on sets that turn as a block or carry nothing; nothing where all sets work.

    Args:
        fact: the range.
        idle: whether to tell which sets carry no torque, and the teeth of stepped planets.
    """
    for step in fact.part(StoryPart.SETS):
        # A step on no set says that none is locked.
        worth_it = idle and len(fact.story.idle) <= 1 if step.carries is False else not step.carries
        if step.sets and worth_it:
            yield escaped(step.words)
    for pset in fact.story.layout.sets if idle else ():
        if pset.pinions is PinionKind.STEPPED and pset.sun_pinion_teeth is not None:
            yield escaped(
                say(
                    "The stepped planets of {set} have {at_sun} teeth at the sun (P) and {at_ring} at the ring (Q).",
                    set=named_set(pset.name),
                    at_sun=pset.sun_pinion_teeth,
                    at_ring=pset.ring_pinion_teeth,
                )
            )
    if idle and len(fact.story.idle) > 1:
        sets = capital(sets_words(fact.story.idle))
        yield escaped(say("{sets} carry no torque in this range; what they do is turn along.", sets=sets))


def step_text(step: Step) -> str:
    """Return a step of a story as Markdown, its formulas on lines of their own."""
    return "\n\n".join([escaped(step.words), *(f"$${formula.latex}$$" for formula in step.formulas)])
