"""A lesson's file opened by a double click: live without Python, a server or the network, on a laptop and on a phone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from gearkit.site import single_page
from tests.browser import lab
from tests.browser.accessible import named_controls

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("mail") / "lesson 03.html"
    single_page.write("03", path)
    return path


@pytest.fixture
def page(file: Path) -> Iterator[Page]:
    with lab.browser_page(390, 844) as shown:
        troubles: list[str] = []
        shown.on("pageerror", lambda fault: troubles.append(str(fault)))
        shown.on("request", lambda request: request.url.startswith(("file:", "data:", "blob:")) or troubles.append(request.url))
        shown.goto(file.as_uri())
        expect(shown.locator("html[data-panels=live]")).to_be_attached()
        yield shown
        assert troubles == []


def panel(page: Page, title: str) -> Locator:
    return page.get_by_role("region", name=title, exact=True)


def test_a_slider_moves_by_keyboard_on_a_phone_and_every_control_has_a_name(page: Page) -> None:
    explore = panel(page, "Explore: one set")
    explore.get_by_role("slider", name="Sun teeth S").focus()
    page.keyboard.press("ArrowRight")
    expect(explore.get_by_role("status").first).to_contain_text("Sun drives, ring held: forward reduction, ratio 116/37")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    regions, controls = named_controls(page, "Explore", "Predict")
    assert regions == 2
    assert controls > 30


def test_a_prediction_opens_without_python_and_is_there_on_the_next_visit(page: Page) -> None:
    predict = panel(page, "Predict: one set")
    expect(predict.get_by_role("row", name="carrier")).to_contain_text("?")
    predict.get_by_role("radio", name="forward reduction").check()
    for typed, said in (("about three", "is not read as a number here"), ("3.6", "Found: forward reduction, ratio 18/5 = 3.6")):
        predict.get_by_role("textbox", name="Ratio").fill(typed)
        page.keyboard.press("Enter")
        expect(predict).to_contain_text(said)
    predict.get_by_role("textbox", name="My reason for this guess").fill("I added 1.")
    page.keyboard.press("Enter")
    expect(predict).to_contain_text("Kept in your record.")
    page.reload()
    predict.get_by_text("My predictions so far").click()
    expect(predict.get_by_role("listitem")).to_contain_text("sun in, ring held, carrier out: you said forward reduction, 3.6")
    kept = page.evaluate("localStorage.getItem('gearkit/my_record.json')")
    assert '"text":"I added 1."' in kept
    assert '"facts":{' in kept
    assert '"sun":30' in kept
