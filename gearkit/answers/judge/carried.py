"""Errors carried forward: an entry that follows from the learner's own wrong entries earns part of its marks."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from gearkit.answers.comparison.formulas import symbols_of, value
from gearkit.answers.judge.targets import Key, Reading
from gearkit.answers.kinds.numbers import Amount, NumberTarget

_NOTHING = Fraction(0)


def carried_share(key: Key, name: str, readings: Mapping[str, Reading]) -> Fraction:
    """Return the share that a wrong entry earns for following from the learner's other entries, or 0.

    Args:
        key: the variant's key.
        name: the part.
        readings: what was read of every part.
    """
    rule = key.carry.get(name)
    target = key.targets[name]
    if rule is None or not isinstance(target, NumberTarget):
        return _NOTHING
    formula, share = rule
    values = dict(key.values)
    # The reader drops an underscore inside a name, so that R_1 is R1; "sun_still" becomes "sunstill" in a formula.
    parts = {part.replace("_", ""): part for part in readings}
    for symbol in symbols_of(formula) - set(values):
        if symbol not in parts:
            return _NOTHING
        amount: Amount = readings[parts[symbol]].content
        values[symbol] = amount.in_item_unit
    return share if target.agrees(readings[name], value(formula, values)) else _NOTHING
