"""The commands layouts, ratios and speeds: their JSON is a contract, their errors are for people."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from gearkit.cli.main import main
from tests.support.commands import data


def test_ratios_json_has_the_agreed_keys_and_exact_values(capsys: pytest.CaptureFixture[str]) -> None:
    found = data(capsys, "ratios", "Q36")
    assert set(found) == {"layout", "sets", "ranges", "spread"}
    second = found["ranges"][1]
    assert set(second) == {"range", "engaged", "verdict", "redundant", "ratio", "step", "one_way_note"}
    assert second["range"] == "2"
    assert second["engaged"] == ["A", "C"]
    assert second["verdict"] == "range"
    assert second["redundant"] is False
    assert second["ratio"]["exact"] == str(1 + Fraction(93, 59))
    assert second["ratio"]["decimal"] == pytest.approx(float(1 + Fraction(93, 59)), rel=1e-15)
    assert second["ratio"]["formula"] == "1 + R3/S3"


def test_a_neutral_has_no_ratio_in_the_json(capsys: pytest.CaptureFixture[str]) -> None:
    neutral = data(capsys, "ratios", "Q36")["ranges"][-1]
    assert neutral["verdict"] == "neutral"
    assert neutral["ratio"] == {"exact": None, "decimal": None, "formula": None}
    assert neutral["step"] is None


NO_RANGE = """format = 1
name = "Rangeless"
joins = [["input", "P1.sun"], ["P1.carrier", "output"]]
[source]
kind = "own"
citation = "invented for this test"
[[set]]
name = "P1"
pinions = "single"
sun = 30
ring = 66
[[element]]
name = "B"
kind = "brake"
between = ["P1.ring", "housing"]
"""


def test_a_layout_without_ranges_is_told_what_to_look_at_instead(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "rangeless.toml"
    file.write_text(NO_RANGE)
    assert main(["ratios", str(file)]) == 0
    assert (
        f"No range is named in this layout. What drives, ready to paste: gearkit ratios {file} --all --drives"
        in capsys.readouterr().out
    )
    assert main(["ratios", str(file), "--all"]) == 0
    assert "16/5" in capsys.readouterr().out
    assert main(["road", str(file)]) == 1
    assert "This layout has no range with a ratio, so there is nothing to drive in." in capsys.readouterr().out


def test_all_lists_every_combination_of_elements(capsys: pytest.CaptureFixture[str]) -> None:
    found = data(capsys, "ratios", "Q36", "--all")
    assert len(found["ranges"]) == 2**5
    verdicts = {tuple(row["engaged"]): row["verdict"] for row in found["ranges"]}
    assert verdicts["B", "D"] == "input locked"
    assert verdicts["A", "B", "C"] == "tie-up"


def test_steps_multiply_to_the_spread(capsys: pytest.CaptureFixture[str]) -> None:
    found = data(capsys, "ratios", "Q48")
    product = 1.0
    for row in found["ranges"]:
        product *= row["step"] or 1
    assert product == pytest.approx(found["spread"], rel=1e-12)


def test_speeds_json_has_members_and_slip_as_exact_and_decimal(capsys: pytest.CaptureFixture[str]) -> None:
    found = data(capsys, "speeds", "Q36", "R")
    assert found["range"] == "R"
    assert found["members"]["P2.ring"] == {"exact": str(Fraction(-38, 94)), "decimal": pytest.approx(-38 / 94)}
    assert found["slip"]["A"]["exact"] == "0"
    assert set(found["slip"]) == set("ABCDE")


def test_an_input_speed_scales_every_speed(capsys: pytest.CaptureFixture[str]) -> None:
    unit, scaled = data(capsys, "speeds", "Q36", "4"), data(capsys, "speeds", "Q36", "4", "--input-speed", "1500")
    for member, speed in unit["members"].items():
        assert Fraction(scaled["members"][member]["exact"]) == 1500 * Fraction(speed["exact"])


def test_layouts_lists_the_catalogue_with_sources(capsys: pytest.CaptureFixture[str]) -> None:
    names = {entry["name"]: entry for entry in data(capsys, "layouts")}
    assert {"Q24", "Q36", "Q48", "bench_set"} <= set(names)
    assert all(entry["source"]["citation"] for entry in names.values())


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["ratios", "Q99"], r"No layout 'Q99'.*Names: .*Q36"),
        (["ratios", "nowhere/q.toml"], r"nowhere/q.toml: cannot be read"),
        (["speeds", "Q36", "9"], r"no range '9'. It has: 1, 2, 3"),
        (["speeds", "Q36", "2", "--input-speed", "fast"], r"'fast' is not a number"),
        (["speeds", "Q36"], r"required: RANGE"),
    ],
)
def test_unusable_input_is_explained_without_a_traceback(
    capsys: pytest.CaptureFixture[str], words: list[str], message: str
) -> None:
    try:
        code = main(words)
    except SystemExit as stop:
        code = int(stop.code or 0)
    assert code == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "Traceback" not in shown.err
    import re

    assert re.search(message, shown.err)


def test_a_faulty_file_is_answered_with_every_fault_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "draft.toml"
    file.write_text(
        'format = 1\nname = "draft"\njoins = [["input", "P1.sum"]]\n[source]\nkind = "own"\ncitation = "draft"\n'
        '[[set]]\nname = "P1"\nsun = 66\nring = 30\n[[range]]\nname = "1"\nengaged = ["Z"]\n'
    )
    assert main(["ratios", str(file)]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 3
    assert "draft.toml, line 3" in lines[0]
    assert "'P1.sum'" in lines[0]
    assert "draft.toml, line 10" in lines[1]
    assert "swapped" in lines[1]
    assert "draft.toml, line 13" in lines[2]
    assert "'Z'" in lines[2]


@pytest.mark.parametrize("command", ["layouts", "ratios", "speeds"])
def test_help_shows_an_example(capsys: pytest.CaptureFixture[str], command: str) -> None:
    with pytest.raises(SystemExit, match="0"):
        main([command, "--help"])
    assert f"example:  gearkit {command}" in capsys.readouterr().out
