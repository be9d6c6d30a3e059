"""Debian's Firefox and WebKit, driven from tests without anything fetched: the one through WebDriver BiDi, the other through WebDriver."""

from __future__ import annotations

import base64
import contextlib
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Protocol

SECONDS = 60
# What keeps Firefox from asking the network for anything of its own, and lets it draw WebGL without a graphics card.
_QUIET = {
    "app.normandy.enabled": False, "app.update.enabled": False, "browser.shell.checkDefaultBrowser": False,
    "datareporting.policy.dataSubmissionEnabled": False, "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False, "browser.safebrowsing.malware.enabled": False, "extensions.update.enabled": False,
    "services.settings.server": "http://127.0.0.1:9", "webgl.force-enabled": True, "remote.prefs.recommended": True,
}  # fmt: skip


class Browser(Protocol):
    """What tests ask of a browser."""

    def goto(self, address: str) -> None:
        """Open an address and wait until it is loaded."""

    def evaluate(self, expression: str) -> Any:
        """Return what an expression of JavaScript gives, promises waited for."""

    def press(self, key: str, held: str = "") -> None:
        """Press a key with another one held down, on whatever has the focus."""

    def picture(self) -> bytes:
        """Return what is seen as PNG."""


def until(browser: Browser, expression: str, what: str = "") -> None:
    """Wait until an expression is true.

    Args:
        browser: the browser.
        expression: of JavaScript.
        what: what is waited for, in words.
    """
    give_up = time.monotonic() + SECONDS
    while not browser.evaluate(expression):
        assert time.monotonic() < give_up, f"waited in vain for {what or expression}"
        time.sleep(0.1)


class _Firefox:
    def __init__(self, address: str) -> None:
        import websocket

        self.line = websocket.create_connection(f"{address}/session", timeout=SECONDS, suppress_origin=True)
        self.number = 0
        self.ask("session.new", capabilities={})
        self.context = self.ask("browsingContext.getTree")["contexts"][0]["context"]

    def ask(self, method: str, **params: Any) -> dict[str, Any]:
        self.number += 1
        self.line.send(json.dumps({"id": self.number, "method": method, "params": params}))
        while True:
            told = json.loads(self.line.recv())
            if told.get("id") == self.number:
                assert told["type"] == "success", told
                return dict(told["result"])

    def size(self, width: int, height: int) -> None:
        self.ask("browsingContext.setViewport", context=self.context, viewport={"width": width, "height": height})

    def goto(self, address: str) -> None:
        self.ask("browsingContext.navigate", context=self.context, url=address, wait="complete")

    def evaluate(self, expression: str) -> Any:
        # As text, so that it comes back as plain data and not as the protocol's own form.
        text = f"(async () => JSON.stringify((await ({expression})) ?? null))()"
        told = self.ask("script.evaluate", expression=text, target={"context": self.context}, awaitPromise=True)
        assert told["type"] == "success", told
        return json.loads(told["result"]["value"])

    def press(self, key: str, held: str = "") -> None:
        keys = [*([("keyDown", held)] if held else []), ("keyDown", key), ("keyUp", key), *([("keyUp", held)] if held else [])]
        steps = [{"type": kind, "value": value} for kind, value in keys]
        self.ask("input.performActions", context=self.context, actions=[{"type": "key", "id": "keys", "actions": steps}])

    def picture(self) -> bytes:
        return base64.b64decode(self.ask("browsingContext.captureScreenshot", context=self.context)["data"])


@contextlib.contextmanager
def firefox(width: int = 1280, height: int = 900) -> Iterator[Browser]:
    """Open Firefox without a window and close it afterwards.

    Args:
        width: of what is seen, px.
        height: of what is seen, px.
    """
    with tempfile.TemporaryDirectory(prefix="fox", ignore_cleanup_errors=True) as profile:
        lines = [f"user_pref({json.dumps(name)}, {json.dumps(value)});" for name, value in _QUIET.items()]
        (Path(profile) / "user.js").write_text("\n".join(lines))
        command = ["firefox-esr", "--headless", "--no-remote", "--profile", profile, "--remote-debugging-port", "0"]
        log = Path(profile) / "told.log"
        with _running(command, log):
            told = _awaited(lambda: re.search(r"ws://127\.0\.0\.1:\d+", log.read_text()), "Firefox")
            browser = _Firefox(told.group())
            browser.size(width, height)
            yield browser


