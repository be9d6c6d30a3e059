"""Rules about gear pairs and set geometry: directions, orders, planets that fit, modules that fit."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise

from gearkit.answers.comparison.formulas import value, work
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.item import ONE_PART, AnswerKind, Item
from gearkit.answers.judge.checkers import Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices, labelled
from gearkit.answers.kinds.words import ChoiceChecker, OrderChecker, SeveralChecker
from gearkit.answers.rules.built_item import BuiltItem, DrawnValues
from gearkit.words.say import say

_WAYS = ("forward", "reverse")
_CHOICES = Choices(_WAYS, aliases={"backward": "reverse", "same": "forward", "opposite": "reverse"})
_MODULES = ("1", "1.25", "1.5", "2", "2.5", "3")
_SIZES = {module: Fraction(module) for module in _MODULES}
_PLANETS = ("3", "4", "5", "6")


def direction_grid(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which way four trains turn their output, from the numbers of their meshes.

    Args:
        item: the item.
        drawn: not used.
        seeded: the numbers of external and internal meshes.
    """
    rows = _meshes(seeded)
    if rows is None:
        return None
    names = [f"row_{number}" for number in range(1, 5)]
    right = {name: _WAYS[external % 2] for name, (external, _) in zip(names, rows, strict=True)}
    signed = {name: _WAYS[(external + internal) % 2] for name, (external, internal) in zip(names, rows, strict=True)}
    turned = {name: _WAYS[1 - _WAYS.index(way)] for name, way in right.items()}
    sentences = {each_mistake.code: each_mistake.sentence for each_mistake in item.named_mistakes}
    forms = [
        WrongForm("SIGN", {name: way for name, way in signed.items() if way != right[name]}, sentences["SIGN"]),
        # Its sentence speaks of all rows.
        WrongForm("IDLER", turned, sentences["IDLER"], together=True),
    ]
    marks = Fraction(item.marks, 4)
    parts = tuple(
        Part(
            name,
            say("{external} external, {internal} internal", external=external, internal=internal),
            AnswerKind.CHOICE,
            "",
            _WAYS,
            marks,
        )
        for name, (external, internal) in zip(names, rows, strict=True)
    )
    return BuiltItem(parts, Key({name: ChoiceChecker(_CHOICES, way) for name, way in right.items()}, tuple(forms)))


def _meshes(seeded: SeededRandom) -> list[tuple[int, int]] | None:
    """External and internal meshes of four trains, or None where the draw does not serve."""
    rows = [(seeded.below(5), seeded.below(4)) for _ in range(4)]
    odd_internal = sum(internal % 2 for _, internal in rows)
    return None if len(set(rows)) < 4 or (0, 0) in rows or odd_internal < 2 else rows


