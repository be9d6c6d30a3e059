"""A story and its steps: what is said, the formulas that go with it, and the speeds it takes and finds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from gearkit.explain.formulas.forms import Form
from gearkit.explain.formulas.maths import Maths
from gearkit.solve.mobility import Mobility
from gearkit.solve.ratios import Ratio
from gearkit.solve.several.motions import Motions
from gearkit.train.layout import Layout
from gearkit.words.say import later


class StoryPart(StrEnum):
    """The parts of a story, in the order in which they are told; the values are their headings."""

    APPLIED = later("What is joined and what is applied")
    SETS = later("What each set does")
    CHAIN = later("From the input to the output")
    RATIO = later("The ratio")
    REST = later("What else turns")
    LOAD = later("Where the torque goes")
    FREE = later("What is free")
    STANDING = later("Input turning, vehicle standing")
    CONFLICT = later("What contradicts what")
    ALONE = later("One driver at a time")
    TOGETHER = later("All of them together")
    VERDICT = later("What this is called")
    TORQUE = later("How torque is shared")


@dataclass(frozen=True)
class Step:
    """One step of a story.

    Args:
        part: the part of the story that it belongs to.
        words: sentences, ready to be shown.
        formulas: equations that go with them, in order.
        uses: members whose speeds the step takes as known.
        gives: member -> speed, as a multiple of the input's, for every member whose speed the step finds.
        forms: member -> speed in terms of unknowns, where the step finds only that.
        letters: letter of an unknown -> the member whose speed it stands for, where the step introduces it.
        sets: the sets that the step is about.
        assumes: where a derivation starts: end or free member -> the speed put in. What was known before is dropped.
        applied: where a derivation starts: the elements that are applied in it.
        torque_letters: letter of an unknown -> the member whose torque it stands for, where the step introduces it.
    """

    part: StoryPart
    words: str
    formulas: tuple[Maths, ...] = ()
    uses: tuple[str, ...] = ()
    gives: Mapping[str, Fraction] = field(default_factory=dict)
    forms: Mapping[str, Form] = field(default_factory=dict)
    letters: Mapping[str, str] = field(default_factory=dict)
    sets: tuple[str, ...] = ()
    assumes: Mapping[str, Fraction] = field(default_factory=dict)
    applied: tuple[str, ...] = ()
    torque_letters: Mapping[str, str] = field(default_factory=dict)


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
        from gearkit.explain.render import as_text

        return as_text(self)

    def markdown(self) -> str:
        """Return the story as Markdown with formulas between dollar signs."""
        from gearkit.explain.render import as_markdown

        return as_markdown(self)

    def html(self) -> str:
        """Return the story as a piece of HTML that stands by itself, with formulas in MathML."""
        from gearkit.explain.render import as_html

        return as_html(self)
