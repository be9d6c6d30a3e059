"""Lessons are handed over into the learner's own folder, and the learner's work is never written over."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from gearkit.lesson import lesson_copies
from gearkit.lesson.course import lab
from gearkit.lesson.course.links import HOME
from gearkit.text import places
from gearkit.words.errors import UsageError


@pytest.fixture
def kit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A kit with two lessons, whose content a test may change as an update would."""
    folder = tmp_path / "kit"
    for name in ("00_start_here/start_here.ipynb", "03_set/set.ipynb"):
        (folder / name).parent.mkdir(parents=True)
        (folder / name).write_text(f"{name} version 1")
    (folder / "conftest.py").write_text("not a lesson")
    monkeypatch.setattr(places, "lessons", lambda: folder)
    return folder


def test_lessons_are_copied_and_nothing_else(kit: Path, tmp_path: Path) -> None:
    done = lesson_copies.fill(tmp_path / "mine")
    assert sorted(path.name for path in done.new) == ["set.ipynb", "start_here.ipynb"]
    assert not (done.folder / "conftest.py").exists()
    assert done.words() == f"Lessons are in {done.folder}. 2 new."


def test_handing_over_twice_changes_nothing(kit: Path, tmp_path: Path) -> None:
    lesson_copies.fill(tmp_path / "mine")
    again = lesson_copies.fill(tmp_path / "mine")
    assert (again.new, again.updated, again.beside) == ((), (), ())


def test_an_untouched_lesson_is_brought_up_to_date(kit: Path, tmp_path: Path) -> None:
    lesson_copies.fill(tmp_path / "mine")
    (kit / "03_set/set.ipynb").write_text("version 2")
    done = lesson_copies.fill(tmp_path / "mine")
    assert [path.name for path in done.updated] == ["set.ipynb"]
    assert (tmp_path / "mine/03_set/set.ipynb").read_text() == "version 2"


def test_a_lesson_that_was_worked_in_is_kept_and_the_new_one_is_put_beside_it_once(kit: Path, tmp_path: Path) -> None:
    lesson_copies.fill(tmp_path / "mine")
    own = tmp_path / "mine/03_set/set.ipynb"
    own.write_text("my answers")
    (tmp_path / "mine/my_record.json").write_text("my record")
    assert lesson_copies.fill(tmp_path / "mine").beside == ()
    (kit / "03_set/set.ipynb").write_text("version 2")
    done = lesson_copies.fill(tmp_path / "mine")
    [twin] = done.beside
    assert twin.name == "set (new version).ipynb"
    assert (own.read_text(), twin.read_text()) == ("my answers", "version 2")
    assert "Your own copy was kept; the new version is 03_set/set (new version).ipynb." in done.words()
    assert lesson_copies.fill(tmp_path / "mine").beside == ()
    (kit / "03_set/set.ipynb").write_text("version 3")
    assert [path.name for path in lesson_copies.fill(tmp_path / "mine").beside] == ["set (new version 2).ipynb"]
    assert own.read_text() == "my answers"
    assert (tmp_path / "mine/my_record.json").read_text() == "my record"


def test_without_its_list_every_notebook_counts_as_the_learners_work(kit: Path, tmp_path: Path) -> None:
    lesson_copies.fill(tmp_path / "mine")
    (tmp_path / "mine/.handed_over.json").write_text("{")
    (kit / "03_set/set.ipynb").write_text("version 2")
    done = lesson_copies.fill(tmp_path / "mine")
    assert (tmp_path / "mine/03_set/set.ipynb").read_text() == "03_set/set.ipynb version 1"
    assert len(done.beside) == 1


def test_a_lesson_that_was_thrown_away_comes_back(kit: Path, tmp_path: Path) -> None:
    lesson_copies.fill(tmp_path / "mine")
    (tmp_path / "mine/03_set/set.ipynb").unlink()
    assert [path.name for path in lesson_copies.fill(tmp_path / "mine").new] == ["set.ipynb"]


def test_a_folder_that_cannot_be_used_is_told_in_words(kit: Path, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(UsageError, match="cannot be put there"):
        lesson_copies.fill(tmp_path / "taken")
    with pytest.raises(UsageError, match="belongs to the kit itself"):
        lesson_copies.fill(kit)
    with pytest.raises(UsageError, match="belongs to the kit itself"):
        lesson_copies.fill(kit / "inside")


def test_jupyter_opens_at_the_first_lesson_of_the_shelf(kit: Path, tmp_path: Path) -> None:
    folder = lesson_copies.hand_over(tmp_path / "mine")
    command = lesson_copies.lab_command(folder)
    assert command[1:3] == ["-m", "gearkit.lesson.course.lab"]
    assert Path(command[3]).is_file()
    assert f"--ServerApp.root_dir={folder}" in command


def test_a_window_that_its_owner_left_open_is_not_begun_again(tmp_path: Path) -> None:
    lab.begin_window(tmp_path / "shelf")
    [window] = (tmp_path / "shelf").iterdir()
    assert json.loads(window.read_text(encoding="utf-8"))["data"]["layout-restorer:data"]["left"]["collapsed"] is True
    window.write_text("mine", encoding="utf-8")
    lab.begin_window(tmp_path / "shelf")
    assert window.read_text(encoding="utf-8") == "mine"


def test_the_kits_own_lessons_can_be_handed_over(tmp_path: Path) -> None:
    done = lesson_copies.fill(tmp_path / "mine")
    assert (done.folder / HOME).is_file()
    assert len(done.new) == len([path for path in places.lessons().rglob("*.ipynb") if ".ipynb_checkpoints" not in path.parts])
