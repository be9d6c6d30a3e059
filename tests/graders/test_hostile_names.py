"""Names of files that give orders to a screen or pretend to be lines of ours reach nobody's screen as they are."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from graders.cli import main

NAMES = (
    "s1/evil\x1b[31mred\nSECOND LINE.ipynb",
    "s2/own.ipynb",
    "s2/\x07bell\r.txt",
    "\u202egnp.ipynb",
    "nobody\x9b2J\nThird line.ipynb",
)


def test_no_command_of_a_term_lets_a_file_name_speak_to_the_screen(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    roster = tmp_path / "class.csv"
    roster.write_text("id,name,group\ns1,Ann Lee,a\ns2,Bo Kim,a\n", encoding="utf-8")
    course, sheet = tmp_path / "course", tmp_path / "w.toml"
    assert main(["compose", "L03-02", "-o", str(sheet)]) == 0
    assert main(["hand-out", str(course), str(sheet), "--class", str(roster)]) == 0
    copy = next((course / "handed_out" / "s1").rglob("*.ipynb"))
    for name in NAMES:
        target = tmp_path / "inbox" / name
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(copy, target)
    capsys.readouterr()
    said = []
    for words in (
        ["take-in", str(course), "w", str(tmp_path / "inbox")],
        ["mark", str(course), "w"],
        ["report", str(course), "w"],
        ["show", str(course), "w", "s1", "L03-02"],
        ["hand-back", str(course), "w"],
    ):
        main(words)
        told = capsys.readouterr()
        said.append(told.out + told.err)
    everything = "".join(said)
    assert [letter for letter in everything if letter != "\n" and not letter.isprintable() and letter != "\r"] == []
    assert not any(line.lstrip().startswith(("SECOND", "Third")) for line in everything.splitlines())
    # Nothing is passed over either: each odd file is told by what can be read of its name.
    for piece in ("evil", "bell", "gnp", "nobody"):
        assert piece in everything, piece
