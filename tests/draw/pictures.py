"""Checks that every picture must pass, and random layouts to draw."""

from __future__ import annotations

from xml.etree import ElementTree

from gearkit.draw.measure import Box
from gearkit.draw.svg import Picture

SVG = "{http://www.w3.org/2000/svg}"


def check_picture(drawn: Picture) -> ElementTree.Element:
    """Assert what holds of every picture and return its parsed SVG."""
    text = drawn.svg()
    assert text == drawn.svg()
    root = ElementTree.fromstring(text)
    assert root.get("role") == "img"
    title, description = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert description is not None
    assert title.text == drawn.title
    assert description.text == drawn.description
    assert len(drawn.description.split()) >= 8
    assert root.get("aria-labelledby") == title.get("id")
    assert root.get("aria-describedby") == description.get("id")
    check_labels(drawn)
    return root


def check_labels(drawn: Picture) -> None:
    """Assert that no label leaves the page and no two labels overlap."""
    page = Box(0, 0, drawn.width, drawn.height)
    labels = drawn.texts()
    for label in labels:
        assert page.holds(label.box), f"{label.text!r} leaves the page: {label.box}"
    for index, first in enumerate(labels):
        for second in labels[:index]:
            assert not first.box.overlaps(second.box, -1.0), f"{first.text!r} over {second.text!r}"
