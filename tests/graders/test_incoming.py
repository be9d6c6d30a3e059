"""What comes in from outside may be packed, copied, damaged or meant to harm; it is read within limits or told about."""

from __future__ import annotations

import io
import os
import stat
import zipfile
from pathlib import Path

import pytest

from gearkit.words.errors import GearkitError, UsageError
from graders.course.roster import Learner, Roster
from graders.take_in import incoming, take_in
from tests.graders.classroom import Classroom

CLASS = Roster((Learner("fd01", "Ilse Achterberg", "D"), Learner("fd02", "Bob Ek", "D")))
WORK = b'{"cells": [], "note": "L03-02 L03-03"}'
SCRAP = b'{"cells": []}'


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    return Classroom(tmp_path, roster=CLASS)


def packed(*entries: tuple[str, bytes] | tuple[str, bytes, int], year: int = 2026) -> bytes:
    """A zip; an entry's third part is the hour at which it was changed."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, data, *hour in entries:
            archive.writestr(zipfile.ZipInfo(name, (year, 2, 3, *(hour or [10]), 0, 0)), data)
    return out.getvalue()


def taken(room: Classroom, source: Path | bytes, **more: bool) -> take_in.TakenIn:
    if isinstance(source, bytes):
        path = room.course.folder.parent / "in.zip"
        path.write_bytes(source)
        source = path
    return take_in.take_in(room.course, "A1", source, CLASS, **more)


def there(room: Classroom, learner: str) -> dict[str, bytes]:
    folder = room.course.submitted_folder(learner, "A1")
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.name != "timestamp.txt"}


def test_a_zip_of_a_group_inside_a_zip_is_looked_into(room):
    group = packed(("fd01/A1.ipynb", WORK), ("Bob Ek_12_file/A1 (1).ipynb", WORK))
    result = taken(room, packed(("group D.zip", group)))
    assert result.taken == ("fd01", "fd02")
    assert there(room, "fd02") == {"A1 (1).ipynb": WORK}


def test_a_learners_own_zip_is_taken_as_it_is_and_marked_by_looking_into_it(room):
    own = packed(("A1.ipynb", WORK))
    assert taken(room, packed(("fd01/A1.zip", own))).taken == ("fd01",)
    assert there(room, "fd01") == {"A1.zip": own}


def test_zips_in_zips_without_end_are_not_followed_without_end(room):
    data = packed(("fd01/A1.ipynb", WORK))
    for _ in range(6):
        data = packed(("inner.zip", data))
    result = taken(room, data)
    assert result.taken == ()
    assert result.unknown == ("'inner.zip/inner.zip/inner.zip' names nobody on the class list; put it by hand into "
                              f"{room.course.submitted}/LEARNER/A1.",)  # fmt: skip


@pytest.mark.parametrize(
    "name", ["../../../../fd01/evil.ipynb", "/fd01/evil.ipynb", "..\\..\\fd01\\evil.ipynb", "C:\\fd01\\evil.ipynb"]
)
def test_a_path_that_leads_out_of_the_zip_leads_nowhere(room, tmp_path, name):
    assert taken(room, packed((name, WORK))).taken == ("fd01",)
    assert [path.relative_to(room.course.submitted).as_posix() for path in tmp_path.rglob("evil*")] == ["fd01/A1/evil.ipynb"]


def test_a_link_in_a_zip_is_no_work(room):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        link = zipfile.ZipInfo("fd01/A1.ipynb", (2026, 2, 3, 10, 0, 0))
        link.create_system, link.external_attr = 3, (stat.S_IFLNK | 0o777) << 16
        archive.writestr(link, "../../.secret")
    result = taken(room, out.getvalue())
    assert result.taken == ()
    assert result.missing == ("fd01", "fd02")


def test_leftovers_of_editors_and_archivers_are_left_out(room):
    result = taken(room, packed(
        ("fd01/A1.ipynb", WORK), ("fd01/.ipynb_checkpoints/A1-checkpoint.ipynb", WORK), ("__MACOSX/fd01/._A1.ipynb", b"\0"),
        ("fd01/.A1.ipynb.swp", b"x"), ("fd01/A1.ipynb~", b"x"), ("fd01/plot.png", b"x"),
    ))  # fmt: skip
    assert result.chosen == ()
    assert there(room, "fd01") == {"A1.ipynb": WORK, "plot.png": b"x"}


def test_of_two_copies_of_one_learner_the_newest_that_holds_the_items_is_taken_and_told(room):
    result = taken(room, packed(("fd01_A1.ipynb", WORK + b"1", 9), ("fd01_A1 (1).ipynb", WORK + b"2", 11),
                                ("fd01_A1 (2).ipynb", WORK + b"3", 10), ("fd01 scrap.ipynb", SCRAP, 12)))  # fmt: skip
    assert there(room, "fd01") == {"fd01_A1 (1).ipynb": WORK + b"2"}
    assert result.chosen == ("fd01 handed in 4 notebooks; chosen was 'fd01_A1 (1).ipynb' of 2026-02-03 11:00, the newest of "
                             "those that hold most of the sheet's items. Left: 'fd01 scrap.ipynb', 'fd01_A1 (2).ipynb' "
                             "(it cannot be read as a notebook), 'fd01_A1.ipynb' (it cannot be read as a notebook).",)  # fmt: skip
    stamp = (room.course.submitted_folder("fd01", "A1") / "timestamp.txt").read_text()
    assert stamp == "2026-02-03 11:00:00 UTC\n"


def test_of_copies_of_one_moment_the_one_of_the_right_name_or_else_the_highest_number_is_taken(room):
    taken(room, packed(("fd01/A1 (2).ipynb", WORK + b"2"), ("fd01/A1.ipynb", WORK + b"0"),
                       ("fd02/A1 (10).ipynb", WORK + b"10"), ("fd02/A1 (9).ipynb", WORK + b"9")))  # fmt: skip
    assert there(room, "fd01") == {"A1.ipynb": WORK + b"0"}
    assert there(room, "fd02") == {"A1 (10).ipynb": WORK + b"10"}


def test_older_work_never_takes_the_place_of_newer_even_when_asked_to_replace(room):
    taken(room, packed(("fd01/A1.ipynb", WORK + b"new", 11)))
    result = taken(room, packed(("fd01/A1.ipynb", WORK + b"old", 9)), replace=True)
    assert result.refused == ("fd01: the work there is of 2026-02-03 11:00:00 UTC and newer than this of 2026-02-03 09:00:00 "
                              "UTC; it stays.",)  # fmt: skip
    assert there(room, "fd01") == {"A1.ipynb": WORK + b"new"}


def test_what_is_broken_off_while_taking_in_is_not_there_at_all_and_comes_with_the_next_time(room, monkeypatch):
    data = packed(("fd01/A1.ipynb", WORK), ("fd01/notes.txt", b"n"), ("fd02/A1.ipynb", WORK))
    write, written = take_in.write_atomically, []

    def stop(path: Path, *content: bytes) -> None:
        if len(written) == 2:
            raise OSError(28, "No space left on device", str(path))
        written.append(path)
        write(path, *content)

    with monkeypatch.context() as patch:
        patch.setattr(take_in, "write_atomically", stop)
        with pytest.raises(GearkitError, match=r"Taking in stopped at .*: No space left on device"):
            taken(room, data)
    assert not room.course.submitted_folder("fd01", "A1").exists()
    assert taken(room, data).taken == ("fd01", "fd02")
    assert there(room, "fd01") == {"A1.ipynb": WORK, "notes.txt": b"n"}
    assert list(room.course.submitted.rglob(".*")) == []


@pytest.mark.parametrize(
    ("limit", "value", "told"), [("MOST_FILES", 3, "holds more than 3 files"), ("MOST_BYTES", 100, "holds more than 0 GB")],
)  # fmt: skip
def test_far_too_much_is_refused_before_anything_is_taken_in(room, monkeypatch, limit, value, told):
    monkeypatch.setattr(incoming, limit, value)
    with pytest.raises(UsageError, match=told):
        taken(room, packed(*((f"fd01/{number}.ipynb", WORK) for number in range(5))))
    assert not room.course.submitted_folder("fd01", "A1").exists()


def test_a_file_that_unpacks_to_far_too_much_is_told_and_the_others_are_taken(room, monkeypatch):
    monkeypatch.setattr(incoming, "LARGEST_FILE", 1000)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("fd01/A1.ipynb", b"0" * 10_000_000)
        archive.writestr("fd02/A1.ipynb", WORK)
    assert len(out.getvalue()) < 20_000
    result = taken(room, out.getvalue())
    assert result.taken == ("fd02",)
    assert "'fd01/A1.ipynb' in" in result.unknown[0]
    assert "is larger than 0 MB and was not taken." in result.unknown[0]


def test_damaged_and_locked_entries_are_told_and_the_others_are_taken(room):
    data = bytearray(packed(("fd01/A1.ipynb", WORK), ("fd02/A1.ipynb", WORK)))
    data[data.index(WORK)] ^= 0xFF
    result = taken(room, bytes(data))
    assert result.taken == ("fd02",)
    assert result.unknown[0].startswith("'fd01/A1.ipynb' in ")
    assert "cannot be unpacked (damaged)" in result.unknown[0]
    locked = bytearray(packed(("fd01/A1.ipynb", WORK)))
    for head in (b"PK\x03\x04", b"PK\x01\x02"):
        locked[locked.index(head) + (6 if head == b"PK\x03\x04" else 8)] |= 1
    assert "cannot be unpacked (locked with a password)" in taken(room, bytes(locked)).unknown[0]


def test_a_zip_with_an_impossible_date_is_told(room):
    data = bytearray(packed(("fd01/A1.ipynb", WORK)))
    for head, place in ((b"PK\x03\x04", 12), (b"PK\x01\x02", 14)):
        at = data.index(head) + place
        data[at : at + 2] = b"\x00\x00"
    result = taken(room, bytes(data))
    assert result.taken == ()
    assert "cannot be unpacked (month must be in 1..12" in result.unknown[0]


@pytest.mark.parametrize("method", [zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2])
def test_one_damaged_or_rarely_packed_file_is_told_and_stops_nobody_else(room, method):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as archive:
        archive.writestr("fd01/A1.ipynb", b"answer" * 5000)
        archive.writestr(zipfile.ZipInfo("fd02/A1.ipynb", (2026, 2, 3, 10, 0, 0)), b"x", zipfile.ZIP_STORED)
    data = bytearray(out.getvalue())
    data[45:60] = b"\xff" * 15
    result = taken(room, bytes(data))
    assert result.taken == ("fd02",)
    why = "damaged" if method == zipfile.ZIP_DEFLATED else "packed in a rare way; ask for an ordinary zip"
    assert f"cannot be unpacked ({why})" in result.unknown[0]


def test_something_that_only_looks_like_a_zip_inside_is_told(room):
    result = taken(room, packed(("group.zip", b"PK\x03\x04 no")))
    assert result.unknown == ("'group.zip' cannot be opened as a zip (File is not a zip file).",)


def test_pipes_and_links_in_a_folder_are_left_out(room, tmp_path):
    source = tmp_path / "in" / "fd01"
    source.mkdir(parents=True)
    os.mkfifo(source / "A1.ipynb")
    (source / "B.ipynb").symlink_to("/etc/hostname")
    (tmp_path / "in" / "fd02").symlink_to("/etc")
    assert taken(room, tmp_path / "in").taken == ()


def test_names_that_no_system_likes_become_plain_ones(room):
    assert taken(room, packed(("fd01/A1: last? *.ipynb", WORK), ("fd02/" + "x" * 300 + ".ipynb", WORK))).taken == (
        "fd01",
        "fd02",
    )
    assert list(there(room, "fd01")) == ["A1_ last_ _.ipynb"]
    (name,) = there(room, "fd02")
    assert len(name) == 120
    assert name.endswith(".ipynb")


def test_files_of_other_sheets_in_a_copy_of_the_exchange_folder_are_left_alone(room):
    result = taken(
        room, packed(("fd01+A2+2026-02-03 10:00:00 UTC+x/A2.ipynb", WORK), ("fd02+A1+2026-02-03 10:00:00 UTC+x/A1.ipynb", WORK))
    )
    assert result.taken == ("fd02",)
    assert not room.course.submitted_folder("fd01", "A1").exists()
