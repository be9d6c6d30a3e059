"""Stick diagrams of any layout: nothing clashes, everything is there and joined, and the state shows without colour."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import permutations
from typing import Any

import pytest

from gearkit.draw.core.measure import Box
from gearkit.draw.core.shaft_code import shaft_codes
from gearkit.draw.core.state import state_of
from gearkit.draw.core.svg import Circle, Group, Path, Picture, Text
from gearkit.draw.lever.sketches import one_set, stored_places
from gearkit.draw.power.power_path import pieces
from gearkit.draw.stick import stick_diagram, stick_search
from gearkit.draw.stick.placement import Placement, place, placed, read, structure_of
from gearkit.draw.stick.routing import (
    ABOVE_PLATES,
    BELOW_PLATES,
    CROSSING,
    LEFT_OUTER,
    RIGHT_OUTER,
    TURNED_PAIR,
    Grid,
    Plan,
    Router,
    judge,
)
from gearkit.draw.stick.stick_geometry import BAR, PLATE, PLATE_GAP, SHORT, measure
from gearkit.draw.stick.stick_nets import nets_of, seats_of
from gearkit.draw.stick.stick_search import safe_plan
from gearkit.draw.stick.stick_symbols import Line, upright
from gearkit.text.phrases import capital, set_words
from gearkit.train import catalogue
from gearkit.train.catalogue import find
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from tests.draw.pictures import catalogue_layouts, chain, check_picture, many_layouts, two_in_one_layouts
from tests.support.amounts import amount
from tests.support.drawn_places import stick_places

QUICK = 0.015
PUBLISHED = [find("four_range_two_suns_one_ring"), find("six_range_input_set_two_suns")]
TWO_IN_ONE = [find("pair_two_suns"), *PUBLISHED, *two_in_one_layouts()]
# A third of the random ones meets every number of sets, since they follow each other from 1 to 8.
LAYOUTS = [*catalogue_layouts(), *many_layouts()[:: amount(1, 3)], *TWO_IN_ONE[1 :: amount(1, 3)]]
EVERY = pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
CATALOGUE = pytest.mark.parametrize("layout", catalogue_layouts(), ids=lambda layout: layout.name)
Segment = tuple[int, Box]


def _placement(layout: Layout) -> Placement:
    return read(layout) or place(layout, effort=QUICK)


def _lines(data: dict[str, Any]) -> list[Segment]:
    """All drawn lines as flat boxes, from the data handed to the panels: independent of the router's own counting."""
    level = [(line["shaft"], Box(line["x1"], line["y"], line["x2"], line["y"])) for line in data["levels"]]
    upright = [(line["shaft"], Box(line["x"], line["y2"], line["x"], line["y1"])) for line in data["uprights"]]
    return level + upright


def _touch(first: Box, second: Box) -> bool:
    return first.grown(0.1).overlaps(second.grown(0.1))


@EVERY
def test_lines_of_two_shafts_meet_only_where_one_hops_over_the_other(layout: Layout) -> None:
    data = stick_places(layout, _placement(layout))
    hops = {(round(line["x"], 2), round(y, 2)) for line in data["uprights"] for y in line["hops"]}
    lines = _lines(data)
    for index, (net, box) in enumerate(lines):
        for other, second in lines[:index]:
            if net == other or not _touch(box, second):
                continue
            flat, tall = (box, second) if box.width else (second, box)
            assert flat.width > 0
            assert tall.height > 0, "two level lines on top of each other"
            assert flat.left + 5 < tall.left < flat.right - 5
            assert tall.top + 5 < flat.top < tall.bottom - 5
            assert (round(tall.left, 2), round(flat.top, 2)) in hops


