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


@pytest.mark.parametrize("what", ["stick", "cutaway", "front"])
def test_what_cannot_be_put_together_is_said_in_the_picture_and_beside_it(
    what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    layout, sound = tmp_path / "odd.toml", tmp_path / "even.toml"
    lines = ("P1 single {} 3 planets", "input P1.sun", "P1.carrier output", "A P1.ring", "1: A")
    options = ("--set", "--join", "--join", "--brake", "--range")
    for file, teeth in ((layout, "30/67"), (sound, "30/66")):
        told = [word for pair in zip(options, lines, strict=True) for word in pair]
        assert main(["new", str(file), *(word.format(teeth) for word in told)]) == 0
    capsys.readouterr()
    for file, odd in ((layout, True), (sound, False)):
        path = tmp_path / f"{file.stem}.svg"
        assert main(["draw", str(file), "--what", what, "-o", str(path)]) == 0
        drawn, said = path.read_text(encoding="utf-8"), capsys.readouterr().out
        assert ("Cannot be put together as given" in drawn.split("</desc>")[0]) is odd
        assert ("Cannot be put together as given" in drawn.split("</desc>")[1]) is odd
        assert ("sun + ring = 97 is no multiple of 3" in said) is odd
        assert ("ring 67 less sun 30 is odd" in said) is odd


def test_words_say_what_the_picture_shows(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["draw", "Q36", "--range", "4", "--words", "-o", str(tmp_path / "fourth.svg")])
    assert "Drawn closed: C and E." in capsys.readouterr().out


def test_an_unknown_ending_is_unusable_input(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draw", "Q36", "-o", str(tmp_path / "stick.bmp")]) == 2
    assert "use one of .svg, .png, .pdf" in capsys.readouterr().err
