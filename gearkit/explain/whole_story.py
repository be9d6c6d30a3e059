"""A story as a whole: its steps with what they are about, and the forms in which it is told."""

from __future__ import annotations

from dataclasses import dataclass

from gearkit.explain import render
from gearkit.explain.step import Step
from gearkit.solve.mobility import Mobility
from gearkit.solve.ratios import Ratio
from gearkit.solve.several.motions import Motions
from gearkit.train.layout import Layout


@dataclass(frozen=True)
class Story:
    """What happens while some elements are applied, told in order.

    Args:
        layout: the layout.
        range_name: the range's name; empty for applied elements that are no named range.
        engaged: the applied elements, and the one-way clutches that hold.
        mobility: the verdict on them.
        ratio: the ratio; None where the verdict is not range.
        title: one line.
        preface: how speeds are counted, in a sentence.
        steps: the steps; each uses only what is given before it.
        working: sets that carry torque.
        idle: sets that carry none and merely turn or stand.
        conflict: where something is locked, the fewest applied elements that lock it.
        note: what one-way clutches make of the elements asked for; None where they do as listed.
    """

    layout: Layout
    range_name: str
    engaged: tuple[str, ...]
    mobility: Mobility | Motions
    ratio: Ratio | None
    title: str
    preface: str
    steps: tuple[Step, ...]
    working: tuple[str, ...] = ()
    idle: tuple[str, ...] = ()
    conflict: tuple[str, ...] = ()
    note: str | None = None

    def text(self) -> str:
        """Return the story as plain text."""
        return render.as_text(self)

    def markdown(self) -> str:
        """Return the story as Markdown with formulas between dollar signs."""
        return render.as_markdown(self)

    def html(self) -> str:
        """Return the story as a piece of HTML that stands by itself, with formulas in MathML."""
        return render.as_html(self)