def reversing_trains(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which of four trains turn their output in reverse, from the numbers of their meshes.

    Args:
        item: the item.
        drawn: not used.
        seeded: the numbers of external and internal meshes.
    """
    rows = _meshes(seeded)
    if rows is None:
        return None
    texts = {
        say("{external} external + {internal} internal", external=external, internal=internal): (external, internal)
        for external, internal in rows
    }
    right = frozenset(text for text, (external, _) in texts.items() if external % 2)
    wrong = {"SIGN": frozenset(text for text, meshes in texts.items() if sum(meshes) % 2), "IDLER": frozenset(texts) - right}
    if not right or right == frozenset(texts):
        return None
    choices = Choices(tuple(texts), letters=True)
    forms = tuple(
        WrongForm(each_mistake.code, {ONE_PART: wrong[each_mistake.code]}, each_mistake.sentence)
        for each_mistake in item.named_mistakes
    )
    part = Part(ONE_PART, "", AnswerKind.MULTIPLE_CHOICE, "", choices.options, Fraction(item.marks))
    checker = SeveralChecker(choices, (right,), clean=Fraction(1, 2))
    return BuiltItem((part,), Key({ONE_PART: checker}, forms), {"list": labelled(choices.options)})


def order_pairs(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Four pairs from the greatest reduction to the greatest overdrive.

    Args:
        item: the item.
        drawn: not used.
        seeded: the tooth counts.
    """
    pairs = [(14 + seeded.below(27), 14 + seeded.below(67)) for _ in range(4)]
    ratios = {
        say("{driver} teeth drive {driven}", driver=driver, driven=driven): Fraction(driven, driver) for driver, driven in pairs
    }
    order = tuple(sorted(ratios, key=ratios.__getitem__, reverse=True))
    # Quotients nearer than 3 % could not be told apart in the head.
    if len(ratios) < 4 or any(ratios[a] / ratios[b] < Fraction(103, 100) for a, b in pairwise(order)):
        return None
    choices = Choices(tuple(ratios), letters=True)
    forms = tuple(
        WrongForm(each_mistake.code, {ONE_PART: order[::-1]}, each_mistake.sentence) for each_mistake in item.named_mistakes
    )
    part = Part(ONE_PART, "", AnswerKind.ORDERING, "", choices.options, Fraction(item.marks))
    return BuiltItem(
        (part,), Key({ONE_PART: OrderChecker(choices, order, item.marks)}, forms), {"list": labelled(choices.options)}
    )


def allowed_planets(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Which numbers of equally spaced planets fit into a set.

    Args:
        item: its first two named mistakes name what a learner divides by mistake.
        drawn: S, P, R.
        seeded: not used.
    """

    def divides(formula: str) -> frozenset[str]:
        above, below = work(formula)(drawn.pairs)
        return frozenset(number for number in _PLANETS if above % (below * int(number)) == 0)

    room = {number: work(f"(S + P)*sin(pi/{number}) - (P + 2)")(drawn.pairs) for number in _PLANETS}
    # A gap of next to nothing would make the answer a matter of tooth tolerance.
    if any(10 * abs(above) < below for above, below in room.values()):
        return None
    right = frozenset(number for number in divides("S + R") if room[number][0] > 0)
    wrong = [divides(str(each_mistake.wrong) or "S + R") for each_mistake in item.named_mistakes]
    forms = tuple(
        WrongForm(each_mistake.code, {ONE_PART: ticks}, each_mistake.sentence)
        for each_mistake, ticks in zip(item.named_mistakes, wrong, strict=True)
        if ticks != right
    )
    checker = SeveralChecker(Choices(_PLANETS), (right,), clean=Fraction(3, 5))
    part = Part(ONE_PART, "", AnswerKind.MULTIPLE_CHOICE, "", _PLANETS, Fraction(item.marks))
    return BuiltItem((part,), Key({ONE_PART: checker}, forms))


def module_choice(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """The largest usual module with which a ring and its wall fit a given width.

    The list is series I of ISO 54, from memory.

    Args:
        item: its named mistakes give the width that a learner shares out by mistake.
        drawn: R, wl, D.
        seeded: not used.
    """
    ring = drawn.values["R"]

    def largest(width: Fraction, teeth: Fraction) -> str | None:
        fitting = [module for module in _MODULES if _SIZES[module] <= width / teeth]
        return fitting[-1] if fitting else None

    right = largest(value("D - 2*wl", drawn.values), ring + Fraction(5, 2))
    wrong = {
        "UNIT": largest(value("D - wl", drawn.values), ring + Fraction(5, 2)),
        "TIP": largest(value("D - 2*wl", drawn.values), ring),
    }
    if right is None or set(wrong.values()) == {right}:
        return None
    forms = tuple(
        WrongForm(each_mistake.code, {ONE_PART: wrong[each_mistake.code]}, each_mistake.sentence)
        for each_mistake in item.named_mistakes
        if wrong[each_mistake.code] not in (None, right)
    )
    part = Part(ONE_PART, say("module, mm"), AnswerKind.CHOICE, "", _MODULES, Fraction(item.marks))
    return BuiltItem((part,), Key({ONE_PART: ChoiceChecker(Choices(_MODULES), right)}, forms))


RULES: dict[str, Callable[[Item, DrawnValues, SeededRandom], BuiltItem | None]] = {
    "direction_grid": direction_grid,
    "reversing_trains": reversing_trains,
    "order_pairs": order_pairs,
    "allowed_planets": allowed_planets,
    "module_choice": module_choice,
}
