"""A page that shows one panel without a notebook: its script runs in Chromium, its Python side in the test's own process.

Messages go both ways as between a notebook and its kernel, one after the other and only when a test says so; the page's
clock is the test's too. So a hundred actions take seconds, and a slow kernel can be played.
"""

from __future__ import annotations

import contextlib
import logging
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from comm.base_comm import BaseComm
from playwright.sync_api import ConsoleMessage, Page
from traitlets.log import get_logger

from gearkit.lesson.panels.base import Panel
from tests.browser import lab

_ROUNDS = 50
# A model as a front end gives it to a panel: a change is told of at once, one name after the other; a message's state is
# all there before any of it is told.
_PAGE = """<!DOCTYPE html><meta charset="utf-8"><style>body { font-family: sans-serif; margin: 12px; }</style><div id="place"></div><script>
class Model {
  constructor(state) { this.state = state; this.heard = []; this.unsaved = {}; this.sent = []; }
  get(name) { return this.state[name]; }
  set(name, value) {
    if (JSON.stringify(this.state[name]) === JSON.stringify(value)) return;
    this.state[name] = value;
    this.unsaved[name] = value;
    this.tell(`change:${name}`);
  }
  save_changes() {
    if (Object.keys(this.unsaved).length) this.sent.push({ method: "update", state: this.unsaved });
    this.unsaved = {};
  }
  send(content) { this.sent.push({ method: "custom", content }); }
  on(event, act) { this.heard.push([event, act]); }
  off(event, act) { this.heard = this.heard.filter(([name, other]) => name !== event || other !== act); }
  tell(event, content) { for (const [name, act] of [...this.heard]) if (name === event) act(content); }
  take() { const sent = this.sent; this.sent = []; return JSON.parse(JSON.stringify(sent)); }
  hear(message) {
    if (message.method === "custom") { this.tell("msg:custom", message.content); return; }
    const changed = Object.keys(message.state).filter((name) => JSON.stringify(this.state[name]) !== JSON.stringify(message.state[name]));
    Object.assign(this.state, message.state);
    for (const name of changed) this.tell(`change:${name}`);
  }
}
async function show({ script, style, state }) {
  document.head.append(Object.assign(document.createElement("style"), { textContent: style }));
  const panel = (await import(URL.createObjectURL(new Blob([script], { type: "text/javascript" })))).default;
  window.model = new Model(state);
  window.close = panel.render({ model: window.model, el: document.getElementById("place") });
}
</script>"""


class _Wire(BaseComm):
    """The kernel's end of a comm; what it sends is put down."""

    def __init__(self) -> None:
        self.sent: list[dict[str, Any]] = []
        super().__init__(target_name="jupyter.widget")

    def publish_msg(self, msg_type: str, data: Any = None, *_: Any, **__: Any) -> None:
        # The front end that made a change knows it already.
        if msg_type == "comm_msg" and data.get("method") != "echo_update":
            self.sent.append(data)


class _Keeper(logging.Handler):
    """Keeps what the Python side could only log, as an error in a callback of a widget is."""

    def __init__(self, troubles: list[str]) -> None:
        super().__init__(logging.WARNING)
        self._troubles = troubles

    def emit(self, record: logging.LogRecord) -> None:
        cause = record.exc_info[1] if record.exc_info else None
        self._troubles.append(f"kernel: {record.getMessage()}: {cause!r}")


@dataclass
class Shown:
    """A panel on a page.

    Args:
        page: the browser's page.
        panel: the panel's Python side.
        wire: what the Python side sent and the page has not heard yet.
        troubles: errors of the page and of the Python side, in words.
    """

    page: Page
    panel: Panel
    wire: _Wire
    troubles: list[str] = field(default_factory=list)

    def pass_time(self, milliseconds: int = 250) -> None:
        """Let the page's clock run, so that what waits for a moment of rest is sent."""
        self.page.clock.run_for(milliseconds)

    def carry(self) -> bool:
        """Carry what waits on either side across once; return whether there was anything."""
        up: list[dict[str, Any]] = self.page.evaluate("model.take()")
        for data in up:
            self.panel._handle_msg({"content": {"data": {**data, "buffer_paths": []}}, "buffers": []})
        down, self.wire.sent = self.wire.sent, []
        if down:
            self.page.evaluate("messages => { for (const message of messages) model.hear(message); }", down)
        return bool(up or down)

    def settle(self) -> None:
        """Let time pass and messages go until nothing is left to say."""
        for _ in range(_ROUNDS):
            self.pass_time()
            if not self.carry():
                return
        raise AssertionError("page and kernel never come to rest")


@contextlib.contextmanager
def blank_page(width: int = 1000, height: int = 1100) -> Iterator[Page]:
    """Open a browser with a page whose clock the test moves.

    Args:
        width: of the window in px.
        height: of the window in px.
    """
    with lab.browser_page(width, height) as page:
        page.clock.install()
        yield page


@contextlib.contextmanager
def show(page: Page, panel: Panel) -> Iterator[Shown]:
    """Show a panel on a page, alone.

    Args:
        page: from `blank_page`; whatever it showed is gone.
        panel: the panel.
    """
    panel.comm = wire = _Wire()
    shown = Shown(page, panel, wire)

    def page_error(fault: object) -> None:
        shown.troubles.append(f"page: {fault}")

    def console(told: ConsoleMessage) -> None:
        # Drawing by software, Chromium tells of its own copying to the screen; no panel reads pixels.
        if told.type in ("error", "warning") and "GPU stall due to ReadPixels" not in told.text:
            shown.troubles.append(f"console: {told.text}")

    keeper = _Keeper(shown.troubles)
    page.on("pageerror", page_error)
    page.on("console", console)
    get_logger().addHandler(keeper)
    try:
        page.goto("about:blank")
        page.set_content(_PAGE)
        page.evaluate("show", {"script": panel._esm, "style": panel._css, "state": panel.get_state()})
        shown.settle()
        yield shown
    finally:
        get_logger().removeHandler(keeper)
        page.remove_listener("pageerror", page_error)
        page.remove_listener("console", console)
        panel.close()
