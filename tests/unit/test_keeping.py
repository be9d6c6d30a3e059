"""What somebody edited in a unit's folder is never written over; what nobody touched is brought up to date."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from gearkit.cli.command import UNUSABLE
from gearkit.train import catalogue
from gearkit.words.errors import UsageError
from graders.cli.main import main
from graders.unit import keeping, unit
from graders.unit.keeping import Fate

Q24, Q36 = catalogue.find("Q24"), catalogue.find("Q36")


def fates(made: unit.Made) -> dict[str, Fate]:
    return {one.path.name: one.fate for one in made.files}


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_what_nobody_touched_is_brought_up_to_date_and_the_same_again_changes_nothing(tmp_path: Path) -> None:
    assert set(fates(unit.make(Q24, tmp_path)).values()) == {Fate.NEW}
    before = contents(tmp_path)
    assert set(fates(unit.make(Q24, tmp_path)).values()) == {Fate.SAME}
    assert contents(tmp_path) == before
    # The words of the trade are the same for every layout.
    replaced = fates(unit.make(Q36, tmp_path))
    assert replaced.pop(unit.GLOSSARY) is Fate.SAME
    assert set(replaced.values()) == {Fate.REPLACED}
    assert set(contents(tmp_path)) == set(before)


def test_an_edited_lesson_stays_with_its_layout_and_the_new_one_goes_beside(tmp_path: Path) -> None:
    unit.make(Q24, tmp_path)
    lesson = tmp_path / unit.LESSON
    held = json.loads(lesson.read_text("utf-8"))
    held["cells"][0]["source"] = ["# My own title"]
    lesson.write_text(json.dumps(held), encoding="utf-8")
    before = contents(tmp_path)
    made = unit.make(Q36, tmp_path)
    after = contents(tmp_path)
    assert {name: after[name] for name in (unit.LESSON, unit.LAYOUT)} == {
        name: before[name] for name in (unit.LESSON, unit.LAYOUT)
    }
    found = {one.path.name: one for one in made.files}
    assert found["lesson (new version).ipynb"].fate is Fate.BESIDE
    assert "unit-title" in found["lesson (new version).ipynb"].changes
    # The lesson that stays goes on with its own layout; the new one has the new layout beside it.
    assert b'open_lesson(\\"layout-2.toml\\")' in after["lesson (new version).ipynb"]
    assert catalogue.read(tmp_path / "layout-2.toml").name == Q36.name
    # A third time nothing more piles up.
    unit.make(Q36, tmp_path)
    assert set(contents(tmp_path)) == set(after)


def test_outputs_of_a_run_are_no_edit(tmp_path: Path) -> None:
    unit.make(Q24, tmp_path)
    lesson = tmp_path / unit.LESSON
    held = json.loads(lesson.read_text("utf-8"))
    held["cells"][2]["outputs"] = [{"output_type": "stream", "name": "stdout", "text": "x"}]
    held["cells"][2]["execution_count"] = 1
    lesson.write_text(json.dumps(held), encoding="utf-8")
    assert not keeping.is_edited(lesson)


@pytest.mark.parametrize(
    "damage", [b"", b"not a notebook", b"{}", b'{"metadata": {"gearkit": {"as_made": 3}}, "cells": 7}', b"\xff\xfe"]
)
def test_what_cannot_be_read_counts_as_somebodys_work(tmp_path: Path, damage: bytes) -> None:
    (tmp_path / unit.LESSON).write_bytes(damage)
    made = unit.make(Q24, tmp_path, only_lesson=True)
    assert fates(made)["lesson (new version).ipynb"] is Fate.BESIDE
    assert (tmp_path / unit.LESSON).read_bytes() == damage


def test_an_edited_layout_stays(tmp_path: Path) -> None:
    unit.make(Q24, tmp_path)
    layout = tmp_path / unit.LAYOUT
    layout.write_text(layout.read_text("utf-8").replace("sun = 30", "sun = 36"), encoding="utf-8")
    edited = layout.read_bytes()
    unit.make(Q24, tmp_path)
    assert layout.read_bytes() == edited
    # Asked for by its own name, the edited layout is what the unit is about.
    made = unit.make(catalogue.read(layout), tmp_path)
    assert layout.read_bytes() == edited
    assert fates(made)[unit.LAYOUT] is Fate.SAME


def test_marks_of_texts_survive_a_second_making() -> None:
    once = keeping.marked("a = 1\n", ".toml")
    assert keeping.marked(once, ".toml") == once
    assert keeping.as_made(once.encode(), ".toml")
    assert not keeping.as_made(once.replace("1", "2", 1).encode(), ".toml")


def test_what_cannot_be_made_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("x")
    assert main(["unit", "Q24", "-o", str(tmp_path / "file")]) == UNUSABLE
    assert "is a file; give the name of a folder" in capsys.readouterr().err
    lost = tmp_path / "lost.toml"
    lost.write_text(catalogue.dumps(Q24).partition("[[range]]")[0], encoding="utf-8")
    with pytest.raises(UsageError, match="no range drives, so there is nothing to teach"):
        unit.make(catalogue.read(lost), tmp_path / "unit")
    assert not (tmp_path / "unit").exists()
