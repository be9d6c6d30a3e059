"""Panels as a phone shows them in JupyterLab: what goes on beyond the edge has a sign, units stand behind their boxes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page

from gearkit.lesson.course import narrow
from gearkit.lesson.opening import open_lesson
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.workbook import Lesson
from gearkit.words.say import speaking_language
from tests.browser import host

pytestmark = [pytest.mark.browser, pytest.mark.slow]
# What JupyterLab leaves a panel of a window of 390 px.
WIDTH = 300
SMALLEST = 10.95
# Widths of the fading edges in px, left and right.
FADES = """node => { const style = getComputedStyle(node); return ["--gk-left", "--gk-right"].map((name) => style.maskImage.includes("gradient") ? parseFloat(style.getPropertyValue(name)) : 0); }"""
_SIZES = "all => all.map((n) => { const m = n.getScreenCTM(); return parseFloat(getComputedStyle(n).fontSize) * Math.hypot(m.a, m.b); })"


def _in_german(lesson: Lesson, item: str) -> Panel:
    with speaking_language("de"):
        return lesson.exercise(item)


_WIDE: dict[str, tuple[Callable[[Lesson], Panel], str]] = {
    "the table of gears": (lambda lesson: lesson.explore_gears(), ".gk-scroll"),
    "the drawing of a panel": (lambda lesson: lesson.explore("Q36"), ".gk-drawing"),
    "the lever of two sets": (lambda lesson: lesson.explore("pair_common_sun"), ".gk-levers"),
    "the table of a question": (lambda lesson: _in_german(lesson, "L09-09"), ".gk-question .gk-scroll"),
    "the train of an exercise": (lambda lesson: lesson.exercise("L06-03"), ".gk-train"),
    "the pictures of two drivers": (lambda lesson: lesson.explore_about("split", "power_split_one_set"), ".gk-pictures figure"),
}


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    with host.blank_page(WIDTH, 844) as opened:
        yield opened


def fades(place: Locator) -> list[float]:
    place.page.wait_for_timeout(100)
    widths: list[float] = place.evaluate(FADES)
    return widths


@pytest.mark.parametrize("name", list(_WIDE))
def test_what_goes_on_beyond_an_edge_fades_there_until_it_is_scrolled_to(page: Page, name: str, tmp_path: Path) -> None:
    make, where = _WIDE[name]
    with host.show(page, make(open_lesson("11", tmp_path / "record.json"))) as desk:
        desk.settle()
        wide = page.locator(where).first
        assert wide.evaluate("node => node.scrollWidth - node.clientWidth") > 1
        left, right = fades(wide)
        assert left == 0
        assert right > 20
        wide.evaluate("node => { node.scrollLeft = node.scrollWidth; }")
        left, right = fades(wide)
        assert left > 20
        assert right == 0


_CAPTION_ENDS = """all => all.map((caption) => { const words = document.createRange(); words.selectNodeContents(caption); return words.getBoundingClientRect().right; })"""
_CAPTIONED: dict[str, Callable[[Lesson], Panel]] = {
    "the six ways of a set": lambda lesson: lesson.explore_about("assembly"),
    "the elements of a shift": lambda lesson: lesson.explore_about("shifts", "Q36"),
    "what acts on a power split": lambda lesson: lesson.explore_about("split", "power_split_one_set"),
}


@pytest.mark.parametrize("name", list(_CAPTIONED))
@pytest.mark.parametrize("language", ["en", "de"])
def test_the_caption_of_a_table_that_goes_on_is_seen_whole(page: Page, name: str, language: str, tmp_path: Path) -> None:
    """It was as wide as its table: of "one member held, one drives, one is driven" stood "one member held, on is driven"."""
    with speaking_language(language), host.show(page, _CAPTIONED[name](open_lesson("11", tmp_path / "record.json"))) as desk:
        desk.settle()
        wide = page.locator(".gk-scroll").filter(has=page.locator("caption"))
        sizes = wide.evaluate_all(
            "all => all.map((node) => [node.scrollWidth - node.clientWidth, node.getBoundingClientRect().right])"
        )
        ends = wide.locator("caption").evaluate_all(_CAPTION_ENDS)
        assert len(ends) == len(sizes)
        assert any(more > 1 for more, _ in sizes)
        assert [end for end, (more, edge) in zip(ends, sizes, strict=True) if end > edge - (44 if more > 1 else 0) + 0.5] == []


def test_nothing_fades_that_is_seen_whole(page: Page, tmp_path: Path) -> None:
    with host.show(page, open_lesson("11", tmp_path / "record.json").explore()) as desk:
        desk.settle()
        table = page.locator(".gk-scroll")
        assert table.evaluate("node => node.scrollWidth - node.clientWidth") <= 1
        assert fades(table) == [0, 0]


def test_a_reader_who_wants_no_motion_has_the_sign_too(page: Page, tmp_path: Path) -> None:
    page.emulate_media(reduced_motion="reduce")
    try:
        with host.show(page, open_lesson("11", tmp_path / "record.json").explore("Q36")) as desk:
            desk.settle()
            assert fades(page.locator(".gk-drawing").first)[1] > 20
    finally:
        page.emulate_media(reduced_motion="no-preference")


@pytest.mark.parametrize("item", ["L01-03", "L01-07", "L12-04"])
def test_a_unit_stands_behind_its_box(page: Page, item: str, tmp_path: Path) -> None:
    with host.show(page, open_lesson("11", tmp_path / "record.json").exercise(item)) as desk:
        desk.settle()
        box = page.locator(".gk-form input[type=text]").first.bounding_box()
        unit = page.locator(".gk-form .gk-unit").first.bounding_box()
    assert box
    assert unit
    assert unit["x"] >= box["x"] + box["width"]
    assert box["y"] < unit["y"] + unit["height"] / 2 < box["y"] + box["height"]
    assert box["width"] > 120


_ALONE = """() => [...document.querySelectorAll(".gk-text > .gk-unit")].filter((unit) => unit.textContent).filter((unit) => {
  const [a, b] = [unit.getBoundingClientRect(), unit.parentElement.querySelector("input").getBoundingClientRect()];
  return a.left < b.right || (a.top + a.bottom) / 2 < b.top || (a.top + a.bottom) / 2 > b.bottom || a.right > document.querySelector(".gk-panel").getBoundingClientRect().right; }).map((unit) => unit.parentElement.textContent)"""


def test_a_unit_stays_behind_its_box_at_any_width(page: Page, tmp_path: Path) -> None:
    """In half a window a long name and its box filled the line, and the unit stood alone below the name."""
    try:
        with host.show(page, open_lesson("11", tmp_path / "record.json").exercise("L08-22")) as desk:
            desk.settle()
            assert page.locator(".gk-text > .gk-unit").count() == 1
            alone = {}
            for width in range(300, 1000, 20):
                page.set_viewport_size({"width": width, "height": 844})
                alone[width] = page.evaluate(_ALONE)
        assert {width: names for width, names in alone.items() if names} == {}
    finally:
        page.set_viewport_size({"width": WIDTH, "height": 844})


_GAPS = """() => [...document.querySelectorAll(".gk-text:has(> .gk-unit)")].map((row) => { const name = document.createRange();
  name.selectNodeContents(row.firstElementChild); return row.querySelector("input").getBoundingClientRect().left - name.getBoundingClientRect().right; })"""


@pytest.mark.parametrize(
    "make", [lambda lesson: lesson.exercise("L01-03"), lambda lesson: lesson.predict_about("torques", "Q24")]
)
def test_a_short_name_stands_beside_its_box(page: Page, make: Callable[[Lesson], Panel], tmp_path: Path) -> None:
    page.set_viewport_size({"width": 740, "height": 844})
    try:
        with host.show(page, make(open_lesson("11", tmp_path / "record.json"))) as desk:
            desk.settle()
            gaps = page.evaluate(_GAPS)
        assert len(gaps) == 1
        assert 4 <= gaps[0] <= 12
    finally:
        page.set_viewport_size({"width": WIDTH, "height": 844})


_LETTERS: dict[str, tuple[Callable[[Lesson], Panel], str]] = {
    "stick diagrams to choose": (lambda lesson: lesson.exercise("L03-24"), ".gk-choices"),
    "the lever of two sets": (lambda lesson: lesson.explore("pair_common_sun"), ".gk-levers"),
    "levers of four sets": (lambda lesson: lesson.explore("Q48"), ".gk-levers"),
}


@pytest.mark.parametrize("name", list(_LETTERS))
def test_letters_of_pictures_can_be_read(page: Page, name: str, tmp_path: Path) -> None:
    make, where = _LETTERS[name]
    with host.show(page, make(open_lesson("11", tmp_path / "record.json"))) as desk:
        desk.settle()
        sizes = page.locator(f"{where} svg text").evaluate_all(_SIZES)
    assert len(sizes) > 8
    assert min(sizes) >= SMALLEST


def test_names_of_shafts_break_between_members_only(page: Page, tmp_path: Path) -> None:
    """A dot or a number stood alone in a line."""
    with host.show(page, open_lesson("11", tmp_path / "record.json").explore("pair_common_sun")) as desk:
        desk.settle()
        lines = page.locator(
            ".gk-table tbody th"
        ).evaluate_all("""all => all.flatMap((node) => {
          const range = document.createRange();
          const places = [...node.textContent].map((letter, k) => { range.setStart(node.firstChild, k); range.setEnd(node.firstChild, k + 1); return [letter, Math.round(range.getBoundingClientRect().top)]; });
          return [...Map.groupBy(places, ([, top]) => top).values()].map((line) => line.map(([letter]) => letter).join("").trim()); })""")
    assert any("·" in line for line in lines)
    assert [line for line in lines if line[0] in "·" or (line[0].isdigit() and len(lines) > 1 and line.endswith("·"))] == []


_CROSSED = """() => { const box = (node) => node.getBoundingClientRect();
  const letters = [...document.querySelectorAll(".gk-front .gk-letter")].filter((node) => node.textContent);
  const drawn = [...document.querySelectorAll(".gk-front :is(.gk-pointer, .gk-arrow)")].filter((node) => box(node).width > 0);
  const cross = (a, b) => box(a).left < box(b).right && box(b).left < box(a).right && box(a).top < box(b).bottom && box(b).top < box(a).bottom;
  return letters.flatMap((one, k) => [...letters.slice(k + 1), ...drawn].filter((other) => cross(one, other)).map(() => one.textContent)); }"""
_OUT_OF_SIGHT = """() => [...document.querySelectorAll("svg text")].filter((node) => { const text = node.getBoundingClientRect();
  for (let up = node.parentElement; up; up = up.parentElement) if ((getComputedStyle(up).overflowX === "auto" || getComputedStyle(up).maskImage !== "none") && (getComputedStyle(up).overflowX !== "auto" || up.scrollWidth <= up.clientWidth) && text.right > up.getBoundingClientRect().right + 1) return true;
  return text.right > document.querySelector(".gk-panel").getBoundingClientRect().right || text.left < 0; }).map((node) => node.textContent)"""


@pytest.mark.parametrize("width", [WIDTH, 954])
@pytest.mark.parametrize("two_speeds", [False, True])
@pytest.mark.parametrize("language", ["en", "de"])
def test_names_beside_a_set_are_free_of_each_other_and_of_arrows(
    page: Page, language: str, two_speeds: bool, width: int, tmp_path: Path
) -> None:
    """German names are longer: they ran into each other, and the ring's arrow went through the sun's."""
    page.set_viewport_size({"width": width, "height": 844})
    try:
        lesson = open_lesson("02", tmp_path / "record.json")
        with speaking_language(language), host.show(page, lesson.explore(two_speeds=two_speeds)) as desk:
            desk.settle()
            assert page.locator(".gk-front .gk-letter").count() == 3
            assert page.evaluate(_CROSSED) == []
            assert page.evaluate(_OUT_OF_SIGHT) == []
            sizes = page.locator(".gk-front .gk-letter").evaluate_all(_SIZES)
            assert min(sizes) >= SMALLEST
    finally:
        page.set_viewport_size({"width": WIDTH, "height": 844})


_ON_NODES = """() => [...document.querySelectorAll(".gk-levers svg")].flatMap((drawn) => [...drawn.querySelectorAll(".gk-lever-name")].filter((name) =>
  [...drawn.querySelectorAll(".gk-node")].some((node) => { const [a, b] = [name.getBoundingClientRect(), node.getBoundingClientRect()];
    return a.right > b.left + 0.5 && b.right > a.left && a.bottom > b.top && b.bottom > a.top; })).map((name) => name.textContent))"""


@pytest.mark.parametrize("layout", ["pair_series", "Q36"])
def test_names_end_before_the_points_of_a_lever(page: Page, layout: str, tmp_path: Path) -> None:
    """German names are wider than was reckoned: the input's ran into its point."""
    with speaking_language("de"), host.show(page, open_lesson("11", tmp_path / "record.json").explore(layout)) as desk:
        desk.settle()
        assert page.locator(".gk-lever-name").count() >= 6
        assert page.evaluate(_ON_NODES) == []


