"""Still pictures in a lesson: drawn from the layout alone, with a text alternative in each."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from html import escape

from gearkit.answers.draw_numbers.pool import layout_named, plain_name
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.items import Item
from gearkit.answers.kinds.kind import Drawing
from gearkit.draw.core.svg import Picture
from gearkit.draw.front import front_view
from gearkit.draw.stick import placement, stick_diagram
from gearkit.draw.stick.placement import Placement
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import say

# These ask what a train does in a state, which no drawing of it tells.
_STATES = ("states", "layout_states")


class Still:
    """A drawing that a notebook shows as inline SVG, so that its title and description are kept.

    Args:
        drawn: the drawing, or its SVG text, as lessons copied from version 0.1.0 give it.
        words: what it shows, where SVG text is given.
    """

    def __init__(self, drawn: Picture | str, words: str = "") -> None:
        self.svg = drawn if isinstance(drawn, str) else drawn.svg()
        self.words = words if isinstance(drawn, str) else f"{drawn.title}. {drawn.description}"

    def __repr__(self) -> str:
        return self.words

    def _repr_html_(self) -> str:
        # Where it is wider than the page it scrolls, and then the keyboard has to reach it.
        return f'<div style="max-width:960px;overflow-x:auto" tabindex="0">{self.svg}</div>'


def set_from_the_front(sun: int, planet: int, planets: int) -> Still:
    """Return a picture of one set from the front, with a line from each name to its part.

    Args:
        sun: tooth count of the sun.
        planet: tooth count of a planet.
        planets: how many planets.
    """
    return Still(front_view.picture(PlanetarySet("P1", sun_teeth=sun, ring_teeth=sun + 2 * planet, planets=planets)))


def told_by_a_drawing(item: Item) -> bool:
    """Tell whether a stick diagram would answer an item.

    Args:
        item: an item about a train.
    """
    return item.kind.traits.drawing is Drawing.TELLS and item.rule not in _STATES


def helped_by_a_drawing(item: Item) -> bool:
    """Tell whether an item is easier to think about with the stick diagram than without.

    Args:
        item: an item about a train.
    """
    return item.kind.traits.drawing is Drawing.HELPS or item.rule in _STATES


def train_shown(variant: Variant) -> str:
    """Return stick diagram and application chart of the train that a question is about, as HTML; "" where it is told in words.

    The drawing tells what the words tell, so it stands in their place wherever they tell the kinds of the elements too. Where no
    places are stored with a layout, finding some would take a second or more, and words have to do.

    Args:
        variant: the question with the learner's numbers.
    """
    layout, item = variant.layout, variant.item
    if layout is None or not layout.plain or item.draw.hidden or not variant.tells_kinds:
        return ""
    named = variant.drawn.layout_name
    places = own_places(named) if named else placement.read(layout)
    if places is None:
        return ""
    drawn = stick_diagram.picture(layout, placement=places)
    # A question about ranges may ask for the chart itself, or bring one; one about numbers says which range it means.
    in_numbers = item.kind.traits.ratios or item.kind.traits.decimal
    brings_chart = f"| {say('range')} |" in variant.question
    chart = _chart(layout) if named and in_numbers and not brings_chart else ""
    return f'<figure class="gk-train">{drawn.svg()}</figure>{chart}'


def _chart(layout: Layout) -> str:
    """Which element each range applies; no ratios, which questions ask for."""
    names = [element.name for element in layout.elements]
    head = "".join(f'<th scope="col">{escape(name)}</th>' for name in names)
    rows = "".join(
        f'<tr><th scope="row">{escape(item.name)}</th>'
        + "".join(f"<td>{'●' if name in item.engaged else '·'}</td>" for name in names)
        + "</tr>"
        for item in layout.ranges
    )
    title, first = say("Application chart: ● applied"), say("range")
    return (
        f'<table class="gk-train-chart"><caption>{title}</caption>'
        f'<thead><tr><th scope="col">{first}</th>{head}</tr></thead><tbody>{rows}</tbody></table>'
    )


@lru_cache(maxsize=64)
def own_places(name: str) -> Placement:
    """Return where everything goes in the drawing of a catalogue layout, also where its elements have other letters.

    Args:
        name: of the layout, with what tells its letters.
    """
    plain = plain_name(name)
    own = layout_named(plain)
    if plain == name:
        return placement.placed(own)
    layout, stored = layout_named(name), own_places(plain)
    places = {
        (element.between, element.kind): place
        for element, place in zip(own.elements, stored.table(own)["elements"], strict=True)
    }
    table = {
        **stored.table(own),
        "structure": placement.structure_of(layout),
        "elements": [places[element.between, element.kind] for element in layout.elements],
    }
    return placement.placed(replace(layout, placement=table))
