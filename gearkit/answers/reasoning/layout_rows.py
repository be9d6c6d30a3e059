"""A layout with its ranges that drive, as problems and pictures take it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from gearkit.solve import ratios
from gearkit.text.phrases import listed
from gearkit.train.layout import Layout


@dataclass(frozen=True)
class Row:
    """A range that drives.

    Args:
        name: its name.
        engaged: the applied elements.
        ratio: its ratio.
    """

    name: str
    engaged: tuple[str, ...]
    ratio: Fraction

    @property
    def words(self) -> str:
        """The range with its elements."""
        return f"range {self.name} ({listed(self.engaged) or 'no element'} applied)"


@dataclass(frozen=True)
class Train:
    """A layout with its ranges.

    Args:
        layout: the layout with a learner's tooth counts.
        rows: the ranges that drive.
        like: the layout whose structure it has; what hangs on no tooth counts is worked out for that one once.
    """

    layout: Layout
    rows: tuple[Row, ...]
    like: Layout

    def __hash__(self) -> int:
        return hash(self.like.name)

    def __eq__(self, other: object) -> bool:
        # For what is remembered of a structure.
        return isinstance(other, Train) and other.like is self.like


def rows_of(layout: Layout) -> tuple[Row, ...]:
    """Return the ranges that drive; of several with the same elements the first.

    Args:
        layout: any layout.
    """
    found: dict[frozenset[str], Row] = {}
    for one in layout.ranges:
        ratio = ratios.ratio(layout, one.engaged)
        if ratio is not None:
            found.setdefault(frozenset(one.engaged), Row(one.name, tuple(one.engaged), ratio.exact))
    return tuple(found.values())
