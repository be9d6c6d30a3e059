"""A layout in a few lines of text, so that a question about it can be answered from the sheet alone."""

from __future__ import annotations

from collections.abc import Iterable

from gearkit.text.phrases import member_words
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.words.say import say
from gearkit.words.terms import HOUSING, ElementKind, FreeDirection


def train_in_words(layout: Layout, with_kinds: bool = True) -> str:
    """Return shafts and elements of a layout, in Markdown.

    Args:
        layout: the layout.
        with_kinds: False leaves out whether an element is a clutch or a brake.
    """
    shafts = [shaft for shaft in layout.shafts if len(shaft) > 1 and HOUSING not in shaft]
    joined = "; ".join(" = ".join(map(member_words, _ends_first(shaft))) for shaft in shafts)
    elements = (f"{element.name}{_kind(element) if with_kinds else ''} {_between(element)}" for element in layout.elements)
    return say("Always joined: {joined}. Elements: {elements}.", joined=joined, elements="; ".join(elements))


def teeth_in_words(teeth: Iterable[tuple[int, int]]) -> str:
    """Return tooth counts set by set, in Markdown.

    Args:
        teeth: sun and ring of each set.
    """
    counts = (f"$S_{number} = {sun}$, $R_{number} = {ring}$" for number, (sun, ring) in enumerate(teeth, start=1))
    return say("Teeth: {counts}.", counts="; ".join(counts))


def _kind(element: Element) -> str:
    if element.kind is not ElementKind.ONE_WAY_CLUTCH:
        return " " + say("({kind})", kind=element.kind)
    way = say("forward") if element.free_direction is FreeDirection.FORWARD else say("backward")
    return " " + say(
        "({kind}, lets {turning_part} turn {way} only)",
        kind=element.kind,
        turning_part=member_words(element.turning_part),
        way=way,
    )


def _between(element: Element) -> str:
    return " – ".join(map(member_words, element.between))


def _ends_first(shaft: tuple[str, ...]) -> list[str]:
    return sorted(shaft, key=lambda member: "." in member)
