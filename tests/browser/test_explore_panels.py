"""The fault, shift and tooth-count panels in JupyterLab: by keyboard, without the kernel in between, every control named."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from gearkit.lesson.panels.topics import TOPICS
from tests.browser import lab
from tests.browser.accessible import named_controls, too_wide

pytestmark = [pytest.mark.browser, pytest.mark.slow]
TITLES = {
    "assembly": "Explore: tooth counts of one set",
    "shifts": "Explore: shifts of Quillbrook Q24",
    "faults": "Explore: faults of Quillbrook Q24",
    "split": "Explore speeds, torques and power: Power split",
}
LAYOUTS = {**dict.fromkeys(TITLES, "Q24"), "split": "power_split_one_set"}
CELLS = (
    'from gearkit import open_lesson\nlesson = open_lesson("12", "record.json")',
    *(f'{topic} = lesson.explore_about("{topic}", "{LAYOUTS[topic]}")\n{topic}' for topic in TOPICS),
    'lesson.explore("Q36")',
    "print(faults.fault, '|', shifts.from_range, shifts.to_range, shifts.progress, '|', assembly.ring, assembly.goes_together)",
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("explore")


@pytest.fixture(scope="module")
def page(folder: Path) -> Iterator[Page]:
    lab.write_notebook(folder / "explore.ipynb", CELLS)
    with lab.serve(folder) as server, lab.browser_page() as shown:
        lab.open_notebook(shown, server, "explore.ipynb")
        lab.run_all(shown)
        expect(shown.get_by_role("region", name=TITLES["faults"], exact=True)).to_be_visible(timeout=60_000)
        yield shown


def panel(page: Page, topic: str) -> Locator:
    return page.get_by_role("region", name=TITLES[topic], exact=True)


def told(page: Page, topic: str) -> Locator:
    return panel(page, topic).get_by_role("status").first


def test_a_fault_is_chosen_by_keyboard_and_the_notebook_does_nothing_but_save(page: Page, folder: Path) -> None:
    cells = page.locator(".jp-Notebook-cell").count()
    faults = panel(page, "faults")
    faults.get_by_role("radio", name="F one-way clutch").press("Space")
    faults.get_by_role("radio", name="fitted the wrong way round").press("Space")
    expect(told(page, "faults")).to_contain_text("F fitted the wrong way round: 4 of 7 ranges change (1, 2, 3 and 4)")
    row = faults.get_by_role("table", name="Every range with this fault").get_by_role("row", name="2 B E")
    expect(row).to_contain_text("B E F")
    expect(row).to_contain_text("tie-up")
    page.keyboard.press("b")
    page.keyboard.press("d")
    page.keyboard.press("d")
    assert page.locator(".jp-Notebook-cell").count() == cells
    # The notebook is saved from within a panel, and its guard stands again afterwards.
    lab.save(page, folder / "explore.ipynb")
    page.keyboard.press("b")
    assert page.locator(".jp-Notebook-cell").count() == cells
    # An ordinary clutch has no wrong way round.
    faults.get_by_role("radio", name="A clutch").press("Space")
    expect(faults.get_by_role("radio", name="fitted the wrong way round")).to_be_disabled()
    expect(told(page, "faults")).to_contain_text("A stuck off: 1 of 7 ranges change (R)")


def test_two_readings_name_the_suspects(page: Page) -> None:
    box = page.get_by_role("region", name=TITLES["faults"], exact=True).get_by_role("region", name="Speed readings")
    first, second = (box.get_by_role("group", name=f"Reading {number}") for number in (1, 2))
    first.get_by_role("combobox", name="Asked for").select_option("3")
    first.get_by_role("textbox", name="Input").fill("2400")
    first.get_by_role("textbox", name="Output").fill("0")
    expect(box.get_by_role("status")).to_contain_text("5 faults fit")
    second.get_by_role("combobox", name="Asked for").select_option("2")
    second.get_by_role("textbox", name="Input").fill("2000")
    second.get_by_role("textbox", name="Output").fill("fast")
    expect(box.get_by_role("status")).to_contain_text("“fast” is not read as a number")
    second.get_by_role("textbox", name="Output").fill("0")
    expect(box.get_by_role("table", name="Faults that fit")).to_contain_text("E stuck off")


def test_a_shift_moves_by_keyboard_with_its_output_speed_kept(page: Page) -> None:
    shifts = panel(page, "shifts")
    shifts.get_by_role("group", name="From range").get_by_role("radio", name="2", exact=True).press("Space")
    shifts.get_by_role("group", name="To range").get_by_role("radio", name="3", exact=True).press("Space")
    slider = shifts.get_by_role("slider", name="Shift done")
    slider.focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    expect(told(page, "shifts")).to_contain_text("2 to 3, single swap: B off, C on, E stays. 3 % done: input")
    shifts.get_by_role("spinbutton", name="Shift done").fill("50")
    output = shifts.get_by_role("table", name="Shafts and their speeds").get_by_role("row", name="output").get_by_role("cell")
    before, now, after = output.all_inner_texts()
    assert before == now == after
    expect(shifts.get_by_text("Overlap, while both B and C hold")).to_be_visible()


def test_out_of_neutral_the_vehicle_stands_and_reverse_asks_for_neutral_first(page: Page) -> None:
    shifts = panel(page, "shifts")
    before, after = (shifts.get_by_role("group", name=f"{word} range") for word in ("From", "To"))
    after.get_by_role("radio", name="R", exact=True).press("Space")
    expect(before.get_by_role("radio", name="N", exact=True)).to_be_checked()
    shifts.get_by_role("spinbutton", name="Shift done").fill("50")
    expect(told(page, "shifts")).to_contain_text("N to R")
    expect(told(page, "shifts")).to_contain_text("50 % done, vehicle standing: input 1500 r/min, from 3000 to 0.")
    output = shifts.get_by_role("table", name="Shafts and their speeds").get_by_role("row", name="output").get_by_role("cell")
    assert output.all_inner_texts() == ["0", "0", "0"]
    # A forward range before it, and the range after it is a forward one again.
    before.get_by_role("radio", name="2", exact=True).press("Space")
    expect(after.get_by_role("radio", name="1", exact=True)).to_be_checked()
    after.get_by_role("radio", name="3", exact=True).press("Space")
    expect(told(page, "shifts")).to_contain_text("2 to 3, single swap")


def test_counts_that_do_not_go_together_are_put_right_by_an_offer(page: Page) -> None:
    teeth = panel(page, "assembly")
    expect(told(page, "assembly")).to_contain_text("does not go together as it stands (not met: equal spacing)")
    teeth.get_by_role("group", name="Nearest counts").get_by_role("button").first.press("Enter")
    expect(told(page, "assembly")).to_contain_text("goes together, planets at equal spacing")
    teeth.get_by_role("slider", name="Sun teeth S").focus()
    page.keyboard.press("ArrowRight")
    expect(told(page, "assembly")).to_contain_text("Sun 31")


def type_into_last_cell(page: Page, text: str) -> None:
    page.locator(".jp-CodeCell").last.locator(".cm-content").click()
    page.keyboard.press("Control+a")
    page.keyboard.type(text)
    page.keyboard.press("Control+Enter")


def test_python_reads_what_the_browser_was_told_and_the_browser_shows_what_python_sets(page: Page) -> None:
    page.wait_for_timeout(300)
    page.locator(".jp-CodeCell").last.locator(".cm-content").click()
    page.keyboard.press("Control+Enter")
    expect(page.locator(".jp-CodeCell").last.locator(".jp-OutputArea-output")).to_contain_text(
        "A stuck off | 2 3 50 | 81 False"
    )
    type_into_last_cell(page, "faults.fail('B', 'stuck on'); shifts.choose('3', '4'); assembly.planets = 3")
    expect(told(page, "faults")).to_contain_text("B stuck on: 5 of 7 ranges change")
    expect(told(page, "shifts")).to_contain_text("3 to 4, single swap")
    expect(told(page, "assembly")).to_contain_text("3 planets of")


def test_a_panel_answers_while_the_kernel_is_busy(page: Page, folder: Path) -> None:
    cell = page.locator(".jp-CodeCell").last
    type_into_last_cell(page, "import os, time\nwhile not os.path.exists('go'): time.sleep(0.1)\nprint('rested')")
    expect(cell.locator(".jp-InputPrompt")).to_have_text("[*]:")
    panel(page, "shifts").get_by_role("slider", name="Shift done").focus()
    page.keyboard.press("ArrowRight")
    expect(told(page, "shifts")).to_contain_text("51 % done")
    panel(page, "faults").get_by_role("radio", name="E clutch").press("Space")
    expect(told(page, "faults")).to_contain_text("E stuck on: 3 of 7 ranges change")
    # A range of the chart shows its power path and its reasons without asking the kernel either.
    layout = page.get_by_role("region", name="Explore: Quillbrook Q36", exact=True)
    layout.get_by_role("button", name="Apply the elements of range 3").press("Enter")
    expect(layout.locator(".gk-stick")).to_contain_text("Range 3: C and D applied, ratio 2.008.")
    expect(layout.locator(".gk-story")).to_contain_text("C and D")
    assert cell.locator(".jp-InputPrompt").inner_text() == "[*]:"
    (folder / "go").touch()
    expect(cell).to_contain_text("rested", timeout=20_000)


def test_the_second_speed_moves_the_machine_and_power_goes_round_beyond_the_mechanical_point(page: Page) -> None:
    split = panel(page, "split")
    expect(told(page, "split")).to_contain_text("M1 turns at 3900 r/min")
    split.get_by_role("spinbutton", name="Speed output").fill("3800")
    # (108 x 2000 - 76 x 3800) / 32
    expect(told(page, "split")).to_contain_text("M1 turns at −2275 r/min")
    expect(told(page, "split")).to_contain_text("M2 generates")
    split.get_by_role("combobox", name="I choose the speeds of").select_option("input and M1")
    split.get_by_role("spinbutton", name="Speed M1").fill("0")
    expect(split.get_by_role("table").get_by_role("row", name=re.compile("^output 2842"))).to_contain_text("−20.94")
    split.get_by_role("button", name="Apply the elements of range EV").press("Enter")
    expect(told(page, "split")).to_contain_text("E applied: input locked. Input stands still")


def test_every_control_has_a_name_the_focus_is_seen_and_nothing_overflows_or_fails(page: Page) -> None:
    regions, controls = named_controls(page, *TITLES.values())
    assert regions == len(TITLES)
    assert controls > 50
    slider = panel(page, "shifts").get_by_role("slider", name="Shift done")
    slider.focus()
    page.keyboard.press("ArrowRight")
    assert slider.evaluate("node => getComputedStyle(node).outlineStyle") == "solid"
    assert too_wide(page) == 0
    assert page.locator('[data-mime-type="application/vnd.jupyter.error"]').count() == 0
