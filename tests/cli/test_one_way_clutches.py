"""A one-way clutch that blocks or lets go a range: every command says the same of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from gearkit.train.catalogue import find
from tests.support.commands import data, run

RATIOS = {"1L": "68/25", "R": "-14/5"}
NOTES = {
    "1": ("neutral", "F freewheels in drive"),
    "1L": ("range", None),
    "2": ("tie-up", "locked by F"),
    "3": ("tie-up", "locked by F"),
    "4": ("tie-up", "locked by F"),
    "R": ("range", None),
    "N": ("neutral", None),
}


@pytest.fixture
def turned(tmp_path: Path) -> str:
    """The Q24 with F fitted the wrong way round: carrier 1 may turn backward only."""
    file = tmp_path / "turned.toml"
    file.write_text(find("Q24").text.replace('free_direction = "forward"', 'free_direction = "reverse"'))
    return str(file)


def test_ratios_tells_the_verdict_that_the_clutch_leaves_and_names_it(turned: str, capsys: pytest.CaptureFixture[str]) -> None:
    rows = data(capsys, "ratios", turned)["ranges"]
    assert {row["range"]: (row["verdict"], row["one_way_note"]) for row in rows} == NOTES
    assert {row["range"]: row["ratio"]["exact"] for row in rows if row["ratio"]["exact"]} == RATIOS
    out = run(capsys, "ratios", turned)[1]
    assert "F freewheels in drive" in out
    assert "locked by F" in out


def test_nothing_is_noted_where_the_clutch_does_as_the_chart_lists(capsys: pytest.CaptureFixture[str]) -> None:
    assert {row["one_way_note"] for row in data(capsys, "ratios", "Q24")["ranges"]} == {None}
    assert "one-way" not in run(capsys, "ratios", "Q24")[1]


def test_a_locked_range_has_no_efficiency_and_no_speeds(turned: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "torques", turned, "3")
    assert (code, "efficiency" in out.partition("With")[2]) == (1, False)
    assert "With C, E applied and F holding the verdict is tie-up" in out
    code, _, errors = run(capsys, "speeds", turned, "3")
    assert code == 2
    assert "with C, E applied and F holding the verdict is tie-up" in errors


def test_all_combinations_are_judged_with_the_clutch_holding_where_it_must(capsys: pytest.CaptureFixture[str]) -> None:
    rows = {tuple(row["engaged"]): row for row in data(capsys, "ratios", "Q24", "--all")["ranges"]}
    assert len(rows) == 2 ** len(find("Q24").elements)
    told = {engaged: (rows[engaged]["ratio"]["exact"], rows[engaged]["one_way_note"]) for engaged in
            [("E",), ("E", "F"), ("B", "E"), ("B", "E", "F"), ("A", "F")]}  # fmt: skip
    assert told == {
        ("E",): ("68/25", "F holds in drive"),
        ("E", "F"): ("68/25", None),
        ("B", "E"): ("138/95", None),
        ("B", "E", "F"): ("138/95", "F freewheels in drive"),
        ("A", "F"): (None, "F freewheels in drive"),
    }
