"""A lesson that was worked on, saved and closed, and is opened on another day: what it shows, and what it takes up again."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from gearkit.lesson.stills import AGAIN
from tests.browser import lab
from tests.support.amounts import amount

pytestmark = [pytest.mark.browser, pytest.mark.slow]
WAYS = [("lab", True), ("notebook", False), ("lab", False), ("notebook", True)][: amount(4, 2)]
TITLES = (
    "Explore: one set",
    "Predict: Quillbrook Q36",
    "Exercise L03-02",
    "Predict: torques of Quillbrook Q36",
    "Explore: faults of Quillbrook Q36",
)
CELLS = (
    'from gearkit import open_lesson\nlesson = open_lesson("03", "record.json")',
    "lesson.explore()",
    'lesson.predict("Q36")',
    'lesson.exercise("L03-02")',
    'lesson.predict_about("torques", "Q36")',
    'lesson.explore_about("faults", "Q36")',
    'lesson.show("Q36", "power", range_name="2")',
)


@dataclass(frozen=True)
class Left:
    """A notebook that was worked on and closed.

    Args:
        folder: where it lies, with the learner's record.
        home: the server's own files, by which it knows its own outputs again.
    """

    folder: Path
    home: Path

    @property
    def file(self) -> Path:
        return self.folder / "lesson.ipynb"

    @contextlib.contextmanager
    def opened(self, *, trusted: bool = True, app: str = "lab", keep_widgets: bool = False) -> Iterator[Page]:
        with (
            lab.serve(self.folder, app, home=self.home if trusted else None, keep_widgets=keep_widgets) as server,
            lab.browser_page(1200, 1600) as page,
        ):
            lab.open_notebook(page, server, self.file.name)
            # What the saved notebook lacks is told a moment after it stands.
            page.wait_for_timeout(2000)
            yield page


def panel(page: Page, title: str) -> Locator:
    return page.locator(f".gk-panel[aria-label='{title}']")


def still(page: Page, title: str) -> Locator:
    return page.locator(".jp-RenderedHTML").filter(has=page.get_by_text(AGAIN)).filter(has=page.get_by_text(title, exact=True))


def work(page: Page) -> None:
    """What a learner does: another role, a prediction, an answer that is checked after a wrong one, another fault."""
    panel(page, TITLES[0]).get_by_role("group", name="Held").get_by_role("radio", name="carrier").click()
    predict = panel(page, TITLES[1])
    predict.get_by_role("button", name="Apply the elements of range 3").click()
    predict.get_by_role("radio", name="forward", exact=True).click()
    predict.get_by_role("textbox", name="Ratio").fill("2")
    predict.get_by_role("button", name="Keep my prediction and reveal").click()
    form = panel(page, TITLES[2])
    for text in ("R/S", "1 + R/S"):
        form.get_by_role("textbox", name="Your answer").fill(text)
        form.get_by_role("button", name="Check").click()
        expect(form.get_by_role("status")).to_contain_text("Right" if text.startswith("1") else "Not yet")
    form.get_by_role("button", name="Hint").click()
    panel(page, TITLES[4]).get_by_role("radio", name="E clutch").click()


def leave(folder: Path, home: Path, *, keep_widgets: bool = False) -> Left:
    for each in (folder, home):
        each.mkdir(parents=True)
    lab.write_notebook(folder / "lesson.ipynb", CELLS)
    with lab.serve(folder, home=home, keep_widgets=keep_widgets) as server, lab.browser_page(1200, 1600) as page:
        lab.open_notebook(page, server, "lesson.ipynb")
        lab.run_all(page)
        for title in TITLES:
            expect(panel(page, title)).to_be_visible()
            expect(still(page, title)).to_be_hidden()
        work(page)
        # Stills follow when the panels have come to rest.
        page.wait_for_timeout(2500)
        lab.save(page, folder / "lesson.ipynb")
    return Left(folder, home)


@pytest.fixture(scope="module")
def left(tmp_path_factory: pytest.TempPathFactory) -> Left:
    place = tmp_path_factory.mktemp("left")
    return leave(place / "lessons", place / "home")


@pytest.mark.parametrize(("app", "trusted"), WAYS)
def test_a_lesson_opened_on_another_day_shows_what_its_panels_showed_last(left: Left, app: str, trusted: bool) -> None:
    with left.opened(trusted=trusted, app=app) as page:
        for title in TITLES:
            expect(still(page, title)).to_be_visible()
        assert page.get_by_text("Error displaying widget").filter(visible=True).count() == 0
        assert panel(page, TITLES[0]).count() == 0
        expect(still(page, TITLES[0])).to_contain_text("carrier held: reverse reduction, ratio −13/6")
        expect(still(page, TITLES[1])).to_contain_text("C and D applied: a range, ratio")
        expect(still(page, TITLES[2])).to_contain_text("1 + R/S")
        expect(still(page, TITLES[2])).to_contain_text("Right")
        expect(still(page, TITLES[4])).to_contain_text("E stuck off")
        pictures = page.locator(".jp-OutputArea").get_by_role("img").filter(visible=True)
        assert all(text for text in pictures.evaluate_all("nodes => nodes.map(n => n.alt || n.ariaLabel || n.textContent)"))
        loaded = (
            still(page, TITLES[1]).locator("img").evaluate_all("nodes => nodes.map(n => n.complete && n.naturalWidth > 100)")
        )
        assert loaded == [True, True]


def test_a_page_made_from_the_saved_lesson_shows_the_stills(left: Left) -> None:
    from nbconvert import HTMLExporter

    text, _ = HTMLExporter().from_filename(str(left.file))
    with lab.browser_page() as page:
        page.route("**/*", lambda route: route.abort())
        page.set_content(text, wait_until="domcontentloaded")
        for title in TITLES:
            expect(still(page, title)).to_be_visible()


def test_a_lesson_run_again_takes_up_answers_verdicts_hints_and_predictions(left: Left) -> None:
    before = (left.folder / "record.json").read_text(encoding="utf-8")
    with left.opened() as page:
        lab.run_all(page)
        form = panel(page, TITLES[2])
        expect(form.get_by_role("textbox", name="Your answer")).to_have_value("1 + R/S")
        expect(form.get_by_role("status")).to_contain_text("Right")
        expect(form.get_by_role("list", name="Hints").get_by_role("listitem")).to_have_count(1)
        predict = panel(page, TITLES[1])
        predict.get_by_text("My predictions so far").click()
        expect(predict).to_contain_text("C and D applied: you said forward, 2; found forward")
        for title in TITLES:
            expect(panel(page, title)).to_be_visible()
            expect(still(page, title)).to_be_hidden()
    assert (left.folder / "record.json").read_text(encoding="utf-8") == before


def note_of(page: Page, title: str) -> str:
    return str(panel(page, title).locator(".gk-title").evaluate("node => getComputedStyle(node, '::after').content"))


def test_a_panel_saved_with_its_state_lives_again_and_says_that_python_is_not_there(tmp_path: Path) -> None:
    left = leave(tmp_path / "lessons", tmp_path / "home", keep_widgets=True)
    assert "widgets" in json.loads(left.file.read_text(encoding="utf-8"))["metadata"]
    with left.opened(keep_widgets=True) as page:
        for title in TITLES:
            expect(panel(page, title)).to_be_visible()
            expect(still(page, title)).to_be_hidden()
            assert AGAIN in note_of(page, title)
        explore = panel(page, TITLES[0])
        explore.get_by_role("group", name="Held").get_by_role("radio", name="ring").click()
        expect(explore.get_by_role("status")).to_contain_text("19/6")
        lab.run_all(page)
        expect(panel(page, TITLES[0]).get_by_role("status")).to_contain_text("ring held")
        for title in TITLES:
            expect(panel(page, title)).to_have_count(1)
            assert note_of(page, title) in ("none", "normal")