@EVERY
def test_no_foreign_line_comes_near_the_plates_of_an_element(layout: Layout) -> None:
    data = stick_places(layout, _placement(layout))
    plates = [
        (item, Box(item["x"] - PLATE, item["y"] - PLATE_GAP - 2, item["x"] + PLATE, item["y"] + PLATE_GAP + 2))
        for item in data["plates"]
    ]
    for item, box in plates:
        for net, line in _lines(data):
            if net not in (item["below"], item["above"]):
                assert not box.overlaps(line, 0.5), f"shaft {net} runs through {item['element']}"
    for index, (_, box) in enumerate(plates):
        assert not any(box.overlaps(other, 3) for _, other in plates[:index])


@EVERY
def test_every_shaft_is_one_connected_net_that_reaches_all_its_parts(layout: Layout) -> None:
    placement = _placement(layout)
    nets, wiring, grid = placement.nets, placement.wiring, placement.grid
    for net in nets.wired:
        lines = [piece for piece in pieces(placement, None) if piece.net == net]
        reached = {lines[0].first} if lines else set()
        for _ in lines:
            reached |= {spot for piece in lines if {piece.first, piece.last} & reached for spot in (piece.first, piece.last)}
        assert reached == {spot for piece in lines for spot in (piece.first, piece.last)}
        for column, row, _, below, above in wiring.plates:
            assert net != below or (column, row + BELOW_PLATES) in reached
            assert net != above or (column, row + ABOVE_PLATES) in reached
        for end, spot in ((nets.input, (0, wiring.entry)), (nets.output, wiring.leaving)):
            assert net != end or spot in reached
        for place_, sets in enumerate(placement.sets):
            for index, member in [(index, member) for index in sets for member in range(3)]:
                if nets.members[3 * index + member] == net:
                    around = {grid.middle(place_) + step for step in (-2, -1, 0, 1, 2)}
                    assert any(column in around and grid.gear <= row <= grid.gear + 2 for column, row in reached)


@EVERY
def test_every_set_member_and_element_is_drawn_and_no_label_overlaps(layout: Layout) -> None:
    placement = _placement(layout)
    for engaged in (None, layout.ranges[0].engaged):
        drawn = stick_diagram.picture(layout, engaged, placement)
        root = check_picture(drawn)
        found = {key: {node.get(f"data-{key}") for node in root.iter()} for key in ("set", "member", "plates", "end")}
        assert found["set"] >= {pset.name for pset in layout.sets}
        assert found["member"] >= set(layout.members)
        assert found["plates"] >= {element.name for element in layout.elements}
        closed = {node.get("data-plates") for node in root.iter() if node.get("data-closed") == "yes"}
        assert closed == set(engaged or ())
        _check_end_labels(drawn, layout, placement)


def _check_end_labels(drawn: Picture, layout: Layout, placement: Placement) -> None:
    """The words "input" and "output" stand clear of every line."""
    inner = stick_places(layout, placement)
    words = [text for text in drawn.texts() if text.text in ("input", "output")]
    assert len(words) == 2
    assert inner["input"] is not None
    left = min(line.left for _, line in _lines(inner))
    assert left >= 0


@pytest.mark.parametrize("layout", TWO_IN_ONE, ids=lambda layout: layout.name)
def test_two_sets_on_one_carrier_in_one_ring_are_drawn_as_one_and_no_foreign_line_runs_through(layout: Layout) -> None:
    placement = _placement(layout)
    data = stick_places(layout, placement)
    [pair] = [sets for sets in placement.sets if len(sets) == 2]
    long, short = (layout.sets[index] for index in pair)
    at = {item["name"]: item for item in data["sets"]}
    left, right = at[long.name]["x"], at[short.name]["x"]
    assert left + 2 * BAR < right
    gears = Box(left - 17, at[long.name]["ring"], right + 17, at[long.name]["sun"] + SHORT - 1)
    own = {layout.shaft_of(f"{pset.name}.{member}") for pset in (long, short) for member in ("sun", "carrier", "ring")}
    carrier, pin = layout.shaft_of(f"{long.name}.carrier"), at[long.name]["pin"]
    for net, line in _lines(data):
        if not line.overlaps(gears, -1):
            continue
        assert net in own
        # The carrier's arm, and the two suns' shafts coming up from below, end at their own part.
        arm = net == carrier and line.top == line.bottom == pin
        stem = line.left == line.right and line.left in (left, right) and line.top == at[long.name]["sun"]
        beside = line.left == line.right and net == carrier and not left - 12 < line.left < right + 12
        assert arm or stem or beside, (net, line)
    words = stick_diagram.picture(layout, None, placement).description
    names = capital(set_words(long.name)), set_words(short.name)
    assert f"{names[0]} and {names[1]} are one set with two suns" in words


