"""The command draw: a picture in a file, its words on request, errors for people."""

from __future__ import annotations

from pathlib import Path

import pytest

from gearkit.cli.main import main


@pytest.mark.parametrize("what", ["stick", "levers", "speeds", "chart", "front"])
def test_each_agreed_picture_is_written_and_named(what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "picture.svg"
    assert main(["draw", "Q36", "--what", what, "-o", str(path)]) == 0
    assert path.read_text(encoding="utf-8").startswith("<svg")
    assert str(path) in capsys.readouterr().out


def test_words_say_what_the_picture_shows(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["draw", "Q36", "--range", "4", "--words", "-o", str(tmp_path / "fourth.svg")])
    assert "Drawn closed: C and E." in capsys.readouterr().out


def test_an_unknown_ending_is_unusable_input(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draw", "Q36", "-o", str(tmp_path / "stick.bmp")]) == 2
    assert "use one of .svg, .png, .pdf" in capsys.readouterr().err
