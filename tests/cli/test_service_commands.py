"""The commands shifts and faults: tables for people, JSON for programs."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import Any

import pytest

from tests.support.commands import refused, run


def data(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, dict[str, Any]]:
    code, out, _ = run(capsys, *words, "--json")
    return code, json.loads(out)


def test_one_shift_tells_elements_speed_and_slip(capsys: pytest.CaptureFixture[str]) -> None:
    code, found = data(capsys, "shifts", "Q36", "--from", "3", "--to", "4", "--input-speed", "3000")
    assert code == 0
    assert (found["off_going"], found["on_coming"], found["kind"]) == (["D"], ["E"], "single swap")
    assert round(found["input_after"]["decimal"]) == 2128
    assert round(found["slip_before"]["E"]["decimal"], 1) == 849.5
    assert Fraction(found["step"]["exact"]) == 3000 / Fraction(found["input_after"]["exact"])
    assert found["overlap"]["verdict"] == "tie-up"
    assert "flares" in found["underlap"]["words"]


def test_the_shift_chart_has_neighbours_skips_garage_and_engine_braking(capsys: pytest.CaptureFixture[str]) -> None:
    code, found = data(capsys, "shifts", "Q24")
    assert code == 0
    assert [f"{s['from']}-{s['to']}" for s in found["up"]] == ["1-2", "2-3", "3-4"]
    assert [f"{s['from']}-{s['to']}" for s in found["down"]] == ["2-1", "3-2", "4-3"]
    assert {f"{s['from']}-{s['to']}" for s in found["garage"]} == {"N-1", "N-1L", "N-R"}
    assert len(found["skips"]) == 6
    assert found["warnings"] == []
    assert found["engine_braking"] == {"1": False, "1L": True, "2": True, "3": True, "4": True, "R": True}
    _, out, _ = run(capsys, "shifts", "Q24", "--skips", "--input-speed", "3000")
    assert "no engine braking in 1: a one-way clutch lets go in coast" in out
    assert "freewheel shift" in out
    assert "skips\n" in out
    assert "−3088.2" in out


def test_a_freewheel_shift_explains_its_brackets(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "shifts", "Q24", "--from", "1", "--to", "2")
    assert "(F)" in out
    assert "lets go or takes hold by itself" in out


def test_the_fault_table_has_every_fault_and_range_and_the_caution(capsys: pytest.CaptureFixture[str]) -> None:
    code, found = data(capsys, "faults", "Q36")
    assert code == 0
    assert len(found["faults"]) == 2 * 5
    by_name = {(f["element"], f["mode"]): f for f in found["faults"]}
    assert by_name["D", "stuck off"]["lost"] == ["3", "5"]
    assert by_name["B", "stuck on"]["limp_home"] == ["1", "6", "R"]
    assert by_name["A", "stuck on"]["unsafe"] == ["N"]
    effects = {r["effect"] for f in found["faults"] for r in f["ranges"]}
    assert effects == {"same", "other range", "neutral", "input locked", "tie-up"}
    assert "follow the maker's service procedure" in found["caution"]
    _, out, _ = run(capsys, "faults", "Q24")
    assert "F fitted the wrong way round" in out
    assert "follow the maker's service procedure" in out
    assert "creeps backward although in N: runs as in R; not safe" in out


def test_one_element_is_told_with_every_symptom(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "faults", "Q36", "--element", "D")
    assert "3: no drive: the engine speeds up and the vehicle does not pull" in out
    assert "B stuck" not in out


def test_readings_give_suspects_in_order_with_their_rows(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["faults", "Q36", "--reading", "2400:931.6:3", "--reading", "2400:1685:4"]
    code, found = data(capsys, *words)
    assert code == 1
    assert found["suspects"][0]["faults"] == [{"element": "D", "mode": "stuck off"}]
    assert found["suspects"][0]["refuted"] == 0
    assert [e["supports"] for e in found["suspects"][1]["evidence"]] == [True, False]
    code, out, _ = run(capsys, *words)
    assert code == 1
    assert out.index("D stuck off") < out.index("refuted") < out.index("A stuck on")
    assert "22.1 %" in out
    assert "follow the maker's service procedure" in out


def test_a_test_is_proposed_where_it_splits_the_suspects(capsys: pytest.CaptureFixture[str]) -> None:
    _, found = data(capsys, "faults", "Q36", "--reading", "2400:931.6:3")
    assert found["next_test"]["range"] == "1"
    assert set(found["next_test"]["outcomes"]) == {"tie-up", "neutral", "the ratio of 1, 4.068"}
    assert "next test: ask for 1" in run(capsys, "faults", "Q36", "--reading", "2400:931.6:3")[1]


def test_sound_readings_and_a_wrong_signal_are_told_apart_from_faults(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "faults", "Q36", "--reading", "2000:776.3:2")
    assert code == 0
    assert "these readings show no fault" in out
    code, out, _ = run(capsys, "faults", "Q36", "--reading", "2000:690.1:2", "--reading", "2000:1248.3:4")
    assert code == 1
    assert "off by the same factor, 1.125: suspect the speed signal first" in out


def test_readings_that_nothing_explains_say_so(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "faults", "Q36", "--reading", "2000:1000:5", "--reading", "1000:−1000:5")
    assert code == 1
    assert "suspects that no reading refutes" in out  # independent ends fit any ratio
    words = ["--reading", "2000:2000:5", "--reading", "0:0:5", "--reading", "2000:1000:5"]
    code, out, _ = run(capsys, "faults", "Q36", *words)
    assert code == 1
    assert "Take the readings again" in out


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["shifts", "Q36", "--from", "3"], "Give both --from and --to"),
        (["shifts", "Q36", "--from", "3", "--to", "9"], "no range '9'"),
        (["faults", "Q36", "--element", "Z"], "no element 'Z'. It has: A, B, C, D, E"),
        (["faults", "Q36", "--reading", "3"], "write input speed, output speed and range with colons"),
        (["faults", "Q36", "--reading", "2400:931:3", "--tolerance", "2"], "Tolerance 2: give a share above 0"),
        (["faults", "Q99"], "No layout 'Q99'"),
    ],
)
def test_unusable_input_is_explained_without_a_traceback(
    capsys: pytest.CaptureFixture[str], words: list[str], message: str
) -> None:
    assert message in refused(capsys, *words)
