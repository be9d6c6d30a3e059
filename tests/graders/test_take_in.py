"""Taking in what was handed in elsewhere: whose it is follows from the class list, and nothing is lost."""

from __future__ import annotations

import json
import os
import zipfile
from pathlib import Path

import pytest

from gearkit.cli.command import FINDING
from gearkit.words.errors import UsageError
from graders.cli.main import main
from graders.course.roster import Learner, Roster
from graders.mark.submissions import handed_in
from graders.take_in import take_in
from tests.graders.classroom import Classroom

CLASS = Roster(
    (
        Learner("fd01", "Achterberg, Ilse", "D"), Learner("fd02", "Núria Castellmore", "D"),
        Learner("fe01", "O'Rushkin, Dermot", "E"), Learner("fe.02", "Vashti", "E"),
    )
)  # fmt: skip


@pytest.fixture
def room(tmp_path) -> Classroom:
    return Classroom(tmp_path, roster=CLASS)


def put(folder: Path, *paths: str, data: bytes = b"{}") -> Path:
    for path in paths:
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(data + path.encode())
    return folder


def taken(room: Classroom, source: Path, **more: bool) -> take_in.TakenIn:
    return take_in.take_in(room.course, "A1", source, CLASS, **more)


@pytest.mark.parametrize(
    ("path", "learner"),
    [
        ("fd01/A1.ipynb", "fd01"),
        ("FD01/A1/A1.ipynb", "fd01"),
        ("fd01_A1 (2).ipynb", "fd01"),
        ("A1 fd01.ipynb", "fd01"),
        ("fe.02.ipynb", "fe.02"),
        ("week3 fd02 final.zip", "fd02"),
        ("Nuria CASTELLMORE_1234_assignsubmission_file_/A1.ipynb", "fd02"),
        ("Ilse Achterberg/A1.ipynb", "fd01"),
        ("O'Rushkin Dermot_99_file/my sheet.ipynb", "fe01"),
        ("fd02+A1+2026-02-03 10:00:00 UTC+abcd/A1.ipynb", "fd02"),
    ],
)
def test_whose_a_file_is_follows_from_identity_or_full_name(room, tmp_path, path, learner):
    result = taken(room, put(tmp_path / "in", path))
    assert result.taken == (learner,)
    assert learner not in result.missing
    assert any(room.course.submitted_folder(learner, "A1").iterdir())


def test_a_file_that_may_be_of_two_or_of_nobody_is_left_for_a_person(room, tmp_path):
    source = put(tmp_path / "in", "fd01 and fd02.ipynb", "mine.ipynb", "notes.txt")
    result = taken(room, source)
    place = f"put it by hand into {room.course.submitted}/LEARNER/A1."
    assert result.taken == ()
    assert result.unknown == (
        f"'fd01 and fd02.ipynb' may belong to fd01 or fd02; {place}",
        f"'mine.ipynb' names nobody on the class list; {place}",
        "Left out, since they are no notebooks and stand under nobody's name: 'notes.txt'.",
    )
    assert result.missing == ("fd01", "fd02", "fe01", "fe.02")


def test_a_name_of_one_word_is_not_enough_to_say_whose_a_file_is(room, tmp_path):
    assert taken(room, put(tmp_path / "in", "Vashti/A1.ipynb")).taken == ()


def test_what_a_notebook_says_about_itself_is_not_believed(room, tmp_path):
    source = put(tmp_path / "in", "unnamed.ipynb", data=b'{"metadata": {"gearkit": {"learner": "fd01"}}}')
    result = taken(room, source)
    assert result.taken == ()
    assert "(it says of itself that it is fd01's, which anybody can write)" in result.unknown[0]


def test_the_time_of_a_file_becomes_the_time_of_handing_in(room, tmp_path):
    source = put(tmp_path / "in", "fd01/A1.ipynb")
    os.utime(source / "fd01/A1.ipynb", (1770112800, 1770112800))  # 2026-02-03 10:00 UTC
    taken(room, source)
    when, flag = handed_in(room.course.submitted_folder("fd01", "A1"))
    assert (str(when), flag) == ("2026-02-03 10:00:00+00:00", "")


