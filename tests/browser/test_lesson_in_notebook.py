"""The same lessons in Notebook 7: panels appear, predictions work, keys stay with the panel."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import expect

from gearkit.lesson import lesson_copies
from tests.browser import lab

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def test_lessons_open_in_notebook_7_as_well(tmp_path: Path) -> None:
    folder = lesson_copies.hand_over(tmp_path / "lessons")
    with lab.serve(folder, app="notebook") as server, lab.browser_page() as page:
        lab.open_notebook(page, server, "00_start_here/start_here.ipynb")
        lab.run_all(page)
        panel = page.get_by_role("region", name="Predict: one set", exact=True)
        expect(panel).to_be_visible(timeout=30_000)
        panel.get_by_role("radio", name="forward reduction").press("Space")
        panel.get_by_role("textbox", name="Ratio").fill("3.6")
        page.keyboard.press("Enter")
        expect(panel).to_contain_text("Found: forward reduction, ratio 24/7 = 3.429.")
        slider = panel.get_by_role("slider", name="Sun teeth S")
        cells = page.locator(".jp-Notebook-cell").count()
        slider.press("ArrowRight")
        slider.press("b")
        expect(slider).to_have_value("29")
        assert page.locator(".jp-Notebook-cell").count() == cells
