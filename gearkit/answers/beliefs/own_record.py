"""An idea that may be behind several answers in a learner's own record, in words for nobody but the learner."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from gearkit.answers import items
from gearkit.answers.beliefs.diagnosis import Idea, diagnose
from gearkit.answers.beliefs.evidence import Evidence, evidence
from gearkit.answers.beliefs.telling import follow_ups, separating
from gearkit.answers.draw_numbers.variants import practice
from gearkit.answers.item import Item
from gearkit.answers.items import all_items
from gearkit.answers.judge.results import MarkVerdict
from gearkit.text.phrases import listed
from gearkit.words.errors import GearkitError
from gearkit.words.say import say, say_n

# What was answered long ago may have been thought otherwise since.
LAST = 20


def in_words(attempts: Sequence[Mapping[str, object]], seed: str) -> tuple[str, ...]:
    """Return what may be behind several answers, and what to do about it, in sentences; empty where nothing is to be said.

    Only the first answer to each exercise with each numbers counts, without hints: what comes after feedback tells nothing.

    Args:
        attempts: what was checked, oldest first, as the record keeps it.
        seed: the record's seed, from which the numbers were drawn.
    """
    seen = _first_tries(attempts, seed)
    if not any(entry.wrong for entry in seen):
        return ()
    diagnosis = diagnose(seen)
    done = [entry.item for entry in seen]
    pool = _pool(done)
    if diagnosis.ideas:
        return tuple(_told(idea, done, pool) for idea in diagnosis.ideas)
    more = [item.id for item in follow_ups(diagnosis.suspected, done, pool)]
    if not more:
        return ()
    return (
        say(
            "Some of your answers may have something in common. {more} would show it: ask for new numbers where you have done one.",
            more=listed(more),
        ),
    )


def telling(attempts: Sequence[Mapping[str, object]], seed: str) -> Item | None:
    """Return the exercise that tells best whether a misconception is behind several answers; None where none is likely.

    Args:
        attempts: what was checked, oldest first, as the record keeps it.
        seed: the record's seed, from which the numbers were drawn.
    """
    seen = _first_tries(attempts, seed)
    if not any(entry.wrong for entry in seen):
        return None
    diagnosis = diagnose(seen)
    suspected = diagnosis.ideas[0].beliefs if diagnosis.ideas else diagnosis.suspected
    done = [entry.item for entry in seen]
    pool = _pool(done)
    return separating(suspected, done, pool) or next(iter(follow_ups(suspected, done, pool, 1)), None)


def _first_tries(attempts: Sequence[Mapping[str, object]], seed: str) -> list[Evidence]:
    first: dict[tuple[str, int], Mapping[str, object]] = {}
    for event in attempts:
        item, draw = event.get("item"), event.get("draw")
        if isinstance(item, str) and isinstance(draw, int) and event.get("verdict") != MarkVerdict.UNREADABLE:
            first.setdefault((item, draw), event)
    seen = []
    for (item, draw), event in list(first.items())[-LAST:]:
        given = event.get("given")
        if event.get("hints") or not isinstance(given, dict):
            continue
        try:
            variant = practice(items.find(item), seed=f"{seed}/{draw}")
        except GearkitError:
            # The record may hold an exercise that a later kit no longer has.
            continue
        told = evidence(variant, {str(name): str(text) for name, text in given.items()})
        # Where the kit draws otherwise now than when it was answered, the old answer tells nothing.
        if told is not None and told.wrong == (event.get("verdict") != MarkVerdict.RIGHT):
            seen.append(told)
    return seen


def _pool(done: Sequence[str]) -> list[Item]:
    """The exercises of the lessons so far."""
    reached = max(items.find(item).lesson for item in done)
    return [item for item in all_items() if item.lesson <= reached and not item.constraints]


def _told(idea: Idea, done: Sequence[str], pool: Sequence[Item]) -> str:
    first = idea.beliefs[0]
    shown = list(dict.fromkeys(idea.items))
    reasons = say(", or when ").join(say(belief.told) for belief in idea.beliefs)
    told = say_n(
        "Your answer to {shown} is what one gets when {reasons}. If you thought so, lesson {lesson} helps; if it was only a careless mistake, ignore this. {practise}",
        "Your answers to {shown} are what one gets when {reasons}. If you thought so, lesson {lesson} helps; if it was only a careless mistake, ignore this. {practise}",
        len(shown),
        shown=listed(shown),
        reasons=reasons,
        lesson=first.lesson,
        practise=say(first.practise),
    )
    item = separating(idea.beliefs, done, pool) or next(iter(follow_ups(idea.beliefs, done, pool, 1)), None)
    if item is None:
        return told
    again = (" " + say("with new numbers")) if item.id in done else ""
    return say("{told} Then try {id}{again}.", told=told, id=item.id, again=again)
