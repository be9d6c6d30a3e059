"""Prediction tasks in JupyterLab: keyboard only, shut until predicted, kept in the record, every control named."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from gearkit.lesson.tasks.topics import TOPICS, task_about
from tests.browser import lab
from tests.browser.accessible import named_controls, too_wide

pytestmark = [pytest.mark.browser, pytest.mark.slow]
OPEN = 'from gearkit import open_lesson\nlesson = open_lesson("12", "record.json")'


@dataclass(frozen=True)
class Desk:
    """An open notebook with one panel for every topic."""

    page: Page
    folder: Path

    def panel(self, topic: str) -> Locator:
        return self.page.get_by_role("region", name=f"Predict: {task_about(topic, 'Q36').title}", exact=True)

    def events(self) -> list[dict[str, Any]]:
        path = self.folder / "record.json"
        return json.loads(path.read_text(encoding="utf-8"))["events"] if path.exists() else []

    def wait_for(self, kind: str) -> None:
        for _ in range(50):
            if any(event["kind"] == kind for event in self.events()):
                return
            self.page.wait_for_timeout(100)
        raise AssertionError(f"no {kind} was written to the record")


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    folder = tmp_path_factory.mktemp("tasks")
    sources = [OPEN, *(f'lesson.predict_about("{topic}", "Q36", seed="class 7")' for topic in TOPICS)]
    lab.write_notebook(folder / "tasks.ipynb", sources)
    with lab.serve(folder) as server, lab.browser_page() as page:
        lab.open_notebook(page, server, "tasks.ipynb")
        lab.run_all(page)
        desk = Desk(page, folder)
        expect(desk.panel(TOPICS[-1])).to_be_visible(timeout=60_000)
        yield desk


def test_running_the_cells_shows_every_task_and_predicts_nothing(desk: Desk) -> None:
    for topic in TOPICS:
        expect(desk.panel(topic).get_by_role("button", name="Keep my prediction and reveal")).to_be_visible()
    assert desk.page.locator('[data-mime-type="application/vnd.jupyter.error"]').count() == 0
    assert desk.events() == []


def test_a_slider_moves_by_keyboard_and_the_kernel_answers(desk: Desk) -> None:
    panel = desk.panel("torques")
    slider = panel.get_by_role("slider", name="Input torque")
    slider.focus()
    desk.page.keyboard.press("ArrowRight")
    expect(panel.get_by_role("status").first).to_contain_text("160 N·m at the input")
    cells = desk.page.locator(".jp-Notebook-cell").count()
    desk.page.keyboard.press("b")
    desk.page.keyboard.press("ArrowLeft")
    expect(panel.get_by_role("status").first).to_contain_text("150 N·m at the input")
    assert desk.page.locator(".jp-Notebook-cell").count() == cells
    assert slider.evaluate("node => node === document.activeElement")


def test_a_prediction_that_cannot_be_read_opens_nothing_and_one_that_can_is_kept(desk: Desk) -> None:
    panel = desk.panel("torques")
    keep = panel.get_by_role("button", name="Keep my prediction and reveal")
    keep.press("Enter")
    expect(panel.get_by_role("alert")).to_contain_text("Most torque is on: choose first; a guess will do.")
    expect(panel).not_to_contain_text("306.3")
    panel.get_by_role("radio", name="B", exact=True).press("Space")
    panel.get_by_role("radio", name="with the input", exact=True).press("Space")
    size = panel.get_by_role("textbox", name="Its size")
    size.fill("300")
    size.press("Enter")
    expect(panel.get_by_role("table", name="Your prediction beside what was found")).to_contain_text("306.3 N·m")
    expect(panel).to_contain_text("○ differs")
    expect(panel).to_contain_text("≈ near")
    reason = panel.get_by_role("textbox", name="My reason for this guess")
    reason.fill("I followed the carrier.")
    reason.press("Enter")
    desk.wait_for("explanation")
    said, found, told = desk.events()
    assert (said["kind"], found["kind"], told["kind"]) == ("prediction", "reveal", "explanation")
    assert said["prediction"] == found["prediction"] == told["prediction"]
    assert (said["said"]["element"], said["said"]["torque"]) == ("B", "300")


def test_another_case_is_shut_again(desk: Desk) -> None:
    panel = desk.panel("torques")
    panel.get_by_role("radio", name="2", exact=True).press("Space")
    expect(panel.get_by_role("button", name="Keep my prediction and reveal")).to_be_visible()
    expect(panel).not_to_contain_text("Sum so far")
    expect(panel.get_by_role("textbox", name="Its size")).to_have_value("")
    panel.get_by_role("radio", name="1", exact=True).press("Space")
    expect(panel).to_contain_text("Sum so far")


def test_predicting_again_begins_with_an_empty_form(desk: Desk) -> None:
    panel = desk.panel("shifts")
    for group, name in (("Goes off", "D"), ("Comes on", "E")):
        panel.get_by_role("group", name=group).get_by_role("checkbox", name=name, exact=True).press("Space")
    panel.get_by_role("radio", name="a clean shift").press("Space")
    panel.get_by_role("textbox", name="Engine speed after").fill("2000")
    panel.get_by_role("button", name="Keep my prediction and reveal").press("Enter")
    expect(panel.get_by_role("status").first).to_contain_text("D off, E on, a single swap")
    panel.get_by_role("button", name="Predict again").press("Enter")
    expect(panel.get_by_role("textbox", name="Engine speed after")).to_have_value("")
    expect(panel.get_by_role("status").first).not_to_contain_text("single swap")


def test_a_hidden_fault_is_hunted_range_by_range(desk: Desk) -> None:
    panel = desk.panel("faults")
    ask = panel.get_by_role("button", name="Ask for this range and read the speeds")
    expect(panel).to_contain_text("4 tries left")
    for number, name in enumerate(["1", "3", "4", "6"]):
        panel.get_by_role("radio", name=name, exact=True).press("Space")
        ask.press("Enter")
        expect(panel).to_contain_text(f"{3 - number} {'try' if number == 2 else 'tries'} left")
    expect(ask).to_be_disabled()
    expect(panel.get_by_role("table", name="Readings").get_by_role("row")).to_have_count(5)
    panel.get_by_role("radio", name="A", exact=True).press("Space")
    panel.get_by_role("radio", name="stuck on", exact=True).press("Space")
    panel.get_by_role("button", name="Keep my prediction and reveal").press("Enter")
    expect(panel.get_by_role("table", name="Single faults that fit the readings")).to_be_visible()


def test_every_control_of_every_task_has_a_name_and_every_drawing_says_what_it_shows(desk: Desk) -> None:
    regions, controls = named_controls(desk.page, "Predict")
    assert regions == len(TOPICS)
    assert controls > 100


def test_no_task_overflows_its_cell(desk: Desk) -> None:
    assert too_wide(desk.page) == 0
