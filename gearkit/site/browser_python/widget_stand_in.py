"""Stands in for `anywidget` on a page: panels run unchanged, tied to the page by two plain functions.

The page's Python finds this text as the module ``anywidget``, so that neither ipywidgets nor IPython has to be loaded. A
panel that has a name sends its changes as JSON to ``outbox``; one that nobody has named yet is only a Python object.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import traitlets

outbox: list[Callable[[str], None]] = []


class AnyWidget(traitlets.HasTraits):  # type: ignore[misc]  # traitlets are seen without types
    """Traits tagged ``sync`` are sent when they change; what the page changed is taken without an echo."""

    page_name = ""
    _held: set[str] | None = None

    def __init__(self, **traits: Any) -> None:
        self._heard: list[Callable[[object, object, object], None]] = []
        super().__init__(**traits)

    def notify_change(self, change: Any) -> None:
        """Tell the page of a change, together with what follows from it."""
        if self.page_name and self.trait_metadata(change["name"], "sync"):
            with self.hold_sync():
                assert self._held is not None, "changes are held"
                self._held.add(change["name"])
                super().notify_change(change)
        else:
            super().notify_change(change)

    @contextlib.contextmanager
    def hold_sync(self) -> Iterator[None]:
        """Send all changes of a block in one message."""
        if self._held is not None:
            yield
            return
        self._held = set()
        try:
            yield
        finally:
            held, self._held = self._held, None
            self._send_state(held)

    def take_state(self, state: Mapping[str, object]) -> None:
        """Take what the page changed; only what differs from that afterwards is sent back.

        Args:
            state: new values by the names of traits.
        """
        with self.hold_sync():
            for name, value in state.items():
                self.set_trait(name, value)
            assert self._held is not None, "changes are held"
            self._held -= {name for name, value in state.items() if getattr(self, name) == value}

    def on_msg(self, act: Callable[[object, object, object], None]) -> None:
        """Call a function with this panel, the content and no buffers for each message from the page.

        Args:
            act: the function.
        """
        self._heard.append(act)

    def take_message(self, content: object) -> None:
        """Pass a message from the page on.

        Args:
            content: the message.
        """
        for act in self._heard:
            act(self, content, [])

    def send(self, content: object) -> None:
        """Send a message to the page.

        Args:
            content: anything JSON can hold.
        """
        self._out({"content": content})

    def _send_state(self, names: set[str]) -> None:
        if names:
            self._out({"state": {name: getattr(self, name) for name in sorted(names)}})

    def _out(self, what: dict[str, object]) -> None:
        if self.page_name and outbox:
            outbox[0](json.dumps({"panel": self.page_name, **what}))
