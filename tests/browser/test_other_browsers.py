"""Lessons without a server in Firefox and WebKit: panels live, a key moves a slider, a prediction is kept, the cutaway or its stand-in is there."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from PIL import Image

from gearkit.lesson.solid.cutaway_page import write_page
from gearkit.site import single_page
from gearkit.train.catalogue import find
from tests.support import other_browsers
from tests.support.other_browsers import Browser, until

pytestmark = [pytest.mark.browser, pytest.mark.slow]
NAMES = ["firefox", "webkit"]
RIGHT = "\ue014"
SUN = 'document.querySelector(\'[aria-label="Explore: one set"] input[aria-label="Sun teeth S"]\')'
STATUS = "document.querySelector('[aria-label=\"Explore: one set\"] .gk-status').textContent"


@contextmanager
def opened(name: str) -> Iterator[Browser]:
    lacks = other_browsers.missing(name)
    if lacks:
        pytest.skip(lacks)
    with getattr(other_browsers, name)() as browser:
        yield browser


@pytest.mark.parametrize("name", NAMES)
def test_a_lesson_in_one_file_and_the_cutaway_work_in_other_browsers(name: str, tmp_path: Path) -> None:
    lesson, cutaway = tmp_path / "lesson 03.html", tmp_path / "q24.html"
    single_page.write("03", lesson)
    write_page(find("Q24"), cutaway, "2")
    with opened(name) as browser:
        browser.goto(lesson.as_uri())
        until(browser, "document.documentElement.dataset.panels === 'live'", "live panels")
        before = browser.evaluate(STATUS)
        browser.evaluate(f"{SUN}.focus()")
        browser.press(RIGHT)
        until(browser, f"{STATUS} !== {before!r}", "another ratio")
        assert "ratio 116/37" in browser.evaluate(STATUS)
        # A narrow page scrolls in one direction only, in every browser.
        assert browser.evaluate("document.documentElement.scrollWidth <= innerWidth")
        browser.goto(cutaway.as_uri())
        until(
            browser, "document.querySelector('.gk-status')?.textContent.includes('range 2 of the chart')", "the cutaway's words"
        )
        assert browser.evaluate("document.querySelectorAll('.gk-drawing svg').length") == 1
        if browser.evaluate("document.querySelectorAll('canvas').length"):
            until(browser, "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(true))))")
            colours = Image.open(io.BytesIO(browser.picture())).convert("RGB").getcolors(1 << 24)
            # The hues of several shafts are there, each in many shades.
            assert len(colours or []) > 500
        else:
            assert "shows no WebGL 2" in browser.evaluate("document.querySelector('.gk-refusal').textContent")
