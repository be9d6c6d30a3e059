"""Packing copies and feedback for a course system: a folder for each learner, and nobody else's files."""

from __future__ import annotations

import stat
import zipfile

import pytest

from graders.cli.main import main
from graders.mark import batch
from graders.report.pages import feedback
from graders.take_in import take_in
from tests.graders.classroom import CLASS, Classroom, right


@pytest.fixture
def room(tmp_path) -> Classroom:
    return Classroom(tmp_path)


def test_every_learner_gets_a_folder_with_their_own_copy(room, tmp_path, capsys):
    assert main(["pack", str(room.course.folder), "A1", "-o", str(tmp_path / "A1.zip")]) == 0
    assert "3 copies packed, a folder for each learner" in capsys.readouterr().out
    with zipfile.ZipFile(tmp_path / "A1.zip") as archive:
        assert archive.namelist() == ["s1/A1.ipynb", "s2/A1.ipynb", "s3/A1.ipynb"]
        assert archive.read("s2/A1.ipynb") == room.course.handed_out_file("s2", "A1").read_bytes()
    assert stat.S_IMODE((tmp_path / "A1.zip").stat().st_mode) == 0o600


def test_the_zip_of_copies_is_taken_in_again_learner_by_learner(room, tmp_path):
    main(["pack", str(room.course.folder), "A1", "-o", str(tmp_path / "A1.zip")])
    assert take_in.take_in(room.course, "A1", tmp_path / "A1.zip", CLASS).taken == ("s1", "s2", "s3")


def test_feedback_is_packed_for_those_who_have_a_page(room, tmp_path, capsys):
    room.hand_in("s1", room.copy("s1", right))
    batch.mark_sheet(room.course, room.sheet)
    feedback.write_pages(room.course, room.sheet)
    assert main(["pack", str(room.course.folder), "A1", "-o", str(tmp_path / "back.zip"), "--feedback"]) == 0
    assert "Nothing for: s2, s3" in capsys.readouterr().out
    with zipfile.ZipFile(tmp_path / "back.zip") as archive:
        assert archive.namelist() == ["s1/A1.html"]


def test_packing_twice_gives_the_same_bytes(room, tmp_path):
    for name in ("one.zip", "two.zip"):
        main(["pack", str(room.course.folder), "A1", "-o", str(tmp_path / name)])
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()


def test_a_link_in_the_place_of_a_copy_is_not_packed(room, tmp_path, capsys):
    path = room.course.handed_out_file("s2", "A1")
    path.unlink()
    path.symlink_to(room.course.folder / ".secret")
    main(["pack", str(room.course.folder), "A1", "-o", str(tmp_path / "A1.zip")])
    assert "Nothing for: s2" in capsys.readouterr().out
    with zipfile.ZipFile(tmp_path / "A1.zip") as archive:
        assert "s2/A1.ipynb" not in archive.namelist()


def test_nothing_to_pack_and_a_place_inside_the_course_are_refused(room, tmp_path, capsys):
    folder = str(room.course.folder)
    assert main(["pack", folder, "A1", "-o", str(tmp_path / "back.zip"), "--feedback"]) == 2
    assert "There is nothing to pack for sheet A1. Make it first with: graders hand-back" in capsys.readouterr().err
    assert main(["pack", folder, "A1", "-o", f"{folder}/A1.zip"]) == 2
    assert "give a file outside the course folder" in capsys.readouterr().err


def test_the_course_folder_is_closed_to_other_users_of_a_shared_server(tmp_path):
    room = Classroom(tmp_path / "new")
    assert stat.S_IMODE(room.course.folder.stat().st_mode) == 0o700