def test_sets_that_only_look_alike_keep_their_own_gears() -> None:
    two_suns = find("pair_two_suns")
    assert seats_of(two_suns) == ((0, 1),)
    other_ring = two_suns.with_teeth({"P1": (36, 86)})
    apart = replace(two_suns, joins=two_suns.joins[1:], ranges=())
    one_sun = replace(two_suns, joins=(*two_suns.joins, ("P1.sun", "P2.sun")), ranges=())
    for layout in (other_ring, apart, one_sun, find("Q36")):
        assert all(len(seat) == 1 for seat in seats_of(layout))


@EVERY
def test_the_safe_plan_never_clashes(layout: Layout) -> None:
    nets = nets_of(layout)
    grid, plan = safe_plan(nets)
    assert judge(Router(nets, grid).wire(plan), grid).clashes == 0


@CATALOGUE
def test_the_catalogues_stored_placements_still_fit_and_cross_once_at_most(layout: Layout) -> None:
    stored = read(layout)
    assert stored is not None, f"{layout.file}: store a placement for its structure (gearkit place)"
    assert len(stored.faults.crossings) <= 1


@CATALOGUE
def test_a_plan_is_given_up_just_where_its_full_cost_passes_the_limit(layout: Layout) -> None:
    nets = nets_of(layout)
    grid = Grid(len(nets.seats), 4, max(2, len(nets.wired)))
    router, seeded = Router(nets, grid), random.Random(layout.name)
    given_up = 0
    for _ in range(60):
        made = router.wire(stick_search._start(router, seeded, stick_search._order(nets, seeded, 2)))
        full = judge(made, grid)
        for limit in (full.cost / 9, full.cost - 0.01, full.cost, full.cost + 0.01):
            told = judge(made, grid, limit)
            assert (told.cost > limit) is (full.cost > limit)
            assert told.cost <= full.cost
            assert told == full or full.cost > limit
            given_up += told != full
    assert given_up > 30


@CATALOGUE
def test_no_single_change_makes_a_polished_plan_better(layout: Layout) -> None:
    nets = nets_of(layout)
    grid = Grid(len(nets.seats), 4, max(2, len(nets.wired)))
    router, seeded = Router(nets, grid), random.Random(layout.name)
    start = stick_search._start(router, seeded, stick_search._order(nets, seeded, 2))
    cost = judge(router.wire(start), grid).cost
    polished = stick_search._polished(router, start, cost)
    least = judge(router.wire(polished), grid).cost
    assert least < cost
    for change in stick_search._single_changes(router):
        changed = polished.copy()
        stick_search._apply(grid, changed, *change)
        assert judge(router.wire(changed), grid).cost >= least - 1e-9, change


@CATALOGUE
def test_a_stored_placement_has_no_loop_and_leaves_at_the_right(layout: Layout) -> None:
    made = placed(layout)
    assert made.wiring.loops == made.wiring.stubs == 0
    assert made.plan.exit != LEFT_OUTER


