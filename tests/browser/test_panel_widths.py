"""Every panel at the widths of a laptop, a half window and a phone: long sliders, words that can be read, nothing cropped."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from gearkit.answers import items
from gearkit.lesson.opening import open_lesson
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.syllabus import LESSONS
from gearkit.lesson.workbook import Lesson
from gearkit.train import catalogue
from gearkit.words.say import speaking_language
from tests.browser import host
from tests.support.amounts import SHORT, amount

pytestmark = [pytest.mark.browser, pytest.mark.slow]
# A window of 1366 px leaves a panel 930 px in JupyterLab, with some 640 px of height to look at.
LAPTOP, HALF, PHONE = 954, 600, 390
SEEN_AT_ONCE = 650
TOUCH = 160
SMALLEST = 10.95
SEVERAL = {"split": "power_split_one_set", "sharing": "planetary_transfer"}
TASKS = ("assembly", "freedoms", "torques", "power", "road", "shifts", "faults", "design", "split", "sharing")
PANELS: dict[str, Callable[[Lesson], Panel]] = {
    "layout": lambda lesson: lesson.explore("Q36"),
    "split": lambda lesson: lesson.explore_about("split", "power_split_one_set"),
    "assembly": lambda lesson: lesson.explore_about("assembly"),
    "build": lambda lesson: lesson.build_layout("Q24"),
    "one set": lambda lesson: lesson.explore(),
    "one set, predicted": lambda lesson: lesson.predict(),
    "two speeds": lambda lesson: lesson.explore(two_speeds=True),
    "gears": lambda lesson: lesson.explore_gears(),
    "layout, predicted": lambda lesson: lesson.predict("Q24"),
    "cutaway": lambda lesson: lesson.cutaway("Q24", "2"),
    "shifts": lambda lesson: lesson.explore_about("shifts", "Q36"),
    "faults": lambda lesson: lesson.explore_about("faults", "Q36"),
    "two modes": lambda lesson: lesson.explore_about("split", "compound_split_two_sets"),
    **{f"task {name}": lambda lesson, name=name: lesson.predict_about(name, SEVERAL.get(name, "Q36")) for name in TASKS},
}
NAMES = list(PANELS)[:4] if SHORT else list(PANELS)
# Where the controls of a picture stand beside it or next to it, and the picture is not taller than a laptop shows.
TOGETHER = ("layout", "layout, predicted", "one set", "two speeds", "gears", "assembly", "split", "shifts", "cutaway")
_MEASURE = """(smallest) => {
  const place = document.getElementById("place");
  const seen = (selector) => [...place.querySelectorAll(selector)].filter((node) => node.checkVisibility());
  const letters = seen("svg text").filter((node) => node.textContent.trim());
  const size = (node) => { const m = node.getScreenCTM(); return parseFloat(getComputedStyle(node).fontSize) * Math.hypot(m.a, m.b); };
  const scrolls = (node) => ["auto", "scroll"].includes(getComputedStyle(node).overflowX);
  const box = (node) => { const { top, bottom } = node.getBoundingClientRect(); return [top, bottom]; };
  return {
    tracks: seen("input[type=range]").map((node) => node.getBoundingClientRect().width),
    small: letters.filter((node) => size(node) < smallest).map((node) => node.textContent),
    cropped: [...place.querySelectorAll("*")].filter((node) => node.checkVisibility() && !(node instanceof SVGElement) && node.clientWidth > 0
      && node.scrollWidth > node.clientWidth + 1 && !scrolls(node) && !node.closest(".gk-only-read")).map((node) => node.className),
    page: document.documentElement.scrollWidth, pictures: seen("svg, canvas").map(box).filter(([top, bottom]) => bottom - top > 120),
    controls: seen("input, select").filter((node) => !node.closest("details, .gk-prediction")).map(box),
  };
}"""
# By how much each table reaches beyond its question, or under the picture beside it.
_CUT_OFF = """nodes => { const [question, ...tables] = nodes.map((node) => node.getBoundingClientRect());
  const train = document.querySelector(".gk-aside").getBoundingClientRect();
  return tables.map((table) => Math.round(Math.max(0, table.right - question.right - 1, train.left > question.left && train.top < table.bottom ? table.right - train.left : 0))); }"""


@pytest.fixture(scope="module", params=[LAPTOP, HALF, PHONE])
def page(request: pytest.FixtureRequest) -> Iterator[Page]:
    with host.blank_page(request.param, 768) as opened:
        yield opened


@pytest.mark.parametrize("name", NAMES)
def test_sliders_words_and_tables_have_room(page: Page, name: str, tmp_path: Path) -> None:
    panel = PANELS[name](open_lesson("03", tmp_path / "record.json"))
    with host.show(page, panel) as desk:
        desk.settle()
        assert desk.troubles == []
        found: dict[str, Any] = page.evaluate(_MEASURE, SMALLEST)
    width = page.viewport_size["width"] if page.viewport_size else 0
    assert all(track >= TOUCH for track in found["tracks"]), found["tracks"]
    assert found["small"] == []
    assert found["cropped"] == []
    assert found["page"] <= width
    if width == LAPTOP and name in TOGETHER:
        first = found["pictures"][0]
        near = [each for each in found["controls"] if each[1] > first[0] - SEEN_AT_ONCE and each[0] < first[1] + SEEN_AT_ONCE]
        # One of its controls can be used with the whole picture in sight.
        assert any(max(first[1], each[1]) - min(first[0], each[0]) <= SEEN_AT_ONCE for each in near), (first, near)


def test_no_table_needs_scrolling_on_a_laptop_in_german(page: Page, tmp_path: Path) -> None:
    """German words are longer: the last column of the faults was cut off."""
    if not page.viewport_size or page.viewport_size["width"] != LAPTOP:
        pytest.skip("a half window and a phone let wide tables scroll")
    wide = {}
    for name in NAMES:
        with speaking_language("de"), host.show(page, PANELS[name](open_lesson("03", tmp_path / "record.json"))) as desk:
            desk.settle()
            rooms = page.locator(".gk-scroll").evaluate_all("all => all.map((n) => n.scrollWidth - n.clientWidth)")
        if any(room > 1 for room in rooms):
            wide[name] = rooms
    assert wide == {}


# What is looked at, and the first and the last of what has to be seen together with it.
_SEEN_TOGETHER: dict[str, tuple[Callable[[Lesson], Panel], str, str]] = {
    "exercise": (lambda lesson: lesson.exercise("L06-03"), ".gk-train svg", ".gk-form"),
    "worked example": (lambda lesson: lesson.worked("L06-23"), ".gk-train svg", ".gk-form"),
    "chart to tick": (lambda lesson: lesson.exercise("L06-01"), ".gk-train svg", ".gk-form"),
    "levers to choose": (lambda lesson: lesson.exercise("L02-23"), ".gk-choices, .gk-question img", ".gk-form"),
    "levers to choose beside a train": (lambda lesson: lesson.exercise("L06-24"), ".gk-choices", ".gk-form"),
    "prediction": (lambda lesson: lesson.predict("Q36"), ".gk-drawing svg", ".gk-prediction"),
    "four sets": (lambda lesson: lesson.explore("Q48"), ".gk-drawing svg", ".gk-status"),
    "levers of four sets": (lambda lesson: lesson.explore("Q48"), ".gk-elements", ".gk-levers"),
    "levers of two sets": (lambda lesson: lesson.explore("Q24"), ".gk-ranges", ".gk-levers"),
}


def test_picture_question_and_form_are_seen_together_on_a_laptop(page: Page, tmp_path: Path) -> None:
    if not page.viewport_size or page.viewport_size["width"] != LAPTOP:
        pytest.skip("a half window and a phone show one below the other")
    for name, (make, *parts) in _SEEN_TOGETHER.items():
        with host.show(page, make(open_lesson("06", tmp_path / "record.json"))) as desk:
            desk.settle()
            boxes = [page.locator(f"#place :is({part})").first.bounding_box() for part in parts]
            assert all(boxes), (name, boxes)
            ends = [end for box in boxes if box for end in (box["y"], box["y"] + box["height"])]
            assert max(ends) - min(ends) <= SEEN_AT_ONCE, (name, boxes)
            scrolled = page.locator(".gk-drawing, .gk-aside").evaluate_all(
                "all => all.map((n) => n.scrollWidth - n.clientWidth)"
            )
            assert max(scrolled, default=0) <= 1, (name, scrolled)


def test_a_form_of_many_numbers_has_room_for_what_each_one_is(page: Page, tmp_path: Path) -> None:
    size = page.viewport_size
    assert size
    # On a phone JupyterLab's own bars leave a panel some 250 px.
    page.set_viewport_size({"width": min(size["width"], 300), "height": 768} if size["width"] == PHONE else size)
    with host.show(page, open_lesson("03", tmp_path / "record.json").exercise("L03-01")) as desk:
        desk.settle()
        labels = page.locator(".gk-part-text .gk-text > span:first-child")
        assert labels.count() == 6
        lines = labels.evaluate_all(
            "all => all.map((n) => n.getBoundingClientRect().height / parseFloat(getComputedStyle(n).lineHeight))"
        )
    page.set_viewport_size(size)
    assert max(lines) < 2.5, lines


def test_no_table_of_a_question_is_cut_off(page: Page, tmp_path: Path) -> None:
    """Beside the picture of a train the column of ratios lay under the picture; on a phone it ran out of the panel."""
    size = page.viewport_size
    assert size
    page.set_viewport_size({"width": min(size["width"], 320), "height": 768} if size["width"] == PHONE else size)
    asked = {number: open_lesson(number, tmp_path / "record.json") for number in list(LESSONS)[1:]}
    exercises = [lesson.exercise(item.id) for number, lesson in asked.items() for item in items.of_lesson(int(number))]
    tables = [panel for panel in exercises if "<table" in panel.prompt_html][: amount(60, 4)]
    cut = {}
    for panel in tables:
        with host.show(page, panel):
            over = page.locator(".gk-question, .gk-question table").evaluate_all(_CUT_OFF)
        if any(over):
            cut[panel.title] = over
    page.set_viewport_size(size)
    assert len(tables) >= amount(20, 4)
    assert cut == {}


def test_front_views_of_a_train_have_the_colours_of_its_shafts(page: Page, tmp_path: Path) -> None:
    with host.show(page, open_lesson("06", tmp_path / "record.json").explore("Q36")) as desk:
        desk.settle()
        drawn = page.locator(".gk-fronts .gk-member:not(.gk-pinion)").evaluate_all(
            "all => all.map((n) => getComputedStyle(n.querySelector('.gk-body')).stroke)"
        )
    # Ring, sun and carrier of each set: both suns are one shaft, carrier 1 and sun 3, ring 2 and carrier 3.
    (ring_1, sun_1, carrier_1), (ring_2, sun_2, _), (ring_3, sun_3, carrier_3) = drawn[:3], drawn[3:6], drawn[6:]
    assert (sun_1, carrier_1, ring_2) == (sun_2, sun_3, carrier_3)
    assert len({ring_1, sun_1, carrier_1, ring_2, ring_3}) == 5


def test_answers_to_choose_stand_whole_without_being_scrolled(page: Page, tmp_path: Path) -> None:
    layout = tmp_path / "layout.toml"
    layout.write_text(catalogue.dumps(catalogue.find("Q48")), encoding="utf-8")
    lesson = open_lesson(str(layout), tmp_path / "record.json")
    for item in ("X06-ROLES", "X11-SWAPS", "X06-CHART"):
        with host.show(page, lesson.exercise(item)) as desk:
            desk.settle()
            assert desk.troubles == []
            answers = page.locator(".gk-grid input")
            assert answers.count() > 20
            rooms = page.locator(".gk-scroll:has(.gk-grid)").evaluate_all(
                "all => all.map((n) => n.scrollWidth - n.clientWidth)"
            )
            assert rooms == [0], (item, rooms)
            if page.viewport_size and page.viewport_size["width"] == LAPTOP:
                pictures = page.locator(".gk-train").evaluate_all("all => all.map((n) => n.scrollWidth - n.clientWidth)")
                assert set(pictures) <= {0}, (item, pictures)
            # Where the head of the table is out of sight, each answer says its word.
            words = page.locator(".gk-grid thead, .gk-mark-word").evaluate_all("all => all.map((n) => n.checkVisibility())")
            assert words[0] != any(words[1:])


# A phone and a half window as JupyterLab leaves them to a panel, beside its own bars and margins.
_IN_JUPYTERLAB = {PHONE: 329, HALF: 739}
# What the notebook's own style does with a list of terms.
_TERMS = "dt { float: left; display: block; width: 20%; font-weight: bold; } dd { float: left; display: block; width: 80%; padding-left: 1px; }"
_OUTSIDE = """() => { const panel = document.querySelector(".gk-panel"); const { right } = panel.getBoundingClientRect();
  const clipped = (node) => { for (let up = node.parentElement; up !== panel; up = up.parentElement) if (getComputedStyle(up).overflowX !== "visible") return true; return false; };
  return [...panel.querySelectorAll("svg, select, table, input, button")].filter((node) => node.checkVisibility() && node.getBoundingClientRect().right > right && !clipped(node)).map((node) => node.outerHTML.slice(0, 80)); }"""
_LYING_ON = """() => { const rows = [...document.querySelectorAll(".gk-timing dt")].map((term) => [term, term.nextElementSibling].map((node) => {
    const range = document.createRange(); range.selectNodeContents(node); return range.getBoundingClientRect(); }));
  return rows.filter(([term, text]) => term.right > text.left && text.right > term.left && term.bottom > text.top + 1 && text.bottom > term.top + 1).length; }"""
_NARROW: dict[str, Callable[[Lesson], Panel]] = {
    "one set": PANELS["one set"],
    "split": PANELS["split"],
    "shifts": PANELS["shifts"],
    "assembly": PANELS["assembly"],
    "task design": PANELS["task design"],
    "levers to choose": lambda lesson: lesson.exercise("L02-23"),
    "sticks to choose": lambda lesson: lesson.exercise("L03-24"),
    "order": lambda lesson: lesson.exercise("L11-08"),
}


@pytest.fixture
def in_jupyterlab(page: Page) -> Iterator[Page]:
    whole = page.viewport_size
    assert whole
    if whole["width"] not in _IN_JUPYTERLAB:
        pytest.skip("the width of a laptop is that of JupyterLab already")
    page.set_viewport_size({**whole, "width": _IN_JUPYTERLAB[whole["width"]]})
    yield page
    page.set_viewport_size(whole)


@pytest.mark.parametrize("name", list(_NARROW))
def test_letters_lists_and_pictures_keep_their_room_in_jupyterlab(in_jupyterlab: Page, name: str, tmp_path: Path) -> None:
    page = in_jupyterlab
    with host.show(page, _NARROW[name](open_lesson("11", tmp_path / "record.json"))) as desk:
        # Before the panels' own style, as in the notebook.
        page.evaluate(
            "style => document.head.prepend(Object.assign(document.createElement('style'), { textContent: style }))", _TERMS
        )
        desk.settle()
        small = page.evaluate(_MEASURE, SMALLEST)["small"]
        assert page.evaluate(_OUTSIDE) == []
        assert page.evaluate(_LYING_ON) == 0
    if name in ("one set", "split", "assembly"):
        assert small == []


def test_every_choice_of_a_table_of_answers_is_seen_on_a_laptop(page: Page, tmp_path: Path) -> None:
    """Beside a train the last column, element E, was cut off."""
    if not page.viewport_size or page.viewport_size["width"] != LAPTOP:
        pytest.skip("a half window and a phone show the table below the train")
    hidden = {}
    for name in ("L03-04", "L06-01", "L06-02", "L07-03", "L07-06", "L11-01"):
        with host.show(page, open_lesson("11", tmp_path / "record.json").exercise(name)) as desk:
            desk.settle()
            rooms = page.locator(".gk-form .gk-scroll").evaluate_all("all => all.map((n) => n.scrollWidth - n.clientWidth)")
            assert rooms, name
        if max(rooms) > 1:
            hidden[name] = rooms
    assert hidden == {}
