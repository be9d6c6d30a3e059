"""Panels whose state hangs together: a click that changes two things at once is seen as one change, on the page and in Python."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from gearkit.lesson.opening import open_lesson
from gearkit.lesson.panels.one_set import OneSetPanel
from gearkit.words.terms import MEMBERS
from tests.browser import host

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    with host.blank_page() as shown:
        yield shown


def chosen(page: Page, legend: str) -> str:
    return page.get_by_role("group", name=legend, exact=True).locator("input:checked").input_value()


@pytest.mark.parametrize(("legend", "role"), [("Drives", "drive"), ("Held", "hold"), ("Driven", "driven")])
@pytest.mark.parametrize(("drive", "hold", "driven"), [*permutations(MEMBERS), ("sun", "none", "ring")])
def test_a_member_that_has_a_role_can_be_given_another(
    page: Page, legend: str, role: str, drive: str, hold: str, driven: str
) -> None:
    panel = OneSetPanel(title="one set", drive=drive, hold=hold, driven=driven)
    with host.show(page, panel) as shown:
        for member in MEMBERS:
            page.get_by_role("group", name=legend, exact=True).get_by_role("radio", name=member, exact=True).click()
            shown.settle()
            assert getattr(panel, role) == member
            roles = [panel.drive, panel.hold, panel.driven]
            assert len(set(roles)) == len(roles)
            assert [chosen(page, word) for word in ("Drives", "Held", "Driven")] == roles
            assert panel.outcome().word in page.get_by_role("status").inner_text()
        assert shown.troubles == []


@pytest.mark.parametrize("legend", ["First given speed", "Second given speed"])
def test_a_member_whose_speed_is_given_can_be_the_other_given_one(page: Page, legend: str) -> None:
    panel = OneSetPanel(title="two speeds", mode="speeds")
    with host.show(page, panel) as shown:
        for member in MEMBERS * 2:
            page.get_by_role("group", name=legend, exact=True).get_by_role("radio", name=member, exact=True).click()
            shown.settle()
            third, _ = panel.third()
            assert f"It follows: {third} " in page.get_by_role("status").inner_text()
            assert chosen(page, "First given speed") == panel.drive != panel.given == chosen(page, "Second given speed")
        assert shown.troubles == []


def test_a_role_given_from_python_reaches_the_page_with_all_that_follows(page: Page) -> None:
    panel = OneSetPanel(title="one set")
    with host.show(page, panel) as shown:
        panel.drive = "ring"
        assert [sorted(message["state"]) for message in shown.wire.sent] == [["drive", "hold"]]
        shown.settle()
        assert [chosen(page, word) for word in ("Drives", "Held", "Driven")] == ["ring", "sun", "carrier"]
        panel.mode = "speeds"
        panel.given = "ring"
        assert (panel.drive, panel.third()[0]) == ("sun", "carrier")
        assert shown.troubles == []


def test_a_blank_that_was_typed_stays_while_the_kernel_answers(page: Page, tmp_path: Path) -> None:
    panel = open_lesson("03", tmp_path / "record.json").exercise("L03-02")
    with host.show(page, panel) as shown:
        box = page.get_by_role("textbox", name="Your answer")
        box.press_sequentially("1 + ")
        shown.settle()
        assert box.input_value() == "1 + "
        box.press_sequentially("R/S")
        shown.settle()
        assert panel.given == {"answer": "1 + R/S"}
        assert shown.troubles == []


def test_what_is_written_before_new_numbers_come_is_no_answer_to_them(page: Page, tmp_path: Path) -> None:
    panel = open_lesson("03", tmp_path / "record.json").exercise("L03-02")
    with host.show(page, panel) as shown:
        page.get_by_role("button", name="New numbers").click()
        page.get_by_role("textbox", name="Your answer").press_sequentially("1/2")
        shown.settle()
        assert (panel.draw, panel.given) == (2, {})
        page.get_by_role("textbox", name="Your answer").press_sequentially("3/2")
        shown.settle()
        assert panel.given == {"answer": "3/2"}


def test_a_slider_in_small_steps_shows_no_tail_of_digits(page: Page) -> None:
    with host.show(page, OneSetPanel(title="one set")) as shown:
        slider = page.get_by_role("slider", name="Turns of the sun")
        for _ in range(9):
            slider.press("ArrowRight")
            assert len(page.get_by_role("spinbutton", name="Turns of the sun").input_value()) <= len("0.05")
        assert shown.troubles == []


def test_a_predicted_number_is_read_by_the_kernel_and_what_has_two_meanings_comes_back(page: Page, tmp_path: Path) -> None:
    panel = open_lesson("03", tmp_path / "record.json").predict()
    with host.show(page, panel) as shown:
        page.get_by_role("radio", name="forward reduction", exact=True).click()
        box = page.get_by_role("textbox", name="Ratio")
        for typed, told in (
            ("", "Nothing is written yet."),
            ("2,006", "Write 2.006 if the comma stands for the decimal point, or 2006 if"),
            ("three", "“three” is not read as a number"),
        ):
            box.fill(typed)
            box.press("Enter")
            shown.settle()
            expect(page.get_by_role("alert")).to_contain_text(told)
            assert not panel.is_open
        box.fill("3,2 to 1")
        box.press("Enter")
        shown.settle()
        expect(page.get_by_role("status").filter(has_text="You predicted")).to_contain_text(
            "You predicted: forward reduction, 3,2 to 1."
        )
        assert panel.prediction["figure"] == "16/5"
        assert shown.troubles == []


def test_another_train_is_chosen_from_a_list_and_the_list_keeps_the_focus(
    page: Page, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    lesson = open_lesson("11", tmp_path / "record.json")
    for panel in (lesson.explore("Q36"), lesson.explore_about("shifts", "Q36"), lesson.explore_about("faults", "Q36")):
        with host.show(page, panel) as shown:
            shown.settle()
            trains = page.get_by_role("combobox", name="Train", exact=True)
            expect(trains).to_have_value("Q36")
            trains.focus()
            for name in ("Q48", "Q24"):
                trains.select_option(name)
                shown.settle()
                expect(page.get_by_role("heading", level=3)).to_contain_text(f"Quillbrook {name}")
                expect(trains).to_have_value(name)
                expect(trains).to_be_focused()
                assert page.get_by_role("region").count() >= 1
                assert shown.troubles == []


def test_that_nothing_of_a_list_fits_can_be_said_with_a_tick(page: Page, tmp_path: Path) -> None:
    panel = open_lesson("11", tmp_path / "record.json").exercise("L11-05")
    with host.show(page, panel) as shown:
        boxes = page.get_by_role("checkbox")
        boxes.first.check()
        page.get_by_role("checkbox", name="None of these", exact=True).check()
        shown.settle()
        assert boxes.first.is_checked() is False
        page.get_by_role("button", name="Check", exact=True).click()
        shown.settle()
        assert panel.given == {"answer": "none"}
        assert panel.feedback["kind"] == "wrong", panel.feedback
        boxes.first.check()
        assert page.get_by_role("checkbox", name="None of these", exact=True).is_checked() is False
        assert shown.troubles == []
