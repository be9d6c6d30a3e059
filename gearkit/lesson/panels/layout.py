"""The panel of a whole train: free to explore, or shut until something was predicted for the applied elements."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import traitlets

from gearkit.draw.lever import lever_diagram
from gearkit.draw.noted import cannot_be_put_together
from gearkit.draw.stick import stick_diagram
from gearkit.draw.stick.placement import placed
from gearkit.explain.render import as_html
from gearkit.explain.story import tell
from gearkit.lesson.panels.base import TrainPanel
from gearkit.lesson.panels.bundle import script
from gearkit.lesson.panels.gated import GatedPanel
from gearkit.lesson.panels.spec import train_spec
from gearkit.lesson.predictions import Predictions
from gearkit.lesson.trains.train_choice import TrainChoice
from gearkit.solve.mobility import Mobility, checked
from gearkit.solve.one_way import Working, working
from gearkit.solve.speeds import Speeds, speeds
from gearkit.text.phrases import exact_words, listed
from gearkit.train.layout import Layout
from gearkit.words.say import said, say
from gearkit.words.terms import Verdict

KINDS = ("forward", "reverse", *(verdict.value for verdict in Verdict if verdict is not Verdict.RANGE))


class LayoutPanel(TrainChoice, TrainPanel, GatedPanel):
    """Applied elements in; state, speeds, levers and the turning sets out. Traits can be read and set from Python.

    With ``gated`` the result of a combination stays hidden until a prediction was made for it.
    """

    _esm = script("layout_panel")
    train = traitlets.Dict().tag(sync=True)
    drawing = traitlets.Unicode("").tag(sync=True)
    story = traitlets.Unicode("").tag(sync=True)
    input_speed = traitlets.Int(1000, min=0, max=3000).tag(sync=True)

    def __init__(self, layout: Layout, keeper: Predictions | None = None, **traits: Any) -> None:
        self._take(layout)
        super().__init__(keeper, train=train_spec(layout), note=cannot_be_put_together(layout.sets), **traits)
        self._redraw()
        self.observe(self._redraw, ["engaged", "opened"])
        self.on_msg(self._on_message)

    def _take(self, layout: Layout) -> None:
        self.layout_shown = layout
        self._placement = placed(layout)

    def begin(self, layout: Layout) -> dict[str, Any]:
        """Take a layout and return the state in which its panel begins: its first range."""
        self._take(layout)
        engaged = tuple(layout.ranges[0].engaged) if layout.ranges else ()
        drawing, story = self._drawn(engaged)
        note = cannot_be_put_together(layout.sets)
        return {"train": train_spec(layout), "note": note, "engaged": list(engaged), "drawing": drawing, "story": story}

    def kinds(self) -> tuple[str, ...]:
        """Return directions and states."""
        return KINDS

    def needs_figure(self, kind: str) -> bool:
        """Return whether a ratio has to be said besides."""
        return kind in ("forward", "reverse")

    def outcome(self) -> Mobility:
        """Return the state of the applied elements in drive, with the ratio where there is one.

        Raises:
            UsageError: the result is still shut; predict first.
        """
        self.only_open()
        return self._state().mobility

    def _state(self) -> Working:
        """What the ticked elements do once the one-way clutches have taken hold or let go."""
        return working(self.layout_shown, self.engaged)

    def speeds(self) -> Speeds:
        """Return the speed of every member as a multiple of the input's; all at rest where the input cannot turn.

        Raises:
            UsageError: the result is still shut; predict first.
        """
        verdict = self.outcome().verdict
        turns = verdict.input_turns
        return speeds(self.layout_shown, self._state().engaged, input_speed=int(turns))

    def words(self) -> str:
        """Return in a sentence what the panel shows now."""
        applied = say("{engaged} applied", engaged=listed(self.engaged)) if self.engaged else say("nothing applied")
        start = f"{self.layout_shown.said_name}: {applied}"
        if not self.is_open:
            return say("{start}. Predict what input and output do to see it.", start=start)
        state = self._state()
        note = f", {state.note}" if state.note else ""
        if state.ratio is None:
            return f"{start}: {said(state.verdict)}{note}."
        return say("{start}: a range, ratio {ratio}{note}.", start=start, ratio=exact_words(state.ratio), note=note)

    def pictures(self) -> tuple[str, ...]:
        """Return the stick diagram and the lever diagram; without speeds while the result is shut."""
        levers = lever_diagram.picture(self.layout_shown, self._state().engaged if self.is_open else None).svg()
        return (str(self.drawing), levers)

    def _redraw(self, _change: Any = None) -> None:
        # The browser closes the plates at once; the power path and the held shafts need the solver and follow.
        drawing, story = self._drawn(tuple(self.engaged) if self.is_open else None)
        with self.hold_sync():
            self.drawing, self.story = drawing, story

    def _drawn(self, engaged: tuple[str, ...] | None) -> tuple[str, str]:
        story = as_html(tell(self.layout_shown, engaged=engaged)) if engaged else ""
        drawn = None if engaged is None else working(self.layout_shown, engaged).engaged
        return stick_diagram.picture(self.layout_shown, drawn, self._placement, alone=False).svg(), story

    def _on_message(self, _widget: object, content: Any, _buffers: object) -> None:
        """Send drawing and story of each range of the chart, once the panel stands; never ahead of a prediction."""
        if self.gated or not isinstance(content, dict) or content.get("do") != "ranges":
            return
        for engaged in dict.fromkeys(checked(self.layout_shown, item.engaged) for item in self.layout_shown.ranges):
            drawing, story = self._drawn(engaged)
            self.send({"range": " ".join(engaged), "drawing": drawing, "story": story})

    def found(self) -> dict[str, str]:
        """Return the state, or the direction and the ratio of a range."""
        state = self._state()
        if state.ratio is None:
            return {"kind": state.verdict.value, "figure": ""}
        return {"kind": "forward" if state.ratio > 0 else "reverse", "figure": str(Fraction(state.ratio))}
