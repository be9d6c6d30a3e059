"""Shift elements, and the ranges that engage them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from gearkit.words.terms import HOUSING, ElementKind, FreeDirection


@dataclass(frozen=True)
class Element:
    """A clutch, brake or one-way clutch between two shafts.

    Args:
        name: a letter or short name, such as "A"; never like a carrier's name.
        kind: what it does when applied.
        between: two shafts, each a member such as "P1.ring" or "input", "output", "housing".
        free_direction: one-way clutch only: the way its first part may turn, seen from its second.
    """

    name: str
    kind: ElementKind
    between: tuple[str, str]
    free_direction: FreeDirection = FreeDirection.FORWARD

    @property
    def turning_part(self) -> str:
        """The part that can turn: the one that is not the housing (the first, where neither is)."""
        return self.between[1] if self.between[0] == HOUSING else self.between[0]


@dataclass(frozen=True)
class Range:
    """One drive condition and the elements that are applied in it.

    Args:
        name: "1", "2", "R", "N" and so on.
        engaged: names of the engaged elements, one-way clutches that hold in drive among them.
        published_ratio: the ratio as its source prints it, digits kept; empty where there is none.
    """

    name: str
    engaged: tuple[str, ...]
    published_ratio: str = ""

    @property
    def published(self) -> Fraction | None:
        """The published ratio as an exact number."""
        return Fraction(self.published_ratio) if self.published_ratio else None
