"""What stands in a notebook beside a live panel: its last picture and words, seen where the panel cannot be live.

A notebook front end shows of one output only what it likes best, and of a panel it likes the live view, even where the
saved notebook has no kernel behind it any more; then it says "model not found". So a panel is two outputs: first the
still, then the live view. A style that comes with the still shows the one or the other. A notebook that is not trusted
drops the style and the live view, and is left with the still; so does a page made from the notebook.
"""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import Callable

from gearkit.words.say import later

CLASS = "gk-still"
AGAIN = later("Run this lesson from the top to use the panel again.")
# The state comes to rest before a still is drawn anew: nobody sees it while the panel is live.
REST_SECONDS = 1.0

# The still's own place in the notebook; after it comes the place of the live view. Only a notebook that runs has
# "lm-Widget" there, and its output has the class "jupyter-widgets" of its own where the model is not found, a panel in it
# where it is.
_NEXT = ".jp-OutputArea-child"
_PLACE = f"{_NEXT}:has(> .jp-OutputArea-output > .{CLASS})"
_LIVE = "> .lm-Widget.jp-OutputArea-output:not(.jupyter-widgets)"
_LOST = "> .lm-Widget.jp-OutputArea-output.jupyter-widgets"
STYLE = (
    f"<style>{_PLACE}:has(+ {_NEXT} {_LIVE}){{display:none}}"
    f"{_PLACE}:has(+ {_NEXT} .gk-panel){{display:none}}"
    f"{_PLACE} + {_NEXT}:has({_LOST}):not(:has(.gk-panel)){{display:none}}"
    f".{CLASS}{{border:1px solid;border-radius:6px;padding:0.2em 0.9em}}</style>"
)


def as_html(inside: str) -> str:
    """Return a still with what tells the notebook when to show it.

    Args:
        inside: the panel's state as HTML without script.
    """
    return f'{STYLE}<div class="{CLASS}">{inside}<p>▷ {AGAIN}</p></div>'


class Still:
    """The still of one panel, in every place where the panel is shown.

    Args:
        html: returns the panel's state as HTML without script.
        words: returns the same facts in words.
    """

    def __init__(self, html: Callable[[], str], words: Callable[[], str]) -> None:
        self._html = html
        self._words = words
        self._name = f"gk-{secrets.token_hex(8)}"
        self._shown = False
        self._waiting: asyncio.TimerHandle | None = None

    def show(self) -> None:
        """Put the still into the notebook."""
        from IPython.display import display

        display(self._data(), raw=True, display_id=self._name)
        self._shown = True

    def renew_soon(self) -> None:
        """Draw the still anew once nothing has changed for a moment; without a running kernel there is none to renew."""
        if not self._shown:
            return
        if self._waiting is not None:
            self._waiting.cancel()
        try:
            self._waiting = asyncio.get_running_loop().call_later(REST_SECONDS, self._renew)
        except RuntimeError:
            self._waiting = None

    def _renew(self) -> None:
        from IPython.display import update_display

        self._waiting = None
        update_display(self._data(), raw=True, display_id=self._name)

    def _data(self) -> dict[str, str]:
        return {"text/html": as_html(self._html()), "text/plain": self._words()}
