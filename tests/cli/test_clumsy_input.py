"""What a clumsy or hostile caller types must end in one sentence and exit code 2, never in a traceback."""

from __future__ import annotations

import argparse
import shlex
from fractions import Fraction
from pathlib import Path

import pytest

from gearkit.cli.command import Command, run
from gearkit.cli.main import main
from gearkit.text.numbers import exact

UNUSABLE = ["1e400", "1e999999999", "-1e-400", "9" * 5000, "nan", "inf", "1,5", "1/0", "1_000", "٣", "", "2.5/2"]


@pytest.mark.parametrize("text", UNUSABLE)
def test_a_number_no_transmission_can_have_is_none(text: str) -> None:
    assert exact(text) is None


@pytest.mark.parametrize(
    ("text", "value"),
    [
        (" 1500 ", Fraction(1500)),
        ("−2.5", Fraction(-5, 2)),
        ("16/5", Fraction(16, 5)),
        ("1.5e3", Fraction(1500)),
        (".5", Fraction(1, 2)),
        ("0", Fraction(0)),
    ],
)
def test_a_number_is_read_exactly(text: str, value: Fraction) -> None:
    assert exact(text) == value


@pytest.mark.parametrize("text", UNUSABLE)
@pytest.mark.parametrize("command", [["speeds", "Q36", "1", "--input-speed="], ["torques", "Q36", "1", "--input-torque="]])
def test_a_command_refuses_such_a_number(command: list[str], text: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match=r"^2$"):
        main([*command[:-1], command[-1] + text])
    assert "is not a number that can be used" in capsys.readouterr().err


@pytest.mark.parametrize("speeds", ["1e400:1", "1500:1e-400", "1500:1e999999999"])
def test_a_reading_refuses_such_a_number(speeds: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["faults", "Q36", "--reading", f"{speeds}:1"]) == 2
    assert "write input speed, output speed and range with colons" in capsys.readouterr().err


def test_a_targets_file_refuses_such_a_number(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "targets.toml"
    path.write_text('format = 1\nlayout = "Q36"\n[targets]\n"1" = "1e999999999"\n[limits]\ntip_gap = nan\n')
    assert main(["teeth", str(path)]) == 2
    said = capsys.readouterr().err
    assert "[targets].1" in said
    assert "[limits].tip_gap" in said


def test_the_way_to_open_the_lessons_can_be_pasted_into_a_shell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "Bo's lessons"
    assert main(["lessons", "--to", str(folder), "--no-browser"]) == 0
    line = capsys.readouterr().out.split("To open them:")[1]
    assert str(folder / "home.ipynb") in shlex.split(line)


def test_the_help_of_the_program_shows_an_example(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match=r"^0$"):
        main(["--help"])
    assert "example:  gearkit" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (ZeroDivisionError("no such thing"), "a fault of its own (ZeroDivisionError: no such thing; test_clumsy"),
        (
            ModuleNotFoundError("No module named 'numpy'", name="numpy.linalg"),
            "this needs the library numpy, which is not installed here. Install it with: pip install numpy",
        ),
        (PermissionError(13, "Permission denied", "marks.json"), "marks.json: Permission denied"),
    ],
)
def test_what_was_not_foreseen_is_one_sentence(fault: Exception, words: str, capsys: pytest.CaptureFixture[str]) -> None:
    def fail(_: argparse.Namespace) -> int:
        raise fault

    command = Command("fail", "fails", "kit fail", lambda _: None, fail)
    assert run("kit", "a kit", [command], ["fail"]) == 2
    said = capsys.readouterr().err
    assert words in said
    assert "Traceback" not in said


def test_a_layout_without_shifts_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "one.toml"
    path.write_text(
        'format = 1\nname = "one"\njoins = [["input", "P1.sun"], ["P1.carrier", "output"]]\n'
        '[source]\nkind = "own"\ncitation = "x"\n[[set]]\nname = "P1"\nsun = 30\nring = 66\n'
        '[[element]]\nname = "A"\nkind = "brake"\nbetween = ["P1.ring", "housing"]\n'
        '[[range]]\nname = "1"\nengaged = ["A"]\n'
    )
    assert main(["shifts", str(path)]) == 0
    assert "no shifts" in capsys.readouterr().out
