"""A panel whose result may stay shut until something was predicted; what was said is kept, and never marked."""

from __future__ import annotations

from typing import Any

import traitlets

from gearkit.lesson.answering import LONGEST_TEXT
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.figures import figure_of
from gearkit.lesson.predictions import Predictions
from gearkit.words.errors import UsageError
from gearkit.words.say import in_english

# Of what was said for a case so much is kept; what the bodies of a train do takes most.
LONGEST = 240


class GatedPanel(Panel):
    """Cases that open one by one, each by a prediction. A subclass says what its cases are and what is found."""

    gated = traitlets.Bool(False).tag(sync=True)
    opened = traitlets.List(traitlets.Unicode()).tag(sync=True)
    prediction = traitlets.Dict().tag(sync=True)
    explanation = traitlets.Dict().tag(sync=True)
    history = traitlets.List(traitlets.Unicode()).tag(sync=True)
    afterwords = traitlets.Dict().tag(sync=True)

    def __init__(self, keeper: Predictions | None = None, **traits: Any) -> None:
        self._keeper = keeper
        super().__init__(**traits)
        if keeper is not None:
            self.history = keeper.history()
        self.observe(self._on_prediction, "prediction")
        self.observe(self._on_opened, "opened")
        self.observe(self._on_explanation, "explanation")
        self.on_msg(self._on_said)

    @property
    def keeper(self) -> Predictions | None:
        """Where predictions are kept; None where they are not."""
        return self._keeper

    @property
    def case(self) -> str:
        """The case at hand, as the key under which a prediction opens it: English words, in the browser as in the record."""
        with in_english():
            return self.case_words()

    def case_words(self) -> str:
        """Return the case at hand in words."""
        raise NotImplementedError

    def kinds(self) -> tuple[str, ...]:
        """Return what may be predicted for the case at hand."""
        raise NotImplementedError

    def needs_figure(self, kind: str) -> bool:
        """Return whether a prediction of this kind comes with a number."""
        raise NotImplementedError

    def found(self) -> dict[str, str]:
        """Return what there is to find: "kind" and "figure" as texts."""
        raise NotImplementedError

    def facts(self) -> dict[str, object]:
        """Return what the prediction was made for: tooth counts, speeds, applied elements."""
        raise NotImplementedError

    @property
    def figure_unit(self) -> str:
        """The unit that a predicted number may carry, or ""."""
        return ""

    @property
    def is_open(self) -> bool:
        """Whether the result may be seen."""
        return not self.gated or self.case in self.opened

    def predict(self, kind: str, figure: str = "") -> None:
        """Keep a prediction for the case at hand and open its result.

        Args:
            kind: one of ``kinds()``.
            figure: the number as text, where the kind needs one.

        Raises:
            UsageError: a word that is none of the kinds, or no number where one is needed.
        """
        if kind not in self.kinds():
            raise UsageError(f"{kind!r} is not one of the possible cases; choose from: {', '.join(self.kinds())}.")
        exact = str(figure_of(figure, self.figure_unit)) if self.needs_figure(kind) else ""
        with self.hold_sync():
            self.prediction = {"kind": kind, "figure": exact, "typed": figure, "case": self.case}
            self.opened = [*self.opened, self.case]

    def only_open(self) -> None:
        """Refuse to go on while the result is shut."""
        if not self.is_open:
            example = self.kinds()[0]
            raise UsageError(f'The result stays shut until you predict, as in panel.predict("{example}", "3.2").')

    def _on_said(self, _widget: object, content: Any, _buffers: object) -> None:
        """Take a prediction from the browser; numbers are read here, as in exercises and sheets, and what is wrong is sent back."""
        if not isinstance(content, dict) or content.get("do") != "predict":
            return
        try:
            self.predict(str(content.get("kind", "")), str(content.get("figure", ""))[:LONGEST_TEXT])
        except UsageError as fault:
            self.send({"trouble": str(fault)})

    def _on_prediction(self, change: Any) -> None:
        said = change["new"]
        if self._keeper is None or not said:
            return
        case = str(said.get("case", ""))
        words = {key: str(said.get(key, ""))[:LONGEST] for key in ("kind", "figure", "typed")}
        self._keeper.keep(case, self.facts(), words, self.case_words() if case == self.case else case)
        self._keeper.reveal(case, self.found())
        self.history = self._keeper.history()

    def _on_opened(self, change: Any) -> None:
        # Only what is said of open cases leaves the kernel.
        if self.gated and self._keeper is not None:
            self.afterwords = {case: self._keeper.afterword(case) for case in change["new"]}

    def _on_explanation(self, change: Any) -> None:
        said = change["new"]
        if self._keeper is not None and said:
            self._keeper.explain(str(said.get("case", "")), str(said.get("text", "")))
