"""Work that comes in counts for whom the course system names, at a time that no learner can set, and every file of it is told."""

from __future__ import annotations

import datetime as dt
import io
import json
import os
import zipfile
from pathlib import Path

import pytest

from graders.cli.main import main
from graders.mark.batch import mark_sheet
from graders.mark.submissions import handed_in
from graders.report.figures import predictions
from graders.take_in import take_in
from tests.graders.classroom import CLASS, Classroom, right, wrong

NAME = CLASS.find("s1").name
NOON = dt.datetime(2026, 2, 3, 12, 0, tzinfo=dt.UTC)


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    return Classroom(tmp_path)


def put(folder: Path, files: dict[str, bytes], at: dt.datetime = NOON) -> Path:
    """A folder as a course system or a stick gives it."""
    for path, data in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(data)
        os.utime(folder / path, (at.timestamp(), at.timestamp()))
    return folder


def packed(files: dict[str, bytes]) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for path, data in files.items():
            archive.writestr(zipfile.ZipInfo(path, (2026, 2, 3, 12, 0, 0)), data)
    return buffer.getvalue()


def work(room: Classroom, learner: str, answers=right) -> bytes:
    return json.dumps(room.copy(learner, answers)).encode()


def taken(room: Classroom, source: Path) -> take_in.TakenIn:
    return take_in.take_in(room.course, room.sheet.name, source, CLASS)


def marked(room: Classroom):
    """The mark sheet by learner."""
    return {one.learner: one for one in mark_sheet(room.course, room.sheet).learners}


@pytest.mark.parametrize("shape", [
    "{one}_101_assignsubmission_file_/s2.ipynb",
    "{one}_101_assignsubmission_file_s2.ipynb",
    "s1/s2.ipynb",
    "s1/s2/A1.ipynb",
    "s1_late_555_s2.ipynb",
    "s1/s2+A1+2026-01-01 00:00:00 UTC/A1.ipynb",
])
@pytest.mark.parametrize("zipped", [False, True])
def test_a_file_counts_for_whom_the_outermost_name_names_and_never_for_the_one_named_inside(room, tmp_path, shape, zipped):
    forged, own = shape.format(one=NAME), "s2/A1.ipynb"
    files = {forged: work(room, "s1", wrong), own: work(room, "s2")}
    source = put(tmp_path / "in", {"everything.zip": packed(files)} if zipped else files)
    result = taken(room, source)
    assert result.taken == ("s1", "s2")
    assert any("names s2 further in; it counts for s1, and nothing of it for s2" in words for words in result.remarks)
    marks = marked(room)
    assert marks["s2"].score == marks["s2"].max
    assert marks["s1"].score < marks["s1"].max / 2
    assert "names s2 further in" in marks["s1"].flags[0]
    assert not any("further in" in flag for flag in marks["s2"].flags)


def test_a_number_of_the_course_system_is_not_taken_for_an_identity_behind_the_full_name(room, tmp_path):
    name = NAME
    result = taken(room, put(tmp_path / "in", {f"{name}_s2_assignsubmission_file_/A1.ipynb": work(room, "s1")}))
    assert result.taken == ("s1",)


@pytest.mark.parametrize(("own", "counts", "flagged"), [
    ("2026-01-01 00:00:00 UTC", "2026-02-03 12:00:00+00:00", True),
    ("2026-02-05 09:00:00 UTC", "2026-02-05 09:00:00+00:00", True),
    ("yesterday", "2026-02-03 12:00:00+00:00", True),
    ("2026-02-03 12:00:00 UTC", "2026-02-03 12:00:00+00:00", False),
])
@pytest.mark.parametrize("name", ["timestamp.txt", "Timestamp.TXT", "deep/timestamp.txt"])
def test_a_time_among_the_learners_files_only_ever_adds_lateness(room, tmp_path, name, own, counts, flagged):
    result = taken(room, put(tmp_path / "in", {"s1/A1.ipynb": work(room, "s1"), f"s1/{name}": own.encode()}))
    when, _ = handed_in(room.course.submitted_folder("s1", room.sheet.name))
    assert str(when) == counts
    assert any("Anybody can write such a file" in words for words in result.remarks) is flagged
    assert any("Anybody can write such a file" in flag for flag in marked(room)["s1"].flags) is flagged


@pytest.mark.parametrize(("name", "data", "words"), [
    ("A1.ipynb", b"", "is empty"),
    ("A1.ipynb", b"\x00\x01\x02", "cannot be read as a notebook"),
    ("report.docx", b"PK\x03\x04 and so on", "holds no notebook, only 'report.docx'"),
    ("A1.pdf", b"%PDF-1.7", "holds no notebook, only 'A1.pdf'"),
    ("A1.zip", b"PK\x03\x04 broken", "cannot be opened"),
])
def test_what_cannot_be_read_is_told_at_take_in_at_marking_and_to_the_learner(room, tmp_path, capsys, name, data, words):
    source = put(tmp_path / "in", {f"s1/{name}": data, "s2/A1.ipynb": work(room, "s2")})
    assert main(["take-in", str(room.course.folder), room.sheet.name, str(source)]) == 1
    assert words in capsys.readouterr().out
    marks = marked(room)
    assert any(words in flag for flag in marks["s1"].flags)
    assert all(item.comment.startswith("No answer could be looked for") and words in item.comment for item in marks["s1"].items)
    assert not marks["s2"].flags
    assert main(["report", str(room.course.folder), room.sheet.name]) == 0
    assert main(["hand-back", str(room.course.folder), room.sheet.name]) == 0
    page = next(path for path in (room.course.folder / "feedback" / "s1").rglob("*.html")).read_text(encoding="utf-8")
    assert "No answer could be looked for" in page
    assert "No answer to this item was found" not in page


