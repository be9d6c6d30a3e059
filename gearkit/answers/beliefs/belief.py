"""What a misconception is: its names for instructors and learners, and what it makes of a formula."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from gearkit.words.say import later


class Pattern(Enum):
    """What a misconception makes of a right number, whatever the exercise is about."""

    UPSIDE_DOWN = later("one over it")
    ABOVE_ONE = later("one over it where it is below 1")
    NO_MINUS = later("its size")


# Each is there once, so that looking one up in a table takes no comparing.
@dataclass(frozen=True, eq=False)
class Belief:
    """One misconception, declared as data.

    Args:
        key: the word that it is known under in the kit.
        name: what it is called where instructors read, such as "the carrier's own turn left out".
        told: what a learner reads after "what one gets when", in the third person.
        practise: one thing to practise, as an order to the learner.
        lesson: the lesson that helps.
        codes: mistakes of the bank behind which it stands wherever they occur.
        only: mistakes behind which it stands in the named items only: code -> ids, an id with ``#1`` for the item's
            second named mistake of that code.
        never: items in which one of ``codes`` stands for something else.
        carrier: what it puts for the carrier's weight S + R, with ``#`` for the set's number; "" where it leaves it alone.
        ring: what it puts for the ring's teeth, likewise.
        average: True where it takes sun and ring to weigh alike.
        changes_over: True where it puts the sun's teeth for the ring's and the ring's for the sun's.
        pattern: what it makes of a right number in every ratio.
        written: item -> wrong formula, or one per part, where it has to be written out.
        chart_row: so many rows further down the application chart are read; 0 for none.
        common: True for a named mistake that careless learners make too, so that it weighs less.
    """

    key: str
    name: str
    told: str
    practise: str
    lesson: int
    codes: tuple[str, ...] = ()
    only: Mapping[str, str] = field(default_factory=dict)
    never: str = ""
    carrier: str = ""
    ring: str = ""
    average: bool = False
    changes_over: bool = False
    pattern: Pattern | None = None
    written: Mapping[str, str | Mapping[str, str]] = field(default_factory=dict)
    chart_row: int = 0
    common: bool = False

    @property
    def derived(self) -> bool:
        """True where no mistake of the bank names it."""
        return not (self.codes or self.only)
