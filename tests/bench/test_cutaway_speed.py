"""How fast the cutaway appears and turns, drawn by software: first paint and frames a second. Shows figures; never fails on time."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

from gearkit.lesson.solid.cutaway_page import write_page
from gearkit.train.catalogue import find
from tests.support import chromium
from tests.support.amounts import amount

pytestmark = [pytest.mark.bench, pytest.mark.browser, pytest.mark.slow]
LAYOUTS = ("Q24", "Q36", "Q48", "pair_two_suns")
SECONDS = amount(6, 2)
# Every picture begins with clearing the canvas.
COUNT = """
window.painted = [];
const clear = WebGL2RenderingContext.prototype.clear;
WebGL2RenderingContext.prototype.clear = function (...which) { window.painted.push(performance.now()); return clear.apply(this, which); };"""
AFTER = "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now()))))"


def test_the_cutaway_appears_and_turns(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = []
    with sync_playwright() as engine:
        browser = engine.chromium.launch(
            executable_path=chromium.path(), headless=True, args=["--no-sandbox", "--enable-unsafe-swiftshader"]
        )
        for name in LAYOUTS:
            file = tmp_path / f"{name}.html"
            write_page(find(name), file)
            page = browser.new_page(viewport={"width": 964, "height": 1000})
            page.add_init_script(COUNT)
            page.goto(file.as_uri())
            first = page.evaluate(AFTER)
            size = page.evaluate(
                "() => { const { clientWidth, clientHeight } = document.querySelector('canvas'); return [clientWidth, clientHeight]; }"
            )
            page.get_by_role("button", name="Turn", exact=True).click()
            page.wait_for_timeout(1000)
            page.evaluate("() => { window.painted = []; }")
            page.wait_for_timeout(1000 * SECONDS)
            frames = page.evaluate("() => window.painted.length") / SECONDS
            page.close()
            assert frames > 0
            lines.append(
                f"{name:14} canvas {size[0]} x {size[1]}: first paint {first:5.0f} ms after opening the page, {frames:4.1f} frames a second while it turns"
            )
        browser.close()
    with capsys.disabled():
        print("\n" + "\n".join(lines))
