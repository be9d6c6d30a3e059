"""Errors carried forward: an entry that follows from the learner's own wrong entries earns part of its marks."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from gearkit.answers.comparison.formulas import symbols_of, value
from gearkit.answers.judge.checkers import Key, Reading
from gearkit.answers.kinds.amounts import Amount
from gearkit.answers.kinds.letters import FormulaChecker
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.read.tokens import MAX_CHARS
from gearkit.words.errors import AnswerError

_NOTHING = Fraction(0)
_HALF = Fraction(1, 2)


def carried_share(key: Key, name: str, readings: Mapping[str, Reading], *, some_right: bool) -> Fraction:
    """Return the share that a wrong entry earns for following from the learner's other entries, or 0.

    Args:
        key: the variant's key.
        name: the part.
        readings: what was read of every part.
        some_right: True where another part is right. A table of numbers in which none is may be a neighbour's, whose
            numbers follow from one another as well; it earns nothing.
    """
    checker = key.checkers[name]
    if name in key.follows:
        wanted = key.follows[name]({part: reading.content for part, reading in readings.items()})
        return _HALF if wanted is not None and checker.agrees(readings[name], wanted) else _NOTHING
    rule = key.carry.get(name)
    if rule is None:
        return _NOTHING
    formula, share = rule
    if isinstance(checker, FormulaChecker):
        return share if _in_letters(checker, formula, name, readings) else _NOTHING
    if not some_right or not isinstance(checker, NumberChecker):
        return _NOTHING
    return share if _in_numbers(key, checker, formula, name, readings) else _NOTHING


def _in_numbers(key: Key, checker: NumberChecker, formula: str, name: str, readings: Mapping[str, Reading]) -> bool:
    values = dict(key.values)
    # The reader drops an underscore inside a name, so that R_1 is R1; "sun_still" becomes "sunstill" in a formula.
    parts = {part.replace("_", ""): part for part in readings}
    own, led_from = readings[name].content.in_item_unit, set()
    for symbol in symbols_of(formula) - set(values):
        if symbol not in parts:
            return False
        amount: Amount = readings[parts[symbol]].content
        values[symbol] = amount.in_item_unit
        led_from.add(abs(amount.in_item_unit))
    # A table filled with one number, such as 0 or 1, follows from itself without any work.
    if not own or abs(own) in led_from:
        return False
    try:
        return checker.agrees(readings[name], value(formula, values))
    except ZeroDivisionError:
        return False


def _in_letters(checker: FormulaChecker, formula: str, name: str, readings: Mapping[str, Reading]) -> bool:
    """Put the learner's own formulas into the one that leads from part to part, and compare."""
    text = formula
    for part, reading in readings.items():
        if part != name and part in symbols_of(formula):
            text = text.replace(part, f"({reading.content[0].text})")
    if len(text) > MAX_CHARS:
        return False
    try:
        return bool(checker.read(text).content[1] == readings[name].content[1])
    except AnswerError:
        return False
