"""Errors carried forward: an entry that follows from the learner's own wrong entries earns part of its marks."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from gearkit.answers.formulas import symbols_of, value
from gearkit.answers.kinds.numbers import Amount, NumberTarget
from gearkit.answers.targets import Key, Reading


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
        return Fraction(0)
    formula, share = rule
    values = dict(key.values)
    for other in symbols_of(formula) - set(values):
        if other not in readings:
            return Fraction(0)
        amount: Amount = readings[other].content
        values[other] = amount.in_item_unit
    return share if target.agrees(readings[name], value(formula, values)) else Fraction(0)