@pytest.mark.parametrize("width", [WIDTH, 900])
def test_a_result_wider_than_the_notebook_fades_at_its_edge(page: Page, width: int, tmp_path: Path) -> None:
    """Of three levers with their torques the third was cut through a number in half a window, without a sign."""
    page.set_viewport_size({"width": width, "height": 844})
    try:
        with host.show(page, open_lesson("11", tmp_path / "record.json").explore()) as desk:
            desk.settle()
            page.evaluate(
                """style => document.body.insertAdjacentHTML("beforeend", `${style}<div class="jp-RenderedHTML jp-OutputArea-output"
                  style="overflow: auto"><div style="width: 1400px">1</div></div>`)""",
                narrow.STYLE,
            )
            wide, seen = page.locator(".jp-RenderedHTML"), page.locator(".gk-scroll").first
            assert fades(wide)[1] > 20
            assert fades(seen) == [0, 0]
    finally:
        page.set_viewport_size({"width": WIDTH, "height": 844})


@pytest.mark.parametrize("width", [WIDTH, 680])
def test_nothing_of_a_drawing_is_cut_off_at_its_top(page: Page, width: int, tmp_path: Path) -> None:
    page.set_viewport_size({"width": width, "height": 844})
    try:
        with host.show(page, open_lesson("11", tmp_path / "record.json").explore_about("split", "power_split_one_set")) as desk:
            desk.settle()
            rooms = page.locator(".gk-drawing").evaluate_all(
                """all => all.map((place) => Math.min(...[...place.querySelectorAll("svg path, svg circle, svg text")].map((node) => node.getBoundingClientRect().top
                  - (parseFloat(getComputedStyle(node).strokeWidth) || 0) / 2)) - place.getBoundingClientRect().top)"""
            )
        assert rooms
        assert min(rooms) >= -0.5
    finally:
        page.set_viewport_size({"width": WIDTH, "height": 844})