class _WebKit:
    def __init__(self, base: str) -> None:
        self.base = base
        self.session = ""
        options = {"webkitgtk:browserOptions": {"binary": mini_browser(), "args": ["--automation"]}}
        self.session = "/session/" + self.ask("/session", capabilities={"alwaysMatch": options})["sessionId"]

    def ask(self, path: str, **body: Any) -> Any:
        request = urllib.request.Request(
            self.base + self.session + path, json.dumps(body).encode(), {"Content-Type": "application/json"}
        )
        try:
            with urllib.request.urlopen(request, timeout=SECONDS) as answer:
                return json.loads(answer.read())["value"]
        except urllib.error.HTTPError as fault:
            raise AssertionError(fault.read().decode()) from None

    def size(self, width: int, height: int) -> None:
        self.ask("/window/rect", width=width, height=height)

    def goto(self, address: str) -> None:
        self.ask("/url", url=address)

    def evaluate(self, expression: str) -> Any:
        body = (
            "const done = arguments[0]; (async () => JSON.stringify((await ("
            + expression
            + ")) ?? null))().then(done, (fault) => done(JSON.stringify({ fault: String(fault) })));"
        )
        return json.loads(self.ask("/execute/async", script=body, args=[]))

    def press(self, key: str, held: str = "") -> None:
        keys = [*([("keyDown", held)] if held else []), ("keyDown", key), ("keyUp", key), *([("keyUp", held)] if held else [])]
        steps = [{"type": kind, "value": value} for kind, value in keys]
        self.ask("/actions", actions=[{"type": "key", "id": "keys", "actions": steps}])

    def picture(self) -> bytes:
        with urllib.request.urlopen(f"{self.base}{self.session}/screenshot", timeout=SECONDS) as answer:
            return base64.b64decode(json.loads(answer.read())["value"])


def mini_browser() -> str | None:
    """Return where Debian keeps the small browser that WebKit is tested with; None where there is none."""
    found = sorted(Path("/usr/lib").glob("*/webkit2gtk-4*/MiniBrowser"))
    return str(found[-1]) if found else None


@contextlib.contextmanager
def webkit(width: int = 1280, height: int = 900) -> Iterator[Browser]:
    """Open WebKit on a screen of its own that nobody sees, and close it afterwards.

    Args:
        width: of the window, px.
        height: of the window, px.
    """
    with tempfile.TemporaryDirectory(prefix="webkit", ignore_cleanup_errors=True) as place, contextlib.ExitStack() as stack:
        screen = Path(place) / "screen.log"
        stack.enter_context(_running(["Xvfb", "-displayfd", "1", "-screen", "0", "1400x1300x24", "-nolisten", "tcp"], screen))
        display = _awaited(lambda: re.search(r"^\d+$", screen.read_text(), re.MULTILINE), "the screen").group()
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port = probe.getsockname()[1]
        own = {
            "DISPLAY": f":{display}",
            "HOME": place,
            "XDG_RUNTIME_DIR": place,
            "NO_AT_BRIDGE": "1",
            "WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS": "1",
        }
        stack.enter_context(
            _running(["WebKitWebDriver", f"--port={port}", "--host=127.0.0.1"], Path(place) / "driver.log", own)
        )
        base = f"http://127.0.0.1:{port}"
        _awaited(lambda: _answers(f"{base}/status"), "WebKit's driver")
        browser = _WebKit(base)
        browser.size(width, height)
        yield browser


def missing(name: str) -> str:
    """Return what a browser lacks here, in words; empty where it can be driven.

    Args:
        name: "firefox" or "webkit".
    """
    needed = {"firefox": ["firefox-esr"], "webkit": ["WebKitWebDriver", "Xvfb"]}[name]
    lacks = [program for program in needed if shutil.which(program) is None]
    if name == "webkit" and mini_browser() is None:
        lacks.append("MiniBrowser")
    return f"{' and '.join(lacks)} not installed" if lacks else ""


@contextlib.contextmanager
def _running(command: list[str], log: Path, more: dict[str, str] | None = None) -> Iterator[None]:
    with log.open("w") as told:
        process = subprocess.Popen(
            command, stdout=told, stderr=told, env={**os.environ, **(more or {})}, start_new_session=True
        )
    try:
        yield
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGTERM)
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)


def _answers(address: str) -> bool:
    with contextlib.suppress(OSError), urllib.request.urlopen(address, timeout=2):
        return True
    return False


def _awaited(look: Any, what: str) -> Any:
    give_up = time.monotonic() + SECONDS
    while time.monotonic() < give_up:
        found = look()
        if found:
            return found
        time.sleep(0.1)
    raise AssertionError(f"{what} did not start")
