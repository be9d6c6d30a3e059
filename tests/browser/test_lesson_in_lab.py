"""A lesson as a learner meets it: JupyterLab in a browser, keyboard only, predictions kept, every control named."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from gearkit.answers import items
from gearkit.lesson import lesson_copies
from tests.browser import lab
from tests.browser.accessible import named_controls, too_wide

pytestmark = [pytest.mark.browser, pytest.mark.slow]
LESSON = "03_what_one_set_can_do/what_one_set_can_do.ipynb"


@dataclass(frozen=True)
class Desk:
    """An open lesson and the learner's folder it lies in."""

    page: Page
    folder: Path

    def panel(self, title: str) -> Locator:
        return self.page.get_by_role("region", name=title, exact=True)

    def cells(self) -> int:
        return self.page.locator(".jp-Notebook-cell").count()

    def events(self, kind: str) -> list[dict[str, Any]]:
        path = self.folder / "my_record.json"
        held = json.loads(path.read_text(encoding="utf-8"))["events"] if path.exists() else []
        return [event for event in held if event["kind"] == kind]


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    folder = lesson_copies.hand_over(tmp_path_factory.mktemp("learner") / "lessons")
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("GEARKIT_RECORD", raising=False)
        with lab.serve(folder) as server, lab.browser_page() as page:
            lab.open_notebook(page, server, LESSON)
            lab.run_all(page)
            expect(page.get_by_role("region", name="Predict: one set", exact=True)).to_be_visible(timeout=30_000)
            expect(page.get_by_text(f"0 of {len(items.of_lesson(3))} exercises done")).to_be_visible(timeout=30_000)
            yield Desk(page, folder)


def test_running_the_whole_lesson_answers_nothing_and_fails_nowhere(desk: Desk) -> None:
    assert json.loads((desk.folder / "my_record.json").read_text(encoding="utf-8"))["events"] == []
    assert (
        desk.page.locator(
            '[data-mime-type="application/vnd.jupyter.error"], .jp-RenderedText[data-mime-type*="stderr"]'
        ).count()
        == 0
    )
    # Besides the exercises: the switch for Python, the recall, and a panel each to explore and to predict.
    assert desk.page.locator(".gk-panel").count() == 4 + len(items.of_lesson(3))
    expect(desk.panel("Recall")).to_contain_text("Nothing to recall yet.")


def test_the_working_in_python_is_folded_and_a_button_at_the_head_shows_and_folds_it(desk: Desk) -> None:
    folded = desk.page.locator(".jp-CodeCell .jp-InputPlaceholder")
    expect(folded.first).to_contain_text("# Run this first: it opens the lesson and your record")
    before = folded.count()
    assert before >= 7
    assert desk.page.get_by_text("from fractions import Fraction").count() == 0
    button = desk.panel("Working in Python").get_by_role("button")
    button.focus()
    desk.page.keyboard.press("Enter")
    expect(folded).to_have_count(0)
    expect(button).to_have_text("Fold the working in Python")
    expect(desk.page.locator(".jp-CodeCell .jp-InputArea-editor", has_text="ring_held = 1 + Fraction(R, S)")).to_be_visible()
    desk.page.keyboard.press("Enter")
    expect(folded).to_have_count(before)


@pytest.mark.parametrize(("key", "by"), [("ArrowRight", 1), ("ArrowUp", 1), ("ArrowLeft", -1), ("ArrowDown", -1)])
def test_a_slider_moves_by_keyboard_and_the_notebook_does_not(desk: Desk, key: str, by: int) -> None:
    panel = desk.panel("Explore: one set")
    slider = panel.get_by_role("slider", name="Sun teeth S")
    slider.focus()
    before, cells = int(slider.input_value()), desk.cells()
    desk.page.keyboard.press(key)
    expect(slider).to_have_value(str(before + by))
    teeth = before + by
    expect(panel.get_by_role("status")).to_contain_text(f"ratio {_ratio(teeth + teeth + 42, teeth)}")
    # "b" and "a" are the notebook's own commands for a new cell; a panel must keep them to itself.
    desk.page.keyboard.press("b")
    desk.page.keyboard.press("a")
    assert desk.cells() == cells
    assert slider.evaluate("node => node === document.activeElement")


