"""How an exercise stands: done, kept over days, or due again; worked out from the record, never stored.

*Done* is right without a hint. *Kept* is right again on another day with new numbers, at the first try and without a hint.
Nobody keeps anything for ever: what was right for the last time too long ago is *due again*, and so is what was missed
since. How long is long follows from how long it was kept before.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from fractions import Fraction

from gearkit.answers.item import Item
from gearkit.answers.judge.results import MarkVerdict
from gearkit.answers.titles import TITLES
from gearkit.lesson.record import Event
from gearkit.words.say import later, said, say, say_n

# Days for which one right answer is trusted; what was kept over a longer time is trusted for as long again.
FIRST_DAYS = 7


class State(StrEnum):
    """How an exercise stands, in words for the learner."""

    OPEN = later("not tried")
    BEGUN = later("tried, not right yet")
    HELPED = later("right with a hint")
    DONE = later("done")
    KEPT = later("kept")
    DUE = later("due again")


# Right without a hint at least once.
ONCE_RIGHT = frozenset({State.DONE, State.KEPT, State.DUE})


@dataclass(frozen=True)
class Standing:
    """How one exercise stands.

    Args:
        item: the exercise.
        state: how it stands.
        attempts: how often it was checked.
        hints: how many different hints were asked for.
        best: largest share of the marks so far.
        days: days since it was last right without a hint; None where it never was.
        missed: whether it was missed since then.
    """

    item: Item
    state: State
    attempts: int
    hints: int
    best: Fraction
    days: int | None = None
    missed: bool = False

    def words(self) -> str:
        """Return how it stands in a few words, such as "kept, last right 12 days ago"."""
        if self.state is State.OPEN:
            return said(self.state)
        if self.days is not None:
            since = say(", missed since") if self.missed else ""
            return say("{state}, last right {days_ago}{since}", state=self.state, days_ago=days_ago(self.days), since=since)
        times = say("once") if self.attempts == 1 else say_n("{count} time", "{count} times", self.attempts)
        hints = say_n(", {count} hint", ", {count} hints", self.hints) if self.hints else ""
        share = "" if self.best == 1 else say(", best {round} %", round=round(float(self.best) * 100))
        return say("{state} (checked {times}{hints}{share})", state=self.state, times=times, hints=hints, share=share)


def title_of(item: Item) -> str:
    """Return an exercise's title; what it is about where it has none.

    Args:
        item: the exercise.
    """
    return say(item.title or TITLES.get(item.id, "")) or say("lesson {lesson}", lesson=item.lesson)


def days_ago(days: int) -> str:
    """Return a number of days as one says it.

    >>> days_ago(0), days_ago(1), days_ago(12)
    ('today', 'yesterday', '12 days ago')
    """
    return ("today", "yesterday")[days] if days in (0, 1) else say("{days} days ago", days=days)


def day_of(event: Mapping[str, object]) -> date | None:
    """Return the learner's own day of an event; None where its time cannot be read.

    Args:
        event: an event of the record.
    """
    try:
        return datetime.fromisoformat(str(event.get("at"))).astimezone().date()
    except (ValueError, OverflowError, OSError):
        return None


def standings(lesson_items: Sequence[Item], attempts: Iterable[Event], hints: Iterable[Event], today: date) -> list[Standing]:
    """Return how exercises stand, in their order.

    Args:
        lesson_items: the exercises.
        attempts: what was checked, oldest first.
        hints: the hints that were asked for.
        today: the day on which it is asked.
    """
    tried, helped = defaultdict[str, list[Event]](list), defaultdict[str, list[Event]](list)
    for event in attempts:
        tried[str(event.get("item"))].append(event)
    for event in hints:
        helped[str(event.get("item"))].append(event)
    return [_standing(item, tried[item.id], helped[item.id], today) for item in lesson_items]


def _standing(item: Item, own: Sequence[Event], hints: Sequence[Event], today: date) -> Standing:
    asked = {(str(event.get("draw")), str(event.get("number"))) for event in hints}
    best = max((share_of(event) for event in own), default=Fraction(0))
    days, missed = right_days(own)
    if not days:
        state = State.OPEN if not own else State.HELPED if best == 1 else State.BEGUN
        return Standing(item, state, len(own), len(asked), best)
    since = max(0, (today - days[-1]).days)
    late = missed or since > lasting(days)
    state = State.DUE if late else State.KEPT if len(days) > 1 else State.DONE
    return Standing(item, state, len(own), len(asked), best, since, missed)


def right_days(own: Sequence[Mapping[str, object]]) -> tuple[list[date], bool]:
    """Return the days on which an exercise was right without a hint, and whether it was missed since the last of them.

    The first of these days may have taken several tries. After it only a first try with new numbers tells anything: an
    answer that still stands in the form is right again however often it is checked.

    Args:
        own: what was checked of this exercise, oldest first.
    """
    days: list[date] = []
    missed, seen = False, set()
    for event in own:
        day, draw = day_of(event), str(event.get("draw"))
        if day is None or event.get("verdict") == MarkVerdict.UNREADABLE:
            continue
        first = draw not in seen
        seen.add(draw)
        right = is_right(event)
        if right and (not days or (first and day > days[-1])):
            days.append(day)
            missed = False
        elif days and first and day >= days[-1] and not right:
            missed = True
        elif right and first:
            missed = False
    return days, missed


def lasting(days: Sequence[date]) -> int:
    """Return for how many days after the last of them an exercise counts as known.

    Args:
        days: the days on which it was right, at least one.
    """
    return max(FIRST_DAYS, (days[-1] - days[0]).days)


def is_right(event: Mapping[str, object]) -> bool:
    """Whether an attempt is right without a hint.

    Args:
        event: an attempt of the record.
    """
    return event.get("verdict") == MarkVerdict.RIGHT and not event.get("hints")


def share_of(event: Mapping[str, object]) -> Fraction:
    """Return the share of the marks that an attempt earns; 0 where the record tells none.

    Args:
        event: an attempt of the record.
    """
    try:
        return Fraction(str(event.get("score"))) / Fraction(str(event.get("max")))
    except (ValueError, ZeroDivisionError):
        return Fraction(0)
