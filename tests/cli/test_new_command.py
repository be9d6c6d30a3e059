"""The command new: a layout from questions or options, with its drawing and its chart; nothing typed is ever lost."""

from __future__ import annotations

import io
import json
import shlex
from pathlib import Path

import pytest

from gearkit.cli.main import commands, main
from gearkit.solve.one_way import in_range
from gearkit.train import catalogue

SETS = [
    "--set",
    "P1 30/66",
    "--set",
    "P2 30/60",
    "--join",
    "input P1.sun",
    "--join",
    "P1.carrier P2.ring",
    "--join",
    "P2.carrier output",
]
ELEMENTS = ["--brake", "A P1.ring", "--brake", "B P2.sun", "--clutch", "K input P2.sun"]


def test_its_own_example_works_as_it_stands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    example = next(command.example for command in commands() if command.name == "new")
    assert main(shlex.split(example)[1:]) == 0
    assert "proved" in capsys.readouterr().out
    layout = catalogue.read(tmp_path / "my.toml")
    assert in_range(layout, "2").ratio == 1
    assert (tmp_path / "my.svg").read_text(encoding="utf-8").startswith("<svg")


def test_options_give_file_drawing_and_chart(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "deep" / "two.toml"
    assert (
        main(["new", str(target), *SETS, *ELEMENTS, "--range", "1: A B", "--range", "2: A K", "--ratio", "1 = 4.8", "--json"])
        == 0
    )
    data = json.loads(capsys.readouterr().out)
    assert [row["ratio"]["exact"] for row in data["ranges"]] == ["24/5", "24/13"]
    assert "warnings" not in data
    assert Path(data["picture"]).is_file()
    assert catalogue.read(target).range_named("1").published_ratio == "4.8"


def test_a_layout_without_ranges_shows_what_drives(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", str(tmp_path / "two.toml"), *SETS, *ELEMENTS]) == 0
    assert "4.8000  A B" in capsys.readouterr().out


def test_questions_ask_again_where_a_line_cannot_be_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = [
        "P1 30/66",
        "P2 60/30",
        "P2 30/60",
        "",
        "input P1.sun",
        "P1 carrier, P2 ring",
        "P2.carrier output",
        "",
        "A brake P1.ring",
        "K clutch P2.sn",
        "K clutch input P2.sun",
        "B brake P2 sun",
        "",
        "1: A B",
        "",
        "1 = 4.8",
        "",
    ]
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(lines) + "\n"))
    assert main(["new", str(tmp_path / "two.toml")]) == 0
    told = capsys.readouterr()
    assert "are the two counts swapped" in told.err
    assert "a set has a sun, a carrier and a ring" in told.err
    assert in_range(catalogue.read(tmp_path / "two.toml"), "1").ratio is not None


def test_answers_that_do_not_fit_together_come_back_as_a_line_to_mend(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = [
        "P1 30/66",
        "P2 30/60",
        "",
        "input P1.sun",
        "P1.carrier P2.ring",
        "P2.carrier output",
        "",
        "A brake P9.ring",
        "F one-way P1.ring",
        "",
    ]
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(lines) + "\n"))
    assert main(["new", str(tmp_path / "two.toml")]) == 2
    told = capsys.readouterr().err
    assert "P9.ring" in told
    line = told.splitlines()[-1]
    again = [word.replace("P9", "P2") for word in shlex.split(line)[1:]]
    assert main(again) == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["two.txt", *SETS], "ends in .toml"),
        (["two.toml"], "No set was typed in"),
        (["two.toml", "--set", "P1 30"], "P1 single 30/66"),
    ],
)
def test_bad_input_is_told_and_nothing_is_written(
    words: list[str], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    assert main(["new", *words]) == 2
    assert said in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_there_is_left_unless_it_is_to_be_replaced(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "two.toml"
    target.write_text("mine", encoding="utf-8")
    assert main(["new", str(target), *SETS, *ELEMENTS]) == 2
    assert "--replace" in capsys.readouterr().err
    assert target.read_text(encoding="utf-8") == "mine"
    assert main(["new", str(target), *SETS, *ELEMENTS, "--replace"]) == 0


def test_what_drives_is_ready_to_paste_into_the_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "two.toml"
    assert main(["new", str(target), *SETS, *ELEMENTS]) == 0
    capsys.readouterr()
    assert main(["ratios", str(target), "--all", "--drives"]) == 0
    pasted = capsys.readouterr().out
    target.write_text(target.read_text(encoding="utf-8") + pasted, encoding="utf-8")
    assert main(["ratios", str(target), "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)["ranges"]
    assert [row["range"] for row in rows] == ["1", "2"]
    assert all(row["verdict"] == "range" for row in rows)
