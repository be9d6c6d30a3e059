"""Bars, traces and loaded levers: labels clear of each other, and the figures told in words as well."""

from __future__ import annotations

import re
from fractions import Fraction
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.draw.charts import bars, trace
from gearkit.draw.charts.bars import Bar, Limit
from gearkit.draw.charts.trace import Axes, Band, Line
from gearkit.draw.lever import loaded_levers
from gearkit.solve.loads.torques import torques
from gearkit.train.layout import Layout
from tests.draw.pictures import SVG, catalogue_layouts, check_picture

VALUES = st.lists(st.floats(-500, 500, allow_nan=False), min_size=1, max_size=9)


@settings(max_examples=40, deadline=None)
@given(VALUES, st.one_of(st.none(), st.floats(1, 600)))
def test_bars_of_any_values_are_readable_with_and_without_a_line(values: list[float], line: float | None) -> None:
    shown = [Bar(f"P{number}", value, f"{value:.1f} kW") for number, value in enumerate(values)]
    limit = None if line is None else Limit(line, f"input {line:.1f} kW")
    check_picture(bars.picture(shown, "Power on every member", "kW", limit))


def test_bars_are_as_long_as_their_values_and_go_left_below_nothing() -> None:
    drawn = bars.picture([Bar("a", 10, "10"), Bar("b", -5, "-5")], "Two", "")
    root = check_picture(drawn)
    boxes = {}
    for group in root.iter(f"{SVG}g"):
        if group.get("data-bar"):
            path = group.findall(f"{SVG}path")[0].get("d") or ""
            numbers = [float(part) for part in path.replace("M", " ").replace("L", " ").replace("Z", "").split()]
            boxes[group.get("data-bar")] = (min(numbers[0::2]), max(numbers[0::2]))
    (zero, right), (left, also_zero) = boxes["a"], boxes["b"]
    assert zero == also_zero
    assert right - zero == pytest.approx(2 * (zero - left), abs=0.02)


def test_bars_say_which_are_beyond_the_line() -> None:
    said = bars.describe([Bar("B", 521, "521 N·m"), Bar("C", -306, "306 N·m")], Limit(400, "one pack holds 400 N·m"))
    assert said.endswith("Line: one pack holds 400 N·m. Beyond it: B.")


def test_a_trace_draws_its_lines_where_the_axes_say_and_names_each_once() -> None:
    lines = [Line("up", ((0, 0), (10, 100))), Line("up", ((10, 50), (20, 100))), Line("point", ((5, 50),))]
    axes = Axes("s", "r/min", (0, 0), (20, 100))
    drawn = trace.picture(lines, axes, "Trace", "Two lines that go up and one point in the middle.",
                          bands=[Band(0, 5, "neither holds")])  # fmt: skip
    root = check_picture(drawn)
    assert [text.text for text in drawn.texts()].count("up") == 1
    group = next(node for node in root.iter(f"{SVG}g") if node.get("data-line") == "up")
    steps = (group.find(f"{SVG}path").get("d") or "").replace("M", " ").replace("L", " ").split()
    (x0, y0, x1, y1) = [float(step) for step in steps]
    assert x1 - x0 == trace.WIDTH / 2
    assert y0 - y1 == trace.HEIGHT


@pytest.mark.parametrize("layout", catalogue_layouts(), ids=lambda layout: layout.file)
def test_loaded_levers_write_every_known_torque_and_a_question_mark_for_the_others(layout: Layout) -> None:
    check_picture(loaded_levers.picture(layout, dict.fromkeys(layout.members), "Which torques?"))
    for item in layout.ranges:
        found = torques(layout, item.engaged, 150, basic_efficiency=1)
        drawn = loaded_levers.picture(layout, found.members, f"Range {item.name}")
        check_picture(drawn)
        unknown = sum(value is None for value in found.members.values())
        assert [text.text for text in drawn.texts()].count("?") == unknown


def test_the_carrier_of_a_lever_stands_where_the_torques_have_no_moment() -> None:
    layout = next(layout for layout in catalogue_layouts() if "Q36" in layout.name)
    for pset in layout.sets:
        places = loaded_levers._places(pset)
        sun, ring = pset.weights
        assert sun * (places["sun"] - places["carrier"]) + ring * (places["ring"] - places["carrier"]) == pytest.approx(0)
        assert places["carrier"] == pytest.approx(float(Fraction(sun, sun + ring)))


def _across(shape: ET.Element) -> list[float]:
    """Where a shape has its corners, or its two sides, from left to right."""
    if shape.tag == f"{SVG}circle":
        middle, radius = (float(shape.get(name) or 0) for name in ("cx", "r"))
        return [middle - radius, middle + radius]
    numbers = re.findall(r"-?\d+(?:\.\d+)?", shape.get("d") or "")
    return [float(number) for number in numbers[0::2]]


def test_every_torque_has_an_arrow_that_its_mark_does_not_hide_as_long_as_the_torque_is_large() -> None:
    """A tenth of the largest torque was an arrow wholly under the letter of its member."""
    layout = next(layout for layout in catalogue_layouts() if "Q36" in layout.name)
    known = torques(layout, layout.engaged_in("1"), 150, basic_efficiency=1).members
    root = check_picture(loaded_levers.picture(layout, known, "Range 1"))
    reaches = {}
    for group in root.iter(f"{SVG}g"):
        member, torque = group.get("data-member"), known.get(group.get("data-member") or "")
        if member is None or torque is None:
            continue
        mark = next(inner for inner in group.iter(f"{SVG}g") if inner.get("data-mark"))
        hidden = [x for shape in mark for x in _across(shape)]
        middle = (min(hidden) + max(hidden)) / 2
        # The first path is the guide line.
        arrow = [
            x - middle for shape in group.findall(f"{SVG}path")[1:] for x in _across(shape) if shape.get("class") != "f-paper"
        ]
        tip = max(arrow, key=abs)
        assert (tip > 0) == (torque > 0), member
        assert abs(tip) > max(hidden) - middle, member
        reaches[member] = (abs(tip) - loaded_levers.BESIDE) / abs(float(torque))
    assert len(reaches) == 9
    assert max(reaches.values()) == pytest.approx(min(reaches.values()), rel=0.02)
