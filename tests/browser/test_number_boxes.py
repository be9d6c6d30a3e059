"""A phone shows keys on which every number that a box takes can be typed."""

from __future__ import annotations

from pathlib import Path

import pytest

from gearkit.lesson.opening import open_lesson
from tests.browser import host

pytestmark = pytest.mark.browser
BOXES = """() => [...document.querySelectorAll("#place input[type=number]")]
  .map((box) => [box.inputMode, Number(box.min), Number(box.step || 1)])"""


@pytest.mark.parametrize(("topic", "layout"), [("", ""), ("two speeds", ""), ("assembly", "Q24"), ("shifts", "Q24")])
def test_signs_and_points_can_be_typed_where_they_are_taken(topic: str, layout: str, tmp_path: Path) -> None:
    lesson = open_lesson("03", tmp_path / "record.json")
    panel = lesson.explore_about(topic, layout) if layout else lesson.explore(two_speeds=bool(topic))
    with host.blank_page() as page, host.show(page, panel):
        boxes = page.evaluate(BOXES)
    assert boxes
    for keys, least, step in boxes:
        wanted = "text" if least < 0 else "numeric" if step == int(step) else "decimal"
        assert keys == wanted, (keys, least, step)


def test_boxes_with_a_sign_are_among_them(tmp_path: Path) -> None:
    panel = open_lesson("03", tmp_path / "record.json").explore(two_speeds=True)
    with host.blank_page() as page, host.show(page, panel):
        assert any(least < 0 for _, least, _ in page.evaluate(BOXES))
