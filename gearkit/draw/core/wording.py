"""The words that pictures and panels share: speeds, members and shafts as labels and in plain sentences."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from fractions import Fraction

from gearkit.text.phrases import decimal, fixed, listed, member_label
from gearkit.text.screen import neutral
from gearkit.words.say import later, say, say_n
from gearkit.words.terms import HOUSING

_NO_SIGNS = re.compile("[\ufffe\uffff]")


def showable(text: str) -> str:
    """Return a text as a picture may hold it.

    A layout's name may hold control characters and signs that are none; XML allows neither, so that no program would show
    the picture, and signs that turn the direction of writing would turn what stands beside them.

    Args:
        text: any text.
    """
    return _NO_SIGNS.sub("?", neutral(text))


def ratio_text(value: Fraction | float) -> str:
    """Return a ratio with the four figures that a workshop sheet prints: 2.838, 0.702, −3.000.

    One that three places cannot show keeps its figures: what creeps does not stand still.
    """
    if 0 < abs(float(value)) < 0.0005:
        return decimal(value)
    return fixed(value, 3)


def shaft_words(members: Sequence[str]) -> str:
    """Return all that sits on one shaft, such as "ring 1, carrier 4 and output"."""
    return listed(member_label(member) for member in members)


def speed_words(speed: Fraction | None, *, held: bool = False, given: bool = False) -> str:
    """Return what a speed means, as multiples of the input's.

    Args:
        speed: in input speeds, positive in the input's sense; None where nothing fixes it.
        held: whether the part is joined to the housing.
        given: the speed is in a unit of its own and no multiple of the input's.

    >>> speed_words(Fraction(1, 2)), speed_words(Fraction(0), held=True), speed_words(None)
    ('turns forward at 0.5 of input speed', 'is held', 'turns freely')
    """
    if speed is None:
        return say("turns freely")
    if speed == 0:
        return say("is held") if held else say("stands still")
    if given:
        return (
            say("turns forward at {speed}", speed=decimal(abs(speed)))
            if speed > 0
            else say("turns in reverse at {speed}", speed=decimal(abs(speed)))
        )
    if speed == 1:
        return say("turns at input speed")
    direction = say("forward") if speed > 0 else say("in reverse")
    return say("turns {direction} at {speed} of input speed", direction=direction, speed=decimal(abs(speed)))


def applied_words(names: Sequence[str]) -> str:
    """Return which elements are applied: "A and C applied", "no element applied"."""
    return say("{names} applied", names=listed(names)) if names else say("no element applied")


_COUNTED = {
    "range": (later("{count} range"), later("{count} ranges")),
    "element": (later("{count} element"), later("{count} elements")),
    "set": (later("{count} set"), later("{count} sets")),
    "planet pinion": (later("{count} planet pinion"), later("{count} planet pinions")),
    "pinion pair": (later("{count} pinion pair"), later("{count} pinion pairs")),
}


def plural(count: int, word: str) -> str:
    """Return a count with its noun.

    Args:
        count: how many.
        word: the noun in the singular: range, element, set, planet pinion or pinion pair.
    """
    one, many = _COUNTED[word]
    return say_n(one, many, count)


def without_housing(members: Iterable[str]) -> tuple[str, ...]:
    """Return the members other than the housing itself."""
    return tuple(member for member in members if member != HOUSING)
