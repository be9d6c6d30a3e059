"""The train as solid bodies: nothing is in the way of anything, every body is in one piece, and where that cannot be it says so."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearkit.draw.commands import store_placement
from gearkit.draw.cutaway.build import solid_train
from gearkit.draw.cutaway.half_section import picture
from gearkit.draw.cutaway.meetings import in_one_plane, knot, meetings, thirds
from gearkit.draw.cutaway.outlines import Area
from gearkit.draw.cutaway.set_gears import ROOT, TIP
from gearkit.draw.cutaway.solid_placement import NotSolidError, solid_placement
from gearkit.draw.cutaway.solid_train import Planet, Train, Wheel, clearance, overlaps, pieces
from gearkit.draw.front.gear_outline import outline
from gearkit.train.catalogue import entries, find, write
from gearkit.train.layout import Layout
from gearkit.words.terms import PinionKind
from tests.support.amounts import amount
from tests.support.random_layouts import random_layout

CROSSING = "bench_set"
SOLID = [entry.name for entry in entries() if entry.name != CROSSING]


def sound(train: Train) -> None:
    """Hold a train against all that makes it solid."""
    assert overlaps(train) == []
    assert clearance(train) > 0.5
    wired = {train.layout.shaft_of(name) for element in train.layout.elements for name in element.between}
    assert {body: pieces(train, body) for body in wired if pieces(train, body) != 1} == {}
    # The same said by areas: together the bodies take as much room as each of them alone.
    every = [rect for rects in train.bodies.values() for rect in rects]
    assert Area(every).size() == pytest.approx(sum(Area(rects).size() for rects in train.bodies.values() if rects))


@pytest.mark.parametrize("name", SOLID)
def test_a_layout_of_the_catalogue_is_solid(name: str) -> None:
    train = solid_train(find(name))
    sound(train)
    assert train.notes == []
    assert len(train.packs) == len(train.layout.elements)
    assert set(train.ends) == {"input", "output"}


def test_where_no_arrangement_exists_it_says_why_and_which_element_is_in_the_way() -> None:
    with pytest.raises(
        NotSolidError,
        match=r"whatever their arrangement: each of \(1\) the outside; \(2\) sun 1; \(3\) ring 1 would have to reach each of "
        r"\(a\) housing; \(b\) input; \(c\) output and carrier 1, .*Without element A, B, C or D there would be a way.*--what stick",
    ):
        solid_train(find(CROSSING))
    layout = find(CROSSING)
    for gone in layout.elements:
        sound(solid_train(replace(layout, elements=tuple(e for e in layout.elements if e != gone), ranges=(), placement=None)))


def test_what_meets_fits_into_the_plane_just_where_a_graph_does() -> None:
    def lines(*pairs: tuple[int, int]) -> set[frozenset[int]]:
        return {frozenset(pair) for pair in pairs}

    five = lines(*combinations(range(5), 2))
    threes = lines(*((a, b) for a in range(3) for b in range(3, 6)))
    stretched = {edge for edge in threes if edge != {0, 3}} | lines((0, 10), (10, 11), (11, 3))
    star = lines(
        *((k, (k + 1) % 5) for k in range(5)), *((5 + k, 5 + (k + 2) % 5) for k in range(5)), *((k, k + 5) for k in range(5))
    )
    cube = lines(*((k, k ^ (1 << bit)) for k in range(8) for bit in range(3)))
    for graph in (five, threes, stretched, star, cube | lines((0, 7))):
        assert not in_one_plane(graph)
        kept, corners = knot(graph)
        assert not in_one_plane(kept)
        assert all(in_one_plane(kept - {edge}) for edge in kept)
        assert (thirds(kept, corners) is None) == (len(corners) == 5)
    for graph in (five - lines((0, 1)), threes - lines((0, 3)), cube, set()):
        assert in_one_plane(graph)


@given(st.sets(st.integers(0, 17)))
def test_a_graph_drawn_on_a_grid_fits_into_the_plane(left_out: set[int]) -> None:
    # Squares of a grid, each with one of its diagonals: drawn without a crossing, whatever is left out.
    pairs = [((x, y), (x + dx, y + dy)) for x in range(2) for y in range(3) for dx, dy in ((1, 0), (0, 1), (1, 1))]
    edges = {frozenset((10 * a + b, 10 * c + d)) for k, ((a, b), (c, d)) in enumerate(pairs) if k not in left_out}
    assert in_one_plane(edges)


def test_places_of_solid_bodies_are_stored_and_not_searched_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    layout = next(made for made in map(random_layout, range(40)) if len(made.shafts[0]) > 1)
    file = tmp_path / "mine.toml"
    write(layout, file)
    assert store_placement(str(file), searches=1).written
    monkeypatch.setattr("gearkit.draw.cutaway.solid_placement._searched", lambda *_: pytest.fail("searched again"))
    sound(solid_train(find(file)))
    assert not store_placement(str(file), searches=1).written
    for name in SOLID:
        solid_train(find(name))


def test_random_layouts_of_every_kind_are_solid_or_refused() -> None:
    kinds, grounded, built = set(), 0, 0
    for seed in range(amount(60, 9)):
        layout = random_layout(seed, sets=1 + seed % 2)
        try:
            train = solid_train(layout)
        except NotSolidError:
            continue
        assert in_one_plane(meetings(layout))
        sound(train)
        built += 1
        kinds |= {pset.pinions for pset in layout.sets}
        grounded += len(layout.shafts[0]) > 1
    assert built >= amount(40, 6)
    assert kinds == set(PinionKind) or amount(0, 1)
    assert grounded or amount(0, 1)


@pytest.mark.parametrize("seed", [11, 18])
def test_bevel_and_stepped_sets_are_solid(seed: int) -> None:
    layout = random_layout(seed)
    assert {pset.pinions for pset in layout.sets} & {PinionKind.BEVEL, PinionKind.STEPPED}
    sound(solid_train(layout))
    assert picture(layout).svg().startswith("<svg")


def test_a_member_on_the_housing_for_good_is_one_piece_with_the_casing() -> None:
    layout = find("six_range_input_set_two_suns")
    assert "P1.sun" in layout.shafts[0]
    train = solid_train(layout)
    assert pieces(train, 0) == 1
    assert any(wheel.body == 0 and wheel.member == "sun" for wheel in train.wheels)


def test_the_overlap_test_finds_what_is_in_the_way() -> None:
    train = solid_train(find("pair_two_suns"))
    # A short planet's pin as long as a long planet's goes through the teeth of the large sun.
    left = min(pin.x[0] for pin in train.pins)
    through = replace(train, pins=[replace(pin, x=(left, pin.x[1])) for pin in train.pins])
    assert {(found.first, found.second.split(" of ")[0]) for found in overlaps(through)} == {("teeth of P1 sun", "pin")}
    # A drum a little smaller meets the ring inside it.
    body = train.layout.shaft_of("output")
    thicker = {
        number: [(x0, x1, r0, r1 + (13.0 if number == body else 0.0)) for x0, x1, r0, r1 in rects]
        for number, rects in train.bodies.items()
    }
    assert overlaps(replace(train, bodies=thicker))


def test_the_same_layout_always_gives_the_same_train() -> None:
    layout = random_layout(1)
    assert solid_train(layout).bodies == solid_train(layout).bodies
    assert solid_placement(layout) == solid_placement(layout)


@given(st.lists(st.tuples(*[st.integers(0, 7)] * 4), max_size=6))
def test_a_union_of_rectangles_has_the_area_and_the_edge_that_counting_cells_gives(
    corners: list[tuple[int, int, int, int]],
) -> None:
    rects = [(min(a, b), max(a, b) + 1, min(c, d), max(c, d) + 1) for a, b, c, d in corners]
    cells = {(x, r) for x0, x1, r0, r1 in rects for x in range(x0, x1) for r in range(r0, r1)}
    found = Area([tuple(map(float, rect)) for rect in rects])
    assert found.size() == len(cells)
    assert sum((x1 - x0) * (r1 - r0) for x0, x1, r0, r1 in found.rects()) == len(cells)
    edge = sum((x + i, r + j) not in cells for x, r in cells for i, j in ((1, 0), (-1, 0), (0, 1)))
    edge += sum((x, r - 1) not in cells and r > 0 for x, r in cells)
    assert sum(abs(s.x1 - s.x0) + abs(s.r1 - s.r0) for s in found.segments()) == edge


# ---- teeth


@lru_cache
def flank(teeth: int, internal: bool) -> list[tuple[float, float]]:
    return [(math.hypot(*point), abs(math.atan2(point[1], point[0]))) for point in outline(teeth, internal=internal)[:4]]


@lru_cache
def edge_of(teeth: int) -> list[tuple[float, float]]:
    """The outline of a gear and the middles of its edges, as radius in modules and angle."""
    found = outline(teeth)
    points = [
        (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share)
        for a, b in zip(found, [*found[1:], found[0]], strict=True)
        for share in (0, 0.5)
    ]
    return [(math.hypot(*point), math.atan2(point[1], point[0])) for point in points]


def half_width(teeth: int, radius: float, *, internal: bool) -> float:
    """Half the angle of a tooth (of the space of a ring) at a radius, from the outline that is drawn; in modules."""
    points = flank(teeth, internal)
    for (r0, a0), (r1, a1) in pairwise(points):
        if r0 <= radius <= r1:
            return a0 + (a1 - a0) * (radius - r0) / (r1 - r0)
    return -1.0


def depth(points: list[tuple[float, float]], wheel: tuple[int, float, float, bool]) -> float:
    """How far, in modules along the pitch circle, points lie inside the teeth of a wheel round the axis."""
    teeth, module, angle, internal = wheel
    worst = 0.0
    tip = teeth / 2 + (-TIP if internal else TIP)
    for x, y in points:
        radius = math.hypot(x, y) / module
        if (radius < tip) if internal else (radius > tip):
            continue
        at = math.atan2(y, x)
        off = (at - angle + math.pi / teeth) % (2 * math.pi / teeth) - math.pi / teeth
        half = half_width(teeth, radius, internal=internal)
        if half < 0:
            inside = radius < teeth / 2 - ROOT if not internal else radius > teeth / 2 + ROOT
            worst = max(worst, float(inside))
            continue
        worst = max(worst, (half - abs(off) if not internal else abs(off) - half) * radius)
    return worst


def gear_points(planet: Planet, sun_turn: float, carrier_turn: float = 0.0) -> list[tuple[float, float]]:
    """The outline of a planet in its place, when its sun has turned against the carrier."""
    turn = planet.angle + float(planet.spin) * sun_turn
    at = planet.at + carrier_turn
    x, y = planet.radius * math.cos(at), planet.radius * math.sin(at)
    return [
        (x + r * planet.module * math.cos(a + turn), y + r * planet.module * math.sin(a + turn))
        for r, a in edge_of(planet.teeth)
    ]


def worst_overlap(layout: Layout, train: Train, out_by: float = 0.0) -> float:
    """The deepest overlap of teeth over a planet's cycle, in modules; ``out_by``: the suns stand so many pitches wrong."""
    worst = 0.0
    for number, pset in enumerate(layout.sets):
        sun = next(wheel for wheel in train.wheels if (wheel.set, wheel.member) == (number, "sun"))
        ring = next((wheel for wheel in train.wheels if (wheel.set, wheel.member) == (number, "ring")), None)
        for step in range(9):
            turn = 2 * math.pi / sun.teeth * 3.1 * step / 8
            sun_weight, ring_weight = pset.weights
            ring_turn = -turn * sun_weight / ring_weight
            for place, planet in enumerate(each for each in train.planets if each.set == number):
                # What one planet does over the cycle the others do too, if they stand right at its start.
                if place and step:
                    continue
                points = gear_points(planet, turn)
                for wheel, wheel_turn in ((sun, turn), (ring, ring_turn)):
                    if wheel is not None and meets(wheel, planet):
                        angle = wheel.angle + wheel_turn + (2 * math.pi / wheel.teeth * out_by if wheel is sun else 0.0)
                        worst = max(worst, depth(points, (wheel.teeth, wheel.module, angle, wheel.internal)))
    return worst


