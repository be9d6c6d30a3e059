"""The page of the cutaway in a real browser: it draws, it can be turned by hand, and without WebGL the stick diagram stands in."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Page, expect, sync_playwright

from gearkit.lesson.solid.cutaway_page import write_page
from gearkit.train.catalogue import find
from tests.support import chromium
from tests.support.colours import contrast
from tests.support.random_layouts import random_layout

pytestmark = pytest.mark.browser
# What is not on the screen yet has a box without size.
NO_WEBGL = """
HTMLCanvasElement.prototype.getContext = () => null;
SVGGraphicsElement.prototype.getBBox = () => ({ x: 0, y: 0, width: 0, height: 0 });"""
INKS = """() => [...document.querySelectorAll(".gk-tag")].map((tag) => {
  const { color, backgroundColor } = getComputedStyle(tag);
  return [tag.innerText, color, backgroundColor];
})"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with sync_playwright() as engine:
        browser = engine.chromium.launch(
            executable_path=chromium.path(), headless=True, args=["--no-sandbox", "--enable-unsafe-swiftshader"]
        )
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("page") / "q24.html"
    write_page(find("Q24"), path, "2")
    return path


def opened(browser: Any, file: Path, before: str = "") -> tuple[Page, list[str]]:
    page = browser.new_page(viewport={"width": 900, "height": 900}, reduced_motion="reduce")
    faults: list[str] = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    if before:
        page.add_init_script(before)
    page.goto(file.as_uri())
    return page, faults


def picture(page: Page) -> bytes:
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    return page.locator(".gk-stage").screenshot()


def test_it_is_drawn_turns_by_slider_and_by_hand_and_says_what_is_seen(browser: Any, file: Path) -> None:
    page, faults = opened(browser, file)
    first = picture(page)
    # A plain area packs into a few kilobytes.
    assert len(first) > 30_000
    canvas = page.locator("canvas")
    assert "output · ring 1 · carrier 2: turns forward at 0.688" in str(canvas.get_attribute("aria-label"))
    canvas.press("ArrowLeft")
    beside = picture(page)
    assert beside != first
    page.get_by_role("spinbutton", name="Turns of the input").fill("0.25")
    turned = picture(page)
    assert turned != beside
    expect(page.get_by_role("row", name="sun 1 0 stands still 0")).to_be_visible()
    page.get_by_role("button", name="Turn", exact=True).click()
    # Who wants little motion gets one step for a press, and nothing moves by itself.
    stepped = picture(page)
    page.wait_for_timeout(300)
    assert picture(page) == stepped != turned
    page.get_by_role("button", name="Apply the elements of range R").click()
    expect(page.get_by_role("status").first).to_contain_text("reverse, ratio −14/5")
    page.get_by_role("combobox").select_option(label="sun 2")
    expect(page.get_by_role("status").first).to_contain_text("In colour: sun 2 (turns back")
    assert faults == []
    page.close()


def test_it_is_turned_by_mouse_and_by_finger(browser: Any, file: Path) -> None:
    place = browser.new_context(viewport={"width": 900, "height": 900}, reduced_motion="reduce", has_touch=True)
    page = place.new_page()
    page.goto(file.as_uri())
    box = page.locator("canvas").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    first, scrolled = picture(page), page.evaluate("scrollY")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 60, y - 30, steps=3)
    page.mouse.up()
    by_mouse = picture(page)
    page.mouse.move(x - 60, y)
    assert picture(page) == by_mouse != first
    # A finger turns the train, and the page under it stays where it is.
    hand = place.new_cdp_session(page)
    for kind, at in (("touchStart", 0), ("touchMove", 40), ("touchMove", 80)):
        hand.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x - at, "y": y - at}]})
    hand.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    assert picture(page) not in (first, by_mouse)
    assert page.evaluate("scrollY") == scrolled
    place.close()


def covered(page: Page) -> list[str]:
    """Names in the picture that lie over each other."""
    boxes = [(tag.inner_text(), tag.bounding_box()) for tag in page.locator(".gk-tag").all()]
    return [
        f"{first} and {second}"
        for (first, a), (second, b) in combinations(boxes, 2)
        if all(min(a[at] + a[size], b[at] + b[size]) - max(a[at], b[at]) > 1 for at, size in (("x", "width"), ("y", "height")))
    ]


def test_all_names_can_be_read_and_the_whole_train_is_in_the_picture(browser: Any, tmp_path: Path) -> None:
    # Two packs one over the other, and the long train of a bevel set before a plain one.
    for number, layout in enumerate((find("six_range_input_set_two_suns"), random_layout(7, sets=2))):
        file = tmp_path / f"{number}.html"
        write_page(layout, file)
        page, faults = opened(browser, file)
        for _ in range(4):
            assert covered(page) == []
            page.locator("canvas").press("ArrowRight")
            page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
        page.locator("canvas").press("Home")
        page.add_style_tag(content=".gk-tag { visibility: hidden; }")
        shot = Image.open(io.BytesIO(picture(page))).convert("RGB")
        wide, high = shot.size
        # All round the picture is empty but for its focus frame and its round corners.
        rim = {shot.getpixel((x, y)) for y in (5, high - 6) for x in range(20, wide - 20)}
        assert rim == {(0xF6, 0xF7, 0xF8)}
        assert faults == []
        page.close()