def test_one_cost_counts_crossings_loops_order_and_exit() -> None:
    layout = chain(2)
    nets = nets_of(layout)
    grid, plan = safe_plan(nets)
    router = Router(nets, grid)

    def cost(changed: Plan) -> float:
        return judge(router.wire(changed), grid).cost

    turned, left = plan.copy(), plan.copy()
    turned.order.reverse()
    left.exit = LEFT_OUTER
    right = plan.copy()
    right.exit = RIGHT_OUTER
    assert router.wire(turned).style == router.wire(plan).style + TURNED_PAIR
    assert router.wire(left).style > router.wire(right).style > router.wire(plan).style == 0
    made = router.wire(plan)
    assert cost(plan) >= CROSSING * len(judge(made, grid).crossings)
    # A second way between the two lanes of a shaft is a loop.
    looped = plan.copy()
    carrier, ring = 4, 5
    joined = replace(layout, joins=(*layout.joins, ("P1.carrier", "P2.ring")), elements=layout.elements[:1], ranges=())
    nets = nets_of(joined)
    grid, looped = safe_plan(nets)
    looped.ports[1] = looped.ports[carrier] = 4
    looped.ports[ring] = 3
    assert Router(nets, grid).wire(looped).loops > 0


@EVERY
def test_no_two_shafts_share_colour_and_dash_and_black_is_the_housings(layout: Layout) -> None:
    codes = shaft_codes(layout)
    assert set(codes) == set(range(len(layout.shafts)))
    assert len(set(codes.values())) == len(codes)
    assert [shaft for shaft, code in codes.items() if code.role == "ink"] == [0]
    assert codes[layout.shaft_of("input")].role == "blue"


def test_a_hop_clears_only_what_it_passes() -> None:
    group = Group()
    upright(group, 10.0, 100.0, 20.0, [60.0], Line("blue"))
    cleared = [shape for shape in group.walk() if isinstance(shape, Path) and shape.look.stroke == "paper"]
    assert len(cleared) == 1
    ys = [numbers[k + 1] for _, numbers in cleared[0].steps for k in range(0, len(numbers), 2)]
    assert max(ys) < 80
    assert min(ys) > 40


@CATALOGUE
def test_the_state_of_every_shaft_shows_without_colour(layout: Layout) -> None:
    for item in layout.ranges:
        state = state_of(layout, item.engaged)
        drawn = stick_diagram.picture(layout, item.engaged)
        root = check_picture(drawn)
        words = {
            int(node.get("data-shaft") or 0): node.get("data-state", "")
            for node in root.iter()
            if node.get("data-state") and node.get("data-shaft")
        }
        for shaft, word in words.items():
            assert ("held" in word) == state.still(shaft)
            assert ("idle" in word) == state.idle(shaft)
            assert ("input-speed" in word) == (state.at_input_speed(shaft) and not state.idle(shaft))


def test_the_power_path_leaves_out_branches_to_open_elements() -> None:
    layout = find("Q48")
    state = state_of(layout, layout.engaged_in("2"))
    spot = placed(layout)
    dead = [piece for piece in pieces(spot, state) if piece.net == layout.shaft_of("input") and not piece.live]
    at_open = {(column, row) for column, row, element, *_ in spot.wiring.plates if layout.elements[element].name in "CF"}
    ends = {end for piece in dead for end in (piece.first, piece.last)}
    assert all((column, row + BELOW_PLATES) in ends or (column, row + ABOVE_PLATES) in ends for column, row in at_open)


def test_the_words_name_shafts_elements_and_state() -> None:
    layout = find("Q48")
    words = stick_diagram.picture(layout, layout.engaged_in("2")).description
    assert "One shaft: ring 1, carrier 4 and output." in words
    assert "A, brake, carrier 2" in words
    assert "Range 2: D and E applied, ratio 2.838." in words
    assert "Sun 2: is held." in words
    assert "Drawn closed: D and E." in words


