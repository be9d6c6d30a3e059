"""What a panel really shows in the browser is said: a single lower-case word too, which no reading of its JavaScript finds."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page

from gearkit.site.single_page import single_page
from gearkit.train import catalogue
from gearkit.words.say import speaking, speaking_language
from tests.browser import lab
from tests.support.amounts import SHORT
from tests.support.pseudo import Pseudo, escaped

pytestmark = [pytest.mark.browser, pytest.mark.slow]
# Lessons whose pages hold every kind of panel that is live without Python.
LESSONS = ["03", "12"] if SHORT else ["01", "02", "03", "05", "06", "07", "11", "12", "13", "14", "15"]
_SAME = {"min", "mm", "kW", "WebGL", "SVG"}
# All that is seen, also what is folded away, and what is heard; formulas and code are left out.
SEEN = """() => [...document.querySelectorAll(".gk-panel")].flatMap((panel) => {
  const texts = [];
  const walker = document.createTreeWalker(panel, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    if (!node.parentElement.closest("math, code, pre, style, script, title, .gk-drawing")) texts.push(node.textContent);
  }
  for (const node of panel.querySelectorAll("[aria-label], [placeholder], [title], [alt]")) {
    texts.push(...["aria-label", "placeholder", "title", "alt"].map((name) => node.getAttribute(name) || ""));
  }
  return texts;
})"""


def names_in_layouts() -> set[str]:
    """What layouts call themselves, their elements, sets and ranges."""
    layouts = [entry.layout for entry in catalogue.entries(several=True)]
    called = [
        name
        for each in layouts
        for name in (
            each.name,
            *each.outputs,
            *(part.name for part in (*each.sets, *each.elements, *each.ranges, *each.machines)),
        )
    ]
    words = [word for name in called for word in re.findall(r"\w+", name)]
    return {*words, *map(str.capitalize, words)}


def use(page: Page) -> None:
    """Touch what can be touched, a few of each kind, so that words appear that stand there only after."""
    for panel in page.locator(".gk-panel").all():
        for name in ("button", "input[type=checkbox]", "input[type=radio]", "select", "summary"):
            for node in panel.locator(name).all()[:6]:
                if node.is_visible() and node.is_enabled():
                    if name == "select":
                        node.select_option(index=node.locator("option").count() - 1)
                    else:
                        node.click()
        for node in panel.locator("input[type=range]").all()[:3]:
            if node.is_visible():
                node.focus()
                page.keyboard.press("ArrowRight")


def left_in(number: str, language: Pseudo, folder: Path) -> list[str]:
    with speaking(language):
        (folder / "page.html").write_text(single_page(number), encoding="utf-8")
    names = _SAME | names_in_layouts()
    with lab.browser_page(1300, 1000) as page:
        page.goto((folder / "page.html").as_uri())
        page.wait_for_selector(".gk-panel")
        first = page.evaluate(SEEN)
        use(page)
        return escaped([*first, *page.evaluate(SEEN)], names)


@pytest.mark.parametrize("number", LESSONS)
def test_every_word_that_a_panel_shows_in_the_browser_is_said(number: str, tmp_path: Path) -> None:
    assert left_in(number, Pseudo(), tmp_path) == []


def test_a_single_word_that_is_missing_is_found(tmp_path: Path) -> None:
    left = left_in("03", Pseudo(without=["forward"]), tmp_path)
    assert any("'forward'" in words for words in left)


def test_an_output_called_right_is_a_side_and_no_praise(tmp_path: Path) -> None:
    """A word with two meanings: of an answer "right" is "richtig", of a wheel "rechts"."""
    with speaking_language("de"):
        (tmp_path / "page.html").write_text(single_page("15"), encoding="utf-8")
    with lab.browser_page(1300, 1000) as page:
        page.goto((tmp_path / "page.html").as_uri())
        panel = page.locator(".gk-several").filter(has=page.get_by_text("rechts", exact=True)).first
        panel.wait_for()
        assert "Rechts dreht sich mit 3000 1/min." in panel.get_by_role("status").inner_text()
        assert panel.get_by_label("Drehzahl links").count() > 0
        seen = " ".join(
            panel.evaluate_all(SEEN.replace('document.querySelectorAll(".gk-panel")', "panels").replace("() =>", "(panels) =>"))
        )
        assert not re.search(r"\b(left|right|richtig|Richtig)\b", seen), seen
        assert {"links", "rechts", "Rechts"} <= set(re.findall(r"\w+", seen))
