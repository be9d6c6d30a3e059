"""Draws what an item's numbers are, as its conditions allow: sets, tooth counts of a layout, numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from gearkit.answers.comparison.formulas import Condition, Work, condition, pairs_of, work
from gearkit.answers.draw_numbers import pool
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.item import PICKS, Item
from gearkit.answers.layouts import own_teeth
from gearkit.answers.read.expression import Pair
from gearkit.answers.rules import DrawnValues

Number = tuple[Fraction, Pair]


@dataclass(frozen=True)
class _Plan:
    """What all draws of an item have in common.

    Args:
        numbers: each name with what it is drawn from.
        keep: conditions that a draw has to meet.
        shown: each name with what works it out, and its decimals.
    """

    numbers: tuple[tuple[str, tuple[Number, ...]], ...]
    keep: tuple[Condition, ...]
    shown: tuple[tuple[str, Work, int | None], ...]


@lru_cache(maxsize=512)
def _plan(item: Item) -> _Plan:
    draw = item.draw
    return _Plan(
        tuple((name, _steps(*limits)) for name, limits in draw.numbers.items()),
        tuple(map(condition, draw.keep)),
        tuple((name, work(text), places) for name, (text, places) in draw.shown.items()),
    )


def drawn_values_of(
    item: Item, seeded: SeededRandom, *, all_serve: bool = False, before: bool = False, teeth: tuple[pool.Teeth, ...] = ()
) -> DrawnValues | None:
    """Draw sets, layout and numbers; None where a condition fails, unless all shall serve.

    Args:
        item: the item.
        seeded: where the draw comes from.
        all_serve: True where conditions are not looked at.
        before: what came to be drawn later is not drawn.
        teeth: tooth counts of an item about any layout, which its sheet draws for all such items together.
    """
    draw, plan = item.draw, _plan(item)
    values: dict[str, Fraction] = {}
    pairs: dict[str, Pair] = {}
    sets = tuple([seeded.pick(pool.pool()) for _ in draw.sets])
    teeth = pool.sane_teeth(draw.layout, seeded) if draw.layout else teeth
    named = [*zip(sets, draw.sets, strict=True)]
    if draw.train:
        values.update(own_teeth.letters(draw.train, teeth))
        pairs.update(pairs_of(values))
    else:
        named += [(counts, str(number)) for number, counts in enumerate(teeth, start=1)]
    for counts, suffix in named:
        their_values, their_pairs = pool.lettered(counts, suffix)
        values.update(their_values)
        pairs.update(their_pairs)
    for name, numbers in plan.numbers:
        if before and name in draw.later:
            values[name] = Fraction(draw.later[name])
            pairs[name] = values[name].as_integer_ratio()
        else:
            values[name], pairs[name] = seeded.pick(numbers)
    for condition_ in plan.keep:
        if not all_serve and not condition_.holds(pairs):
            return None
    for name, formula_, places in plan.shown:
        number = Fraction(*formula_(pairs))
        values[name] = number = number if places is None else round_half_up(number, places)
        pairs[name] = number.as_integer_ratio()
    return DrawnValues(values, pairs, visible(item, values), pool.with_letters(draw.layout, values), teeth, sets, draw.train)


def visible(item: Item, values: Mapping[str, Fraction]) -> Mapping[str, Fraction]:
    """Return those of an item's numbers that the learner may see.

    Args:
        item: the item.
        values: all of them.
    """
    hidden = {*item.draw.hidden, *PICKS.intersection(item.draw.numbers)}
    return {name: number for name, number in values.items() if name not in hidden} if hidden else values


@lru_cache(maxsize=1024)
def _steps(least: str, most: str, step: str) -> tuple[Number, ...]:
    """Return every number that can be drawn, as texts in the bank state it."""
    low, width = Fraction(least), Fraction(step)
    steps = (low + width * place for place in range(int((Fraction(most) - low) / width) + 1))
    return tuple((number, number.as_integer_ratio()) for number in steps)


def round_half_up(number: Fraction, places: int) -> Fraction:
    """Return a number rounded to so many decimals, halves away from zero.

    Args:
        number: the number.
        places: decimals, 0 or more.
    """
    scale = 10**places
    size = (abs(number) * scale + Fraction(1, 2)).__floor__()
    return Fraction(size if number >= 0 else -size, scale)
