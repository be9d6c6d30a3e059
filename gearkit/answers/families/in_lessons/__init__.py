"""The families as the lessons and the first sheets ask them: own words, parts and draws, while what is so of a layout comes from the family alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.families.in_lessons import charts, faults, first_sheets, loads, shifts
from gearkit.answers.item import Item
from gearkit.answers.rules.built_item import BuiltItem, DrawnValues

_RULES = {name: rule for module in (charts, faults, loads, shifts, first_sheets) for name, rule in module.RULES.items()}


def rules_of_layouts() -> Mapping[str, Callable[[Item, DrawnValues, SeededRandom], BuiltItem | None]]:
    """Return the rules of exercises about the kit's own layouts by their names."""
    return _RULES
