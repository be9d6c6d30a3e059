"""From drawn numbers to a built item: parts, right answers, wrong answers, and words for the prompt.

An item with formulas is built here by `plain`; an item that names a rule is built by that rule, which works its answer
out from the drawn layout and never has it stored.
"""

from __future__ import annotations

from collections.abc import Callable

from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.item import Item
from gearkit.answers.reasoning import rules as reasoning
from gearkit.answers.rules import members, pairs, plain, workshop
from gearkit.answers.rules.built_item import BuiltItem, DrawnValues

Rule = Callable[[Item, DrawnValues, SeededRandom], BuiltItem | None]

_RULES: dict[str, Rule] = {
    name: rule for module in (pairs, members, workshop, reasoning) for name, rule in module.RULES.items()
}


def build(item: Item, drawn: DrawnValues, seeded: SeededRandom, *, handed_out: bool = False) -> BuiltItem | None:
    """Return the built item that drawn numbers make of an item, or None where the draw does not serve.

    It does not serve either where a named wrong answer comes near the right one.

    Args:
        item: the item.
        drawn: what was drawn.
        seeded: for what the rule itself draws.
        handed_out: the draw has been handed out, so it serves even where a wrong answer is nearer than a new draw's may be.
    """
    if item.draw.train:
        # Lessons never need the families, and loading them takes its time.
        from gearkit.answers.families import built_item

        made = built_item(item, drawn, seeded)
        return made if made is not None and (handed_out or made.is_clear(item.tolerance)) else None
    item = item.asked(drawn.values)
    if not item.rule:
        return plain.build(item, drawn, handed_out=handed_out)
    built = _rule(item.rule)(item, drawn, seeded)
    return built if built is not None and (handed_out or built.is_clear(item.tolerance)) else None


def _rule(name: str) -> Rule:
    if name in _RULES:
        return _RULES[name]
    # Most lessons ask nothing about a layout, and loading the families takes its time.
    from gearkit.answers.families.in_lessons import rules_of_layouts

    return rules_of_layouts()[name]


def rule_names() -> tuple[str, ...]:
    """Return the names of all rules."""
    from gearkit.answers.families.in_lessons import rules_of_layouts

    return (*_RULES, *rules_of_layouts())


__all__ = ["BuiltItem", "DrawnValues", "build", "rule_names"]
