"""Pictures on a real screen: words fit their boxes, names reach the accessibility tree, the dark page is dark."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import sync_playwright

from gearkit.draw.core import palette
from gearkit.draw.core.svg import Picture
from gearkit.draw.registry import PICTURES, RangeUse, picture_of
from gearkit.text.mathml import from_expression, from_latex
from gearkit.train.catalogue import find
from tests.support import chromium

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with sync_playwright() as engine:
        browser = engine.chromium.launch(executable_path=chromium.path(), headless=True, args=["--no-sandbox", "--disable-gpu"])
        yield browser
        browser.close()


def _pictures() -> list[Picture]:
    layout = find("Q48")
    return [picture_of(layout, what, None if kind.ranges is RangeUse.ALL else "2") for what, kind in PICTURES.items()]


def _page(browser: Any, scheme: str = "light") -> Any:
    page = browser.new_page(color_scheme=scheme)
    page.set_content("<body>" + "".join(drawn.svg() for drawn in _pictures()) + "</body>")
    return page


def test_no_word_on_the_screen_is_wider_than_its_box(browser: Any) -> None:
    page = _page(browser)
    shown = page.locator("svg text").evaluate_all("all => all.map(one => one.getComputedTextLength())")
    boxes = [text.box.width for drawn in _pictures() for text in drawn.texts()]
    assert len(shown) == len(boxes) > 200
    # A hundredth of the type size is what the width table rounds to.
    assert all(wide <= box * 1.02 + 0.5 for wide, box in zip(shown, boxes, strict=True))


def test_every_picture_has_its_name_and_words_in_the_accessibility_tree(browser: Any) -> None:
    page = _page(browser)
    session = page.context.new_cdp_session(page)
    nodes = session.send("Accessibility.getFullAXTree")["nodes"]
    found = {
        node["name"]["value"]: node.get("description", {}).get("value", "")
        for node in nodes
        if node.get("role", {}).get("value") in ("image", "img") and node.get("name")
    }
    for drawn in _pictures():
        assert found[drawn.title] == drawn.description


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_paper_and_ink_follow_the_readers_page(browser: Any, scheme: str) -> None:
    page = _page(browser, scheme)
    colours = page.locator("svg").first.evaluate(
        "one => [getComputedStyle(one.querySelector('.f-paper')).fill, getComputedStyle(one.querySelector('text')).fill]"
    )
    wanted = palette.DARK if scheme == "dark" else palette.LIGHT

    def spelt(colour: str) -> str:
        return f"rgb({', '.join(str(int(colour[at : at + 2], 16)) for at in (1, 3, 5))})"

    assert colours == [spelt(wanted["paper"]), spelt(wanted["ink"])]


def test_the_notebooks_theme_goes_before_the_readers_setting(browser: Any) -> None:
    page = _page(browser, "dark")
    page.evaluate("document.body.dataset.jpThemeLight = 'true'")
    paper = page.locator("svg").first.evaluate("one => getComputedStyle(one.querySelector('.f-paper')).fill")
    assert paper == "rgb(255, 255, 255)"


def test_paper_is_white_in_print_whatever_the_theme(browser: Any) -> None:
    page = _page(browser, "dark")
    page.evaluate("document.body.dataset.jpThemeLight = 'false'")
    page.emulate_media(media="print", color_scheme="dark")
    paper = page.locator("svg").first.evaluate("one => getComputedStyle(one.querySelector('.f-paper')).fill")
    assert paper == "rgb(255, 255, 255)"


_ROOM = """row => {
  const ink = (node) => { const box = document.createRange(); box.selectNodeContents(node); return box.getBoundingClientRect(); };
  const [top, bottom] = row.querySelector("mfrac").children, bar = row.querySelector("mfrac").getBoundingClientRect();
  const sign = row.querySelector("mo").getBoundingClientRect();
  const letters = (side) => [...side.querySelectorAll("mi")].map((one) => one.getBoundingClientRect());
  const size = parseFloat(getComputedStyle(row).fontSize);
  return [Math.min(...letters(bottom).map((one) => one.top)) - Math.max(...letters(top).map((one) => one.bottom)), bar.left - sign.right].map((room) => room / size);
}"""


@pytest.mark.parametrize("font", ["serif", "DejaVu Sans", "DejaVu Math TeX Gyre"])
def test_a_fraction_bar_touches_neither_letters_nor_a_minus_before_it(browser: Any, font: str) -> None:
    page = browser.new_page()
    formulas = from_latex(r"-\frac{z_1 n_1}{z_2}") + from_expression("-R/S")
    page.set_content(f"<style>math {{ font-family: {font!r}; }}</style><p>{formulas}</p>")
    # The bar is some 0.06 em thick and stands in the middle of the room.
    for between, beside in page.locator("math").evaluate_all(f"all => all.map({_ROOM})"):
        assert between > 0.22, (font, between)
        assert beside > 0.1, (font, beside)
