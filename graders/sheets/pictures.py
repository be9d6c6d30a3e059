"""Stick diagrams for the tasks of a sheet, as pictures that stand in the notebook itself.

A layout is drawn once on a sheet, in its first task, with the tooth counts of that task; its text alternative says
what is drawn. It is not drawn at all on a sheet with a task that asks for what the drawing would tell.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

from gearkit.answers.draw_numbers.pool import plain_name
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.reasoning.sketches import Sketch
from gearkit.draw.core.embed import address_of, words_of
from gearkit.draw.core.svg import Picture
from gearkit.draw.lever.sketches import svgs_of
from gearkit.draw.registry import picture_of
from gearkit.draw.stick import placement
from gearkit.draw.stick.placement import Placement
from gearkit.lesson.pictures import helped_by_a_drawing, own_places, told_by_a_drawing
from gearkit.solve import ratios
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from graders.sheets.sheets import Sheet


def pictures_for(sheet: Sheet, variants: Sequence[Variant]) -> list[str]:
    """For each task its picture in Markdown, or "" where it has none.

    Args:
        sheet: the sheet.
        variants: the variants in the order of its items.
    """
    return [as_markdown(picture.svg()) if picture is not None else "" for picture in drawings_for(sheet, variants)]


def drawings_for(sheet: Sheet, variants: Sequence[Variant]) -> list[Picture | None]:
    """For each task its picture, or None where it has none.

    Args:
        sheet: the sheet.
        variants: the variants in the order of its items.
    """
    told = {variant.item.draw.layout for variant in variants if told_by_a_drawing(variant.item)}
    drawn: set[str] = set()
    pictures: list[Picture | None] = []
    for variant in variants:
        layout = _layout_of(sheet, variant)
        text = sheet.layout_of(variant.item.id)
        # Where the elements have letters of their own, the drawing has them too.
        name = variant.drawn.layout_name or text
        if layout is None or plain_name(name) in told or name in drawn or not helped_by_a_drawing(variant.item):
            pictures.append(None)
            continue
        drawn.add(name)
        pictures.append(_drawn(layout, text, name))
    return pictures


def drawing_for(sheet: Sheet, variant: Variant) -> str:
    """The drawing of a task that stands by itself, as SVG; "" where it needs none or the drawing would answer it.

    Args:
        sheet: the sheet that the task is from.
        variant: the learner's variant of it.
    """
    layout = _layout_of(sheet, variant)
    if layout is None or told_by_a_drawing(variant.item) or not helped_by_a_drawing(variant.item):
        return ""
    return _drawn(layout, sheet.layout_of(variant.item.id), variant.drawn.layout_name).svg()


def stick_of(sheet: Sheet, variant: Variant) -> Picture | None:
    """The stick diagram of a task's layout with the learner's tooth counts and letters; None where it has no layout.

    Args:
        sheet: the sheet that the task is from.
        variant: the learner's variant of it.
    """
    layout = _layout_of(sheet, variant)
    return None if layout is None else _drawn(layout, sheet.layout_of(variant.item.id), variant.drawn.layout_name)


def _drawn(layout: Layout, text: str, name: str) -> Picture:
    return picture_of(layout, "stick", placement=_places(text) if text else own_places(name))


def as_choices(words: Sequence[str], sketches: Sequence[Sketch]) -> str:
    """Pictures to choose among, each with its letter behind it, with the words of the choice as its text alternative.

    Args:
        words: the choices in words.
        sketches: what is drawn for each.
    """
    return "\n".join(
        f"![{text}]({address_of(svg)}) ({'abcdefghijkl'[number]})"
        for number, (text, svg) in enumerate(zip(words, svgs_of(sketches), strict=True))
    )


def as_markdown(svg: str) -> str:
    """A drawing as a Markdown picture that needs no other file; its description becomes the text alternative."""
    plain = " ".join(re.sub(r"[\[\]\\`]", " ", words_of(svg) or "stick diagram").split())
    return f"![{plain}]({address_of(svg)})"


def _layout_of(sheet: Sheet, variant: Variant) -> Layout | None:
    """The layout of a task with the learner's tooth counts."""
    text = sheet.layout_of(variant.item.id)
    if variant.layout is not None or not text:
        return variant.layout
    layout = catalogue.parse(text)
    suffixes = ratios.symbol_suffixes(layout)
    drawn = {
        pset.name: (int(variant.values[f"S{suffix}"]), int(variant.values[f"R{suffix}"]))
        for pset in layout.sets
        if (suffix := suffixes[pset.name]) in variant.item.draw.sets
    }
    return layout.with_teeth(drawn)


@lru_cache(maxsize=8)
def _places(text: str) -> Placement:
    """Where everything goes in the drawing of a layout; a search of a second or two, the same for the whole class."""
    return placement.placed(catalogue.parse(text))