def test_every_file_of_a_hand_in_is_accounted_for_in_a_sentence(room, tmp_path):
    files = {"s1/A1.ipynb": work(room, "s1"), "s1/older/A1.ipynb": b"{}", "s1/photo.jpg": b"x", "s1/notes.txt": b"x",
             "s1/essay.docx": b"x", "lost.ipynb": work(room, "s2"), "letter.pdf": b"x"}
    result = taken(room, put(tmp_path / "in", files))
    said = " ".join((*result.remarks, *result.chosen, *result.unknown, *marked(room)["s1"].flags))
    assert [name for name in ("photo.jpg", "notes.txt", "essay.docx", "lost.ipynb", "letter.pdf") if name not in said] == []
    assert "s1 handed in 2 notebooks" in said


def test_a_flood_of_files_and_names_stays_readable_and_buries_no_warning(room, tmp_path, capsys):
    junk = {f"s1/junk{number:04}.dat": b"x" for number in range(3000)}
    hollow = bytearray(packed({f"{'n' * 3000}{number}.ipynb": b"" for number in range(900)}))
    for place in range(len(hollow) - 4):
        if hollow[place:place + 4] == b"PK\x01\x02":
            hollow[place + 10] = 99  # a way of packing that nobody unpacks
    files = {**junk, "s1/more.zip": bytes(hollow), "s1/s2.ipynb": work(room, "s1")}
    source = put(tmp_path / "in", files)
    assert main(["take-in", str(room.course.folder), room.sheet.name, str(source)]) == 1
    told = capsys.readouterr().out
    assert len(told) < 20_000
    assert "names s2 further in" in told.splitlines()[1]
    flags = marked(room)["s1"].flags
    assert len("".join(flags)) < 20_000
    assert "names s2 further in" in flags[0]


def test_a_record_with_thousands_of_invented_panels_is_believed_only_so_far(room, tmp_path):
    events = []
    for number in range(9000):
        events += [{"kind": "prediction", "prediction": f"p{number}", "lesson": "03", "panel": f"invented {number}", "said": {"kind": "a"}},
                   {"kind": "reveal", "prediction": f"p{number}", "found": {"kind": "a"}}]
    room.hand_in("s1", json.dumps({"events": events}).encode(), "my_record.json")
    assert 0 < len(predictions.gather(room.course, room.sheet.name)) <= predictions.MOST_PANELS


@pytest.mark.parametrize("forged", [
    "Zed Nobody_101_assignsubmission_file_/s2.ipynb",
    "Zed Nobody_101_assignsubmission_file_/s2/A1.ipynb",
    "Zed Nobody_101_assignsubmission_file_s2.ipynb",
    "Participant_4711_assignsubmission_file_/s2.ipynb",
    "Participant_4711_assignsubmission_file_/all.zip",
    "group 1/Participant_4711_assignsubmission_file_/s2.ipynb",
])
def test_a_folder_that_the_course_system_made_for_nobody_on_the_list_lets_no_file_in_it_name_a_learner(room, tmp_path, forged):
    other = work(room, "s1", wrong)
    data = packed({"s2/A1.ipynb": other}) if forged.endswith(".zip") else other
    put(tmp_path / "in", {"s2/A1.ipynb": work(room, "s2")})
    result = taken(room, put(tmp_path / "in", {forged: data}, NOON + dt.timedelta(hours=1)))
    marks = marked(room)["s2"]
    assert (marks.score, marks.handed_in) == (marks.max, NOON.isoformat())
    assert not result.chosen
    assert any(words.startswith(repr(forged)) and "names nobody on the class list" in words for words in result.unknown)


def test_a_time_that_a_learners_own_zip_gives_its_files_is_not_believed_where_the_course_system_names_nobody(room, tmp_path):
    inside = io.BytesIO()
    with zipfile.ZipFile(inside, "w") as archive:
        archive.writestr(zipfile.ZipInfo("s1/A1.ipynb", (2026, 1, 1, 0, 0, 0)), work(room, "s1"))
    result = taken(room, put(tmp_path / "in", {"Participant_4711_assignsubmission_file_/a.zip": inside.getvalue()}))
    assert result.taken == ()
    assert "a.zip" in " ".join(result.unknown)


def test_whom_a_long_name_names_is_asked_of_its_beginning_only():
    # What is asked of each beginning that ends at an underscore must not grow with the square of the name's length.
    class Counted(take_in._Names):
        letters = 0

        def _named(self, text: str) -> set[str]:
            self.letters += len(text)
            return super()._named(text)

    names = Counted(CLASS)
    assert names.owners(f"{'_' * 5000}.ipynb") == ([], [])
    assert names.letters <= 255 * 256
