"""What is asked again at the opening of a lesson: a few exercises of the lessons that were left alone longest.

Simulated over a term, three a session from the lessons longest untouched keep about twice as much till the test as going
on alone, and no cleverer schedule did clearly better for the same work. So nothing is scheduled and nothing is stored.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from gearkit.answers import items
from gearkit.answers.beliefs.own_record import telling
from gearkit.answers.item import Item
from gearkit.lesson.learnt.standing import day_of
from gearkit.lesson.record import Event
from gearkit.words.errors import GearkitError

A_SESSION, ON_REQUEST = 3, 6


def chosen(attempts: Sequence[Event], seed: str, today: date, count: int = A_SESSION) -> tuple[Item, ...]:
    """Return the exercises to ask again today: the same all day long, whatever was answered meanwhile.

    One is taken from each lesson, the lesson longest untouched first, and of each lesson the exercise longest untouched.
    Where several answers have made it likely that a misconception is behind them, the last one gives way to an exercise
    that tells whether it is.

    Args:
        attempts: what was checked, oldest first, as the record keeps it.
        seed: the record's seed.
        today: the learner's day.
        count: how many; fewer come where fewer were tried.
    """
    before = [event for event in attempts if (day := day_of(event)) is not None and day < today]
    picked = _longest_untouched(before, count)
    if not picked:
        return ()
    item = telling(before, seed)
    if item is None or item in picked:
        return tuple(picked)
    return (*(picked[: A_SESSION - 1]), item, *picked[A_SESSION:])


def _longest_untouched(before: Sequence[Event], count: int) -> list[Item]:
    last: dict[str, date] = {}
    for event in before:
        day = day_of(event)
        if day is not None:
            last[str(event.get("item"))] = day
    lessons: dict[int, list[Item]] = {}
    for name in last:
        try:
            item = items.find(name)
        except GearkitError:
            # The record may hold an exercise that a later kit no longer has, or one on a layout of the learner's own.
            continue
        lessons.setdefault(item.lesson, []).append(item)
    touched = {lesson: max(last[item.id] for item in own) for lesson, own in lessons.items()}
    waiting = [
        sorted(lessons[lesson], key=lambda item: (last[item.id], item.id))
        for lesson in sorted(lessons, key=lambda lesson: (touched[lesson], lesson))
    ]
    picked: list[Item] = []
    while len(picked) < count and any(waiting):
        for own in waiting:
            fit = [candidate for candidate in own if not _tells(candidate, picked)]
            own[:] = fit[1:]
            if fit and len(picked) < count:
                picked.append(fit[0])
    return picked


def _tells(item: Item, others: Sequence[Item]) -> bool:
    """Whether one of two exercises prints what the other asks."""
    return any(item.id in other.excludes or other.id in item.excludes for other in others)
