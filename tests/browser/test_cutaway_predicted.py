"""The gate of the cutaway, from the browser to the kernel and back."""

from __future__ import annotations

from pathlib import Path

import pytest

from gearkit.lesson.opening import open_lesson
from tests.browser import host

pytestmark = pytest.mark.browser


def test_every_body_is_predicted_before_the_train_moves(tmp_path: Path) -> None:
    panel = open_lesson("05", tmp_path / "record.json").cutaway("pair_two_suns", "1", predict=True)
    with host.blank_page() as page, host.show(page, panel) as desk:
        status, keep = page.locator(".gk-status").first, page.get_by_role("button", name="Keep my prediction")
        assert page.get_by_role("button", name="Turn", exact=True).is_disabled()
        keep.click()
        desk.settle()
        assert page.locator(".gk-trouble").inner_text() == "Say what output · ring 1 · ring 2 does."
        for number, ask in enumerate(page.locator(".gk-asking fieldset").all()):
            ask.locator("input").nth(number % 3).check()
        keep.click()
        desk.settle()
        assert panel.opened == ["A and D applied"]
        assert panel.prediction["kind"] == "still: sun 1; back: carrier 1"
        told = "2 of 4 as you said. sun 1: you said stands still, found: turns back. carrier 1: you said turns back, found: stands still."
        assert page.locator(".gk-verdict").inner_text() == told
        assert "forward, ratio 3" in status.inner_text()
        # The field for the reason stays inside its frame, beside the picture.
        frame, field = (page.locator(f".gk-prediction{inside}").bounding_box() for inside in ("", " input[type=text]"))
        assert frame
        assert field
        assert field["x"] + field["width"] <= frame["x"] + frame["width"]
        assert page.get_by_role("button", name="Turn", exact=True).is_enabled()
        page.get_by_role("button", name="Predict again").click()
        desk.settle()
        assert not panel.is_open
        assert "Which bodies will stand still" in status.inner_text()
        assert desk.troubles == []
