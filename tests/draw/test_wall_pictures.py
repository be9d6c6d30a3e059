"""Pictures for a wall: larger letters, the sets' names alone below, and as clear as the picture for a page."""

from __future__ import annotations

import pytest

from gearkit.draw.core.svg import Picture
from gearkit.draw.power import power_picture
from gearkit.draw.stick import stick_diagram
from gearkit.text.phrases import set_words
from gearkit.train.layout import Layout
from tests.draw.pictures import catalogue_layouts, chain, check_labels, check_picture, struck_labels

LAYOUTS = [layout for layout in catalogue_layouts() if layout.plain and layout.ranges]


def wall(layout: Layout, what: str, letters: float) -> Picture:
    if what == "stick":
        return stick_diagram.picture(layout, letters=letters)
    return power_picture.picture(layout, layout.ranges[0].engaged, letters=letters)


@pytest.mark.parametrize("letters", [1.0, 1.4, 2.1])
@pytest.mark.parametrize("what", ["stick", "power"])
@pytest.mark.parametrize("layout", [*LAYOUTS, chain(4)], ids=lambda layout: layout.name)
def test_a_picture_for_the_wall_has_large_letters_that_nothing_runs_through(layout: Layout, what: str, letters: float) -> None:
    drawn = wall(layout, what, letters)
    check_picture(drawn)
    check_labels(drawn)
    assert not struck_labels(drawn)
    assert min(text.size for text in drawn.texts()) == pytest.approx(12 * letters)
    said = [text.text for text in drawn.texts()]
    assert sorted(said) == sorted([
        *(set_words(pset.name) for pset in layout.sets),
        *(element.name for element in layout.elements),
        "input", "output",
    ])  # fmt: skip
