"""What holds for every command of both programs: help with an example that parses, and no surprises."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from gearkit.cli.main import commands, main
from gearkit.text import places
from graders.cli import main as graders_main

GEARKIT = [command.name for command in commands()]


def test_no_two_commands_share_a_name() -> None:
    assert len(set(GEARKIT)) == len(GEARKIT)


@pytest.mark.parametrize("name", GEARKIT)
def test_help_of_gearkit_shows_an_example(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match=r"^0$"):
        main([name, "--help"])
    assert f"gearkit {name}" in capsys.readouterr().out.split("example", 1)[1]


@pytest.mark.parametrize("name", ["compose", "hand-out", "mark", "report", "hand-back", "export", "demo"])
def test_help_of_graders_shows_an_example(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match=r"^0$"):
        graders_main([name, "--help"])
    assert f"graders {name}" in capsys.readouterr().out.split("example", 1)[1]


def test_an_unknown_command_is_refused_with_the_way_to_help(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match=r"^2$"):
        main(["ratio", "Q36"])
    assert "gearkit --help" in capsys.readouterr().err


WRITERS = [
    (main, ["draw", "Q24", "--what", "chart", "-o", "{}/chart.svg"]),
    (main, ["draw", "Q24", "--what", "chart", "-o", "{}/chart.png"]),
    (main, ["place", "Q24", "--searches", "1", "-o", "{}/q24.toml"]),
    (main, ["teeth", str(places.datasets() / "targets" / "q36_even_steps.toml"), "-o", "{}/best.toml"]),
    (main, ["bench", "Q24", "P1", "-o", "{}"]),
    (graders_main, ["compose", "lesson 3", "-o", "{}/sheet.toml"]),
]


@pytest.mark.parametrize(("command", "words"), WRITERS, ids=lambda given: given[0] if isinstance(given, list) else None)
def test_folders_on_the_way_to_a_file_are_made_by_every_command(
    command: Callable[[list[str]], int],
    words: list[str],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    folder = tmp_path / "not" / "there yet"
    assert command([word.format(folder) for word in words]) == 0
    assert list(folder.iterdir())
    assert str(folder) in capsys.readouterr().out


def test_lessons_are_put_into_the_learners_folder_and_kept_when_asked_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "mine"
    assert main(["lessons", "--to", str(folder), "--no-browser"]) == 0
    first = capsys.readouterr().out
    assert str(folder) in first
    assert "gearkit.lesson.course.lab" in first
    notebook = folder / "00_start_here" / "start_here.ipynb"
    notebook.write_text(notebook.read_text(encoding="utf-8").replace('"cells"', '"cells" ', 1), encoding="utf-8")
    changed = notebook.read_bytes()
    assert main(["lessons", "--to", str(folder), "--no-browser"]) == 0
    assert notebook.read_bytes() == changed
