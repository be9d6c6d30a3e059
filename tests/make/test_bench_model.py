"""The bench model: parts that close, mesh and are refused where they cannot be put together."""

from __future__ import annotations

import math
import struct
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.path import Path as Region

from gearkit.cli.main import main
from gearkit.make.bench_model import Proportions, design, write
from gearkit.make.involute import ToothedWheel
from gearkit.make.solid import Triangle
from gearkit.train.catalogue import find
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import GearkitError, UsageError
from gearkit.words.say import speaking_language

SET = PlanetarySet("P1", sun_teeth=30, ring_teeth=84, planets=3)


def area(outline: list[tuple[float, float]]) -> float:
    return sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(outline, outline[1:] + outline[:1], strict=True)) / 2


def volume(shell: tuple[Triangle, ...]) -> float:
    total = 0.0
    for (ax, ay, az), (bx, by, bz), (cx, cy, cz) in shell:
        total += ax * (by * cz - bz * cy) - ay * (bx * cz - bz * cx) + az * (bx * cy - by * cx)
    return total / 6


def turned(
    points: list[tuple[float, float]], angle: float, centre: tuple[float, float] = (0.0, 0.0)
) -> list[tuple[float, float]]:
    c, s = math.cos(angle), math.sin(angle)
    return [(centre[0] + c * x - s * y, centre[1] + s * x + c * y) for x, y in points]


@given(teeth=st.integers(17, 120), internal=st.booleans(), module=st.floats(0.5, 5))
@settings(max_examples=30, deadline=None)
def test_an_outline_stays_between_its_tip_and_root_circles(teeth: int, internal: bool, module: float) -> None:
    wheel = ToothedWheel(teeth, module, internal)
    radii = [math.hypot(x, y) for x, y in wheel.outline()]
    assert min(radii) == pytest.approx(min(wheel.tip_radius, wheel.root_radius), rel=1e-9)
    assert max(radii) == pytest.approx(max(wheel.tip_radius, wheel.root_radius), rel=1e-9)
    assert area(wheel.outline()) > 0


def test_a_tooth_is_half_the_pitch_less_the_thinning_at_the_pitch_circle() -> None:
    wheel = ToothedWheel(30, 2.0, thinning=0.15)
    assert 2 * wheel.half_thickness(wheel.pitch_radius) * wheel.pitch_radius == pytest.approx(math.pi * 2 / 2 - 0.15)


@pytest.mark.parametrize(("sun", "planet"), [(30, 27), (26, 31), (50, 18), (17, 17)])
def test_sun_planet_and_ring_mesh_without_cutting_into_each_other(sun: int, planet: int) -> None:
    thinning = 0.1
    wheels = ToothedWheel(sun, 2.0, thinning=thinning), ToothedWheel(planet, 2.0, thinning=thinning)
    ring = ToothedWheel(sun + 2 * planet, 2.0, internal=True, thinning=thinning)
    centre = (wheels[0].pitch_radius + wheels[1].pitch_radius, 0.0)
    # A tooth of the sun points at the planet, so a tooth space of the planet must face it.
    planet_angle = math.pi - math.pi / planet
    placed = turned(wheels[1].outline(), planet_angle, centre)
    assert not Region(wheels[0].outline()).contains_points(placed).any()
    # On the ring's side a planet tooth sits at planet_angle + k pitches; the ring's space must be centred on angle 0.
    pitch = 2 * math.pi / planet
    offset = (planet_angle + pitch / 2) % pitch - pitch / 2
    ring_angle = offset * planet / ring.teeth
    space = Region(turned(ring.outline(), ring_angle))
    assert space.contains_points(placed).all()


@pytest.mark.parametrize("part", range(4))
def test_every_shell_is_closed_and_has_the_volume_of_its_outlines(part: int) -> None:
    built = design(SET).parts[part]
    for shell in built.shells:
        edges = Counter()
        for a, b, c in shell:
            edges.update([(a, b), (b, c), (c, a)])
        assert all(edges[b, a] == count == 1 for (a, b), count in edges.items())
        assert volume(shell) > 0
    if built.name in ("sun", "planet"):
        outer, inner = built.outlines
        flat = area(list(outer)) - area(list(inner))
        assert volume(built.shells[0]) == pytest.approx(flat * 8.0, rel=2e-3)


def test_dimensions_follow_from_module_and_teeth() -> None:
    table = dict(design(SET, Proportions(module=1.5)).dimensions)
    assert table["ring tip diameter"] == pytest.approx(1.5 * (84 - 2))
    assert table["ring root diameter"] == pytest.approx(1.5 * (84 + 2.5))
    assert table["sun to planet centre distance"] == pytest.approx(1.5 * (30 + 27) / 2)
    assert table["gap between planet tips"] == pytest.approx(1.5 * ((30 + 27) * math.sin(math.pi / 3) - 29))


def test_an_stl_file_holds_as_many_triangles_as_it_says(tmp_path: Path) -> None:
    write(design(SET), tmp_path / "model")
    data = (tmp_path / "model" / "sun.stl").read_bytes()
    (count,) = struct.unpack_from("<I", data, 80)
    assert count > 1000
    assert len(data) == 84 + 50 * count


def test_the_cautions_travel_with_the_files(tmp_path: Path) -> None:
    write(design(SET), tmp_path)
    page = (tmp_path / "model.md").read_text(encoding="utf-8")
    assert "Hand power only" in page
    assert "maker's procedure" in page


@pytest.mark.parametrize(
    ("pset", "message"),
    [
        (PlanetarySet("P1", sun_teeth=30, ring_teeth=85, planets=5), "85 − sun 30 = 55 is odd"),
        (PlanetarySet("P1", sun_teeth=30, ring_teeth=84, planets=4), r"114 does not divide by 4"),
        (PlanetarySet("P1", sun_teeth=30, ring_teeth=84), "number of planets is not given"),
        (PlanetarySet("P1", sun_teeth=20, ring_teeth=80, planets=5), "5 planets of 30 teeth touch each other"),
        (PlanetarySet("P1", sun_teeth=16, ring_teeth=50, planets=3), "the sun has 16 teeth; standard teeth below 17"),
    ],
)
def test_a_set_that_cannot_be_put_together_is_refused_with_the_reason(pset: PlanetarySet, message: str) -> None:
    with pytest.raises(UsageError, match=message):
        design(pset)


def test_a_bore_too_large_for_the_roots_is_refused() -> None:
    with pytest.raises(GearkitError, match="below the roots of the sun"):
        design(SET, Proportions(module=0.35))


def test_the_command_writes_the_model_and_says_what_it_made(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["bench", "Q24", "P1", "-o", str(tmp_path / "model")]) == 0
    shown = capsys.readouterr().out
    assert "planet, 27 teeth" in shown
    assert "Hand power only" in shown
    assert (tmp_path / "model" / "ring.dxf").read_text().endswith("EOF\n")
    assert find("Q24").set_named("P1").sun_teeth == 30


def test_parts_and_faults_name_a_planet_in_the_language() -> None:
    with speaking_language("de"):
        assert [part.description.split(",")[0] for part in design(SET).parts[:2]] == ["Sonnenrad", "Planetenrad"]
        with pytest.raises(UsageError, match="Planetenrad: 16 Zähne"):
            design(PlanetarySet("P1", sun_teeth=40, ring_teeth=72, planets=4))
