"""A whole term by invented learners: what recall keeps till the test, beside going on without it.

The learners' memories are models (a half-life; traces that fade as a power of time), and everything about them is assumed;
what they are asked, and what the kit then says of it, is the kit's own. The ranking counts, not the levels.
"""

from __future__ import annotations

import math
import random
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from functools import cache

import pytest

from gearkit.answers import items
from gearkit.answers.item import Item
from gearkit.lesson.learnt.choosing import chosen
from gearkit.lesson.learnt.standing import State, standings
from gearkit.lesson.record import Event
from tests.support.amounts import amount

LEARNERS = amount(120, 8)
LESSONS, EVERY, TEST_DAY, A_LESSON, SKILLS = 13, 3, 42, 9, 4
FIRST_RIGHT, BY_GUESS, SLIPS, HALF_LIFE, SPREAD = 0.55, 0.1, 0.05, 4.0, 0.5
BEGIN = datetime(2031, 1, 6, 12, tzinfo=UTC)
Asks = Callable[[list[Event], date], tuple[Item, ...]]


class HalfLife:
    """Known with 2^(−days/h); a right answer lengthens h the more, the less it was still known."""

    def __init__(self, days: float) -> None:
        self.half_life, self.base, self.last = days, days, -1.0

    def known(self, day: float) -> float:
        return 0.0 if self.last < 0 else float(2 ** (-(day - self.last) / self.half_life))

    def practise(self, day: float, known: bool) -> None:
        if self.last >= 0:
            longer = self.half_life * (1 + 3 * (1 - self.known(day)))
            self.half_life = longer if known else max(self.base, 0.7 * self.half_life)
        self.last = day


class Traces:
    """Each practice leaves a trace; it fades the faster, the fresher the skill was."""

    MINUTES = 24 * 60.0

    def __init__(self, days: float) -> None:
        self.traces: list[tuple[float, float]] = []
        self.limit = -0.177 * math.log(days * self.MINUTES)

    def strength(self, day: float) -> float:
        total = sum(max(5.0, (day - when) * self.MINUTES) ** -decay for when, decay in self.traces)
        return math.log(total) if total else -99.0

    def known(self, day: float) -> float:
        return 1 / (1 + math.exp(min(50.0, (self.limit - self.strength(day)) / 0.25)))

    def practise(self, day: float, known: bool) -> None:
        self.traces.append((day, 0.177 + 0.217 * math.exp(self.strength(day))))


MEMORIES: dict[str, type[HalfLife | Traces]] = {"half-life": HalfLife, "traces": Traces}


@dataclass
class Learner:
    """One learner through a term, with a record as the kit writes it."""

    memory: type[HalfLife | Traces]
    number: int
    attempts: list[Event] = field(default_factory=list)
    worked: int = 0

    def __post_init__(self) -> None:
        self.seeded = random.Random(f"{self.number}")
        quick = math.exp(self.seeded.gauss(0, SPREAD))
        self.skills = {
            (lesson, place): self.memory(HALF_LIFE * quick * math.exp(self.seeded.gauss(0, SPREAD)))
            for lesson in range(1, LESSONS + 1)
            for place in range(SKILLS)
        }
        self.met: set[tuple[int, int]] = set()
        self.draws: dict[str, int] = defaultdict(int)

    def works(self, item: Item, day: int) -> None:
        skill = skill_of(item)
        known = self.seeded.random() < (self.skills[skill].known(day) if skill in self.met else FIRST_RIGHT)
        right = self.seeded.random() < (1 - SLIPS if known else BY_GUESS)
        self.skills[skill].practise(day, known)
        self.met.add(skill)
        self.draws[item.id] += 1
        for verdict in ("right",) if right else ("wrong", "right"):
            self.worked += 1
            self.attempts.append({
                "at": (BEGIN + timedelta(days=day)).isoformat(), "kind": "attempt", "item": item.id,
                "draw": self.draws[item.id], "hints": 0, "verdict": verdict,
            })  # fmt: skip


def skill_of(item: Item) -> tuple[int, int]:
    return item.lesson, [one.id for one in items.of_lesson(item.lesson)].index(item.id) % SKILLS


def term(memory: type[HalfLife | Traces], number: int, asks: Asks) -> Learner:
    learner = Learner(memory, number)
    for lesson in range(1, LESSONS + 1):
        day = (lesson - 1) * EVERY
        for item in asks(learner.attempts, (BEGIN + timedelta(days=day)).date()):
            learner.works(item, day)
        for item in items.of_lesson(lesson)[:A_LESSON]:
            learner.works(item, day)
    return learner


@cache
def class_of(memory: str, asks: Asks) -> tuple[float, float, dict[State, list[float]]]:
    """The share known on the day of the test, exercises worked, and what is known of exercises by what the kit says."""
    shares, worked, told = [], 0, defaultdict[State, list[float]](list)
    for number in range(LEARNERS):
        learner = term(MEMORIES[memory], number, asks)
        known = {skill: one.known(TEST_DAY) for skill, one in learner.skills.items()}
        shares.append(sum(known.values()) / len(known))
        worked += learner.worked
        bank = [item for lesson in range(1, LESSONS + 1) for item in items.of_lesson(lesson)]
        for each in standings(bank, learner.attempts, [], (BEGIN + timedelta(days=TEST_DAY)).date()):
            told[each.state].append(known[skill_of(each.item)])
    return sum(shares) / LEARNERS, worked / LEARNERS, told


def nothing(_attempts: list[Event], _today: date) -> tuple[Item, ...]:
    return ()


def three(attempts: list[Event], today: date) -> tuple[Item, ...]:
    return chosen(attempts, "s", today)


def six(attempts: list[Event], today: date) -> tuple[Item, ...]:
    return chosen(attempts, "s", today, 6)


@pytest.mark.parametrize("memory", MEMORIES)
def test_three_a_session_keep_far_more_than_going_on_and_six_keep_more_still(memory: str) -> None:
    without, few, _ = class_of(memory, nothing)
    with_three, more, _ = class_of(memory, three)
    with_six, most, _ = class_of(memory, six)
    print(f"{memory}: {without:.0%} / {few:.0f}, {with_three:.0%} / {more:.0f}, {with_six:.0%} / {most:.0f}")
    assert with_three > without * 1.3
    assert with_three > without + 0.05
    assert with_six > with_three + 0.04
    # Some 36 exercises more, or half as many again with what is then tried twice.
    assert more < few + 36 * 1.8


@pytest.mark.parametrize("memory", MEMORIES)
def test_what_is_called_kept_is_known_far_more_often_than_what_is_due_again(memory: str) -> None:
    _, _, told = class_of(memory, six)
    kept, due = (sum(told[state]) / len(told[state]) for state in (State.KEPT, State.DUE))
    print(f"{memory}: of kept {kept:.0%} known, of due again {due:.0%}")
    assert kept > due + 0.1
    assert kept > 0.6
