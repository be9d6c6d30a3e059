"""What every panel has in common: its script and style, its words, and a still picture where nothing can be live.

A saved notebook, a feedback page or a print has no kernel and no script. So each panel hands the notebook, before the
live view, a still: an HTML text with drawings and the same facts in words, kept in step with the panel (`stills`).
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import Any

import anywidget
import traitlets

from gearkit.draw.core.embed import as_image
from gearkit.lesson.panels.bundle import messages, style
from gearkit.lesson.stills import Still
from gearkit.solve.mobility import checked
from gearkit.text.phrases import AND
from gearkit.train.layout import Layout
from gearkit.words.say import say

_WIDGET_VIEW = "application/vnd.jupyter.widget-view+json"


class Panel(anywidget.AnyWidget):  # type: ignore[misc]  # anywidget has no types of its own
    """A live panel whose state can be read and set from Python without a browser."""

    # Whether what it shows depends on who looks at it, such as an exercise with drawn numbers.
    for_one_learner = False
    _css = style()
    title = traitlets.Unicode("").tag(sync=True)
    # What cannot be put together in the train that it shows, in sentences.
    note = traitlets.Unicode("").tag(sync=True)
    # What its JavaScript says, in the reader's language.
    messages = traitlets.Dict().tag(sync=True)

    def __init__(self, **traits: Any) -> None:
        self._still = Still(self.static_html, self._told)
        super().__init__(messages=messages(str(type(self)._esm)), **traits)

    def words(self) -> str:
        """Return in one or two sentences what the panel shows now."""
        raise NotImplementedError

    def pictures(self) -> tuple[str, ...]:
        """Return still drawings of the present state, each an SVG text with its own text alternative."""
        raise NotImplementedError

    def notify_change(self, change: Any) -> None:
        """Tell the browser of a change together with all that follows from it, in one message."""
        with self.hold_sync():
            super().notify_change(change)
        self._still.renew_soon()

    def static_html(self) -> str:
        """Return the present state as HTML without script: drawings and words."""
        drawings = "".join(
            f'<div style="flex:1 1 300px;max-width:460px;overflow-x:auto">{as_image(svg)}</div>' for svg in self.pictures()
        )
        note = f"<p>{escape(self.note)}</p>" if self.note else ""
        return (
            f'<section aria-label="{escape(self.title, quote=True)}">'
            f"<p><strong>{escape(self.title)}</strong></p>"
            f'<div style="display:flex;flex-wrap:wrap;gap:12px">{drawings}</div>'
            f"<p>{escape(self.words())}</p>{note}</section>"
        )

    def _told(self) -> str:
        return " ".join(filter(None, [f"{self.title}. {self.words()}", self.note]))

    def _ipython_display_(self) -> None:
        from IPython.display import display

        self._still.show()
        display({_WIDGET_VIEW: self._live_view()}, raw=True)

    def _repr_mimebundle_(self, **_options: Any) -> tuple[dict[str, Any], dict[str, Any]]:
        data: dict[str, Any] = {"text/plain": self._told(), "text/html": self.static_html()}
        return {**data, _WIDGET_VIEW: self._live_view()}, {}

    def _live_view(self) -> dict[str, Any]:
        live = super()._repr_mimebundle_()
        assert live is not None, "a panel has a view"
        view: dict[str, Any] = live[0][_WIDGET_VIEW]
        return view


class TrainPanel(Panel):
    """A panel of a train whose elements can be applied."""

    layout_shown: Layout
    engaged = traitlets.List(traitlets.Unicode()).tag(sync=True)

    @traitlets.validate("engaged")  # type: ignore[untyped-decorator]  # traitlets are seen without types
    def _known_elements(self, proposal: Any) -> list[str]:
        return list(self._checked(proposal["value"]))

    def _checked(self, engaged: Iterable[str]) -> Iterable[str]:
        return checked(self.layout_shown, engaged)

    def facts(self) -> dict[str, object]:
        """Return the applied elements."""
        return {"engaged": list(self.engaged)}

    def case_words(self) -> str:
        """Return the case at hand: the applied elements, in the layout's order. The browser joins them the same way."""
        return say("{engaged} applied", engaged=f" {say(AND)} ".join(self.engaged)) if self.engaged else say("nothing applied")

    def apply(self, *elements: str) -> None:
        """Apply these elements and no others.

        Args:
            elements: names of elements, such as "B", "C".

        Raises:
            UsageError: the layout has no such element.
        """
        self.engaged = list(elements)

    def apply_range(self, range_name: str) -> None:
        """Apply the elements of a range of the chart.

        Args:
            range_name: such as "1" or "R".
        """
        self.engaged = list(self.layout_shown.engaged_in(range_name))
