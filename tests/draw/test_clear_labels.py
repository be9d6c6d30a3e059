"""No line, arrow or dot runs through a label of any picture, and no label is too small to read."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from gearkit.draw.core.frame import clear_text
from gearkit.draw.core.svg import Look, Picture, Text
from gearkit.draw.cutaway.solid_placement import NotSolidError
from gearkit.draw.lever import loaded_levers
from gearkit.draw.registry import PICTURES, RangeUse, picture_of
from gearkit.draw.stick.placement import place
from gearkit.solve.loads.torques import torques
from gearkit.text.places import datasets
from gearkit.train.catalogue import find
from gearkit.train.layout import Layout
from tests.draw.pictures import catalogue_layouts, many_layouts, struck_labels, two_in_one_layouts
from tests.support.amounts import amount

SEVERAL = [
    find(str(path)) for folder in ("several", "published/several") for path in datasets().joinpath(folder).glob("*.toml")
]
PUBLISHED = [find(path.stem) for path in sorted(datasets().joinpath("published").glob("*.toml"))]
STORED = [*catalogue_layouts(), *PUBLISHED, *SEVERAL]
RANDOM = [*many_layouts()[: amount(40, 6)], *two_in_one_layouts()[: amount(12, 2)]]
SMALLEST = 11.0


def pictures_of(layout: Layout, kinds: Iterator[str] | tuple[str, ...], most: int) -> Iterator[tuple[str, Picture]]:
    ranges = [item.name for item in layout.ranges][:most]
    for what in kinds:
        kind = PICTURES[what]
        if not layout.plain and not kind.several and not kind.of_one_set:
            continue
        shown = [None] if kind.ranges is RangeUse.ALL else [*ranges] if kind.ranges is RangeUse.MUST else [None, *ranges]
        placement = place(layout, effort=0.015) if kind.placed and layout.placement is None else None
        for range_name in shown:
            if what == "power" and not layout.plain:
                continue
            for name in [pset.name for pset in layout.sets][: most + 1] if kind.of_one_set else [None]:
                try:
                    yield f"{what} {range_name} {name}", picture_of(layout, what, range_name, name, placement=placement)
                except NotSolidError:
                    continue


def smallest_on_screen(drawn: Picture, room: float) -> float:
    """The smallest letters in px where the page gives a picture so much room: it shrinks to its least width and then scrolls."""
    found = re.search(r"max-width:100%;min-width:([\d.]+)px", drawn.svg())
    assert found is not None
    wide = min(drawn.width, max(room, float(found[1])))
    return min(text.size for text in drawn.texts()) * wide / drawn.width


@pytest.mark.parametrize("layout", STORED, ids=lambda layout: layout.name)
def test_nothing_runs_through_a_label_in_any_picture_of_a_layout(layout: Layout) -> None:
    found = {}
    for name, drawn in pictures_of(layout, tuple(PICTURES), amount(99, 1)):
        found[name] = struck_labels(drawn)
        assert smallest_on_screen(drawn, 300.0) >= SMALLEST - 0.01, name
    assert {name: faults for name, faults in found.items() if faults} == {}


@pytest.mark.parametrize("layout", RANDOM, ids=lambda layout: layout.name)
def test_nothing_runs_through_a_label_in_random_layouts(layout: Layout) -> None:
    kinds = tuple(what for what in PICTURES if what not in ("cutaway", "power"))
    found = {name: struck_labels(drawn) for name, drawn in pictures_of(layout, kinds, 1)}
    assert {name: faults for name, faults in found.items() if faults} == {}


def test_a_minus_sign_keeps_clear_of_the_line_that_leads_to_the_node() -> None:
    layout = find("Q36")
    for item in layout.ranges:
        members = torques(layout, item.engaged).members
        drawn = loaded_levers.picture(layout, members, item.name)
        assert struck_labels(drawn) == []


def test_the_check_finds_what_strikes_a_label() -> None:
    def page() -> Picture:
        return Picture(width=200, height=100, title="t", description="d", kind="k")

    word = Text(50, 50, "0.532")
    through, arrow, glued, clear = page(), page(), page(), page()
    through.line((0, 46), (200, 46), Look())
    through.text(word)
    arrow.text(word)
    arrow.polyline([(60, 40), (75, 46), (60, 52)], Look("ink", "ink", 1.0), closed=True)
    glued.line((0, 46), (48, 46), Look("faint", None, 1.0))
    glued.text(Text(50, 50, "\u22120.532"))
    clear.line((0, 46), (200, 46), Look())
    clear_text(clear, word)
    assert [len(struck_labels(drawn)) for drawn in (through, arrow, glued, clear)] == [1, 1, 1, 0]
