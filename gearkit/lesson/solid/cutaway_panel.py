"""The panel of the solid train: cut open, to be turned and looked at from every side; gated, until the bodies are predicted."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import traitlets

from gearkit.draw.core.wording import shaft_words
from gearkit.draw.cutaway import half_section
from gearkit.draw.cutaway.scene import scene, shaft_numbers
from gearkit.draw.cutaway.solid_placement import NotSolidError, solid_placement
from gearkit.draw.noted import cannot_be_put_together
from gearkit.draw.stick import stick_diagram
from gearkit.draw.stick.placement import placed
from gearkit.lesson.panels.base import TrainPanel
from gearkit.lesson.panels.bundle import script
from gearkit.lesson.panels.gated import GatedPanel
from gearkit.lesson.panels.spec import train_spec
from gearkit.lesson.predictions import Predictions
from gearkit.lesson.record import Record
from gearkit.solve.one_way import Working, working
from gearkit.solve.speeds import speeds
from gearkit.text.phrases import as_now_said, capital, exact_words, listed, member_label
from gearkit.train.catalogue import find
from gearkit.train.drivers import refuse_several
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import later, said, say
from gearkit.words.terms import HOUSING, INPUT, OUTPUT

STILL, BACK, FREE = later("still"), later("back"), later("free")
ALL_FORWARD = later("all forward")
_WORDS = {
    "forward": later("turn forward"),
    STILL: later("stand still"),
    BACK: later("turn back"),
    FREE: later("are fixed by nothing"),
}
_ONE_DOES = {
    "forward": later("turns forward"),
    STILL: later("stands still"),
    BACK: later("turns back"),
    FREE: later("is fixed by nothing"),
}


class CutawayPanel(TrainPanel, GatedPanel):
    """Applied elements in; the solid train out, each body at its speed. Traits can be read and set from Python.

    The stick diagram beside it is the bare train's, whose colours tell the shafts as those of the bodies do; the browser closes
    its plates.

    With ``gated`` it stays at rest until somebody said which bodies stand still and which turn back.
    """

    _esm = script("cutaway_panel")
    train = traitlets.Dict().tag(sync=True)
    scene = traitlets.Dict().tag(sync=True)
    refusal = traitlets.Unicode("").tag(sync=True)
    asked = traitlets.List().tag(sync=True)
    numbers = traitlets.List().tag(sync=True)
    ends = traitlets.Dict().tag(sync=True)
    drawing = traitlets.Unicode("").tag(sync=True)

    def __init__(self, layout: Layout, keeper: Predictions | None = None, **traits: Any) -> None:
        self.layout_shown = layout
        try:
            seen, refusal = scene(layout), ""
            self._placement = half_section.stick_placement(layout, solid_placement(layout))
        except NotSolidError as fault:
            seen, refusal = {}, str(fault)
            self._placement = placed(layout)
        bodies = [[body, _name(shaft)] for body, shaft in enumerate(layout.shafts) if HOUSING not in shaft]
        super().__init__(
            keeper, train=train_spec(layout), scene=seen, refusal=refusal, asked=bodies, numbers=shaft_numbers(layout),
            ends={end: layout.shaft_of(end) for end in (INPUT, OUTPUT)}, drawing=self._stick(None),
            note=cannot_be_put_together(layout.sets), **traits,
        )  # fmt: skip

    def kinds(self) -> tuple[str, ...]:
        """Return what a body can do."""
        return tuple(_WORDS)

    def needs_figure(self, kind: str) -> bool:
        """No body needs a number."""
        return False

    def predict_bodies(self, still: Sequence[str] = (), back: Sequence[str] = (), free: Sequence[str] = ()) -> None:
        """Keep a prediction for the applied elements, and set the train in motion; bodies not named turn forward.

        Args:
            still: a member of each body that stands still, such as ["P1.sun"].
            back: of each body that turns back.
            free: of each body whose speed nothing fixes.

        Raises:
            UsageError: the layout has no such member.
        """
        said = {
            self.layout_shown.shaft_of(name): kind
            for kind, names in ((STILL, still), (BACK, back), (FREE, free))
            for name in names
        }
        self.predict(self._told_as(said))

    def predict(self, kind: str, figure: str = "") -> None:
        """Keep a prediction written as the browser writes it, and set the train in motion; `predict_bodies` writes it.

        Args:
            kind: such as "still: sun 1; back: output"; bodies not named turn forward; "all forward" where none is.
            figure: not used.

        Raises:
            UsageError: a group other than still, back and free, or a name that is no body's first one.
        """
        kind = as_now_said(kind)
        known = {_first(name) for _, name in self.asked}
        for group in kind.split("; ") if kind != ALL_FORWARD else ():
            word, _, names = group.partition(": ")
            strange = [name for name in names.split(", ") if name not in known]
            if word not in (STILL, BACK, FREE) or strange:
                raise UsageError(
                    f"{group!r} does not say what bodies do; write it like 'still: sun 1; back: output', with names from: {', '.join(sorted(known))}."
                )
        with self.hold_sync():
            self.prediction = {"kind": kind, "figure": "", "typed": "", "case": self.case}
            self.opened = [*self.opened, self.case]

    def only_open(self) -> None:
        """Refuse to go on while the result is shut."""
        if not self.is_open:
            raise UsageError('It stays at rest until you predict, as in panel.predict_bodies(still=["P1.sun"]).')

    def speeds(self) -> dict[int, Fraction | None]:
        """Return the speed of each body as a multiple of the input's, by the number of its shaft; None where nothing fixes it.

        Raises:
            UsageError: the result is still shut; predict first.
        """
        self.only_open()
        return self._speeds()

    def _speeds(self) -> dict[int, Fraction | None]:
        state = self._state()
        turns = state.verdict.input_turns
        turning = speeds(self.layout_shown, state.engaged, int(turns))
        return {body: turning.of(self.layout_shown.shafts[body][0]) for body, _ in self.asked}

    def _state(self) -> Working:
        return working(self.layout_shown, self.engaged)

    def words(self) -> str:
        """Return in sentences what the panel shows now."""
        applied = say("{engaged} applied", engaged=listed(self.engaged)) if self.engaged else say("nothing applied")
        start = f"{self.layout_shown.said_name}: {applied}"
        if self.refusal:
            start = f"{start}. {capital(self.refusal.removeprefix(f'{self.layout_shown.said_name}: ')).rstrip('.')}"
        if not self.is_open:
            return say("{start}. Say which bodies stand still and which turn back to set it in motion.", start=start)
        state = self._state()
        result = said(state.verdict)
        if state.ratio is not None:
            result = say("a range, ratio {ratio}", ratio=exact_words(state.ratio))
        note = f", {state.note}" if state.note else ""
        return f"{start}: {result}{note}. {self._groups()}"

    def _groups(self) -> str:
        said = []
        for kind, words in _WORDS.items():
            names = [
                shaft_words(self.layout_shown.shafts[body][:1])
                for body, speed in self._speeds().items()
                if _kind(speed) == kind
            ]
            if names:
                verb = say(words if len(names) > 1 else _ONE_DOES[kind])
                said.append(f"{listed(names)} {verb}.")
        return " ".join(said)

    def pictures(self) -> tuple[str, ...]:
        """Return the half-section and the stick diagram; without speeds while the result is shut."""
        shown = self._state().engaged if self.is_open else None
        stick = self._stick(shown)
        return (stick,) if self.refusal else (half_section.picture(self.layout_shown, shown).svg(), stick)

    def found(self) -> dict[str, str]:
        """Return which bodies stand still, turn back or are free."""
        return {"kind": self._told_as({body: _kind(speed) for body, speed in self._speeds().items()}), "figure": ""}

    def _told_as(self, kinds: dict[int, str]) -> str:
        """What the bodies do, as the browser writes it; the input turns forward and is not asked."""
        groups = []
        for kind in (STILL, BACK, FREE):
            names = [
                member_label(self.layout_shown.shafts[body][0])
                for body, _ in self.asked
                if kinds.get(body) == kind and body != self.ends[INPUT]
            ]
            if names:
                groups.append(f"{kind}: {', '.join(_first(name) for name in names)}")
        return "; ".join(groups) or ALL_FORWARD

    def _stick(self, engaged: Iterable[str] | None) -> str:
        return stick_diagram.picture(self.layout_shown, engaged, self._placement, alone=False).svg()


def opened(record: Record, lesson: str, layout_name: str, range_name: str = "", *, predict: bool = False) -> CutawayPanel:
    """Return the panel of a layout in a lesson.

    Args:
        record: the learner's record.
        lesson: the lesson's number, such as "05".
        layout_name: a layout's name or file, such as "Q24".
        range_name: the range applied to begin with; empty for none.
        predict: whether it is gated.

    Raises:
        UsageError: no such layout or range, or one with several drivers, which the cutaway cannot show.
    """
    layout = find(layout_name)
    refuse_several(layout, say("the cutaway"))
    engaged = list(layout.engaged_in(range_name)) if range_name else []
    keeper = Predictions(record, lesson, f"{Path(layout_name).stem}, cut open")
    title = (
        say("Predict: {partition}, cut open", partition=layout.said_short)
        if predict
        else say("Explore: {partition}, cut open", partition=layout.said_short)
    )
    return CutawayPanel(layout, keeper, title=title, gated=predict, engaged=engaged)


def _name(shaft: tuple[str, ...]) -> str:
    return " · ".join(member_label(name) for name in shaft)


def _first(name: str) -> str:
    return name.split(" · ")[0]


def _kind(speed: Fraction | None) -> str:
    if speed is None:
        return FREE
    return STILL if speed == 0 else BACK if speed < 0 else "forward"