def _ratio(top: int, bottom: int) -> str:
    from fractions import Fraction

    return str(Fraction(top, bottom))


def test_the_box_beside_a_slider_takes_exact_values(desk: Desk) -> None:
    panel = desk.panel("Explore: one set")
    box = panel.get_by_role("spinbutton", name="Sun teeth S")
    box.fill("40")
    expect(panel.get_by_role("slider", name="Sun teeth S")).to_have_value("40")
    expect(panel.get_by_role("status")).to_contain_text("ratio 61/20 = 3.050")
    box.fill("4000")
    box.press("Tab")
    expect(box).to_have_value("90")


def test_the_focus_can_be_seen(desk: Desk) -> None:
    slider = desk.panel("Explore: one set").get_by_role("slider", name="Planet teeth P")
    slider.focus()
    desk.page.keyboard.press("ArrowRight")
    style = slider.evaluate("node => { const s = getComputedStyle(node); return [s.outlineStyle, s.outlineWidth]; }")
    assert style == ["solid", "3px"]


def test_the_drawing_turns_and_stops(desk: Desk) -> None:
    panel = desk.panel("Explore: one set")
    sun = panel.locator(".gk-sun").first
    still = sun.get_attribute("transform")
    panel.get_by_role("button", name="Turn", exact=True).press("Space")
    expect(sun).not_to_have_attribute("transform", still or "")
    panel.get_by_role("button", name="Stop", exact=True).press("Space")
    stopped = sun.get_attribute("transform")
    desk.page.wait_for_timeout(200)
    assert sun.get_attribute("transform") == stopped


def test_who_asks_for_little_motion_gets_one_step_for_each_press(desk: Desk) -> None:
    panel = desk.panel("Explore: one set")
    crank = panel.get_by_role("spinbutton", name="Turns of the sun")
    crank.fill("0")
    desk.page.emulate_media(reduced_motion="reduce")
    try:
        for turned in ("0.15", "0.25"):
            panel.get_by_role("button", name="Turn", exact=True).press("Space")
            expect(crank).to_have_value(turned)
        desk.page.wait_for_timeout(300)
        assert crank.input_value() == "0.25"
    finally:
        desk.page.emulate_media(reduced_motion="no-preference")


def test_nothing_is_revealed_before_a_prediction(desk: Desk) -> None:
    expect(desk.panel("Predict: one set").locator(".gk-afterword")).to_have_text("")
    panel = desk.panel("Predict: one set")
    expect(panel).to_contain_text("What does the carrier do?")
    expect(panel).not_to_contain_text("18/5")
    expect(panel.locator(".gk-cell-speed").nth(1)).to_have_text("?")
    panel.get_by_role("button", name="Keep my prediction and reveal").press("Enter")
    expect(panel.get_by_role("alert")).to_have_text("Choose what you expect first.")
    expect(panel).not_to_contain_text("18/5")
    assert desk.events("prediction") == []


def test_a_prediction_is_entered_by_keyboard_kept_and_shown_beside_the_result(desk: Desk) -> None:
    panel = desk.panel("Predict: one set")
    panel.get_by_role("radio", name="forward reduction").press("Space")
    ratio = panel.get_by_role("textbox", name="Ratio")
    ratio.fill("3,200")
    ratio.press("Enter")
    expect(panel.get_by_role("alert")).to_contain_text("Write 3.200 if the comma stands for the decimal point, or 3200 if")
    ratio.fill("3.2")
    ratio.press("Enter")
    expect(panel).to_contain_text("You predicted: forward reduction, 3.2. Found: forward reduction, ratio 18/5 = 3.600.")
    # What was written in is gone; the next thing to write has the focus, so that no key reaches the notebook.
    expect(panel.get_by_role("textbox", name="My reason for this guess")).to_be_focused()
    expect(panel).to_contain_text("carrier forward at 277.8 r/min")
    expect(panel.locator(".gk-afterword")).to_contain_text("Compare.")
    panel.get_by_role("textbox", name="My reason for this guess").fill("Nothing, I rounded.")
    desk.page.keyboard.press("Enter")
    expect(panel).to_contain_text("Kept in your record.")
    _wait_for(desk, "explanation")
    [said], [found], [reason] = desk.events("prediction"), desk.events("reveal"), desk.events("explanation")
    assert said["said"] == {"kind": "forward reduction", "figure": "16/5", "typed": "3.2"}
    assert found["found"] == {"kind": "forward reduction", "figure": "18/5"}
    assert reason["text"] == "Nothing, I rounded."
    assert said["at"] <= found["at"] <= reason["at"]


