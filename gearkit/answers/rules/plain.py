"""Items whose answers are formulas: one answer, a table of them, or a tooth-count design under constraints.

A class draws the same few items again and again, so what does not hang on the drawn numbers is worked out once per item.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache, partial
from typing import Any

from gearkit.answers.designs import shows_slip
from gearkit.answers.expression import Pair
from gearkit.answers.formulas import Work, work
from gearkit.answers.items import ONE_PART, AnswerKind, Field, Item, Slip
from gearkit.answers.kinds.letters import FormulaTarget
from gearkit.answers.kinds.numbers import NumberTarget
from gearkit.answers.rules.task import Facts, Task, apart
from gearkit.answers.targets import Key, Part, Target, WrongForm

_HALF = Fraction(1, 2)


@dataclass(frozen=True)
class _Wrong:
    """A slip of an item.

    Args:
        slip: the slip.
        letters: wrong formulas of the parts that ask for one.
        numbers: what works the other parts out.
        clear: True where the formulas alone tell it from the right answer.
    """

    slip: Slip
    letters: Mapping[str, str]
    numbers: tuple[tuple[str, Work], ...]
    clear: bool


@dataclass(frozen=True)
class _Plan:
    """What all draws of an item have in common.

    Args:
        fields: what the bank states of each part, in the order of the answers.
        parts: the parts as a variant has them.
        letters: targets of the parts that ask for a formula.
        numbers: what works the other parts out.
        wrong: the slips.
        carry: part -> (formula, share) for what follows from a learner's own wrong entries.
    """

    fields: Mapping[str, Field]
    parts: tuple[Part, ...]
    letters: Mapping[str, Target]
    numbers: tuple[tuple[str, Work], ...]
    wrong: tuple[_Wrong, ...]
    carry: Mapping[str, tuple[str, Fraction]]


def build(item: Item, facts: Facts) -> Task | None:
    """Return the task of an item with formulas; None where the draw does not serve.

    Args:
        item: the item.
        facts: what was drawn.
    """
    plan, pairs = _plan(item), facts.pairs
    try:
        right = {name: found(pairs) for name, found in plan.numbers}
        wrong = [{name: found(pairs) for name, found in one.numbers} for one in plan.wrong]
    except ZeroDivisionError:
        return None
    if not _is_clear(item, facts, plan, right, wrong):
        return None
    letters = {} if item.constraints else facts.visible
    targets: dict[str, Target] = {
        name: NumberTarget(Fraction(*right[name]), entry.kind, item.tolerance, entry.unit, letters, item.pi)
        if name in right else plan.letters[name]
        for name, entry in plan.fields.items()
    }
    words = {name: table[int(facts.values[name]) - 1] for name, table in item.words.items()}
    key = Key(targets, partial(_forms, plan, wrong), item.constraints, plan.carry, facts.values)
    return Task(plan.parts, key, words)


def _is_clear(
    item: Item, facts: Facts, plan: _Plan, right: Mapping[str, Pair], wrong: list[dict[str, Pair]]
) -> bool:
    """Return whether every named wrong answer is clear of the right one in at least one part."""
    if item.constraints:
        return all(shows_slip(item.constraints, one.slip.when, {**facts.pairs, **pairs})
                   for one, pairs in zip(plan.wrong, wrong, strict=True) if pairs)
    for one, pairs in zip(plan.wrong, wrong, strict=True):
        if one.clear:
            continue
        for name, pair in pairs.items():
            if apart(right[name], pair, item.tolerance):
                break
        else:
            return False
    return True


def _forms(plan: _Plan, wrong: list[dict[str, Pair]]) -> tuple[WrongForm, ...]:
    return tuple(_form(one, pairs) for one, pairs in zip(plan.wrong, wrong, strict=True))


def _form(one: _Wrong, pairs: Mapping[str, Pair]) -> WrongForm:
    contents: dict[str, Any] = {name: one.letters[name] if name in one.letters else Fraction(*pairs[name])
                                for name in _by_part(one.slip.wrong)}
    return WrongForm(one.slip.code, contents, one.slip.sentence, one.slip.when)


@lru_cache(maxsize=512)
def _plan(item: Item) -> _Plan:
    fields = dict(item.fields) or {ONE_PART: Field("", item.kind, str(item.marks), item.unit)}
    answers = _by_part(item.answer)
    also = item.also if isinstance(item.answer, str) else ()
    letters: dict[str, Target] = {name: FormulaTarget((text, *also), item.symbols)
                                  for name, text in answers.items() if fields[name].kind is AnswerKind.EXPRESSION}
    # A design is marked demand by demand; its counts share the marks only for show.
    shared = Fraction(item.marks, len(fields)) if item.constraints else None
    parts = tuple(
        Part(name, entry.label, entry.kind, entry.unit, (), shared or Fraction(entry.marks))
        for name, entry in fields.items()
    )
    return _Plan({name: fields[name] for name in answers}, parts, letters, _works(answers, letters), tuple(_wrong(slip, letters) for slip in item.slips),
                 {name: (text, _HALF) for name, text in item.carry.items()})


def _works(formulas: Mapping[str, str], letters: Mapping[str, Target]) -> tuple[tuple[str, Work], ...]:
    return tuple((name, work(text)) for name, text in formulas.items() if name not in letters)


def _wrong(slip: Slip, letters: Mapping[str, Target]) -> _Wrong:
    formulas = _by_part(slip.wrong)
    in_letters = {name: text for name, text in formulas.items() if name in letters}
    clear = not formulas or any(letters[name].wrong_text(text) != letters[name].right_text()
                                for name, text in in_letters.items())
    return _Wrong(slip, in_letters, _works(formulas, letters), clear)


def _by_part(answer: str | Mapping[str, str]) -> Mapping[str, str]:
    return {ONE_PART: answer} if isinstance(answer, str) else answer
