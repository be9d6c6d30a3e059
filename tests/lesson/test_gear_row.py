"""Gears in a row: sizes by tooth counts, directions by meshes, and the browser agrees with the kernel."""

from __future__ import annotations

import math
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearkit.lesson.gear_row import ROOM_IN_RING, GearRow
from gearkit.lesson.opening import open_lesson
from gearkit.lesson.panels.gear_pair import GearPairPanel
from gearkit.lesson.predictions import Predictions
from gearkit.lesson.record import Record
from gearkit.words.errors import UsageError
from tests.lesson import javascript

counts = st.integers(12, 60)


@given(counts, st.lists(counts, max_size=3), counts)
def test_idlers_change_the_direction_and_never_the_size(first: int, between: list[int], last: int) -> None:
    row = GearRow((first, *between, last))
    assert abs(row.ratio) == Fraction(last, first)
    assert (row.ratio > 0) == (len(between) % 2 == 1)


@given(counts, st.integers(ROOM_IN_RING, 60))
def test_a_ring_turns_with_the_gear_inside_it(inside: int, more: int) -> None:
    assert GearRow((inside, inside + more), internal=True).ratio == Fraction(inside + more, inside)


@given(counts, counts)
def test_teeth_that_pass_are_equal_on_both_sides_of_a_mesh(first: int, second: int) -> None:
    row = GearRow((first, second))
    assert abs(row.turns[0]) * first == abs(row.turns[1]) * second


@pytest.mark.parametrize(
    ("teeth", "internal", "told"),
    [((18,), False, "at least two"), ((18, 4), False, "of 8 or more"), ((40, 44), True, "needs at least 48")],
)
def test_gears_that_cannot_be_are_told(teeth: tuple[int, ...], internal: bool, told: str) -> None:
    with pytest.raises(UsageError, match=told):
        GearRow(teeth, internal)


@pytest.mark.parametrize(
    ("teeth", "internal"), [((18, 45), False), ((18, 27, 45), False), ((18, 72), True), ((20, 31, 17, 80), True)]
)
def test_the_browser_turns_and_places_the_gears_as_the_kernel_does(teeth: tuple[int, ...], internal: bool) -> None:
    body = """
    const { teeth, internal } = payload;
    return { turns: module_gear_row.turnsOf(teeth, internal).map(String), places: module_gear_row.placesOfRow(teeth, internal) };
    """
    there = javascript.run(["gear_row"], body, {"teeth": list(teeth), "internal": internal})
    here = GearRow(teeth, internal)
    assert there["turns"] == [str(turn) for turn in here.turns]
    for (x, angle), (own_x, own_angle) in zip(there["places"], here.places(), strict=True):
        assert x == pytest.approx(own_x)
        assert math.cos(angle - own_angle) == pytest.approx(1)


def test_a_row_is_drawn_with_its_facts_in_words() -> None:
    drawn = ElementTree.fromstring(GearRow((18, 27, 45)).draw())
    assert drawn.get("role") == "img"
    assert "45 teeth forward" in "".join(drawn.itertext())


def test_the_last_gear_stays_hidden_until_it_was_predicted(tmp_path: Path) -> None:
    panel = open_lesson("01", tmp_path / "r.json").predict_gears(driver=18, driven=45)
    with pytest.raises(UsageError, match="stays shut"):
        panel.output_speed()
    assert "24" not in panel.words().replace("45", "")
    panel.predict("forward", "150")
    assert panel.output_speed() == -24
    panel.idlers = 1
    assert not panel.is_open


def test_a_prediction_about_gears_is_kept_with_what_was_found(tmp_path: Path) -> None:
    record = Record(tmp_path / "r.json")
    panel = GearPairPanel(Predictions(record, "01", "gear pair"), gated=True, mesh="internal", driven=72)
    panel.predict("forward", "15")
    assert record.of_kind("reveal")[0]["found"] == {"kind": "forward", "figure": "15"}
    assert record.of_kind("prediction")[0]["facts"] == {"teeth": [18, 72], "internal": True, "input_speed": 60}


def test_a_ring_that_is_too_small_is_told_and_not_drawn() -> None:
    panel = GearPairPanel(mesh="internal", driver=40, driven=41)
    assert panel.pictures() == ()
    assert "needs at least 48" in panel.words()
    assert "needs at least 48" in panel.static_html()
    assert panel.found()["kind"] == "does not fit"
