"""JupyterLab (or Notebook 7) on 127.0.0.1 and headless Chromium, both bounded in time and ended by the test itself."""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Page, expect, sync_playwright

from tests.lesson.notebooks import KERNEL
from tests.support import chromium

START_SECONDS = 90
STEP_MILLISECONDS = 90_000
KERNEL_IDLE = "Python 3 (ipykernel) | Idle"
QUIET = {
    "@jupyterlab/apputils-extension:notification": {
        "fetchNews": "false", "checkForUpdates": False, "doNotDisturbMode": True,
    },
    "@jupyterlab/notebook-extension:tracker": {"windowingMode": "none"},
}  # fmt: skip

_WIDGETS_KEPT: dict[str, dict[str, object]] = {"@jupyter-widgets/jupyterlab-manager:plugin": {"saveState": True}}


@dataclass(frozen=True)
class Server:
    """A running notebook server.

    Args:
        base: its address.
        token: the word that lets a browser in.
        app: "lab" or "notebook".
    """

    base: str
    token: str
    app: str

    def address_of(self, path: str) -> str:
        """Return the address at which a notebook opens."""
        kind = "lab/tree" if self.app == "lab" else "notebooks"
        reset = "reset&" if self.app == "lab" else ""
        return f"{self.base}/{kind}/{path}?{reset}token={self.token}"


@contextlib.contextmanager
def serve(
    root: Path,
    app: str = "lab",
    *,
    dark: bool = False,
    home: Path | None = None,
    keep_widgets: bool = False,
    own_command: Sequence[str] = (),
) -> Iterator[Server]:
    """Start a notebook server over a folder and stop it afterwards.

    Args:
        root: the folder whose notebooks it shows.
        app: "lab" for JupyterLab, "notebook" for Notebook 7.
        dark: whether the dark theme is on.
        home: where the server keeps its own files, such as what it trusts, for a later one; forgotten when None.
        own_command: how a learner starts it, with the kit's settings alone; empty for the tests' own quiet ones.
        keep_widgets: whether the state of widgets is saved with a notebook, which is off unless somebody asks for it.
    """
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    token = secrets.token_hex(16)
    with contextlib.ExitStack() as stack:
        private = str(home) if home is not None else stack.enter_context(tempfile.TemporaryDirectory(prefix="lab"))
        settings = {**QUIET, **_theme(dark), **(_WIDGETS_KEPT if keep_widgets else {})}
        environment = _private_environment(Path(private), {} if own_command else settings)
        start = own_command or [sys.executable, "-m", "jupyterlab" if app == "lab" else "notebook", "--allow-root"]
        command = [
            *start, "--no-browser",
            "--ServerApp.ip=127.0.0.1", f"--ServerApp.port={port}", "--ServerApp.port_retries=0",
            f"--IdentityProvider.token={token}", *([] if own_command else [f"--ServerApp.root_dir={root}"]),
        ]  # fmt: skip
        with (Path(private) / "server.log").open("w") as log:
            process = subprocess.Popen(command, env=environment, cwd=root, stdout=log, stderr=log, start_new_session=True)
        try:
            base = f"http://127.0.0.1:{port}"
            _wait_until_up(process, f"{base}/api?token={token}", Path(private) / "server.log")
            yield Server(base, token, app)
        finally:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGTERM)
            process.wait(30)


def _private_environment(private: Path, wanted: dict[str, dict[str, object]]) -> dict[str, str]:
    settings = private / "config" / "labconfig"
    settings.mkdir(parents=True, exist_ok=True)
    (settings / "default_setting_overrides.json").write_text(json.dumps(wanted))
    # The kernel runs in the learner's folder; without an installed kit it has to be told where the checkout is.
    return dict(
        os.environ,
        PYTHONPATH=str(Path(__file__).resolve().parents[2]),
        JUPYTER_CONFIG_DIR=str(private / "config"),
        JUPYTER_DATA_DIR=str(private / "data"),
        JUPYTER_RUNTIME_DIR=str(private / "runtime"),
    )


