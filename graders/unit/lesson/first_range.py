"""The simplest range by hand, step by step from its story, with the same working in Python."""

from __future__ import annotations

import re
from collections.abc import Iterator

from gearkit.explain.step import Step, StoryPart
from gearkit.text.phrases import capital, listed, sentence, sets_words
from graders.unit.facts import Facts, RangeFact
from graders.unit.words.cells import Cell, blocks, several
from graders.unit.words.saying import does, escaped, verb
from graders.unit.working import working


def cells(facts: Facts) -> Iterator[Cell]:
    """Yield the derivation of the simplest range."""
    fact = facts.simplest
    why = (
        "This range needs the fewest steps, so begin here."
        if len(facts.by_effort) > 1
        else "Every speed follows from the one before it."
    )
    yield from several(
        "first",
        "by-hand",
        [f"## By hand: range {escaped(fact.name)}", f"{applied_words(facts, fact)} {why}", *set_words(fact, idle=True)],
    )
    yield from several("first-steps", "by-hand", [step_text(step) for step in fact.chain])
    yield from several("first-ratio", "by-hand", [step_text(step) for step in fact.part(StoryPart.RATIO)])
    yield from worked(facts, fact)
    rest = fact.part(StoryPart.REST)
    if rest:
        also = (
            ["What else turns in this range does nothing for the ratio, but it turns:"]
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
        f'    ("Ratio by hand", {work.name}),',
        f'    ("Ratio, solved by the kit", in_range(train, {name_of(fact)}).ratio),',
        ")",
    ]
    yield from blocks("first-numbers", "worked", "the range by hand", lines)


def name_of(fact: RangeFact) -> str:
    """Return a range's name as Python writes it."""
    return '"' + fact.name.replace("\\", "\\\\").replace('"', '\\"') + '"'


def applied_words(facts: Facts, fact: RangeFact) -> str:
    """Return what the applied elements of a range do, in a sentence.

    Args:
        facts: the layout.
        fact: the range.
    """
    if not fact.engaged:
        return f"In range {escaped(fact.name)} no element is applied."
    # A one-way clutch that the chart lists and that has nothing to hold does not join what it stands between.
    loose = [name for name in fact.state.listed if name not in fact.state.holding]
    parts = [f"{name} {does(facts, facts.layout.element_named(name))}" for name in fact.engaged if name not in loose]
    more = (
        f" {listed(loose)} {verb(len(loose), 'stand')} in the chart too, but {'has' if len(loose) == 1 else 'have'} nothing to hold."
        if loose
        else ""
    )
    return escaped(sentence("; ".join(parts)) + more)


def set_words(fact: RangeFact, *, idle: bool) -> Iterator[str]:
    """Yield sentences on sets that turn as a block or carry nothing; nothing where all sets work.

    Args:
        fact: the range.
        idle: whether to tell which sets carry no torque.
    """
    for step in fact.part(StoryPart.SETS):
        if "no torque" in step.words and len(fact.story.idle) > 1:
            continue
        works = re.search(r"\b(carry|carries) torque", step.words) is not None
        if "no set is locked" not in step.words and not works and (idle or "no torque" not in step.words):
            yield escaped(step.words)
    if idle and len(fact.story.idle) > 1:
        yield escaped(f"{capital(sets_words(fact.story.idle))} carry no torque in this range; what they do is turn along.")


def step_text(step: Step) -> str:
    """Return a step of a story as Markdown, its formulas on lines of their own."""
    return "\n\n".join([escaped(step.words), *(f"$${formula.latex}$$" for formula in step.formulas)])
