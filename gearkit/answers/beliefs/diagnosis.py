"""Which idea, if any, explains the answers of a whole sheet: Bayes over none, one or two of them, with room for careless mistakes.

A learner who holds an idea applies it to an exercise that it touches with some probability and answers right otherwise;
any part may go wrong for another reason. Neither rate is known, so both are summed over. Pure Python: nothing is run and
nothing is drawn at random. It stays silent unless the evidence is strong.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from gearkit.answers.beliefs.belief import Belief
from gearkit.answers.beliefs.evidence import ERRORS, Evidence

_APPLIED = (0.5, 0.8, 0.95)
_WITH_AN_IDEA = range(4)
_RIGHT_BY_CHANCE = 0.1
_NONE, _ONE, _TWO = 0.6, 0.3, 0.1
SURE, SUSPECTED = 0.65, 0.05
_LEAST_SEEN, _LEAST_SEEN_COMMON = 2, 3
# An idea has to explain this share of the wrong answers, or be seen on so many exercises.
_LEAST_SHARE, _ENOUGH, _SHARE_OF_TWO = 0.3, 4, 0.6
_MOST_TOGETHER, _PAIRED = 3, 6


@dataclass(frozen=True)
class Idea:
    """An idea that explains several answers of a sheet.

    Args:
        beliefs: the misconceptions that would give these answers, the likeliest first; several where the sheet cannot
            tell them apart.
        items: the exercises that show it.
    """

    beliefs: tuple[Belief, ...]
    items: tuple[str, ...]


@dataclass(frozen=True)
class Diagnosis:
    """What the answers of a sheet tell of a learner.

    Args:
        ideas: what is named, the likeliest first; empty unless the evidence is strong.
        suspected: misconceptions that more exercises could settle, the likeliest first.
        weights: probability of each misconception that was seen at all; never to be shown to anybody.
    """

    ideas: tuple[Idea, ...] = ()
    suspected: tuple[Belief, ...] = ()
    weights: Mapping[Belief, float] | None = None


def diagnose(seen: Sequence[Evidence]) -> Diagnosis:
    """Return the misconceptions that explain a learner's answers, if any.

    Args:
        seen: the answered exercises, in their order.
    """
    showing = {
        idea: [entry.item for entry in seen if idea in entry.shows]
        for idea in dict.fromkeys(belief for entry in seen for belief in entry.under)
    }
    lively = [idea for idea, items in showing.items() if items]
    if not lively:
        return Diagnosis()
    posterior = _posterior(seen, lively, len(showing))
    weights = {idea: sum(share for names, share in posterior.items() if idea in names) for idea in lively}
    ranked = sorted(lively, key=lambda idea: -weights[idea])
    ideas = _named(seen, ranked, showing, posterior)
    suspected = () if ideas else tuple(idea for idea in ranked if weights[idea] >= SUSPECTED)
    return Diagnosis(ideas, suspected, weights)


def _posterior(seen: Sequence[Evidence], lively: Sequence[Belief], touching: int) -> dict[tuple[Belief, ...], float]:
    """The probability of none, of each one and of the likeliest pairs of misconceptions."""
    pictures = (_Careless(seen), _AtRandom(seen))
    none = _log_sum([value for picture in pictures for value in picture.base])
    logs: dict[tuple[Belief, ...], float] = {(): math.log(_NONE / (len(pictures) * len(ERRORS))) + none}
    cells = math.log(len(pictures) * len(_WITH_AN_IDEA) * len(_APPLIED))

    def held(*beliefs: Belief) -> float:
        return -cells + _log_sum(
            [picture.held(beliefs, rate, applied) for picture in pictures for rate in _WITH_AN_IDEA for applied in _APPLIED]
        )

    for belief in lively:
        logs[belief,] = math.log(_ONE / touching) + held(belief)
    top = sorted(lively, key=lambda belief: -logs[belief,])[:_PAIRED]
    pairs = max(1, touching * (touching - 1) // 2)
    for place, first in enumerate(top):
        for second in top[place + 1 :]:
            logs[first, second] = math.log(_TWO / pairs) + held(first, second)
    whole = _log_sum(list(logs.values()))
    return {names: math.exp(weight - whole) for names, weight in logs.items()}


class _Picture:
    """How wrong answers come about that no idea is behind.

    Args:
        seen: the answered exercises.
    """

    def __init__(self, seen: Sequence[Evidence]) -> None:
        self.seen = seen
        self._ratios: dict[tuple[Belief, int], dict[int, float]] = {}
        self.base = [sum(math.log(self.meant_right(entry, rate)) for entry in seen) for rate in range(len(ERRORS))]

    def meant_right(self, entry: Evidence, rate: int) -> float:
        """The likelihood of an answer by somebody who means to be right."""
        raise NotImplementedError

    def under(self, entry: Evidence, belief: Belief, rate: int) -> float:
        """The same for somebody who holds a misconception that touches the exercise."""
        raise NotImplementedError

    def held(self, beliefs: Sequence[Belief], rate: int, applied: float) -> float:
        """The logarithm of the likelihood of all answers by somebody who holds one or two misconceptions."""
        first, *more = [self._ratio(belief, rate) for belief in beliefs]
        ratios = list(first.values())
        for second in more:
            # Where both come in, either may decide.
            ratios = [
                (first[place] + second[place]) / 2
                if place in first and place in second
                else first.get(place, 0.0) + second.get(place, 0.0)
                for place in first.keys() | second.keys()
            ]
        return self.base[rate] + sum(math.log(applied * ratio + 1 - applied) for ratio in ratios)

    def _ratio(self, belief: Belief, rate: int) -> dict[int, float]:
        if (belief, rate) not in self._ratios:
            self._ratios[belief, rate] = {
                place: self.under(entry, belief, rate) / self.meant_right(entry, rate)
                for place, entry in enumerate(self.seen)
                if belief in entry.under
            }
        return self._ratios[belief, rate]


class _Careless(_Picture):
    """Mistakes of the kind that careless people make, part by part."""

    def meant_right(self, entry: Evidence, rate: int) -> float:
        return entry.meant_right[rate]

    def under(self, entry: Evidence, belief: Belief, rate: int) -> float:
        return entry.under[belief][rate]


class _AtRandom(_Picture):
    """Any mistake of the bank, each as often as the others: somebody who knows little."""

    def meant_right(self, entry: Evidence, rate: int) -> float:
        return ERRORS[rate] * entry.at_random if entry.wrong else 1 - ERRORS[rate]

    def under(self, entry: Evidence, belief: Belief, rate: int) -> float:
        if belief in entry.shows:
            return 1 - ERRORS[rate]
        # A right answer where the idea should have led astray is a careless mistake too.
        return ERRORS[rate] * (entry.at_random if entry.wrong else _RIGHT_BY_CHANCE)


def _named(
    seen: Sequence[Evidence],
    ranked: Sequence[Belief],
    showing: Mapping[Belief, Sequence[str]],
    posterior: Mapping[tuple[Belief, ...], float],
) -> tuple[Idea, ...]:
    ideas: list[Idea] = []
    used: set[str] = set()
    rest = list(ranked)
    for _ in range(2):
        rest = [idea for idea in rest if len(set(showing[idea]) - used) >= (_LEAST_SEEN_COMMON if idea.common else _LEAST_SEEN)]
        together = _together(rest, showing, used, posterior)
        if not together:
            break
        ideas.append(Idea(tuple(together), tuple(showing[together[0]])))
        used |= set(showing[together[0]])
        rest = [idea for idea in rest if idea not in together]
    wrong = sum(entry.wrong for entry in seen)
    if len(ideas) == 2 and len(used) >= _SHARE_OF_TWO * wrong:
        return tuple(ideas)
    return tuple(idea for idea in ideas if len(idea.items) >= _LEAST_SHARE * wrong or len(idea.items) >= _ENOUGH)


def _together(
    rest: Sequence[Belief],
    showing: Mapping[Belief, Sequence[str]],
    used: set[str],
    posterior: Mapping[tuple[Belief, ...], float],
) -> list[Belief]:
    """The fewest misconceptions, from the likeliest on, of which one is surely held; empty where three are not enough."""
    if not rest:
        return []
    together = [rest[0]]
    for idea in (*rest[1:], None):
        if sum(share for names, share in posterior.items() if set(names) & set(together)) >= SURE:
            return together
        if idea is None or len(together) == _MOST_TOGETHER:
            break
        if set(showing[idea]) & set(showing[together[0]]) - used:
            together.append(idea)
    return []


def _log_sum(values: Sequence[float]) -> float:
    top = max(values)
    return top + math.log(sum(math.exp(value - top) for value in values))
