"""The command road: figures of the lessons, both systems of units, refusals."""

from __future__ import annotations

import pytest

from gearkit.train.catalogue import find
from tests.support.commands import data, refused, run


def test_the_json_holds_every_driving_range_with_units(capsys: pytest.CaptureFixture[str]) -> None:
    found = data(capsys, "road", "Q24", "college_van", "--speed", "50 km/h")
    rows = {row["range"]: row for row in found["ranges"]}
    assert set(rows) == {"1", "2", "3", "4", "R"}
    assert round(rows["1"]["largest_effort"]["value"]) == 5475
    assert rows["1"]["largest_effort"]["unit"] == "N"
    assert round(rows["1"]["grade_held_percent"], 1) == 29.0
    assert rows["R"]["ratio"] == float(-find("Q24").set_named("P1").quotient)
    assert rows["1"]["top_speed_limit"] == "engine speed"
    assert [row["range"] for row in found["at_speed"]] == ["1", "2", "3", "4"]


def test_customary_units_show_the_same_in_other_units(capsys: pytest.CaptureFixture[str]) -> None:
    metric, customary = data(capsys, "road", "Q36"), data(capsys, "road", "Q36", "--units", "US")
    for first, second in zip(metric["ranges"], customary["ranges"], strict=True):
        assert second["top_speed"]["unit"] == "mph"
        assert first["top_speed"]["value"] == pytest.approx(1.609344 * second["top_speed"]["value"], rel=1e-9)
        assert first["largest_effort"]["value"] == pytest.approx(4.4482216152605 * second["largest_effort"]["value"])
        assert second["after_upshift"] == first["after_upshift"]


def test_a_speed_may_be_given_in_either_system(capsys: pytest.CaptureFixture[str]) -> None:
    metric, customary = data(capsys, "road", "Q36", "--speed", "80.4672 km/h"), data(capsys, "road", "Q36", "--speed", "50 mph")
    for first, second in zip(metric["at_speed"], customary["at_speed"], strict=True):
        assert first["engine_speed"]["value"] == pytest.approx(second["engine_speed"]["value"], rel=1e-9)


def test_the_table_names_vehicle_grade_and_model(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "road", "Q24", "--grade", "6", "--speed", "62 mph", "--units", "US")
    assert (code, err) == (0, "")
    assert "College van: 4189 lb" in out
    assert "grade of 6.0 %" in out
    assert "fastest in 3: 68.0 mph" in out
    assert "outside the engine's curve" in out
    assert "does not hold it" in out
    assert "common practice, no source" in out


def test_a_grade_that_no_range_holds_is_a_finding(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "road", "Q24", "--grade", "40")
    assert code == 1
    assert "No forward range holds this grade" in out


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["Q24", "lorry"], "No vehicle 'lorry'"),
        (["Q24", "--speed", "62"], "The road speed has no unit"),
        (["Q24", "--grade", "120"], "give a grade between −100 and 100 %"),
        (["Q24", "--units", "EU"], "invalid choice: 'EU'"),
        (["Q24", "--speed", "0 km/h"], "give a speed above 0"),
    ],
)
def test_unusable_input_is_explained_without_a_traceback(
    capsys: pytest.CaptureFixture[str], words: list[str], message: str
) -> None:
    assert message in refused(capsys, "road", *words)
