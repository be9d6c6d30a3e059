"""What a learner waits for after a key, with the solver in JavaScript and without it. Shows figures; never fails on time.

The layout panel shows both after one key: state and ratio are worked out in the browser, the steps of why by Python, which
works out the same state first. So the lag to the second is what every value would take if JavaScript did not solve.
"""

from __future__ import annotations

import json
import statistics
from pathlib import Path

import pytest
from playwright.sync_api import Page

from gearkit.lesson.syllabus import LESSONS
from gearkit.site import course_site
from tests.browser import lab
from tests.support.amounts import amount
from tests.support.static_server import served

pytestmark = [pytest.mark.bench, pytest.mark.browser, pytest.mark.slow]
KEYS = amount(20, 8)
READY_MILLISECONDS = 240_000
CELL = "from gearkit import open_lesson\nlesson = open_lesson('07', 'record.json')\nlesson.explore('Q48')"
# A panel that only explores: one that asks for a prediction shows nothing before it.
PANEL = ".gk-layout[aria-label^='Explore']"
# Each press waits for both: milliseconds from the key to the frame in which the words have changed.
PRESS = """async (name) => {
  const panel = document.querySelector(name);
  const told = [".gk-status", ".gk-story"].map((part) => panel.querySelector(part));
  const before = told.map((node) => node.textContent);
  const lags = [null, null];
  const start = await new Promise((heard) => {
    document.addEventListener("keydown", () => heard(performance.now()), { capture: true, once: true });
    window.listening = true;
  });
  while (lags.includes(null) && performance.now() - start < 20000) {
    const now = await new Promise(requestAnimationFrame);
    told.forEach((node, place) => {
      if (lags[place] === null && node.textContent !== before[place]) lags[place] = performance.now() - start;
    });
  }
  return lags;
}"""


def lags(page: Page) -> list[tuple[float, float]]:
    """The lags of a number of keys, of each what the browser worked out and what Python did."""
    page.locator(f"{PANEL} .gk-elements input").first.focus()
    found = []
    for _ in range(KEYS):
        page.evaluate("([press, name]) => { window.listening = false; window.lags = eval(press)(name); }", [PRESS, PANEL])
        page.wait_for_function("window.listening")
        page.keyboard.press("Space")
        own, python = page.evaluate("() => window.lags")
        found.append((own, python))
        page.wait_for_timeout(100)
    return found


def shown(where: str, found: list[tuple[float, float]]) -> str:
    own, python = (sorted(column) for column in zip(*found, strict=True))
    return (
        f"{where}: key to paint, median and slowest of {len(found)} keys: in the browser {statistics.median(own):.0f} and {own[-1]:.0f} ms, "
        f"by Python {statistics.median(python):.0f} and {python[-1]:.0f} ms"
    )


def test_a_key_in_jupyterlab(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kernel = {"kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"}}
    cell = {"cell_type": "code", "execution_count": None, "id": "c0", "metadata": {}, "outputs": [], "source": CELL}
    (tmp_path / "bench.ipynb").write_text(json.dumps({"cells": [cell], "metadata": kernel, "nbformat": 4, "nbformat_minor": 5}))
    with lab.serve(tmp_path) as server, lab.browser_page(1300, 1000) as page:
        lab.open_notebook(page, server, "bench.ipynb")
        page.locator(".jp-Cell").first.click()
        page.keyboard.press("Shift+Enter")
        page.wait_for_selector(".gk-layout .gk-elements input")
        page.wait_for_timeout(3000)
        found = lags(page)
    with capsys.disabled():
        print("\n" + shown("JupyterLab, Q48", found))
    assert len(found) == KEYS


def test_a_key_on_a_page_of_the_site(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(course_site, "LESSONS", {"06": LESSONS["06"]})
    made = course_site.build()
    if made.lacks:
        pytest.skip(made.lacks)
    course_site.write(made, tmp_path / "site")
    with served(tmp_path / "site") as base, lab.browser_page(1300, 1000) as page:
        page.goto(f"{base}/{LESSONS['06'].folder}.html")
        page.wait_for_function("document.documentElement.dataset.python === 'ready'", timeout=READY_MILLISECONDS)
        page.wait_for_timeout(2000)
        found = lags(page)
    with capsys.disabled():
        print("\n" + shown("a page of the site, Q36", found))
    assert len(found) == KEYS