def meets(wheel: Wheel, planet: Planet) -> bool:
    """Whether the pitch circles touch."""
    reach = planet.radius + planet.module * planet.teeth / 2 * (1 if wheel.internal else -1)
    return abs(reach - wheel.pitch_radius) < 1e-6


@pytest.mark.parametrize("name", ["Q24", "Q36", "Q48", "pair_two_suns"])
def test_no_tooth_overlaps_another_over_a_cycle(name: str) -> None:
    layout = find(name)
    train = solid_train(layout)
    assert worst_overlap(layout, train) == 0.0
    assert worst_overlap(layout, train, out_by=0.5) > 0.3
    assert worst_overlap(layout, train, out_by=0.1) > 0.05


def test_meshing_pinions_of_a_pair_do_not_overlap() -> None:
    train = solid_train(find("pair_two_suns"))
    long, short = (next(p for p in train.planets if p.set == number) for number in (0, 1))
    near = math.hypot(
        long.radius * math.cos(long.at) - short.radius * math.cos(short.at),
        long.radius * math.sin(long.at) - short.radius * math.sin(short.at),
    )
    assert near == pytest.approx(long.module * (long.teeth + short.teeth) / 2)
    sun = next(wheel for wheel in train.wheels if (wheel.set, wheel.member) == (1, "sun"))
    worst, wrong = 0.0, 0.0
    for step in range(9):
        turn = 0.4 * step / 8
        # Seen from the long planet's middle; it turns by the same mesh.
        own = long.angle - float(short.spin) * turn * short.teeth / long.teeth
        moved = [
            (x - long.radius * math.cos(long.at), y - long.radius * math.sin(long.at)) for x, y in gear_points(short, turn)
        ]
        worst = max(worst, depth(moved, (long.teeth, long.module, own, False)))
        wrong = max(wrong, depth(moved, (long.teeth, long.module, own + math.pi / long.teeth, False)))
    assert worst == 0.0
    assert wrong > 0.3
    assert sun.pitch_radius + short.module * short.teeth / 2 == pytest.approx(short.radius)
    assert TIP < ROOT


# ---- the hatched half-section


def test_applied_elements_held_shafts_and_the_power_path_show_in_the_half_section() -> None:
    bare, drawn = picture(find("Q24")), picture(find("Q24"), ["B", "E"])
    assert 'data-plates="B" data-closed="no"' in bare.svg()
    assert 'data-plates="B" data-closed="yes"' in drawn.svg()
    assert {"power path", "stands still"} <= {text.text for text in drawn.texts()}
    assert "ratio 1.453" in drawn.description
    assert (
        "B, F and D between a drum and the casing" in drawn.description or "between a drum and the casing" in drawn.description
    )


def test_words_of_the_half_section_do_not_lie_on_each_other() -> None:
    for name in SOLID:
        layout = find(name)
        texts = [text for text in picture(layout, layout.ranges[0].engaged).texts() if not text.overlay]
        for number, text in enumerate(texts):
            for other in texts[number + 1 :]:
                assert not text.box.overlaps(other.box, -1.0), (name, text.text, other.text)
