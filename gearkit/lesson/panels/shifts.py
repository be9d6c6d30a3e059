"""The shift panel: two ranges, an input speed and how far the shift has gone; every speed on the way.

The output keeps its speed. Out of neutral the vehicle stands, as in a garage shift: the output stays at rest, and the range
brings the input to rest with it. The browser works everything out from the train that the kernel sends once; from Python the
same state is read and set, and the same facts come from the solver.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import traitlets

from gearkit.draw.lever import lever_diagram
from gearkit.draw.noted import cannot_be_put_together
from gearkit.draw.stick import stick_diagram
from gearkit.draw.stick.placement import placed
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.bundle import script
from gearkit.lesson.panels.spec import train_spec
from gearkit.lesson.trains.train_choice import TrainChoice
from gearkit.solve.mobility import Mobility
from gearkit.solve.one_way import in_range
from gearkit.solve.service.shifts import Shift, shift
from gearkit.text.phrases import decimal, listed
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import say
from gearkit.words.terms import Verdict

_KINDS = (str(Verdict.NEUTRAL), "forward", "reverse")


class ShiftPanel(TrainChoice, Panel):
    """Two forward ranges, or a neutral and any range, an input speed and a share of the way in; speeds and slip out.

    Args:
        layout: the layout; it has at least two forward ranges.
        traits: title and first state.
    """

    _esm = script("shift_panel")
    train = traitlets.Dict().tag(sync=True)
    choices = traitlets.Dict().tag(sync=True)
    drawing = traitlets.Unicode("").tag(sync=True)
    from_range = traitlets.Unicode().tag(sync=True)
    to_range = traitlets.Unicode().tag(sync=True)
    input_speed = traitlets.Int(3000, min=500, max=6000).tag(sync=True)
    progress = traitlets.Int(0, min=0, max=100).tag(sync=True)

    def __init__(self, layout: Layout, **traits: Any) -> None:
        super().__init__(**{**self.begin(layout), **traits})

    def begin(self, layout: Layout) -> dict[str, Any]:
        """Take a layout and return the state in which its panel begins: its first shift.

        Args:
            layout: it has at least two forward ranges.

        Raises:
            UsageError: it has fewer.
        """
        states = {item.name: in_range(layout, item.name) for item in layout.ranges}
        kinds = {name: _kind(state.mobility) for name, state in states.items()}
        neutral, forward, reverse = (tuple(name for name, kind in kinds.items() if kind == wanted) for wanted in _KINDS)
        if not neutral:
            reverse = ()
        if len(forward) < 2:
            ranges = say("one forward range") if forward else say("no forward range")
            raise UsageError(f"{layout.name} has {ranges}; a shift needs two.")
        self.layout_shown, self.neutral, self.forward, self.reverse = layout, neutral, forward, reverse
        ratios = [states[name].ratio for name in forward]
        # The first two with ratios of their own: a range and its twin with engine braking make no shift to look at.
        other = next((name for name, ratio in zip(forward, ratios, strict=True) if ratio != ratios[0]), forward[1])
        return {
            "train": train_spec(layout),
            "note": cannot_be_put_together(layout.sets),
            "drawing": stick_diagram.picture(layout, None, placed(layout), alone=False).svg(),
            "choices": {kind: list(names) for kind, names in zip(_KINDS, (neutral, forward, reverse), strict=True)},
            "from_range": forward[0],
            "to_range": other,
        }

    def has_room_for(self, layout: Layout) -> bool:
        """Return whether a layout has two forward ranges to shift between."""
        if not layout.plain:
            return False
        return [_kind(in_range(layout, item.name).mobility) for item in layout.ranges].count("forward") >= 2

    @traitlets.validate("from_range", "to_range")  # type: ignore[untyped-decorator]  # traitlets are seen without types
    def _range(self, proposal: Any) -> str:
        name = str(proposal["value"])
        self._check(*((name, self.to_range) if proposal["trait"].name == "from_range" else (self.from_range, name)))
        return name

    def _check(self, first: str, last: str) -> None:
        before, after = (*self.neutral, *self.forward), (*self.forward, *self.reverse)
        for name, known, kind in ((first, before, say("range to shift from")), (last, after, say("range to shift to"))):
            if name not in known:
                raise UsageError(f"{name!r} is no {kind} in {self.layout_shown.name}; it has: {', '.join(known)}.")
        if first in self.forward and last in self.reverse:
            raise UsageError(
                f"{first} to {last}: a rolling vehicle is not put into reverse; shift to {last} from "
                f"{listed(self.neutral, 'or')}."
            )

    def choose(self, from_range: str, to_range: str) -> None:
        """Choose the shift.

        Args:
            from_range: the forward range before, or a neutral.
            to_range: another forward range, after; out of a neutral also reverse.

        Raises:
            UsageError: no such range, twice the same, or into reverse while rolling.
        """
        if from_range == to_range:
            raise UsageError(f"{from_range} to {to_range} is no shift; choose two ranges of {', '.join(self.forward)}.")
        self._check(from_range, to_range)
        with self.hold_sync(), self.hold_trait_notifications():
            self.from_range, self.to_range = from_range, to_range

    def outcome(self) -> Shift:
        """Return what the shift changes, with speeds in r/min."""
        return shift(self.layout_shown, self.from_range, self.to_range, self.input_speed)

    def input_now(self) -> Fraction:
        """Return the input speed in r/min with the shift gone as far as it has."""
        outcome = self.outcome()
        return outcome.input_before + (self._input_after(outcome) - outcome.input_before) * Fraction(self.progress, 100)

    def _input_after(self, outcome: Shift) -> Fraction:
        """The input speed after the shift; at standstill the range holds the input still."""
        return Fraction(0) if outcome.input_after is None else outcome.input_after

    def words(self) -> str:
        """Return in a few sentences what the shift does."""
        outcome = self.outcome()
        where = say(", vehicle standing") if self.from_range in self.neutral else ""
        swap = say(
            "{off_going} off, {on_coming} on",
            off_going=listed(outcome.off_going) or say("nothing"),
            on_coming=listed(outcome.on_coming) or say("nothing"),
        )
        return say(
            "{layout_shown}, {from_range} to {to_range}, {kind}: {swap}. {progress} % done{where}: input {input_now} r/min, from {input_before} to {input_after}. {overlap} {underlap}",
            layout_shown=self.layout_shown.said_name,
            from_range=self.from_range,
            to_range=self.to_range,
            kind=outcome.kind,
            swap=swap,
            progress=self.progress,
            where=where,
            input_now=decimal(self.input_now(), 0),
            input_before=decimal(outcome.input_before, 0),
            input_after=decimal(self._input_after(outcome), 0),
            overlap=outcome.overlap_words(),
            underlap=outcome.underlap_words(),
        )

    def pictures(self) -> tuple[str, ...]:
        """Return the levers before and after the shift."""
        ends = [in_range(self.layout_shown, name).engaged for name in (self.from_range, self.to_range)]
        return tuple(lever_diagram.picture(self.layout_shown, engaged).svg() for engaged in ends)


def _kind(state: Mobility) -> str:
    if state.ratio is None:
        return str(state.verdict) if state.verdict is Verdict.NEUTRAL else ""
    return "forward" if state.ratio > 0 else "reverse"
