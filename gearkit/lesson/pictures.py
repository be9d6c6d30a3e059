"""Still pictures in a lesson: drawn from the layout alone, with a text alternative in each."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module

from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError

# What to draw -> module of gearkit.draw; those in the second group show all ranges and take no applied elements.
_WITH_ELEMENTS = {"stick": "stick_diagram", "levers": "lever_diagram"}
_OF_ALL_RANGES = {"speeds": "speed_plot", "chart": "chart", "ratios": "ratio_chart"}
WHAT = (*_WITH_ELEMENTS, *_OF_ALL_RANGES, "front")


class Still:
    """A drawing that a notebook shows as inline SVG, so that its title and description are kept.

    Args:
        svg: the drawing.
        words: what it shows, for where no picture can be shown.
    """

    def __init__(self, svg: str, words: str) -> None:
        self.svg = svg
        self.words = words

    def __repr__(self) -> str:
        return self.words

    def _repr_html_(self) -> str:
        return f'<div style="max-width:960px;overflow-x:auto">{self.svg}</div>'


def picture(layout: Layout, what: str, engaged: Sequence[str] | None, set_name: str) -> Still:
    """Return a still picture.

    Args:
        layout: the layout.
        what: stick, levers, speeds, chart, ratios or front.
        engaged: names of applied elements; None for none given.
        set_name: which set, for a front view.

    Raises:
        UsageError: there is no such picture, element or set.
    """
    if what == "front":
        from gearkit.draw import front_view

        pset = layout.set_named(set_name) if set_name else layout.sets[0]
        return Still(front_view.draw(pset), f"Front view of {pset.name} of {layout.name}.")
    if what in _WITH_ELEMENTS:
        svg = import_module(f"gearkit.draw.{_WITH_ELEMENTS[what]}").draw(layout, engaged)
    elif what in _OF_ALL_RANGES:
        svg = import_module(f"gearkit.draw.{_OF_ALL_RANGES[what]}").draw(layout)
    else:
        raise UsageError(f"There is no picture {what!r}; choose from: {', '.join(WHAT)}.")
    applied = f" with {', '.join(engaged)} applied" if engaged else ""
    return Still(svg, f"Picture ({what}) of {layout.name}{applied}.")
