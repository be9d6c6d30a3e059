"""Items whose answers are formulas: one answer, a table of them, or a tooth-count design under constraints."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache
from typing import Any

from gearkit.answers.formulas import value
from gearkit.answers.items import ONE_PART, AnswerKind, Field, Item
from gearkit.answers.kinds.letters import FormulaTarget
from gearkit.answers.kinds.numbers import NumberTarget
from gearkit.answers.rules.task import Facts, Task
from gearkit.answers.targets import Key, Part, Target, WrongForm

_HALF = Fraction(1, 2)


def build(item: Item, facts: Facts) -> Task | None:
    """Return the task of an item with formulas; None where a formula has no value at the drawn numbers.

    Args:
        item: the item.
        facts: what was drawn.
    """
    try:
        answers = _by_part(item.answer)
        fields = dict(item.fields) or {ONE_PART: Field("", item.kind, str(item.marks), item.unit)}
        targets = {name: _target(item, fields[name], text, facts) for name, text in answers.items()}
        forms = tuple(
            WrongForm(slip.code, _contents(slip.wrong, fields, facts), slip.sentence, slip.when) for slip in item.slips
        )
    except ZeroDivisionError:
        return None
    # A design is marked demand by demand; its counts share the marks only for show.
    shared = Fraction(item.marks, len(fields)) if item.constraints else None
    parts = tuple(
        Part(name, entry.label, entry.kind, entry.unit, (), shared or _marks(entry.marks))
        for name, entry in fields.items()
    )
    carry = {name: (text, _HALF) for name, text in item.carry.items()}
    words = {name: table[int(facts.values[name]) - 1] for name, table in item.words.items()}
    return Task(parts, Key(targets, forms, item.constraints, carry, facts.values), words)


@lru_cache(maxsize=256)
def _marks(text: str) -> Fraction:
    return Fraction(text)


def _by_part(answer: str | Mapping[str, str]) -> Mapping[str, str]:
    return {ONE_PART: answer} if isinstance(answer, str) else answer


def _target(item: Item, entry: Field, text: str, facts: Facts) -> Target:
    if entry.kind is AnswerKind.EXPRESSION:
        also = item.also if isinstance(item.answer, str) else ()
        return FormulaTarget((text, *also), item.symbols)
    letters = {} if item.constraints else facts.visible
    return NumberTarget(value(text, facts.values), entry.kind, item.tolerance, entry.unit, letters, item.pi)


def _contents(wrong: str | Mapping[str, str], fields: Mapping[str, Field], facts: Facts) -> dict[str, Any]:
    contents: dict[str, Any] = {}
    for name, text in _by_part(wrong).items():
        is_formula = fields[name].kind is AnswerKind.EXPRESSION
        contents[name] = text if is_formula else value(text, facts.values)
    return contents
