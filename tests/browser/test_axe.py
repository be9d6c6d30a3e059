"""No page breaks a rule of WCAG 2.2 AA that a well-kept checker can see: lessons, home, class, paper, feedback, report, unit."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Page, expect

from gearkit.draw.core import palette
from gearkit.lesson.course.home import home
from gearkit.lesson.record import Record
from gearkit.lesson.syllabus import LESSONS
from gearkit.print import web_page
from gearkit.site import class_page, course_site, single_page
from gearkit.site.handout import handout, notebook
from gearkit.site.sheet_pages import copies_in
from gearkit.train.catalogue import find
from graders.report.pages.class_report import report_page
from graders.unit import overview, unit
from graders.unit.facts import Facts
from tests.browser import lab
from tests.browser.accessible import violations
from tests.graders.classroom import Classroom
from tests.report.test_class_report import data
from tests.report.test_feedback import page as feedback_page
from tests.support.amounts import SHORT, amount
from tests.support.static_server import served

pytestmark = [pytest.mark.browser, pytest.mark.slow]
SITE_LESSONS = ["03"] if SHORT else ["03", "06", "12"]
SOME = ["06"] if SHORT else list(LESSONS)
SIZES = ((1366, 768), (390, 844))
FRAGMENT = '<!doctype html><html lang="en"><head><title>{title}</title></head><body><main>{inside}</main></body></html>'


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    with lab.browser_page(*SIZES[0]) as shown:
        yield shown


@pytest.mark.parametrize("number", SOME)
def test_no_lesson_breaks_a_rule_on_a_laptop_or_a_phone(page: Page, tmp_path: Path, number: str) -> None:
    file = tmp_path / "lesson.html"
    single_page.write(number, file)
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        page.goto(file.as_uri())
        expect(page.locator("html[data-panels=live]")).to_be_attached()
        assert violations(page) == [], f"lesson {number} at {width} px"


def _home(file: Path) -> None:
    inside = home(Record(file.with_name("my_record.json")), file.parent)._repr_html_()
    file.write_text(FRAGMENT.format(title="Your course", inside=inside), encoding="utf-8")


def _report(file: Path) -> None:
    file.write_text(report_page(data(), "feedback/{}.html"), encoding="utf-8")


def _feedback(file: Path) -> None:
    file.write_text(feedback_page(2), encoding="utf-8")


def _unit(file: Path) -> None:
    parts = [overview.Part(unit.LESSON, "the lesson", 120)]
    file.write_text(overview.html(Facts(find("Q36"), unit.LAYOUT), parts, [("ratios", 3, 12)]), encoding="utf-8")


PAGES: dict[str, Callable[[Path], object]] = {
    "home": _home,
    "class page": lambda file: class_page.write(find("Q36"), file),
    "handout": lambda file: web_page.save(handout(notebook("03")), file),
    "feedback": _feedback,
    "class report": _report,
    "unit": _unit,
}


@pytest.mark.parametrize("name", PAGES)
def test_no_page_breaks_a_rule(page: Page, tmp_path: Path, name: str) -> None:
    file = tmp_path / "page.html"
    PAGES[name](file)
    page.set_viewport_size({"width": 1366, "height": 768})
    page.goto(file.as_uri())
    assert violations(page) == [], name


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The course without Python: what it adds is held to the same rules in test_course_site."""
    folder = tmp_path_factory.mktemp("site")
    room = Classroom(folder)
    unit_folder = folder / "unit"
    unit.make(find("Q24"), unit_folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(course_site, "LESSONS", {number: LESSONS[number] for number in SITE_LESSONS})
        patch.setattr(course_site, "_add_python", lambda made, *_: setattr(made, "lacks", "not here"))
        (copy, *_) = copies_in(room.course.folder)
        made = course_site.build(units=[unit_folder], copies={"sheets/one.html": copy})
    course_site.write(made, folder / "site")
    with served(folder / "site") as base:
        yield base


@pytest.mark.parametrize("look", ["dark"] if SHORT else ["light", "dark"])
def test_no_page_of_the_course_breaks_a_rule_in_either_look(page: Page, site: str, look: Literal["light", "dark"]) -> None:
    lessons = [f"{LESSONS[number].folder}.html" for number in SITE_LESSONS]
    others = ["index.html", "glossary.html", "record.html", "units/unit.html", "sheets/one.html"]
    page.emulate_media(color_scheme=look)
    for address in [*lessons, *others]:
        for width, height in SIZES[: amount(2, 1)]:
            page.set_viewport_size({"width": width, "height": height})
            page.goto(f"{site}/{address}")
            expect(page.locator("h1").first).to_be_visible()
            assert violations(page) == [], f"{address}, {look}, at {width} px"
    page.emulate_media(color_scheme="light")


def test_the_page_is_dark_where_its_reader_wants_that_and_pictures_with_it(page: Page, site: str) -> None:
    seen = {}
    for look in ("light", "dark"):
        page.emulate_media(color_scheme=look)
        page.goto(f"{site}/{LESSONS[SITE_LESSONS[0]].folder}.html")
        expect(page.locator("html[data-panels=live]")).to_be_attached()
        seen[look] = [
            page.locator(place).first.evaluate(f"node => getComputedStyle(node).{what}")
            for place, what in (
                ("body", "backgroundColor"),
                ("body", "color"),
                (".gk-panel", "backgroundColor"),
                (".gk-panel", "color"),
            )
        ]
    page.emulate_media(color_scheme="light")
    paper, ink = (
        f"rgb({int(c[1:3], 16)}, {int(c[3:5], 16)}, {int(c[5:], 16)})" for c in (palette.PAGE_DARK, palette.DARK["ink"])
    )
    assert seen["dark"] == [paper, ink, paper, ink]
    assert seen["light"][0] == seen["light"][2] == "rgb(255, 255, 255)"


def test_the_checker_finds_a_picture_without_words(page: Page) -> None:
    page.set_content(FRAGMENT.format(title="One picture", inside="<h1>One picture</h1><img src='data:,'>"))
    assert any(each.startswith("image-alt") for each in violations(page))
