"""A story and its steps: what is said, the formulas that go with it, and the speeds it takes and finds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from gearkit.explain.formulas.forms import Form
from gearkit.explain.formulas.maths import Maths
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
        engaged: where a derivation starts: the elements that are engaged in it.
        carries: whether the sets carry torque, where the step says that of them.
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
    engaged: tuple[str, ...] = ()
    carries: bool | None = None
    torque_letters: Mapping[str, str] = field(default_factory=dict)