def test_the_same_layout_gets_the_same_places_every_time() -> None:
    layout = many_layouts()[3]
    first = place(layout, 3, QUICK)
    from gearkit.draw.stick.stick_search import found_plan

    found_plan.cache_clear()
    assert place(layout, 3, QUICK).table(layout) == first.table(layout)
    assert (
        stick_diagram.picture(layout, None, first).svg() == stick_diagram.picture(layout, None, place(layout, 3, QUICK)).svg()
    )


def test_a_stored_placement_survives_the_layout_file(tmp_path: Any) -> None:
    layout = replace(find("Q36"), placement=place(find("Q36"), effort=QUICK).table(find("Q36")), text="")
    path = tmp_path / "own.toml"
    catalogue.write(layout, path)
    again = read(catalogue.read(path))
    assert again is not None
    assert again.table(layout) == layout.placement


def test_other_tooth_counts_keep_the_places_and_other_joins_do_not() -> None:
    layout = find("Q36")
    assert read(layout.with_teeth({"P1": (30, 90)})) is not None
    changed = replace(layout, elements=layout.elements[:-1], ranges=())
    assert structure_of(changed) != structure_of(layout)
    assert read(changed) is None


@pytest.mark.parametrize(
    "harm",
    [
        {"grid": [4]}, {"sets": ["P1", "P1", "P2"]}, {"ports": [99] * 9}, {"output": 7}, {"elements": []},
        {"elements": [[0, 0, 0]] * 5}, {"shafts": [[1, -4, 0, 2]]}, {"shafts": []}, {"ports": "none"},
    ],
)  # fmt: skip
def test_a_damaged_stored_placement_is_made_anew(harm: dict[str, Any]) -> None:
    layout = find("Q36")
    assert layout.placement is not None
    damaged = replace(layout, placement={**layout.placement, **harm})
    made = read(damaged)
    assert made is None or made.faults.clashes == 0


def test_rows_and_columns_that_nothing_uses_take_no_room() -> None:
    layout = find("Q24")
    place_ = measure(layout, placed(layout), card_width=80)
    assert place_.height < 330


def test_effort_must_be_above_nothing() -> None:
    with pytest.raises(UsageError, match="effort 0"):
        place(find("Q24"), effort=0)


def test_an_unknown_element_is_named() -> None:
    with pytest.raises(UsageError, match="no element 'Z'"):
        stick_diagram.picture(find("Q24"), ("Z",)).svg()


@pytest.mark.parametrize("alone", [True, False])
@pytest.mark.parametrize("name", ["M1", "M12345"])
def test_the_circle_of_a_machine_stays_on_the_page(name: str, alone: bool) -> None:
    layout = find("power_split_one_set")
    layout = replace(layout, machines=(replace(layout.machines[0], name=name), *layout.machines[1:]))
    drawn = stick_diagram.picture(layout, alone=alone)
    tops = [mark.centre[1] - mark.radius - 1 for mark in drawn.walk() if isinstance(mark, Circle) and mark.radius > 11]
    assert len(tops) == 2
    assert min(tops) >= 0


def test_labels_know_their_boxes() -> None:
    box = Text(10, 20, "input", 10.0).box
    assert box.left == 10
    assert box.height == pytest.approx(10)


def test_a_placement_of_a_layout_with_other_letters_is_refused_because_letters_would_stand_in_wrong_places() -> None:
    layout = find("Q36")
    other = replace(layout, elements=layout.elements[::-1])
    with pytest.raises(UsageError, match="belongs to a layout whose sets, joins or elements are others"):
        stick_diagram.picture(other, placement=_placement(layout))


@pytest.mark.parametrize(("drive", "out", "hold"), permutations(("sun", "carrier", "ring")))
def test_stored_places_of_a_picture_to_choose_are_as_good_as_searched_ones(drive: str, out: str, hold: str) -> None:
    layout = one_set(drive, out, hold)
    stored, searched = stored_places(layout, drive, out), place(layout, effort=0.1)
    assert stored.faults.clashes == 0
    assert stored.faults.cost <= searched.faults.cost + 1e-9
