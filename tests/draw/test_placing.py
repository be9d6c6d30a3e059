"""What a search for places brings: chains in a row, no way twice, room round every hop; a layout's own lines only once."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise, permutations

import pytest

from gearkit.draw.power.power_path import pieces
from gearkit.draw.stick.placement import Placement, place, read
from gearkit.draw.stick.routing import LEFT_OUTER
from gearkit.draw.stick.stick_symbols import HOP
from gearkit.text.places import datasets
from gearkit.train.catalogue import find
from gearkit.train.layout import Layout
from gearkit.words.terms import MEMBERS
from tests.draw.pictures import chain, many_layouts, two_in_one_layouts
from tests.support.amounts import amount
from tests.support.drawn_places import stick_places
from tests.support.sane_layouts import sane

KIT = [
    find(str(path))
    for folder in ("layouts", "published", "several", "published/several")
    for path in sorted(datasets().joinpath(folder).glob("*.toml"))
]
WAYS = list(permutations(MEMBERS, 2))
IN_ORDER = [chain(8, *way) for way in WAYS[:: amount(1, 3)]]
SHUFFLED = [chain(8, *way, shuffled=1) for way in WAYS[:: amount(1, 6)]]
RANDOM = [*sane(amount(40, 8), "placing"), *many_layouts()[:: amount(1, 6)], *two_in_one_layouts()[:: amount(1, 6)]]
QUICK = 0.1


def _placement(layout: Layout) -> Placement:
    return read(layout) or place(layout, effort=QUICK)


def _numbered(layouts: list[Layout]) -> list[str]:
    return [f"{number} {layout.name}" for number, layout in enumerate(layouts)]


def ways_twice(placement: Placement) -> list[str]:
    """What is drawn that a shaft does not need: closed loops, lines over lines of its own, ends that lead nowhere."""
    wiring, nets, grid = placement.wiring, placement.nets, placement.grid
    faults = []
    for net in nets.wired:
        cut = [piece for piece in pieces(placement, None) if piece.net == net]
        spots = Counter(spot for piece in cut for spot in (piece.first, piece.last))
        if len(set(cut)) < len(cut):
            faults.append(f"shaft {net} is drawn twice along a line")
        if cut and len(set(cut)) >= len(spots):
            faults.append(f"shaft {net} closes a loop")
        joined = {(column, row + offset) for column, row, _, *two in wiring.plates if net in two for offset in (0.4, 0.6)}
        joined |= {(0, wiring.entry)} if net == nets.input else set()
        joined |= {wiring.leaving} if net == nets.output else set()
        joined |= {(column, row) for column, row, number in wiring.aside if nets.elements[number][0] == net}
        # A member is met within the columns of its set and the rows of its gears.
        sets = [grid.middle(at) for at in range(grid.sets)]
        for (column, row), lines in spots.items():
            at_gears = grid.gear <= row <= grid.gear + 2 and any(abs(column - middle) <= 2 for middle in sets)
            if lines == 1 and (column, row) not in joined and not at_gears:
                faults.append(f"shaft {net} ends at column {column}, row {row}, where nothing is")
    return faults


def narrow_hops(layout: Layout, placement: Placement) -> list[str]:
    """Hops so near a corner, an end or another line that the half circle would be notched; a half circle bows to the right."""
    data = stick_places(layout, placement)
    room = HOP + 1.5
    faults = []
    for line in data["uprights"]:
        for y in line["hops"]:
            passed = [one for one in data["levels"] if abs(one["y"] - y) < 0.1 and one["x1"] < line["x"] < one["x2"]]
            least = [line["y1"] - y, y - line["y2"]]
            least += [end for one in passed for end in (line["x"] - one["x1"], one["x2"] - line["x"])]
            least += [
                other["x"] - line["x"] - HOP for other in data["uprights"]
                if other["x"] > line["x"] and other["y2"] < y + HOP and y - HOP < other["y1"]
            ]  # fmt: skip
            faults += [f"{space:.1f} px beside the hop at {line['x']:.0f}, {y:.0f}" for space in least if space < room]
            assert passed, "a hop over nothing"
    return faults


@pytest.mark.parametrize("layout", [*IN_ORDER, *SHUFFLED], ids=_numbered([*IN_ORDER, *SHUFFLED]))
def test_eight_sets_in_a_chain_come_out_in_a_row_without_crossings(layout: Layout) -> None:
    made = place(layout)
    # Of the six ways to drive a set by one member and take from another, listed in another order, one search leaves a crossing.
    assert len(made.faults.crossings) <= (layout in SHUFFLED)
    in_row = [layout.sets[index].name for seat in made.sets for index in seat]
    neighbours = {frozenset(pair) for pair in pairwise(in_row)}
    links = {frozenset(member.split(".")[0] for member in join) for join in layout.joins if not {"input", "output"} & {*join}}
    assert neighbours == links
    assert made.plan.exit != LEFT_OUTER
    assert made.wiring.loops == made.wiring.stubs == 0


@pytest.mark.parametrize("layout", [*KIT, *RANDOM], ids=_numbered([*KIT, *RANDOM]))
def test_no_shaft_goes_any_way_twice_and_no_hop_is_notched(layout: Layout) -> None:
    placement = _placement(layout)
    assert ways_twice(placement) == []
    assert narrow_hops(layout, placement) == []
