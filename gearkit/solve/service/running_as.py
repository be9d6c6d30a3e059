"""Which range a train runs as: several ranges may have one ratio, and then the elements tell which of them is meant."""

from __future__ import annotations

from fractions import Fraction

from gearkit.solve.one_way import Working, in_range
from gearkit.train.layout import Layout


class RangesAlike:
    """The ranges of a layout by their ratios, each with what holds in it.

    Args:
        layout: the layout.
    """

    def __init__(self, layout: Layout) -> None:
        self._ranges: dict[Fraction, list[tuple[str, frozenset[str]]]] = {}
        for item in layout.ranges:
            state = in_range(layout, item.name)
            if state.ratio is not None:
                self._ranges.setdefault(state.ratio, []).append((item.name, frozenset(state.engaged)))

    def named(self, state: Working) -> str | None:
        """Return the range that has a state's ratio, of several the one whose elements are most like those that hold; else None.

        Args:
            state: what the train does.
        """
        if state.ratio is None:
            return None
        holds = frozenset(state.engaged)
        # Among equals the first: the smallest of a list keeps its order.
        alike = self._ranges.get(state.ratio, [])
        return min(alike, key=lambda candidate: len(candidate[1] ^ holds))[0] if alike else None
