"""One answered exercise as evidence: how likely the answer is for somebody who means to be right, and under each idea.

A wrong answer without a system is one of those that are foreseen, or any other. Mistakes that careless people make all the
time are likelier among them, so that they prove less.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from gearkit.answers.beliefs.belief import Belief
from gearkit.answers.beliefs.foreseen import Answer, Foreseen, foreseen
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.judge.checkers import Checker, Reading
from gearkit.answers.read.commas import EITHER
from gearkit.answers.read.own_words import read_in_own_words
from gearkit.answers.read.split import split_answer, with_commas_settled
from gearkit.words.errors import AnswerError

# Shares of the parts that go wrong for no reason of their own; nobody knows a learner's, so all are tried.
ERRORS = (0.02, 0.1, 0.2, 0.4, 0.6, 0.8)
# Of wrong answers without a system so many are taken to be among those foreseen; more is more cautious.
_AMONG_FORESEEN = 0.7
_COMMON_WEIGHT = 4.0
# Who is careless makes so large a share of mistakes that the bank has a name for.
_NAMED = 0.9


@dataclass(frozen=True)
class Evidence:
    """One answered exercise.

    Args:
        item: its id.
        wrong: True where some part is wrong.
        meant_right: how likely the answer is for somebody who means to be right, for each rate of `ERRORS`.
        under: for each misconception that touches the exercise the same for somebody who holds it.
        shows: misconceptions that explain everything wrong in it.
        at_random: how likely this wrong answer is for somebody who makes any of the bank's mistakes at random.
    """

    item: str
    wrong: bool
    meant_right: tuple[float, ...]
    under: Mapping[Belief, tuple[float, ...]]
    shows: frozenset[Belief]
    at_random: float


@dataclass(frozen=True)
class _Part:
    """One part that was answered.

    Args:
        right: whether it is right.
        fits: the foreseen wrong contents, each with whether it is what was answered.
        chance: how likely a wrong answer without a system is this one.
    """

    right: bool
    fits: Mapping[Any, bool]
    chance: float

    def is_as(self, content: Any) -> bool:
        """Whether the answer is a foreseen content."""
        return self.fits.get(content, False)


def evidence(variant: Variant, given: Mapping[str, str], comma: str = EITHER) -> Evidence | None:
    """Return what an answer tells, or None where nothing in it can be read or nothing is foreseen.

    Args:
        variant: the learner's exercise.
        given: the texts by part.
        comma: what three digits after a comma are, as in marking.
    """
    if variant.key.constraints:
        return None
    readings = _read(variant, given, comma)
    if not readings:
        return None
    known = foreseen(variant)
    weights = _weights(known)
    parts = {
        name: _part(variant, name, checker, reading, weights.get(name, {})) for name, (checker, reading) in readings.items()
    }
    whole = _as_a_whole(known, parts)
    likely = _Likely(parts)
    meant_right = tuple(value + rate * whole for value, rate in zip(likely.of({}), ERRORS, strict=True))
    under = {
        idea: likely.of(answers[0])
        if len(answers) == 1
        else tuple(sum(values) / len(answers) for values in zip(*map(likely.of, answers), strict=True))
        for idea, answers in known.items()
    }
    wrong = not all(part.right for part in parts.values())
    shows = frozenset(idea for idea, answers in known.items() if wrong and any(_explains(answer, parts) for answer in answers))
    return Evidence(variant.item.id, wrong, meant_right, under, shows, _at_random(variant, readings, parts) if wrong else 0.0)


def _read(variant: Variant, given: Mapping[str, str], comma: str) -> dict[str, tuple[Checker, Reading]]:
    texts, faults = split_answer(variant.parts, given)
    readings: dict[str, tuple[Checker, Reading]] = {}
    for part in variant.parts:
        if texts[part.name] and part.name not in faults:
            checker = variant.key.checkers[part.name]
            try:
                text = with_commas_settled(part, texts[part.name], comma)
                readings[part.name] = checker, read_in_own_words(checker.read, text)
            except AnswerError:
                continue
    return readings


def _weights(known: Foreseen) -> dict[str, dict[Any, float]]:
    """The foreseen contents of each part with their weights; a content counts once, however many ideas lead to it."""
    weights: dict[str, dict[Any, float]] = {}
    for idea, answers in known.items():
        weight = _COMMON_WEIGHT if idea.common else 1.0
        for answer in answers:
            for part, content in answer.items():
                table = weights.setdefault(part, {})
                table[content] = max(weight, table.get(content, 0.0))
    return weights


def _part(variant: Variant, name: str, checker: Checker, reading: Reading, weights: Mapping[Any, float]) -> _Part:
    judgement = checker.judge(reading)
    # Two figures that round like the right value prove nothing.
    right = judgement.right or judgement.if_alone is not None
    fits = {content: not right and checker.agrees(reading, content) for content in weights}
    options = next(part.options for part in variant.parts if part.name == name)
    if options:
        chance = 1 / max(1, len(options) - 1)
    elif any(fits.values()):
        chance = _AMONG_FORESEEN * max(weights[content] for content, is_it in fits.items() if is_it) / sum(weights.values())
    else:
        chance = 1 - _AMONG_FORESEEN
    return _Part(right, fits, chance)


class _Likely:
    """How likely the answers to an exercise are for somebody who means a certain answer, for each rate of careless mistakes.

    Args:
        parts: the parts that were answered.
    """

    def __init__(self, parts: Mapping[str, _Part]) -> None:
        self._parts = parts
        self._known: dict[tuple[bool, ...], tuple[float, ...]] = {}

    def of(self, answer: Answer) -> tuple[float, ...]:
        """Return the likelihoods where this answer is meant; parts that it does not name are meant right."""
        fits = tuple([part.is_as(answer[name]) if name in answer else part.right for name, part in self._parts.items()])
        if fits not in self._known:
            made = [1.0] * len(ERRORS)
            for fit, part in zip(fits, self._parts.values(), strict=True):
                for place, rate in enumerate(ERRORS):
                    made[place] *= 1 - rate if fit else rate * part.chance
            self._known[fits] = tuple(made)
        return self._known[fits]


def _explains(answer: Answer, parts: Mapping[str, _Part]) -> bool:
    """Whether an answer is what was given wherever something is wrong."""
    return all(part.right or (name in answer and part.is_as(answer[name])) for name, part in parts.items())


def _as_a_whole(known: Foreseen, parts: Mapping[str, _Part]) -> float:
    """How likely one mistake without a system makes all of several wrong parts: it is carried from one to the next."""
    if sum(not part.right for part in parts.values()) < 2:
        return 0.0
    weights = {
        (idea, place): _COMMON_WEIGHT if idea.common else 1.0
        for idea, answers in known.items()
        for place in range(len(answers))
    }
    fits = max(
        (
            weights[idea, place]
            for idea, answers in known.items()
            for place, answer in enumerate(answers)
            if _explains(answer, parts)
        ),
        default=0.0,
    )
    return _AMONG_FORESEEN * fits / sum(weights.values()) if fits else 0.0


def _at_random(variant: Variant, readings: Mapping[str, tuple[Checker, Reading]], parts: Mapping[str, _Part]) -> float:
    """How likely a wrong answer is where each of the bank's wrong answers to the exercise comes as often as the others."""
    forms = [form.contents for form in variant.key.wrong_forms if form.contents]
    fits = sum(
        all(
            part.right or (name in contents and readings[name][0].agrees(readings[name][1], contents[name]))
            for name, part in parts.items()
        )
        for contents in forms
    )
    return max(_NAMED * fits / len(forms) if forms else 0.0, 1 - _NAMED)
