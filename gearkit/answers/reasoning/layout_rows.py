"""A layout with its ranges that drive, as problems, reasons and pictures take it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from gearkit.solve import ratios
from gearkit.solve.one_way import working
from gearkit.text.phrases import listed
from gearkit.train.layout import Layout
from gearkit.words.say import say
from gearkit.words.terms import ElementKind, Verdict


@dataclass(frozen=True)
class Row:
    """A range that drives.

    Args:
        name: its name.
        engaged: the applied elements, and the one-way clutches that hold.
        ratio: its ratio.
        holding: the one-way clutches among them.
    """

    name: str
    engaged: tuple[str, ...]
    ratio: Fraction
    holding: frozenset[str] = frozenset()

    @property
    def words(self) -> str:
        """The range with its elements."""
        applied = [name for name in self.engaged if name not in self.holding]
        holding = [name for name in self.engaged if name in self.holding]
        parts = [
            say("{applied} applied", applied=listed(applied) or say("no element")),
            *([say("{holding} holding", holding=listed(holding))] if holding else []),
        ]
        return say("range {own} ({join})", own=self.name, join=", ".join(parts))


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


def holding_of(layout: Layout, engaged: tuple[str, ...]) -> frozenset[str]:
    """Return the one-way clutches among elements.

    Args:
        layout: the layout.
        engaged: names of elements.
    """
    return frozenset(name for name in engaged if layout.element_named(name).kind is ElementKind.ONE_WAY_CLUTCH)


def rows_of(layout: Layout) -> tuple[Row, ...]:
    """Return the ranges that drive; of several that list the same elements the first.

    Args:
        layout: any layout.
    """
    by_elements: dict[frozenset[str], Row] = {}
    for named_range in layout.ranges:
        ratio = ratios.ratio(layout, named_range.engaged)
        if ratio is not None:
            engaged = _that_hold(layout, tuple(named_range.engaged))
            by_elements.setdefault(
                frozenset(named_range.engaged), Row(named_range.name, engaged, ratio.exact, holding_of(layout, engaged))
            )
    return tuple(by_elements.values())


def _that_hold(layout: Layout, listed: tuple[str, ...]) -> tuple[str, ...]:
    """A range's elements as they are listed, without the one-way clutches that have nothing to hold in it."""
    state = working(layout, listed)
    return listed if state.verdict is not Verdict.RANGE else tuple(name for name in listed if name in state.engaged)
