"""Which exercises tell ideas apart: for a whole sheet, for a learner of whom one is suspected, for two that look alike."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any

from gearkit.answers.beliefs.belief import Belief
from gearkit.answers.beliefs.evidence import evidence
from gearkit.answers.beliefs.foreseen import Answer, foreseen, may_come_in
from gearkit.answers.draw_numbers.variants import Variant, practice
from gearkit.answers.item import Item
from gearkit.answers.judge import marking
from gearkit.answers.kinds.letters import FormulaChecker, fingerprint_of

FOLLOW_UPS = 2
# Numbers differ from draw to draw; what holds in all of so many is taken to hold.
_TRIALS = 3
# The place in `evidence.ERRORS` of somebody who is rarely careless.
_RARELY_CARELESS = 1


@lru_cache(maxsize=1024)
def touched(item: Item) -> frozenset[Belief]:
    """Return the misconceptions that answer an exercise otherwise than right, whatever its numbers.

    Args:
        item: the exercise.
    """
    ideas = [frozenset(foreseen(variant)) for variant in _trials(item)]
    return frozenset.intersection(*ideas)


@lru_cache(maxsize=8192)
def _touches(item: Item, idea: Belief) -> bool:
    """Whether a misconception is one of those that `touched` gives: most are out before a draw, or after the first of them."""
    return may_come_in(item, idea) and all(idea in foreseen(_trial(item, number)) for number in range(_TRIALS))


@lru_cache(maxsize=4096)
def _trial(item: Item, number: int) -> Variant:
    return practice(item, f"trial {number}")


def _trials(item: Item) -> Iterator[Variant]:
    return (_trial(item, number) for number in range(_TRIALS))


@lru_cache(maxsize=8192)
def separates(item: Item, first: Belief, second: Belief) -> bool:
    """Return whether an exercise tells two misconceptions apart: at least one answers wrong, and not as the other.

    Args:
        item: the exercise.
        first: a misconception.
        second: another one.
    """
    if not (_touches(item, first) or _touches(item, second)):
        return False
    for variant in _trials(item):
        known = foreseen(variant)
        one, other = ({_compared(variant, answer) for answer in known.get(idea, ())} for idea in (first, second))
        if one & other:
            return False
    return True


@lru_cache(maxsize=8192)
def proof(item: Item, idea: Belief) -> float:
    """Return how much an answer as a misconception has it would prove: the logarithm of how much likelier it is than carelessness.

    Args:
        item: an exercise.
        idea: a misconception that touches it.
    """
    return min(_proof(variant, idea) for variant in _trials(item))


def _proof(variant: Variant, idea: Belief) -> float:
    logs = []
    for answer in foreseen(variant)[idea]:
        wrong = {part: variant.key.checkers[part].wrong_text(content) for part, content in answer.items()}
        seen = evidence(variant, {**marking.right_answer(variant), **wrong})
        assert seen is not None
        logs.append(math.log(seen.under[idea][_RARELY_CARELESS] / seen.meant_right[_RARELY_CARELESS]))
    return sum(logs) / len(logs)


def _compared(variant: Variant, answer: Answer) -> frozenset[tuple[str, Any]]:
    return frozenset(
        (part, fingerprint_of(content) if isinstance(variant.key.checkers[part], FormulaChecker) else _hashable(content))
        for part, content in answer.items()
    )


def _hashable(content: Any) -> Any:
    return tuple(content) if isinstance(content, list) else str(content) if isinstance(content, Mapping) else content


def most_telling(pool: Sequence[Item], count: int) -> tuple[Item, ...]:
    """Return the exercises that together tell most misconceptions from careless mistakes and from each other, in the pool's order.

    One after the other is taken: the one that brings most misconceptions nearer to three exercises each, and parts most
    pairs that looked alike before.

    Args:
        pool: the exercises to choose from.
        count: how many, at most as many as there are.
    """
    chosen: list[Item] = []
    seen: dict[Belief, int] = {}
    alike: set[tuple[Belief, Belief]] = set()
    for idea_ in sorted({idea for item in pool for idea in touched(item)}, key=lambda idea: idea.key):
        alike |= {(other, idea_) for other in seen}
        seen[idea_] = 0
    while len(chosen) < min(count, len(pool)):
        rest = [item for item in pool if item not in chosen and not _clash(item, chosen)] or [
            item for item in pool if item not in chosen
        ]
        best = max(rest, key=lambda item: (_gain(item, seen, alike), -pool.index(item)))
        chosen.append(best)
        for idea in touched(best):
            seen[idea] += 1
        alike = {(first, second) for first, second in alike if not separates(best, first, second)}
    return tuple(item for item in pool if item in chosen)


def _clash(item: Item, chosen: Sequence[Item]) -> bool:
    return any(item.id in other.excludes or other.id in item.excludes for other in chosen)


def _gain(item: Item, seen: Mapping[Belief, int], alike: Iterable[tuple[Belief, Belief]]) -> float:
    # An idea is told from careless mistakes on three exercises, a fourth makes up for one where it did not come in; pairs that an exercise
    # would part count little beside.
    nearer = sum((1.0, 1.0, 1.0, 0.6, 0.3)[seen[idea]] for idea in touched(item) if seen[idea] < 5)
    parted = sum(separates(item, first, second) for first, second in alike if seen[first] and seen[second])
    return nearer + 0.01 * parted


def follow_ups(
    suspected: Sequence[Belief], answered: Iterable[str], pool: Sequence[Item], count: int = FOLLOW_UPS
) -> tuple[Item, ...]:
    """Return exercises that show whether a suspicion holds: they part it from the other suspects, and their answers prove most.

    Args:
        suspected: misconceptions, the likeliest first.
        answered: exercises that the learner has done; others come first, these again with new numbers.
        pool: the exercises to choose from.
        count: how many.
    """
    if not suspected:
        return ()
    first, others = suspected[0], suspected[1:4]
    done = set(answered)
    alike: dict[tuple[bool, int], list[Item]] = {}
    for item in pool:
        if _touches(item, first):
            together = sum(not separates(item, first, other) for other in others)
            alike.setdefault((item.id in done, together), []).append(item)
    ranked: list[Item] = []
    for rank in sorted(alike):
        # What would prove most takes longest to know, and only those that have come so far are asked.
        if len(ranked) < count:
            ranked += sorted(
                alike[rank], key=lambda item: (-round(proof(item, first), 1), abs(item.lesson - first.lesson), item.id)
            )
    return tuple(ranked[:count])


def separating(beliefs: Sequence[Belief], answered: Iterable[str], pool: Sequence[Item]) -> Item | None:
    """Return the exercise that tells two misconceptions apart that looked alike on a sheet, None where there is none.

    Args:
        beliefs: the misconceptions; the first two are told apart.
        answered: exercises that the learner has done; others come first.
        pool: the exercises to choose from.
    """
    if len(beliefs) < 2:
        return None
    first, second = beliefs[:2]
    done = set(answered)
    fit = [item for item in pool if separates(item, first, second)]
    both = [item for item in fit if _touches(item, first) and _touches(item, second)]
    return min(both or fit, key=lambda item: (item.id in done, len(item.fields), item.id), default=None)
