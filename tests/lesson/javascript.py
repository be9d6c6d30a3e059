"""Run the panels' JavaScript outside a notebook: under Node where there is one, else in headless Chromium."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from gearkit.lesson.panels.bundle import together
from tests.support import chromium

_TIME_LIMIT = 60


def run(modules: Sequence[str], body: str, payload: object, more: Path | None = None) -> Any:
    """Return what a piece of JavaScript returns for a payload.

    Args:
        modules: panel modules to load; each is there as ``module_NAME``, bundled as a panel would have it.
        body: statements that end in ``return``, and may wait for promises; ``payload`` is at hand.
        payload: anything JSON can hold.
        more: a second folder of modules, as `together` takes it.
    """
    return evaluate(together(modules, more), body, payload)


def evaluate(text: str, body: str, payload: object) -> Any:
    """Return what a piece of JavaScript returns for a payload, after a script.

    Args:
        text: the script.
        body: as in `run`.
        payload: as in `run`.
    """
    node = shutil.which("node")
    return _by_node(node, text, body, payload) if node else _by_chromium(text, body, payload)


def _by_node(node: str, text: str, body: str, payload: object) -> Any:
    program = (
        f"{text}\nconst payload = {json.dumps(payload)};\nconsole.log(JSON.stringify(await (async () => {{ {body} }})()));"
    )
    done = subprocess.run(
        [node, "--input-type=module", "-"], input=program, capture_output=True, text=True, timeout=_TIME_LIMIT, check=False
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def _by_chromium(text: str, body: str, payload: object) -> Any:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as engine:
        browser = engine.chromium.launch(executable_path=chromium.path(), args=["--no-sandbox", "--disable-gpu"])
        try:
            page = browser.new_page()
            return page.evaluate(f"async (payload) => {{ {text}\n{body} }}", payload)
        finally:
            browser.close()
