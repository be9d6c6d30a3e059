"""What every panel has in common: its script and style, its words, and a still picture where nothing can be live.

A saved notebook, a feedback page or a print has no kernel and no script. So each panel hands the notebook, beside the
live view, an HTML text with a drawing and the same facts in words; whatever shows the notebook takes the best it can.
"""

from __future__ import annotations

from html import escape
from typing import Any

import anywidget
import traitlets

from gearkit.lesson.panels.bundle import style

_WIDGET_VIEW = "application/vnd.jupyter.widget-view+json"


class Panel(anywidget.AnyWidget):  # type: ignore[misc]  # anywidget has no types of its own
    """A live panel whose state can be read and set from Python without a browser."""

    _css = style()
    title = traitlets.Unicode("").tag(sync=True)

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

    def static_html(self) -> str:
        """Return the present state as HTML without script: drawings and words."""
        drawings = "".join(f'<div style="flex:1 1 300px;max-width:460px">{svg}</div>' for svg in self.pictures())
        return (
            f'<section aria-label="{escape(self.title, quote=True)}">'
            f"<p><strong>{escape(self.title)}</strong></p>"
            f'<div style="display:flex;flex-wrap:wrap;gap:12px">{drawings}</div>'
            f"<p>{escape(self.words())}</p></section>"
        )

    def _repr_mimebundle_(self, **options: Any) -> tuple[dict[str, Any], dict[str, Any]]:
        live = super()._repr_mimebundle_(**options)
        data: dict[str, Any] = {"text/plain": f"{self.title}. {self.words()}", "text/html": self.static_html()}
        if isinstance(live, tuple):
            data[_WIDGET_VIEW] = live[0].get(_WIDGET_VIEW)
        elif isinstance(live, dict):
            data[_WIDGET_VIEW] = live.get(_WIDGET_VIEW)
        if data.get(_WIDGET_VIEW) is None:
            data.pop(_WIDGET_VIEW, None)
        return data, {}
