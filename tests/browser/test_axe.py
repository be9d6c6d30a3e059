"""No page breaks a rule of WCAG 2.2 AA that a well-kept checker can see: lessons, home, class, paper, feedback, report, unit."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from gearkit.lesson.course.home import home
from gearkit.lesson.record import Record
from gearkit.lesson.syllabus import LESSONS
from gearkit.print import web_page
from gearkit.site import class_page, single_page
from gearkit.site.handout import handout, notebook
from gearkit.train.catalogue import find
from graders.report.pages.class_report import report_page
from graders.unit import overview, unit
from graders.unit.facts import Facts
from tests.browser import lab
from tests.report.test_class_report import data
from tests.report.test_feedback import page as feedback_page
from tests.support.amounts import SHORT

pytestmark = [pytest.mark.browser, pytest.mark.slow]
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
SOME = ["06"] if SHORT else list(LESSONS)
SIZES = ((1366, 768), (390, 844))
FRAGMENT = '<!doctype html><html lang="en"><head><title>{title}</title></head><body><main>{inside}</main></body></html>'


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    with lab.browser_page(*SIZES[0]) as shown:
        yield shown


def violations(page: Page) -> list[str]:
    """What the checker finds, each with the first place where it stands."""
    found = Axe().run(page, options={"runOnly": RULES}).response["violations"]
    return [f"{each['id']} ({each['impact']}): {each['nodes'][0]['html'][:200]}" for each in found]


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


def test_the_checker_finds_a_picture_without_words(page: Page) -> None:
    page.set_content(FRAGMENT.format(title="One picture", inside="<h1>One picture</h1><img src='data:,'>"))
    assert any(each.startswith("image-alt") for each in violations(page))