def test_a_zip_is_taken_in_like_a_folder(room, tmp_path):
    with zipfile.ZipFile(tmp_path / "all.zip", "w") as archive:
        archive.writestr(zipfile.ZipInfo("fd01/A1.ipynb", (2026, 2, 3, 10, 0, 0)), b"{}")
        archive.writestr("../../fd02/../../evil/A1.ipynb", b"{}")
    result = taken(room, tmp_path / "all.zip")
    assert result.taken == ("fd01", "fd02")
    assert not list(tmp_path.rglob("evil"))
    assert (room.course.submitted_folder("fd02", "A1") / "A1.ipynb").exists()


def test_taking_in_the_same_again_changes_nothing(room, tmp_path):
    source = put(tmp_path / "in", "fd01/A1.ipynb")
    taken(room, source)
    folder = room.course.submitted_folder("fd01", "A1")
    before = {path.name: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.iterdir()}
    result = taken(room, source)
    assert (result.taken, result.there) == ((), ("fd01",))
    assert {path.name: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.iterdir()} == before


def test_other_work_replaces_nothing_unless_that_is_asked_for_and_then_the_earlier_is_kept(room, tmp_path):
    taken(room, put(tmp_path / "one", "fd01/A1.ipynb", data=b"first "))
    newer = put(tmp_path / "two", "fd01/A1.ipynb", data=b"second ")
    result = taken(room, newer)
    assert result.refused == ("fd01: other work is there already; to take the newer one instead, add --replace.",)
    file = room.course.submitted_folder("fd01", "A1") / "A1.ipynb"
    assert file.read_bytes().startswith(b"first")
    assert taken(room, newer, replace=True).taken == ("fd01",)
    assert file.read_bytes().startswith(b"second")
    assert (room.course.folder / "replaced" / "fd01" / "A1" / "1" / "A1.ipynb").read_bytes().startswith(b"first")


def test_of_several_notebooks_none_is_called_taken_while_other_work_stays(room, tmp_path):
    taken(room, put(tmp_path / "one", "fd01/A1.ipynb", data=b"first "))
    two = put(tmp_path / "two", "fd01/A1.ipynb", "fd01/A1 (1).ipynb", data=b"second ")
    result = taken(room, two)
    (sentence,) = result.chosen
    assert (result.taken, len(result.refused)) == ((), 1)
    assert sentence.startswith("fd01 handed in 2 notebooks; chosen was 'fd01/A1 (1).ipynb' of ")
    assert taken(room, two, replace=True).chosen == (sentence,)


def test_of_several_hand_ins_of_the_exchange_folder_the_last_counts(room, tmp_path):
    early, late = "fd01+A1+2026-02-03 10:00:00 UTC", "fd01+A1+2026-02-03 11:00:00 UTC"
    source = put(tmp_path / "in", f"{late}/A1.ipynb", f"{early}/A1.ipynb")
    taken(room, source)
    assert b"11:00" in (room.course.submitted_folder("fd01", "A1") / "A1.ipynb").read_bytes()


def test_links_are_not_followed(room, tmp_path):
    (tmp_path / "secret.ipynb").write_text("{}")
    source = tmp_path / "in" / "fd01"
    source.mkdir(parents=True)
    (source / "A1.ipynb").symlink_to(tmp_path / "secret.ipynb")
    assert taken(room, tmp_path / "in").taken == ()


def test_a_source_that_is_neither_folder_nor_zip_is_refused(room, tmp_path):
    (tmp_path / "one.ipynb").write_text("{}")
    with pytest.raises(UsageError, match="is neither a folder nor a zip"):
        taken(room, tmp_path / "one.ipynb")


def test_what_was_handed_in_beside_a_notebook_is_told_at_once(room, tmp_path, capsys):
    source = tmp_path / "in"
    put(source, "fd01/notes.docx", "fd02/answers.docx")
    (source / "fd01/A1.ipynb").write_text(json.dumps(room.copy("fd01")), encoding="utf-8")
    assert main(["take-in", str(room.course.folder), "A1", str(source)]) == FINDING
    out = capsys.readouterr().out
    assert "fd01: Left aside: 'notes.docx'." in out
    assert "fd02: The folder holds no notebook, only 'answers.docx'." in out


def test_the_command_lists_who_has_not_handed_in(room, tmp_path, capsys):
    source = put(tmp_path / "in", "fd01/A1.ipynb", "fd02/A1.ipynb", "fe01/A1.ipynb", data=b'{"cells": []}\n')
    assert main(["take-in", str(room.course.folder), "A1", str(source)]) == FINDING
    out = capsys.readouterr().out
    assert "Taken in: 3. There already: 0." in out
    assert "Nothing yet from 1 of 4:\n  fe.02  Vashti" in out
