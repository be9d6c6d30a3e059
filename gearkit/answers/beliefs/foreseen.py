"""What each misconception answers to an exercise with a learner's own numbers: worked out, never stored.

Sources: the bank's wrong formulas, sorted from mistakes to the ideas behind them; the right formulas with the carrier or
the ring taken for something else; what a misconception makes of any ratio; and a few formulas written out.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any

from gearkit.answers.beliefs.belief import Belief, Pattern
from gearkit.answers.beliefs.carrier_formulas import CHART_ROWS, WITH_CARRIER, WITH_RING
from gearkit.answers.beliefs.known import all_beliefs
from gearkit.answers.comparison.formulas import symbols_of, work
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.item import ONE_PART, AnswerKind, Item
from gearkit.answers.items import find
from gearkit.answers.judge.checkers import Checker
from gearkit.answers.kinds.letters import FormulaChecker, fingerprint_of
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.rules.built_item import apart
from gearkit.words.errors import AnswerError

# Part -> what is answered there; parts that are not named are answered right.
Answer = Mapping[str, Any]
Foreseen = Mapping[Belief, tuple[Answer, ...]]
_PLANET = "((R# - S#)/2)"


@dataclass(frozen=True)
class _Plan:
    """What all draws of an exercise have in common.

    Args:
        formulas: misconception and its wrong formula for each part.
        patterns: misconceptions that make a wrong answer of any ratio.
    """

    formulas: tuple[tuple[Belief, Mapping[str, str]], ...]
    patterns: tuple[Belief, ...]


def foreseen(variant: Variant) -> Foreseen:
    """Return what every misconception answers; one that makes no difference to these numbers is left out.

    Args:
        variant: a learner's exercise. A tooth-count design has no single answer, so nothing is foreseen there.
    """
    item, key = variant.item, variant.key
    if key.constraints:
        return {}
    # What is written out for an exercise is written for the first question that it asks, not for its other versions.
    plan = _plan(item, variant.drawn.values.get("version", 1) == 1)
    answers_of: dict[Belief, list[Answer]] = {}
    values: dict[str, Fraction | None] = {}
    wrong: dict[tuple[str, str], Any] = {}

    def put(belief: Belief, contents: Iterable[tuple[str, Any]]) -> None:
        kept = {part: content for part, content in contents if content is not None}
        if kept and kept not in answers_of.setdefault(belief, []):
            answers_of[belief].append(kept)

    def made(part: str, text: str) -> Any:
        if (part, text) not in wrong:
            checker = key.checkers[part]
            wrong[part, text] = _if_wrong(checker, _content(checker, text, variant, values))
        return wrong[part, text]

    for belief, formulas in plan.formulas:
        put(belief, [(part, made(part, text)) for part, text in formulas.items()])
    if item.rule:
        for form in key.wrong_forms:
            for belief in _behind(form.code, item.id):
                put(belief, [(part, _if_wrong(key.checkers[part], content)) for part, content in form.contents.items()])
    numbers = [
        (part, checker.value)
        for part, checker in key.checkers.items()
        if isinstance(checker, NumberChecker) and not checker.size_only
    ]
    for belief in plan.patterns:
        put(belief, [(part, _if_wrong(key.checkers[part], _by_pattern(belief.pattern, value))) for part, value in numbers])
    return {belief: tuple(answers) for belief, answers in answers_of.items() if answers}


@lru_cache(maxsize=8192)
def may_come_in(item: Item, belief: Belief) -> bool:
    """Return False where a misconception makes no difference to any draw of an exercise; it takes no draw to know.

    Args:
        item: the exercise.
        belief: a misconception.
    """
    if item.constraints:
        return False
    plan = _plan(item, True)
    # Which mistakes a rule names is known only once it has built the exercise.
    of_a_rule = bool(item.rule) and not belief.derived
    return of_a_rule or belief in plan.patterns or any(belief is other for other, _ in plan.formulas)


def _by_pattern(pattern: Pattern | None, value: Fraction) -> Fraction | None:
    if pattern is Pattern.NO_MINUS:
        return -value if value < 0 else None
    if not value or (pattern is Pattern.ABOVE_ONE and abs(value) >= 1):
        return None
    return 1 / value


def _content(checker: Checker, text: str, variant: Variant, values: dict[str, Fraction | None]) -> Any:
    """A wrong formula's content for a part: the formula where letters are asked for, else its value; None for neither."""
    if isinstance(checker, FormulaChecker):
        # What the learner cannot write down nobody has written.
        return text if symbols_of(text) <= set(checker.symbols) else None
    if text not in values:
        try:
            values[text] = Fraction(*work(text)(variant.drawn.pairs))
        except (ZeroDivisionError, KeyError):
            values[text] = None
    return values[text]


def _if_wrong(checker: Checker, content: Any) -> Any:
    """A content that can be told from the right answer; None for any other."""
    return content if content is not None and _is_wrong(checker, content) else None


