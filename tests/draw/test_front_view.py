"""The front view: true tooth counts, true mesh, true speeds, and a reader who cannot see it is told the same."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations, pairwise
from typing import TypeGuard

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.draw.core.shaft_code import shaft_codes
from gearkit.draw.core.svg import Circle, Group, Look, Path, Text
from gearkit.draw.front import front_view
from gearkit.draw.front.front_geometry import Gear, arrange, external_mesh, internal_mesh
from gearkit.draw.front.gear_outline import outline
from gearkit.train.catalogue import find
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.terms import PinionKind
from tests.draw.pictures import check_picture

SETS = [
    PlanetarySet("P1", sun_teeth=28, ring_teeth=84, planets=4),
    PlanetarySet("P2", sun_teeth=59, ring_teeth=93, planets=4),
    PlanetarySet("P3", PinionKind.DOUBLE, 38, 82, planets=3),
    PlanetarySet("P4", PinionKind.DOUBLE, 36, 84, planets=4, sun_pinion_teeth=16, ring_pinion_teeth=14),
    PlanetarySet("P5", PinionKind.STEPPED, 30, 90, planets=3, sun_pinion_teeth=20, ring_pinion_teeth=24),
    PlanetarySet("P6", PinionKind.BEVEL, planets=2),
    PlanetarySet("P7", ring_to_sun=Fraction(11, 5)),
]
TURNING = {"sun": Fraction(1), "carrier": Fraction(1, 4), "ring": Fraction(0)}


def _apart(angle: float, teeth: int) -> float:
    """How far an angle is from a whole number of teeth, in teeth."""
    steps = angle * teeth / (2 * math.pi)
    return abs(steps - round(steps))


def test_an_outline_has_one_crest_for_every_tooth() -> None:
    points = outline(28)
    crests = [point for point in points if math.hypot(*point) > 14.9]
    assert len(crests) == 2 * 28


def test_the_teeth_of_a_ring_point_inwards() -> None:
    radii = [math.hypot(*point) for point in outline(84, internal=True)]
    assert min(radii) == pytest.approx(42 - 1)
    assert max(radii) == pytest.approx(42 + 1.25)


@settings(max_examples=40, deadline=None)
@given(sun=st.integers(18, 60), pinion=st.integers(14, 36), planets=st.integers(2, 6))
def test_every_planet_meshes_with_sun_and_ring_at_once(sun: int, pinion: int, planets: int) -> None:
    pset = PlanetarySet("P1", sun_teeth=sun, ring_teeth=sun + 2 * pinion, planets=planets)
    front = arrange(pset)
    ring = front.gear("ring")
    for gear in front.gears:
        if gear.kind != "pinion":
            continue
        at = gear.centre_angle
        assert _apart(external_mesh(0.0, sun, pinion, at) - gear.angle, pinion) < 1e-6
        assert _apart(internal_mesh(gear.angle, pinion, ring.teeth, at) - ring.angle, ring.teeth) < 1e-6


@settings(max_examples=30, deadline=None)
@given(sun=st.integers(24, 44), room=st.integers(30, 50), planets=st.integers(2, 4))
def test_every_pinion_pair_meshes_with_sun_and_ring_at_once(sun: int, room: int, planets: int) -> None:
    front = arrange(PlanetarySet("P1", PinionKind.DOUBLE, sun, sun + room, planets=planets))
    ring = front.gear("ring")
    for gear in front.gears:
        if gear.name.startswith("outer"):
            angle = internal_mesh(gear.angle, gear.teeth, ring.teeth, gear.centre_angle)
            assert _apart(angle - ring.angle, ring.teeth) < 1e-6


@settings(max_examples=30, deadline=None)
@given(sun=st.integers(20, 60), pinion=st.integers(14, 36), ring_speed=st.integers(-3, 3), carrier_speed=st.integers(-3, 3))
def test_gears_stay_in_mesh_when_the_set_turns(sun: int, pinion: int, ring_speed: int, carrier_speed: int) -> None:
    ring = sun + 2 * pinion
    front = arrange(PlanetarySet("P1", sun_teeth=sun, ring_teeth=ring, planets=3))
    sun_speed = Fraction((sun + ring) * carrier_speed - ring * ring_speed, sun)
    angles = (float(sun_speed) * 0.37, carrier_speed * 0.37, ring_speed * 0.37)

    def turned(gear: Gear) -> float:
        return gear.angle + sum(turn * by for turn, by in zip(gear.turns, angles, strict=True))

    planet = front.gear("planet 1")
    at = planet.centre_angle + angles[1]
    assert _apart(external_mesh(turned(front.gear("sun")), sun, pinion, at) - turned(planet), pinion) < 1e-5
    assert _apart(internal_mesh(turned(planet), pinion, ring, at) - turned(front.gear("ring")), ring) < 1e-5


@pytest.mark.parametrize("pset", SETS, ids=lambda pset: pset.name)
@pytest.mark.parametrize("speeds", [None, TURNING], ids=["still", "turning"])
def test_every_kind_of_set_gives_a_whole_picture(pset: PlanetarySet, speeds: dict[str, Fraction | None] | None) -> None:
    drawn = front_view.picture(pset, speeds)
    check_picture(drawn)
    words = " ".join(text.text for text in drawn.texts())
    for member in ("sun", "carrier", "ring"):
        assert member in words
        assert member in drawn.description


def test_the_words_tell_the_tooth_counts_and_the_held_member() -> None:
    drawn = front_view.picture(SETS[0], TURNING)
    assert "sun 28, ring 84 and planet 28" in drawn.description
    assert "ring is held" in drawn.description
    assert "sun turns at input speed" in drawn.description


def test_no_tooth_count_is_claimed_where_only_the_quotient_is_known() -> None:
    drawn = front_view.picture(SETS[6])
    assert "ring / sun = 11/5" in drawn.description
    assert not any("teeth" in text.text for text in drawn.texts())


@pytest.mark.parametrize(
    "pset",
    [
        PlanetarySet("P1", PinionKind.DOUBLE, 38, 82),
        PlanetarySet("P1", sun_teeth=30, ring_teeth=75),
        PlanetarySet("P1", PinionKind.BEVEL),
    ],
    ids=["double", "half a tooth", "bevel"],
)
def test_no_tooth_count_is_made_up_for_pinions_whose_teeth_are_not_given(pset: PlanetarySet) -> None:
    drawn = front_view.picture(pset)
    counted = [text.text for text in drawn.texts() if "teeth" in text.text]
    assert not any("planet" in words or "pinion" in words for words in counted)
    told = drawn.description.partition("Tooth counts: ")[2].partition(".")[0]
    assert "planet" not in told
    assert "pinion" not in told


def test_planets_that_cannot_be_equally_spaced_are_said_to_be_so() -> None:
    drawn = front_view.picture(PlanetarySet("P1", sun_teeth=29, ring_teeth=71, planets=3))
    assert (29 + 71) % 3 != 0
    assert "as near to equal spacing as the teeth allow" in drawn.description


MORE_SETS = [
    *SETS,
    PlanetarySet("P8", sun_teeth=31, ring_teeth=84, planets=4),
    PlanetarySet("P9", sun_teeth=50, ring_teeth=90, planets=6),
    PlanetarySet("P10", PinionKind.STEPPED, 28, 90, planets=3, sun_pinion_teeth=36, ring_pinion_teeth=18),
]


@pytest.mark.parametrize("pset", MORE_SETS, ids=lambda pset: pset.name)
@pytest.mark.parametrize("speeds", [None, TURNING], ids=["still", "turning"])
def test_no_two_leader_lines_cross_and_nothing_leaves_the_page(
    pset: PlanetarySet, speeds: dict[str, Fraction | None] | None
) -> None:
    drawn = front_view.picture(pset, speeds)
    lines = [
        [numbers for _, numbers in shape.steps]
        for shape in drawn.walk()
        if isinstance(shape, Path) and shape.look == Look("soft", None, 1.1)
    ]
    assert len(lines) == 4
    for first, second in combinations(lines, 2):
        assert not any(_cross(*a, *b) for a in pairwise(first) for b in pairwise(second))
    for shape in drawn.walk():
        if isinstance(shape, Path):
            xs = [x for _, numbers in shape.steps for x in numbers[0::2]]
            ys = [y for _, numbers in shape.steps for y in numbers[1::2]]
            assert min(xs) > 0
            assert min(ys) > 0
            assert max(xs) < drawn.width
            assert max(ys) < drawn.height


def _cross(a: tuple[float, ...], b: tuple[float, ...], c: tuple[float, ...], d: tuple[float, ...]) -> bool:
    """Whether two pieces of line have a point in common, by solving for it."""
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]
    det = ux * vy - uy * vx
    if abs(det) < 1e-9:
        return False
    s = ((c[0] - a[0]) * vy - (c[1] - a[1]) * vx) / det
    t = ((c[0] - a[0]) * uy - (c[1] - a[1]) * ux) / det
    return 0 <= s <= 1 and 0 <= t <= 1


@pytest.mark.parametrize(
    "pset", [pset for pset in MORE_SETS if pset.pinions is not PinionKind.BEVEL], ids=lambda pset: pset.name
)
def test_what_is_painted_black_is_small_and_not_where_teeth_mesh(pset: PlanetarySet) -> None:
    drawn = front_view.picture(pset)
    front = arrange(pset)
    black = []
    for shape in drawn.walk():
        if shape_is_black(shape):
            if isinstance(shape, Circle):
                assert shape.radius <= 3.5
                black.append(shape.centre)
            else:
                points = [numbers for _, numbers in shape.steps if numbers]
                assert max(math.dist(a, b) for a, b in combinations(points, 2)) < 18
                black.append((sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)))
    pinions = [gear for gear in front.gears if gear.kind == "pinion"]
    assert len(black) == len(pinions) + 2
    # Sun and inner planets mesh on the line between their axes.
    scale = 180 / (max(front.outer_radius, *(gear.centre_radius + gear.pitch_radius for gear in front.gears)) + 2.5)
    sun = front.gear("sun").pitch_radius
    for gear in pinions:
        if abs(gear.centre_radius - sun - gear.pitch_radius) < 0.3:
            mesh = (198 + scale * sun * math.cos(gear.centre_angle), 198 + scale * sun * math.sin(gear.centre_angle))
            assert min(math.dist(mesh, spot) for spot in black) > 12


def shape_is_black(shape: Path | Circle | Text) -> TypeGuard[Path | Circle]:
    return not isinstance(shape, Text) and shape.look.fill == "ink"


@pytest.mark.parametrize(("sun", "ring"), [(30, 84), (31, 84), (40, 91)])
def test_planets_fill_the_room_between_sun_and_ring_even_with_half_a_tooth_too_many(sun: int, ring: int) -> None:
    front = arrange(PlanetarySet("P1", sun_teeth=sun, ring_teeth=ring, planets=3))
    planet = front.gear("planet 1")
    assert sun / 2 + 2 * planet.pitch_radius == pytest.approx(ring / 2)
    assert planet.centre_radius == pytest.approx(sun / 2 + planet.pitch_radius)


def test_a_set_of_a_layout_has_the_colours_of_its_shafts() -> None:
    layout = find("Q48")
    drawn = front_view.picture_of_set(layout, None, "P1")
    codes = shaft_codes(layout)
    for member in ("sun", "carrier", "ring"):
        marks = [group for group in _groups(drawn) if group.data.get("mark") == member]
        assert len(marks) == 1
        edged = [shape.look.stroke for shape in marks[0].walk() if not isinstance(shape, Text)]
        assert edged == [codes[layout.shaft_of(f"P1.{member}")].role]


def _groups(group: Group) -> Iterator[Group]:
    for shape in group.shapes:
        if isinstance(shape, Group):
            yield shape
            yield from _groups(shape)
