"""Still pictures in a lesson: drawn from the layout alone, with a text alternative in each."""

from __future__ import annotations

from gearkit.draw.core.svg import Picture


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
        return f'<div style="max-width:960px;overflow-x:auto">{self.svg}</div>'
