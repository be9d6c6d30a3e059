"""The shift panel: two ranges, an input speed and how far the shift has gone; every speed on the way.

The output keeps its speed. The browser works everything out from the train that the kernel sends once; from Python the
same state is read and set, and the same facts come from the solver.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import traitlets

from gearkit.draw import lever_diagram, stick_diagram
from gearkit.draw.placement import placed
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.bundle import script
from gearkit.lesson.panels.spec import train_spec
from gearkit.solve.mobility import assess
from gearkit.solve.shifts import Shift, shift
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.phrases import decimal, listed


class ShiftPanel(Panel):
    """Two forward ranges, an input speed and a share of the way in; speeds and slip out.

    Args:
        layout: the layout; it has at least two forward ranges.
        traits: title and first state.
    """

    _esm = script("shift_panel")
    train = traitlets.Dict().tag(sync=True)
    drawing = traitlets.Unicode("").tag(sync=True)
    from_range = traitlets.Unicode().tag(sync=True)
    to_range = traitlets.Unicode().tag(sync=True)
    input_speed = traitlets.Int(3000, min=500, max=6000).tag(sync=True)
    progress = traitlets.Int(0, min=0, max=100).tag(sync=True)

    def __init__(self, layout: Layout, **traits: Any) -> None:
        self.layout_shown = layout
        self.forward = tuple(item.name for item in layout.ranges if _forward(layout, item.engaged))
        if len(self.forward) < 2:
            found = "one forward range" if self.forward else "no forward range"
            raise UsageError(f"{layout.name} has {found}; a shift needs two.")
        placement = placed(layout)
        self._placement = placement
        ratios = [assess(layout, layout.engaged_in(name)).ratio for name in self.forward]
        # The first two with ratios of their own: a range and its twin with engine braking make no shift to look at.
        other = next((name for name, ratio in zip(self.forward, ratios, strict=True) if ratio != ratios[0]), self.forward[1])
        first = {"from_range": self.forward[0], "to_range": other}
        drawing = stick_diagram.draw(layout, None, placement)
        super().__init__(train=train_spec(layout), drawing=drawing, **{**first, **traits})

    @traitlets.validate("from_range", "to_range")  # type: ignore[untyped-decorator]  # traitlets are seen without types
    def _forward_range(self, proposal: Any) -> str:
        name = str(proposal["value"])
        if name not in self.forward:
            raise UsageError(f"{name!r} is no forward range of {self.layout_shown.name}; it has: {', '.join(self.forward)}.")
        return name

    def choose(self, from_range: str, to_range: str) -> None:
        """Choose the shift.

        Args:
            from_range: the forward range before.
            to_range: another forward range, after.

        Raises:
            UsageError: no such forward range, or twice the same.
        """
        if from_range == to_range:
            raise UsageError(f"{from_range} to {to_range} is no shift; choose two ranges of {', '.join(self.forward)}.")
        with self.hold_sync():
            self.from_range, self.to_range = from_range, to_range

    def outcome(self) -> Shift:
        """Return what the shift changes, with speeds in r/min."""
        return shift(self.layout_shown, self.from_range, self.to_range, self.input_speed)

    def input_now(self) -> Fraction:
        """Return the input speed in r/min with the shift gone as far as it has."""
        found = self.outcome()
        assert found.input_after is not None, "two forward ranges have a step"
        return found.input_before + (found.input_after - found.input_before) * Fraction(self.progress, 100)

    def words(self) -> str:
        """Return in a few sentences what the shift does."""
        found = self.outcome()
        assert found.input_after is not None
        swap = f"{listed(found.off_going) or 'nothing'} off, {listed(found.on_coming) or 'nothing'} on"
        return (
            f"{self.layout_shown.name}, {self.from_range} to {self.to_range}, {found.kind}: {swap}. {self.progress} % gone: "
            f"input {decimal(self.input_now(), 0)} r/min, from {decimal(found.input_before, 0)} to "
            f"{decimal(found.input_after, 0)}. {found.overlap_words()} {found.underlap_words()}"
        )

    def pictures(self) -> tuple[str, ...]:
        """Return the levers before and after the shift."""
        ends = [self.layout_shown.engaged_in(name) for name in (self.from_range, self.to_range)]
        return tuple(lever_diagram.draw(self.layout_shown, engaged) for engaged in ends)


def _forward(layout: Layout, engaged: tuple[str, ...]) -> bool:
    ratio = assess(layout, engaged).ratio
    return ratio is not None and ratio > 0