def test_no_body_lies_under_the_name_of_an_end_or_a_set(browser: Any, file: Path, tmp_path: Path) -> None:
    """Names on the bodies were hard to read: an end's name stands beyond it, a set's below the train, at a line to it."""
    for number, layout in enumerate(map(find, ("Q36", "pair_two_suns", "pair_series"))):
        write_page(layout, tmp_path / f"{number}.html", "1")
        page, faults = opened(browser, tmp_path / f"{number}.html")
        names = page.locator(".gk-tag:not(.gk-tag-element)")
        places = [(name.inner_text(), name.bounding_box()) for name in names.all()]
        stage = page.locator(".gk-stage").bounding_box()
        page.add_style_tag(content=".gk-tag, .gk-tag-line { visibility: hidden; }")
        shot = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
        assert len(places) >= 3
        for text, box in places:
            # A wide casing may reach behind the input's name; of the train itself at most an edge is covered.
            inside = shot.crop(
                (round(box["x"]), round(box["y"]), round(box["x"] + box["width"]), round(box["y"] + box["height"]))
            )
            free = sum(_is_paper_or_housing(pixel) for pixel in inside.getdata()) / (inside.width * inside.height)
            assert free > 0.9, (layout.name, text, free)
            if text.startswith("set "):
                assert box["y"] + box["height"] >= stage["y"] + stage["height"] - 1, (layout.name, text)
        assert faults == []
        page.close()


def _is_paper_or_housing(pixel: tuple[int, int, int]) -> bool:
    """The housing is grey; every shaft has a colour."""
    return max(pixel) - min(pixel) < 24


def test_every_name_can_be_read_over_any_body(browser: Any, file: Path) -> None:
    page, _ = opened(browser, file)
    names = page.evaluate(INKS)
    page.close()
    assert {"A", "set 1", "input", "output"} <= {text for text, _, _ in names}
    for text, ink, ground in names:
        red, green, blue, *clear = (float(part) for part in re.findall(r"[\d.]+", ground))
        for behind in (0, 255):
            share = clear[0] if clear else 1.0
            seen = [round(share * part + (1 - share) * behind) for part in (red, green, blue)]
            inked = [int(part) for part in re.findall(r"\d+", ink)[:3]]
            assert contrast("#" + bytes(seen).hex(), "#" + bytes(inked).hex()) >= 4.5, (text, behind)


def test_pulled_apart_the_whole_train_stays_in_the_picture_and_only_the_body_in_focus_has_a_colour(
    browser: Any, tmp_path: Path
) -> None:
    # Of the kit's own trains the shortest for its number of bodies.
    write_page(find("Q36"), tmp_path / "q36.html", "1")
    page, faults = opened(browser, tmp_path / "q36.html")
    page.get_by_role("spinbutton", name="Pulled apart").fill("100")
    page.add_style_tag(content=".gk-tag { visibility: hidden; }")
    shot = Image.open(io.BytesIO(picture(page))).convert("RGB")
    wide, high = shot.size
    assert {shot.getpixel((x, y)) for x in (4, wide - 5) for y in range(20, high - 20)} == {(0xF6, 0xF7, 0xF8)}
    page.get_by_role("combobox").select_option(label="ring 3")
    expect(page.get_by_role("status").first).to_contain_text("In colour: ring 3 (stands still)")
    shot = Image.open(io.BytesIO(picture(page))).convert("HSV")
    # The power path goes round this ring: its yellow is faint then.
    strong = [hue for hue, full, _ in shot.getdata() if full > 150]
    assert not [hue for hue in strong if 28 <= hue <= 40]
    page.get_by_role("combobox").select_option(label="input · ring 1")
    expect(page.get_by_role("status").first).to_contain_text("(turns forward at the input's speed)")
    assert faults == []
    page.close()


def test_on_a_phone_every_name_is_inside_the_picture(browser: Any, file: Path) -> None:
    page = browser.new_page(viewport={"width": 390, "height": 844}, reduced_motion="reduce")
    page.goto(file.as_uri())
    # Looked at from the left and above, the packs of the casing stand one behind the other.
    for key in [*["ArrowRight"] * 5, *["ArrowUp"] * 2]:
        page.locator("canvas").press(key)
    picture(page)
    stage = page.locator(".gk-stage").bounding_box()
    tags = [(tag.inner_text(), tag.bounding_box()) for tag in page.locator(".gk-tag").all()]
    assert [text for text, box in tags if box["y"] < stage["y"] - 1 or box["x"] < stage["x"] - 1] == []
    assert covered(page) == []
    page.close()


def test_without_webgl_words_and_stick_diagram_stand_in(browser: Any, file: Path) -> None:
    page, faults = opened(browser, file, NO_WEBGL)
    expect(page.get_by_text("This browser shows no WebGL 2")).to_be_visible()
    expect(page.locator(".gk-drawing svg")).to_be_visible()
    assert page.locator("canvas").count() == 0
    # A notebook makes a panel before it is on the screen: the plates must be closed all the same.
    closed = page.locator(".gk-drawing [data-plates=B] .gk-block, .gk-drawing [data-plates=E] .gk-block")
    assert [float(str(block.get_attribute("width"))) > 20 for block in closed.all()] == [True, True]
    page.get_by_role("button", name="Apply the elements of range 4").click()
    expect(page.get_by_role("status").first).to_contain_text("range 4 of the chart")
    assert faults == []
    page.close()