def _wait_for(desk: Desk, kind: str) -> None:
    for _ in range(50):
        if desk.events(kind):
            return
        desk.page.wait_for_timeout(100)
    raise AssertionError(f"no {kind} was written to the record")


def test_an_exercise_reads_the_answer_before_the_check_and_names_the_mistake_after_it(desk: Desk) -> None:
    form = desk.panel("Exercise L03-02")
    answer = form.get_by_role("textbox", name="Your answer")
    answer.fill("R/S")
    expect(form.locator(".gk-preview mfrac")).to_have_count(1)
    assert desk.events("attempt") == []
    answer.press("Enter")
    expect(form.get_by_role("status")).to_contain_text("Not yet")
    expect(answer).to_be_focused()
    expect(form.get_by_role("status")).to_contain_text("the one turn that the whole set makes")
    form.get_by_role("button", name="Hint").press("Enter")
    expect(form.get_by_role("list", name="Hints").get_by_role("listitem")).to_have_count(1)
    answer.fill("1 + R/S")
    form.get_by_role("button", name="Check").press("Enter")
    expect(form.get_by_role("status")).to_contain_text("Right")
    assert [event["verdict"] for event in desk.events("attempt")] == ["wrong", "right"]


def test_an_order_is_made_with_the_keyboard(desk: Desk) -> None:
    form = desk.panel("Exercise L03-09")
    first = form.get_by_role("listitem").nth(0).locator("span").first.inner_text()
    form.get_by_role("button", name=f"Move {first} down").press("Enter")
    expect(form.get_by_role("listitem").nth(1)).to_contain_text(first)
    assert desk.page.evaluate("document.activeElement.getAttribute('aria-label')") == f"Move {first} down"


def test_every_control_of_every_panel_has_a_name(desk: Desk) -> None:
    regions, controls = named_controls(desk.page, "Explore", "Predict", "Exercise")
    assert regions == 2 + len(items.of_lesson(3))
    assert controls > 80


def test_no_panel_overflows_its_cell_and_none_logs_an_error(desk: Desk) -> None:
    assert too_wide(desk.page) == 0


_SPILLED = """() => [...document.querySelectorAll(".jp-InputPlaceholder")].filter((node) => node.scrollWidth > node.clientWidth + 1
  || node.querySelector(".jp-PlaceholderText").getBoundingClientRect().bottom > node.getBoundingClientRect().bottom).length"""
_OVER = """nodes => nodes.filter((node) => node.scrollWidth > node.clientWidth + 1).map((node) => [getComputedStyle(node).maskImage.includes("gradient"),
  parseFloat(getComputedStyle(node).getPropertyValue("--gk-right"))])"""


def test_on_a_phone_folded_lines_are_whole_and_wide_results_fade_at_their_edge(desk: Desk) -> None:
    whole = desk.page.viewport_size
    assert whole
    try:
        # As wide as a phone beside the list of files.
        desk.page.set_viewport_size({"width": 640, "height": 844})
        desk.page.wait_for_timeout(500)
        assert desk.page.locator(".jp-InputPlaceholder").count() >= 7
        assert desk.page.evaluate(_SPILLED) == 0
        # Words of prose do not fade: what is too wide for them moves by itself.
        assert desk.page.locator(".jp-MarkdownOutput").evaluate_all(_OVER) == []
        cut = desk.page.locator(".jp-RenderedHTML.jp-OutputArea-output").evaluate_all(_OVER)
        assert cut
        assert all(fades and width > 20 for fades, width in cut), cut
    finally:
        desk.page.set_viewport_size(whole)