def _is_wrong(checker: Checker, content: Any) -> bool:
    """Whether a content can be told from the right answer."""
    if isinstance(checker, NumberChecker):
        size = abs if checker.size_only else Fraction
        return apart(size(checker.value).as_integer_ratio(), size(content).as_integer_ratio(), checker.tolerance)
    if isinstance(checker, FormulaChecker):
        return all(fingerprint_of(content) != fingerprint_of(text) for text in checker.formulas)
    try:
        return not checker.judge(checker.read(checker.wrong_text(content))).right
    except (AnswerError, KeyError, ValueError, IndexError):
        return False


@lru_cache(maxsize=512)
def _plan(item: Item, first: bool) -> _Plan:
    if item.rule:
        return _Plan((), _patterns(item))
    answers = _by_part(item.answer)
    letters = any(kind is AnswerKind.EXPRESSION for kind in _kinds(item))
    ways: list[tuple[Belief, Mapping[str, str]]] = []
    places: dict[str, int] = {}
    for mistake in item.named_mistakes:
        place = places[mistake.code] = places.get(mistake.code, -1) + 1
        ways += [(belief, _by_part(mistake.wrong)) for belief in _behind(mistake.code, item.id, place)]
    for belief in all_beliefs():
        ways += [
            (belief, formulas)
            for formulas in _derived(belief, item, answers, letters)
            if first or not (belief.written or belief.chart_row)
        ]
    return _Plan(tuple(ways), _patterns(item))


def _derived(belief: Belief, item: Item, answers: Mapping[str, str], letters: bool) -> Iterator[Mapping[str, str]]:
    if item.id in belief.written:
        yield {part: text for part, text in _by_part(belief.written[item.id]).items() if part in answers}
    # An exercise that asks something else now is left alone until its formula is written anew.
    carrier = {
        part: text
        for part, text in WITH_CARRIER.get(item.id, {}).items()
        if part in answers and fingerprint_of(_put(text, "C", "(S# + R#)")) == fingerprint_of(answers[part])
    }
    if belief.carrier and carrier:
        # Whoever is not told the number of planets counts the usual three.
        many = "N#" if "<N>" in item.prompt or item.draw.layout else "3"
        by = belief.carrier.replace("{n}", many)
        if letters:
            by = by.replace("P#", _PLANET)
        yield {part: _put(text, "C", by) for part, text in carrier.items()}
    if belief.average and carrier:
        yield {part: _alike(text) for part, text in carrier.items()}
    if belief.changes_over and item.id in WITH_RING:
        changed = {part: _changed_over(text) for part, text in answers.items()}
        yield {part: text for part, text in changed.items() if text != answers[part]}
    if belief.ring and item.id in WITH_RING:
        changed = {part: _put(text, "R", belief.ring) for part, text in answers.items()}
        yield {part: text for part, text in changed.items() if text != answers[part]}
    if belief.chart_row and item.id in CHART_ROWS:
        row = CHART_ROWS.index(item.id) + belief.chart_row
        if 0 <= row < len(CHART_ROWS):
            other = find(CHART_ROWS[row])
            if isinstance(other.answer, str) and other.answer and other.draw.layout == item.draw.layout:
                yield {ONE_PART: other.answer}


def _alike(text: str) -> str:
    """A formula with C in which the sets whose carriers turn weigh as if sun and ring had as many teeth."""
    for number in set(re.findall(r"(?<![A-Za-z_])C(\d?)(?![A-Za-z_0-9])", text)):
        for letter, weight in (("C", "2"), ("S", "1"), ("R", "1")):
            text = re.sub(rf"(?<![A-Za-z_]){letter}{number}(?![A-Za-z_0-9])", weight, text)
    return text


def _changed_over(text: str) -> str:
    """A formula with the teeth of sun and ring in each other's place."""
    return _put(_put(_put(text, "S", "X#"), "R", "S#"), "X", "R#")


def _patterns(item: Item) -> tuple[Belief, ...]:
    if not all(kind.traits.ratios for kind in _kinds(item)):
        signed = all(kind is AnswerKind.DECIMAL for kind in _kinds(item))
        return tuple(belief for belief in all_beliefs() if signed and belief.pattern is Pattern.NO_MINUS)
    return tuple(belief for belief in all_beliefs() if belief.pattern is not None)


def _kinds(item: Item) -> tuple[AnswerKind, ...]:
    return tuple(entry.kind for entry in item.fields.values()) or (item.kind,)


def _put(text: str, letter: str, by: str) -> str:
    """A formula with a letter, with its set's number or without, replaced."""
    return re.sub(rf"(?<![A-Za-z_]){letter}(\d?)(?![A-Za-z_0-9])", lambda m: by.replace("#", m.group(1)), text)


def _by_part(answer: str | Mapping[str, str]) -> Mapping[str, str]:
    return {ONE_PART: answer} if isinstance(answer, str) else answer


@lru_cache(maxsize=4096)
def _behind(code: str, item: str, place: int = 0) -> tuple[Belief, ...]:
    """The misconceptions behind a mistake of an exercise: the place counts its mistakes of that code from 0."""
    named = tuple(belief for belief in all_beliefs() if {item, f"{item}#{place}"} & set(belief.only.get(code, "").split()))
    return named or tuple(belief for belief in all_beliefs() if code in belief.codes and item not in belief.never.split())
