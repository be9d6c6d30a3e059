"""Levers: distances by tooth counts, equivalent levers merged, speeds on a straight line, every node named once."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.draw.core.state import state_of
from gearkit.draw.lever import lever_diagram
from gearkit.draw.lever.lever_geometry import levers
from gearkit.draw.lever.lever_links import routes
from gearkit.draw.lever.lever_places import spread, stand
from gearkit.text.phrases import decimal, member_label
from gearkit.train.catalogue import find
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from tests.draw.pictures import catalogue_layouts, check_picture, many_layouts, wild_layout

CASES = [(layout, engaged) for layout in catalogue_layouts() for engaged in (None, *(item.engaged for item in layout.ranges))]


def test_the_carrier_divides_the_lever_of_a_single_set_as_sun_to_ring() -> None:
    layout = find("Q48")
    lever = next(lever for lever in levers(layout) if lever.sets == ("P1",))
    sun, carrier, ring = (lever.nodes[layout.shaft_of(f"P1.{member}")] for member in ("sun", "carrier", "ring"))
    assert abs(sun - carrier) / abs(ring - carrier) == Fraction(84, 28)


def test_two_sets_with_two_shafts_in_common_are_one_lever() -> None:
    layout = find("Q24")
    found = [lever for lever in levers(layout) if lever.sets]
    assert [lever.sets for lever in found] == [("P1", "P2")]
    assert len(found[0].nodes) == 4


def test_an_input_that_only_clutches_reach_is_a_node_of_its_own() -> None:
    layout = find("Q24")
    alone = [lever for lever in levers(layout) if not lever.sets]
    assert [list(lever.nodes) for lever in alone] == [[layout.shaft_of("input")]]


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_speed_is_a_straight_line_along_every_lever(seed: int) -> None:
    layout = wild_layout(seed)
    state = state_of(layout, layout.ranges[0].engaged)
    for lever in levers(layout):
        nodes = [(place, state.speed(shaft)) for shaft, place in lever.nodes.items()]
        if lever.solid or any(speed is None for _, speed in nodes):
            continue
        (p0, w0), (p1, w1), *rest = sorted((place, Fraction(speed or 0)) for place, speed in nodes)
        for place, speed in rest:
            if p0 != p1:
                assert (speed - w0) * (p1 - p0) == (w1 - w0) * (place - p0)


@pytest.mark.parametrize(("layout", "engaged"), CASES, ids=lambda case: getattr(case, "file", None))
def test_every_state_of_the_catalogue_is_a_whole_picture(layout: Layout, engaged: tuple[str, ...] | None) -> None:
    drawn = lever_diagram.picture(layout, engaged)
    root = check_picture(drawn)
    said = " ".join(text.text for text in drawn.texts())
    for pset in layout.sets:
        for member in ("sun", "carrier", "ring"):
            assert member_label(f"{pset.name}.{member}") in said
            assert member_label(f"{pset.name}.{member}") in drawn.description
    chips = {node.get("data-element") for node in root.iter() if node.get("data-element")}
    assert chips == {element.name for element in layout.elements}
    applied = {node.get("data-element") for node in root.iter() if node.get("data-state") == "applied"}
    assert applied == set(engaged or ())


@pytest.mark.parametrize("layout", many_layouts(), ids=lambda layout: layout.name)
def test_no_label_overlaps_in_a_random_layout(layout: Layout) -> None:
    check_picture(lever_diagram.picture(layout))
    check_picture(lever_diagram.picture(layout, layout.ranges[0].engaged))


def test_the_picture_shows_the_speed_of_every_node() -> None:
    layout = find("Q48")
    state = state_of(layout, ("D", "E"))
    drawn = lever_diagram.picture(layout, ("D", "E"))
    said = [text.text for text in drawn.texts()]
    for number in range(1, len(layout.shafts)):
        assert decimal(state.speed(number) or Fraction(0)) in said
    assert "Sun 2: is held." in drawn.description


@pytest.mark.parametrize("name", ["Q24", "Q36", "Q48", "pair_series", "pair_two_suns", "six_range_input_set_two_suns"])
def test_every_lever_stands_the_same_way_up(name: str) -> None:
    layout = find(name)
    for standing in stand(levers(layout), layout.shaft_of("input"), layout.shaft_of("output")):
        places, heights = standing.lever.nodes, standing.heights
        order = sorted(places, key=lambda shaft: places[shaft])
        # As in the live panels: what stands at place 0, the ring's end of the first set, is at the top.
        assert sorted(order, key=lambda shaft: -heights[shaft]) == order


def test_linked_levers_are_level_where_the_proportions_allow_it() -> None:
    layout = find("Q48")
    standings = stand(levers(layout), layout.shaft_of("input"), layout.shaft_of("output"))
    heights: dict[int, list[float]] = {}
    for standing in standings:
        for shaft, height in standing.heights.items():
            heights.setdefault(shaft, []).append(height)
    level = [shaft for shaft, found in heights.items() if len(found) > 1 and max(found) - min(found) < 1e-6]
    assert level


@given(st.lists(st.floats(0, 300), min_size=1, max_size=9))
def test_spread_keeps_the_order_and_the_gap(values: list[float]) -> None:
    moved = spread(values, 20)
    pairs = sorted(zip(values, moved, strict=True))
    assert sorted(moved) == [after for _, after in sorted(pairs, key=lambda pair: pair[1])]
    for (_, a), (_, b) in zip(
        sorted(pairs, key=lambda pair: pair[1]), sorted(pairs, key=lambda pair: pair[1])[1:], strict=False
    ):
        assert b - a >= 20 - 1e-6


def test_a_link_past_a_lever_takes_a_rail_below() -> None:
    plan = routes([{1, 2}, {3, 4}, {2, 4}])
    assert [(hop.shaft, hop.first, hop.second, hop.rail) for hop in plan.hops] == [(2, 0, 2, 0), (4, 1, 2, None)]


def test_every_member_has_a_place_on_a_lever_from_0_to_1() -> None:
    layout = find("Q36")
    nodes = [(lever, shaft, place) for lever in levers(layout) for shaft, place in lever.nodes.items()]
    assert {member for lever, shaft, _ in nodes for member in lever.members(layout, shaft)} >= set(layout.members)
    assert all(0 <= place <= 1 for _, _, place in nodes)


def test_an_unknown_element_is_named() -> None:
    with pytest.raises(UsageError, match="no element 'Z'"):
        lever_diagram.picture(find("Q36"), ("Z",)).svg()
