"""From a page to the lesson's notebook in the browser and back: one record, no foreign request, no network, and the same marks."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect

from gearkit.lesson.syllabus import LESSONS
from gearkit.site import course_site
from gearkit.site.own_code import jupyterlite
from gearkit.site.sheet_pages import copies_in
from graders.mark import batch
from graders.take_in import take_in
from tests.browser import lab
from tests.graders.classroom import CLASS, Classroom, right
from tests.support.amounts import SHORT
from tests.support.static_server import served

# Two minutes and a half of processor time for building and playing, so it is part of the whole form alone.
pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.skipif(SHORT, reason="GEARKIT_TESTS=whole plays the notebooks"),
]
PATIENCE = 240_000
LESSON = "03_what_one_set_can_do"
SHEET = "sheets/mine.html"


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Classroom:
    return Classroom(tmp_path_factory.mktemp("class"), "L03-02, L03-03")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory, room: Classroom) -> Iterator[str]:
    folder = tmp_path_factory.mktemp("site")
    copies = {SHEET: next(copy for copy in copies_in(room.course.folder) if copy.learner == "s1")}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(course_site, "LESSONS", {"03": LESSONS["03"]})
        made = course_site.build(copies=copies, own_code=True)
    course_site.write(made, folder)
    notebooks = sum(len(content) for name, content in made.files.items() if name.startswith(f"{jupyterlite.FOLDER}/"))
    print(f"notebooks: {notebooks / 1e6:.1f} MB apart from the pages")
    with served(folder) as base:
        yield base


@pytest.fixture
def page(site: str) -> Iterator[Page]:
    with lab.browser_page(1366, 900) as shown:
        foreign: list[str] = []

        def own_only(route: Route) -> None:
            if route.request.url.startswith((site, "data:", "blob:")):
                route.continue_()
            else:
                foreign.append(route.request.url)
                route.abort()

        shown.context.route("**/*", own_only)
        yield shown
        assert foreign == []


def run_all(page: Page) -> None:
    """Run all cells of the notebook that is open, once its kernel is there."""
    expect(page.locator(".jp-Notebook .jp-Cell").first).to_be_visible(timeout=PATIENCE)
    expect(page.locator(".jp-Notebook-ExecutionIndicator[data-status=idle]")).to_be_visible(timeout=PATIENCE)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()


def test_the_record_goes_from_a_page_to_its_notebook_and_back_and_all_works_without_a_network(page: Page, site: str) -> None:
    page.goto(f"{site}/{LESSON}.html")
    expect(page.locator("html[data-python=ready]")).to_be_attached(timeout=PATIENCE)
    on_page = page.get_by_role("region", name="Exercise L03-02", exact=True)
    on_page.get_by_role("textbox").fill("1 + R/S")
    page.keyboard.press("Enter")
    expect(on_page.get_by_role("status")).to_contain_text("Right")
    page.get_by_role("link", name="Try your own code").first.click()
    run_all(page)
    in_notebook = page.get_by_role("region", name="Exercise L03-02", exact=True)
    expect(in_notebook.get_by_role("textbox")).to_have_value("1 + R/S", timeout=PATIENCE)
    other = page.get_by_role("region", name="Exercise L03-03", exact=True)
    other.get_by_role("textbox").fill("1 + S/R", timeout=PATIENCE)
    page.keyboard.press("Enter")
    expect(other).to_contain_text("Not yet", timeout=PATIENCE)
    expect(page.locator('[data-mime-type="application/vnd.jupyter.error"]')).to_have_count(0)
    page.wait_for_function("localStorage.getItem('gearkit/my_record.json').includes('L03-03')", timeout=PATIENCE)
    page.get_by_role("link", name="Back to the lesson's page").click()
    expect(page.locator("html[data-python=ready]")).to_be_attached(timeout=PATIENCE)
    back = page.get_by_role("region", name="Exercise L03-03", exact=True)
    expect(back.get_by_role("textbox")).to_have_value("1 + S/R")
    expect(page.locator("#l03-progress")).to_contain_text("1 of 13 exercises done")
    wait_for_all_kept(page)
    page.context.set_offline(True)
    page.goto(f"{site}/own_code/notebooks/index.html?path={LESSON}/what_one_set_can_do.ipynb")
    run_all(page)
    expect(page.get_by_role("region", name="Exercise L03-03", exact=True).get_by_role("textbox")).to_have_value(
        "1 + S/R", timeout=PATIENCE
    )
    page.goto(f"{site}/{LESSON}.html")
    expect(page.locator("html[data-panels=live]")).to_be_attached()


def wait_for_all_kept(page: Page) -> None:
    """Wait until the service worker keeps all that notebooks need."""
    worker = page.evaluate("fetch(new URL('service_worker.js', location.href)).then((answer) => answer.text())")
    wanted = len(json.loads(next(line for line in worker.splitlines() if line.startswith("const CELLS_FILES"))[20:-1]))
    count = "caches.keys().then(async (names) => (await Promise.all(names.filter((n) => n.startsWith('gearkit-cells-')).map(async (n) => (await (await caches.open(n)).keys()).length)))[0] || 0)"
    end = time.monotonic() + PATIENCE / 1000
    while page.evaluate(count) < wanted:
        assert time.monotonic() < end, "the notebooks were not kept"
        time.sleep(0.5)


def test_a_sheet_answered_in_a_notebook_in_the_browser_earns_the_marks_of_page_and_notebook(
    page: Page, site: str, room: Classroom, tmp_path: Path
) -> None:
    (tmp_path / "in").mkdir()
    page.goto(f"{site}/{SHEET}")
    page.get_by_role("group", name="L03-02").get_by_role("textbox").fill("1 + R/S")
    page.get_by_role("button", name="in a notebook in this browser").click()
    run_all(page)
    expect(page.locator(".jp-OutputArea-output").filter(has_text="read as").first).to_be_visible(timeout=PATIENCE)
    cell = page.locator(".jp-CodeCell", has_text='answer("L03-03"')
    cell.locator(".cm-content").click()
    page.keyboard.press("Control+End")
    for _ in range(2):
        page.keyboard.press("ArrowLeft")
    page.keyboard.type("nonsense here")
    page.keyboard.press("Control+s")
    page.get_by_role("menuitem", name="File", exact=True).click()
    with page.expect_download() as waiting:
        page.get_by_role("menuitem", name="Download", exact=True).click()
    waiting.value.save_as(tmp_path / "in" / waiting.value.suggested_filename)
    assert take_in.take_in(room.course, "A1", tmp_path / "in", CLASS).taken == ("s1",)
    in_browser = batch.mark_sheet(room.course, room.sheet, workers=1).learners[0]
    assert [str(item.verdict) for item in in_browser.items] == ["right", "unreadable"]
    page.get_by_role("link", name="Back to the sheet's page").click()
    with page.expect_download() as waiting:
        page.get_by_role("group", name="L03-03").get_by_role("textbox").fill("nonsense here")
        page.get_by_role("button", name="Save the sheet to hand it in").click()
    waiting.value.save_as(tmp_path / "in" / waiting.value.suggested_filename)
    take_in.take_in(room.course, "A1", tmp_path / "in", CLASS)
    on_page = batch.mark_sheet(room.course, room.sheet, workers=1).learners[0]
    assert [(item.item, item.score, item.verdict) for item in on_page.items] == [
        (item.item, item.score, item.verdict) for item in in_browser.items
    ]
    room.hand_in("s1", room.copy("s1", right))
    assert batch.mark_sheet(room.course, room.sheet, workers=1).learners[0].items[0].score == in_browser.items[0].score