def _theme(dark: bool) -> dict[str, dict[str, object]]:
    return {"@jupyterlab/apputils-extension:themes": {"theme": "JupyterLab Dark" if dark else "JupyterLab Light"}}


def _wait_until_up(process: subprocess.Popen[bytes], address: str, log: Path) -> None:
    give_up = time.monotonic() + START_SECONDS
    while time.monotonic() < give_up:
        assert process.poll() is None, f"the notebook server ended: {log.read_text()[-2000:]}"
        with contextlib.suppress(urllib.error.URLError, OSError), urllib.request.urlopen(address, timeout=1):
            return
        time.sleep(0.2)
    raise AssertionError(f"the notebook server did not answer: {log.read_text()[-2000:]}")


@contextlib.contextmanager
def browser_page(width: int = 1280, height: int = 900, *, dark: bool = False, more: Sequence[str] = ()) -> Iterator[Page]:
    """Open one page of headless Chromium and close the browser afterwards.

    Args:
        width: of the window in px.
        height: of the window in px.
        dark: whether the page is told that the reader prefers dark.
        more: further words on the browser's command line.
    """
    with sync_playwright() as engine:
        options = ["--no-sandbox", "--disable-gpu", *more]
        browser = engine.chromium.launch(executable_path=chromium.path(), headless=True, args=options)
        try:
            page = browser.new_page(viewport={"width": width, "height": height}, color_scheme="dark" if dark else "light")
            page.set_default_timeout(STEP_MILLISECONDS)
            yield page
        finally:
            browser.close()


def open_notebook(page: Page, server: Server, path: str) -> None:
    """Open a notebook and wait until its kernel is idle.

    Args:
        page: the browser's page.
        server: the running server.
        path: the notebook, from the server's folder.
    """
    page.goto(server.address_of(path))
    page.wait_for_selector(".jp-Notebook .jp-Cell")
    _wait_for_kernel(page, server)
    if server.app == "lab":
        # The server may call a kernel idle before the page has heard of it.
        expect(page.locator("#jp-main-statusbar")).to_contain_text(KERNEL_IDLE, timeout=STEP_MILLISECONDS)
    else:
        page.wait_for_selector('.jp-Notebook-ExecutionIndicator[data-status="idle"]', state="attached")


def _wait_for_kernel(page: Page, server: Server) -> None:
    address = f"{server.base}/api/kernels?token={server.token}"
    for _ in range(STEP_MILLISECONDS // 200):
        kernels = []
        # The server fails at this question now and then while a kernel starts.
        with contextlib.suppress(OSError), urllib.request.urlopen(address, timeout=5) as answer:
            kernels = json.loads(answer.read())
        if any(kernel["execution_state"] == "idle" and kernel["connections"] for kernel in kernels):
            return
        page.wait_for_timeout(200)
    raise AssertionError("no kernel became idle")


def write_notebook(file: Path, sources: Iterable[str]) -> None:
    """Write a notebook of code cells.

    Args:
        file: where to.
        sources: the cells.
    """
    cells = [
        {"cell_type": "code", "id": f"cell-{number}", "metadata": {}, "outputs": [], "execution_count": None, "source": text}
        for number, text in enumerate(sources)
    ]
    file.write_text(json.dumps({"cells": cells, "metadata": KERNEL, "nbformat": 4, "nbformat_minor": 5}), encoding="utf-8")


def run_all(page: Page) -> None:
    """Run every cell of the open notebook."""
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()


def save(page: Page, file: Path) -> None:
    """Save the open notebook and wait until its file is written.

    Args:
        page: the browser's page.
        file: the notebook's file.
    """
    before = file.stat().st_mtime_ns
    page.keyboard.press("Control+s")
    for _ in range(100):
        if file.stat().st_mtime_ns != before:
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"{file.name} was not saved")
