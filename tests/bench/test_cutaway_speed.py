"""How fast the cutaway appears and turns, drawn by software: first paint and frames a second. Shows figures; never fails on time.

Beside the time on the clock stands the browser's processor time, which a busy machine does not change much: a frame that
takes less than 125 ms of it comes 8 times a second even if all its work were done one after the other. A new window costs the
browser some 300 ms of its own, so the page is opened when it has come to rest; what a page with nothing but an empty canvas
takes stands below the others.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from playwright.sync_api import Page, sync_playwright

from gearkit.lesson.solid.cutaway_page import write_page
from gearkit.train.catalogue import find
from tests.support import chromium
from tests.support.amounts import amount

pytestmark = [pytest.mark.bench, pytest.mark.browser, pytest.mark.slow]
# The quickest and the slowest to paint first, which the short form shows.
LAYOUTS = ("Q24", "pair_two_suns", "Q36", "Q48")[: amount(4, 2)]
SECONDS = amount(6, 2)
# Every picture begins with clearing the canvas.
COUNT = """
window.painted = [];
const clear = WebGL2RenderingContext.prototype.clear;
WebGL2RenderingContext.prototype.clear = function (...which) { window.painted.push(performance.now()); return clear.apply(this, which); };"""
# The picture as large as the bar asks for; pages themselves show it smaller.
LARGE = """
document.addEventListener("readystatechange", () => {
  const style = document.createElement("style");
  style.textContent = ".gk-panel { max-width: none !important; } .gk-stage { width: 900px !important; height: 600px; max-height: none !important; }";
  document.head.append(style);
}, { once: true });"""
EMPTY = """<!DOCTYPE html><title>Empty</title><canvas width="900" height="600"></canvas><script>
const gl = document.querySelector("canvas").getContext("webgl2", { antialias: false });
gl.clear(gl.COLOR_BUFFER_BIT);</script>"""
AFTER = "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now()))))"


def processor() -> float:
    """Processor time of the browser so far, all its processes, s."""
    parents, taken = {}, {}
    for place in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = place.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        number = int(place.parent.name)
        parents[number], taken[number] = int(fields[1]), int(fields[11]) + int(fields[12])
    own = {os.getpid()}
    while more := {number for number, parent in parents.items() if parent in own} - own:
        own |= more
    return sum(taken[number] for number in own - {os.getpid()}) / os.sysconf("SC_CLK_TCK")


def come_to_rest() -> None:
    """Wait, at most 10 s, until the browser has taken less than a twentieth of a core for half a second."""
    for _ in range(20):
        before = processor()
        time.sleep(0.5)
        if processor() - before < 0.025:
            return


def opened(page: Page, file: Path) -> tuple[float, float]:
    """First paint after opening the page, ms, and the browser's processor time until then, s."""
    page.add_init_script(COUNT)
    page.add_init_script(LARGE)
    come_to_rest()
    before = processor()
    page.goto(file.as_uri())
    page.wait_for_function("window.painted.length", polling=20)
    first = page.evaluate(AFTER)
    return first, processor() - before


def test_the_cutaway_appears_and_turns(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = []
    with sync_playwright() as engine:
        browser = engine.chromium.launch(
            executable_path=chromium.path(), headless=True, args=["--no-sandbox", "--enable-unsafe-swiftshader"]
        )
        for name in LAYOUTS:
            file = tmp_path / f"{name}.html"
            write_page(find(name), file)
            page = browser.new_page(viewport={"width": 1400, "height": 1200})
            first, opening = opened(page, file)
            size = page.evaluate(
                "() => { const { clientWidth, clientHeight } = document.querySelector('canvas'); return [clientWidth, clientHeight]; }"
            )
            page.get_by_role("button", name="Turn", exact=True).click()
            page.wait_for_timeout(1000)
            page.evaluate("() => { window.painted = []; }")
            before = processor()
            page.wait_for_timeout(1000 * SECONDS)
            painted = page.evaluate("() => window.painted.length")
            each, frames = 1000 * (processor() - before) / max(1, painted), painted / SECONDS
            page.close()
            assert frames > 0
            assert size == [900, 600]
            lines.append(
                f"{name:14} canvas {size[0]} x {size[1]}: first paint {first:5.0f} ms after opening the page ({1000 * opening:.0f} ms of processor time), "
                f"{frames:4.1f} frames a second while it turns ({each:.0f} ms of processor time each)"
            )
        (tmp_path / "empty.html").write_text(EMPTY, encoding="utf-8")
        first, opening = opened(browser.new_page(viewport={"width": 1400, "height": 1200}), tmp_path / "empty.html")
        lines.append(
            f"{'empty canvas':14} canvas 900 x 600: first paint {first:5.0f} ms ({1000 * opening:.0f} ms of processor time)"
        )
        browser.close()
    busy = os.getloadavg()[0]
    lines.append(f"{os.cpu_count()} processor cores, on which {busy:.1f} processes wanted to run")
    with capsys.disabled():
        print("\n" + "\n".join(lines))
