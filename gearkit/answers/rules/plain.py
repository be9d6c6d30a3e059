"""Items whose answers are formulas: one answer, a table of them, or a tooth-count design under constraints.

A class draws the same few items again and again, so what does not hang on the drawn numbers is worked out once per item.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache, partial
from typing import Any

from gearkit.answers.comparison.formulas import Work, work
from gearkit.answers.draw_numbers.designs import shows_mistake
from gearkit.answers.item import ONE_PART, AnswerKind, Field, Item, NamedMistake
from gearkit.answers.judge.checkers import Checker, Key, Part, WrongForm
from gearkit.answers.judge.claims import Claim, Relation
from gearkit.answers.kinds.letters import FormulaChecker
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.read.expression import Pair
from gearkit.answers.rules.built_item import BuiltItem, DrawnValues, apart, near
from gearkit.answers.rules.trains import chart_of

_HALF = Fraction(1, 2)


@dataclass(frozen=True)
class _Wrong:
    """A named mistake of an item.

    Args:
        named: the mistake.
        letters: its formulas for parts that ask for one.
        numbers: for the other parts the places of the right and of the wrong number among all that are worked out.
        clear: True where the formulas alone tell it from the right answer.
    """

    named: NamedMistake
    letters: Mapping[str, str]
    numbers: Mapping[str, tuple[int, int]]
    clear: bool


@dataclass(frozen=True)
class _Plan:
    """What all draws of an item have in common.

    Args:
        works: all that is worked out for a draw.
        fields: what the bank states of each part, in the order of the answers.
        parts: the parts as a variant has them.
        letters: targets of the parts that ask for a formula.
        numbers: places of the other parts' right answers.
        wrong: the named mistakes.
        carry: part -> (formula, share) for what follows from a learner's own wrong entries.
        chart: True where the prompt shows the layout's application chart.
    """

    works: tuple[Work, ...]
    fields: Mapping[str, Field]
    parts: tuple[Part, ...]
    letters: Mapping[str, Checker]
    numbers: Mapping[str, int]
    wrong: tuple[_Wrong, ...]
    carry: Mapping[str, tuple[str, Fraction]]
    chart: bool


def build(item: Item, drawn: DrawnValues, *, handed_out: bool = False) -> BuiltItem | None:
    """Return the built item of an item with formulas; None where the draw does not serve.

    Args:
        item: the item.
        drawn: what was drawn.
        handed_out: the draw has been handed out; it is not looked at any more how near a wrong answer comes.
    """
    plan, pairs = _plan(item), drawn.pairs
    try:
        values = [formula(pairs) for formula in plan.works]
    except ZeroDivisionError:
        return None
    if not handed_out and not _is_clear(item, plan, drawn, values):
        return None
    letters = {} if item.constraints else drawn.visible
    checkers: dict[str, Checker] = {
        name: plan.letters[name]
        if name in plan.letters
        else NumberChecker(
            Fraction(*values[plan.numbers[name]]), entry.kind, item.tolerance, entry.unit, letters, item.pi, item.size_only
        )
        for name, entry in plan.fields.items()
    }
    words = {name: table[int(drawn.values[name]) - 1] for name, table in item.words.items()}
    if plan.chart:
        words["chart"] = chart_of(drawn)
    key = Key(checkers, partial(_forms, plan, values), item.constraints, plan.carry, drawn.values)
    return BuiltItem(plan.parts, key, words)


def _is_clear(item: Item, plan: _Plan, drawn: DrawnValues, values: list[Pair]) -> bool:
    """Return whether every named wrong answer is clear of the right one in at least one part."""
    for form in plan.wrong:
        if form.clear:
            continue
        if item.constraints:
            wrong = {name: values[place] for name, (_, place) in form.numbers.items()}
            if not shows_mistake(item.constraints, form.named.when, {**drawn.pairs, **wrong}):
                return False
            continue
        if not any(apart(values[right], values[place], item.tolerance) for right, place in form.numbers.values()):
            return False
        if any(
            near(values[right], values[place], item.tolerance)
            for name, (right, place) in form.numbers.items()
            if plan.fields[name].kind is not AnswerKind.INTEGER
        ):
            return False
    return True


def _forms(plan: _Plan, values: list[Pair]) -> tuple[WrongForm, ...]:
    return tuple(_form(form, values) for form in plan.wrong)


def _form(form: _Wrong, values: list[Pair]) -> WrongForm:
    contents: dict[str, Any] = {
        name: form.letters[name] if name in form.letters else Fraction(*values[form.numbers[name][1]])
        for name in _by_part(form.named.wrong)
    }
    named = form.named
    needs = tuple(Claim(part, Relation.RIGHT) for part in named.right_too)
    return WrongForm(named.code, contents, named.sentence, named.when, named.says, needs, named.together)


@lru_cache(maxsize=512)
def _plan(item: Item) -> _Plan:
    fields = dict(item.fields) or {ONE_PART: Field("", item.kind, str(item.marks), item.unit)}
    answers = _by_part(item.answer)
    also = item.also if isinstance(item.answer, str) else ()
    letters: dict[str, Checker] = {
        name: FormulaChecker((text, *also), item.symbols)
        for name, text in answers.items()
        if fields[name].kind is AnswerKind.EXPRESSION
    }
    # A design is marked demand by demand; its counts share the marks only for show.
    shared = Fraction(item.marks, len(fields)) if item.constraints else None
    parts = tuple(
        Part(name, entry.label, entry.kind, entry.unit, (), shared or Fraction(entry.marks)) for name, entry in fields.items()
    )
    # Where a wrong form of one part is the right answer of another, both are worked out once.
    places: dict[str, int] = {}
    numbers = {name: places.setdefault(text, len(places)) for name, text in answers.items() if name not in letters}
    wrong = tuple(_wrong(named, letters, numbers, places) for named in item.named_mistakes)
    carry = {name: (text, _HALF) for name, text in item.carry.items()}
    return _Plan(
        tuple(map(work, places)),
        {name: fields[name] for name in answers},
        parts,
        letters,
        numbers,
        wrong,
        carry,
        "<chart>" in item.prompt,
    )


def _wrong(named: NamedMistake, letters: Mapping[str, Checker], right: Mapping[str, int], places: dict[str, int]) -> _Wrong:
    formulas = _by_part(named.wrong)
    in_letters = {name: text for name, text in formulas.items() if name in letters}
    numbers = {
        name: (right[name], places.setdefault(text, len(places))) for name, text in formulas.items() if name not in letters
    }
    clear = not formulas or any(
        letters[name].wrong_text(text) != letters[name].right_text() for name, text in in_letters.items()
    )
    return _Wrong(named, in_letters, numbers, clear)


def _by_part(answer: str | Mapping[str, str]) -> Mapping[str, str]:
    return {ONE_PART: answer} if isinstance(answer, str) else answer
