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
from graders.take_in import incoming, take_in
from graders.take_in.names import Names
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


@pytest.mark.parametrize(
    "shape",
    [
        "{one}_101_assignsubmission_file_/s2.ipynb",
        "{one}_101_assignsubmission_file_s2.ipynb",
        "s1/s2.ipynb",
        "s1/s2/A1.ipynb",
        "s1_late_555_s2.ipynb",
        "s1/s2+A1+2026-01-01 00:00:00 UTC/A1.ipynb",
    ],
)
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


@pytest.mark.parametrize(
    ("own", "counts", "flagged"),
    [
        ("2026-01-01 00:00:00 UTC", "2026-02-03 12:00:00+00:00", True),
        ("2026-02-05 09:00:00 UTC", "2026-02-05 09:00:00+00:00", True),
        ("yesterday", "2026-02-03 12:00:00+00:00", True),
        ("2026-02-03 12:00:00 UTC", "2026-02-03 12:00:00+00:00", False),
    ],
)
@pytest.mark.parametrize("name", ["timestamp.txt", "Timestamp.TXT", "deep/timestamp.txt"])
def test_a_time_among_the_learners_files_only_ever_adds_lateness(room, tmp_path, name, own, counts, flagged):
    result = taken(room, put(tmp_path / "in", {"s1/A1.ipynb": work(room, "s1"), f"s1/{name}": own.encode()}))
    when, _ = handed_in(room.course.submitted_folder("s1", room.sheet.name))
    assert str(when) == counts
    assert any("Anybody can write such a file" in words for words in result.remarks) is flagged
    assert any("Anybody can write such a file" in flag for flag in marked(room)["s1"].flags) is flagged


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("A1.ipynb", b"", "is empty"),
        ("A1.ipynb", b"\x00\x01\x02", "cannot be read as a notebook"),
        ("report.docx", b"PK\x03\x04 and so on", "holds no notebook, only 'report.docx'"),
        ("A1.pdf", b"%PDF-1.7", "holds no notebook, only 'A1.pdf'"),
        ("A1.zip", b"PK\x03\x04 broken", "cannot be opened"),
    ],
)
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
    files = {
        "s1/A1.ipynb": work(room, "s1"),
        "s1/older/A1.ipynb": b"{}",
        "s1/photo.jpg": b"x",
        "s1/notes.txt": b"x",
        "s1/essay.docx": b"x",
        "lost.ipynb": work(room, "s2"),
        "letter.pdf": b"x",
    }
    result = taken(room, put(tmp_path / "in", files))
    said = " ".join((*result.remarks, *result.chosen, *result.unknown, *marked(room)["s1"].flags))
    assert [name for name in ("photo.jpg", "notes.txt", "essay.docx", "lost.ipynb", "letter.pdf") if name not in said] == []
    assert "s1 handed in 2 notebooks" in said


def test_a_flood_of_files_and_names_stays_readable_and_buries_no_warning(room, tmp_path, capsys):
    junk = {f"s1/junk{number:04}.dat": b"x" for number in range(3000)}
    hollow = bytearray(packed({f"{'n' * 3000}{number}.ipynb": b"" for number in range(900)}))
    for place in range(len(hollow) - 4):
        if hollow[place : place + 4] == b"PK\x01\x02":
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
        events += [
            {
                "kind": "prediction",
                "prediction": f"p{number}",
                "lesson": "03",
                "panel": f"invented {number}",
                "said": {"kind": "a"},
            },
            {"kind": "reveal", "prediction": f"p{number}", "found": {"kind": "a"}},
        ]
    room.hand_in("s1", json.dumps({"events": events}).encode(), "my_record.json")
    assert 0 < len(predictions.gather(room.course, room.sheet.name).panels) <= predictions.MOST_PANELS


@pytest.mark.parametrize(
    "forged",
    [
        "Zed Nobody_101_assignsubmission_file_/s2.ipynb",
        "Zed Nobody_101_assignsubmission_file_/s2/A1.ipynb",
        "Zed Nobody_101_assignsubmission_file_s2.ipynb",
        "Participant_4711_assignsubmission_file_/s2.ipynb",
        "Participant_4711_assignsubmission_file_/all.zip",
        "group 1/Participant_4711_assignsubmission_file_/s2.ipynb",
    ],
)
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
    class Counted(Names):
        letters = 0

        def _named(self, text: str) -> set[str]:
            self.letters += len(text)
            return super()._named(text)

    names = Counted(CLASS)
    assert names.owners(f"{'_' * 5000}.ipynb") == ([], [])
    assert names.letters <= 255 * 256


@pytest.mark.parametrize(
    "made",
    [
        "101_assignsubmission_file_/s2.ipynb",
        "_101_assignsubmission_file_/s2.ipynb",
        "__assignsubmission_file_/s2/A1.ipynb",
        "assignsubmission_file_/s2.ipynb",
    ],
)
def test_a_folder_that_the_course_system_made_with_an_empty_name_lets_no_file_in_it_name_a_learner(room, tmp_path, made):
    result = taken(room, put(tmp_path / "in", {made: work(room, "s1", wrong)}))
    assert result.taken == ()
    assert any(words.startswith(repr(made)) and "names nobody on the class list" in words for words in result.unknown)


def test_times_in_a_zip_that_a_learner_may_have_packed_count_only_as_far_as_the_zip_itself_is_not_later(room, tmp_path):
    group = packed({"s1/A1.ipynb": work(room, "s1")})
    result = taken(room, put(tmp_path / "in", {"group 1/all.zip": group}, NOON + dt.timedelta(days=2)))
    assert result.taken == ("s1",)
    when, _ = handed_in(room.course.submitted_folder("s1", room.sheet.name))
    assert when == NOON + dt.timedelta(days=2)
    assert any("came in 'group 1/all.zip', which stands under nobody's name" in words for words in result.remarks)
    assert "which stands under nobody's name" in marked(room)["s1"].flags[0]


def test_work_in_a_zip_under_nobodys_name_gives_way_to_a_learners_own(room, tmp_path):
    files = {"group 1/all.zip": packed({"s2/A1.ipynb": work(room, "s1", wrong)}), "s2/A1.ipynb": work(room, "s2")}
    source = put(tmp_path / "in", files)
    os.utime(source / "group 1/all.zip", ((NOON + dt.timedelta(days=1)).timestamp(),) * 2)
    result = taken(room, source)
    marks = marked(room)["s2"]
    assert (marks.score, marks.handed_in) == (marks.max, NOON.isoformat())
    assert any(
        "'group 1/all.zip/s2/A1.ipynb' names s2" in words and "what came under the own name counts" in words
        for words in result.remarks
    )


def test_a_zip_that_lies_loose_in_the_source_is_believed_and_its_later_time_is_told_where_the_sheet_is_due(tmp_path):
    room = Classroom(tmp_path, due="2026-02-03 17:00")
    files = {"everything.zip": packed({"s1/A1.ipynb": work(room, "s1")})}
    result = taken(room, put(tmp_path / "in", files, NOON + dt.timedelta(days=2)))
    assert (result.taken, result.remarks, result.unknown) == (("s1",), (), ())
    assert any(
        "'everything.zip' was last changed at 2026-02-05 12:00 UTC, after the sheet was due" in words for words in result.aside
    )


def test_leftovers_are_told_in_one_counted_sentence_and_who_sent_nothing_else_by_name(room, tmp_path):
    junk = ("s1/.DS_Store", "s1/A1.ipynb~", "__MACOSX/s1/._A1.ipynb", "s1/.ipynb_checkpoints/A1-checkpoint.ipynb")
    files = {"s1/A1.ipynb": work(room, "s1"), "s2/.A1.ipynb": b"x", **dict.fromkeys(junk, b"x")}
    result = taken(room, put(tmp_path / "in", files))
    (said,) = result.aside
    assert said.startswith("Left out as leftovers of systems, editors and archivers: 5 files, ")
    assert any(words.startswith("Of s2 nothing came but leftovers, such as 's2/.A1.ipynb'") for words in result.unknown)
    assert result.taken == ("s1",)


@pytest.mark.parametrize("where", ["folder", "zip"])
def test_what_lies_beside_the_notebook_in_a_learners_own_zip_or_folder_is_told(room, where):
    files = {
        "A1.ipynb": work(room, "s1"),
        "essay.docx": b"x",
        "B.ipynb": b"{ damaged",
        ".hidden": b"x",
        "__MACOSX/._A1.ipynb": b"x",
    }
    if where == "zip":
        room.hand_in("s1", packed(files), "all.zip")
    else:
        folder = room.hand_in("s1", files.pop("A1.ipynb"))
        put(folder, files)
    flags = " ".join(marked(room)["s1"].flags)
    assert "essay.docx" in flags
    assert "B.ipynb' (it cannot be read as a notebook)" in flags
    assert "2 hidden files or leftovers of programs were not looked at" in flags


def test_a_second_notebook_that_take_in_leaves_is_told_with_its_damage(room, tmp_path):
    result = taken(room, put(tmp_path / "in", {"s1/A1.ipynb": work(room, "s1"), "s1/older/B.ipynb": b"{ damaged"}))
    assert "Left: 's1/older/B.ipynb' (it cannot be read as a notebook)." in result.chosen[0]


@pytest.mark.parametrize(
    "data", [b"", b"{", b"[]", b'{"events": 3}', b"\xff\xfe", b" " * ((8 << 20) + 1)], ids=lambda data: repr(data[:9])
)
def test_a_damaged_record_of_lessons_is_told_at_take_in_at_marking_and_in_the_report(room, tmp_path, data):
    source = put(tmp_path / "in", {"s1/A1.ipynb": work(room, "s1"), "s1/my_record.json": data})
    assert any("my_record.json" in words for words in taken(room, source).remarks)
    assert any("my_record.json" in flag for flag in marked(room)["s1"].flags)
    found = predictions.gather(room.course, room.sheet.name)
    assert "1 record could not be read" in predictions.section(found)


def test_links_and_special_files_are_told(room, tmp_path):
    source = put(tmp_path / "in", {"s1/A1.ipynb": work(room, "s1")})
    (source / "s1" / "more.ipynb").symlink_to("/etc/hostname")
    (source / "s2").symlink_to("/etc")
    os.mkfifo(source / "s1" / "pipe")
    said = " ".join(taken(room, source).unknown)
    for words in (
        "'s1/more.ipynb' is a link to another place",
        "'s2' is a link to another place",
        "'s1/pipe' is no ordinary file",
    ):
        assert words in said


def test_a_warning_about_whose_work_it_is_comes_before_all_junk_of_one_submission_and_of_many(room, tmp_path):
    files = {f"{number:02}.ipynb": b"{}" for number in range(60)}
    files |= {f"group/{number:04}.ipynb": b"{}" for number in range(400)}
    files["zz.ipynb"] = b'{"metadata": {"gearkit": {"learner": "s2"}}}'
    files["zz s1 and s2.ipynb"] = b"{}"
    told = taken(room, put(tmp_path / "in", files)).unknown
    assert "may belong to s1 or s2" in told[0] + told[1]
    assert "it says of itself that it is s2's" in told[0] + told[1]
    assert len(told) <= take_in.MOST_NOTES + 1
    assert told[-1].startswith("And ")
    assert sum("'group/" in words for words in told) <= take_in.MOST_EACH + 1


def test_thousands_of_readable_files_of_one_learner_are_neither_compared_with_each_other_nor_all_kept(room, tmp_path):
    class Counted(bytes):
        looked = 0

        def __contains__(self, piece: object) -> bool:
            Counted.looked += 1
            return bytes.__contains__(self, piece)

    files = [incoming.Incoming(f"s1/{number}.ipynb", Counted(b"{}"), NOON) for number in range(5000)]
    files += [incoming.Incoming(f"s1/{number}.dat", b"", NOON) for number in range(5000)]
    files.append(incoming.Incoming("s1/A1.ipynb", Counted(work(room, "s1")), NOON))
    chosen, odd = [], []
    kept = take_in.kept_of("s1", files, "A1.ipynb", [item.encode() for item in room.sheet.item_ids], chosen, odd)
    assert len(kept) <= take_in.MOST_FILES_EACH
    assert kept[0].path == "s1/A1.ipynb"
    assert "5001 notebooks" in chosen[0]
    assert any("more than" in words for words in odd)
    assert Counted.looked <= take_in.MOST_FILES_EACH * len(room.sheet.item_ids)


def test_a_class_with_invented_pictures_shows_the_lessons_own_and_says_what_was_left_out(room):
    def pair(number: int, panel: str) -> list[dict[str, object]]:
        return [
            {"kind": "prediction", "prediction": f"p{number}", "lesson": "03", "panel": panel, "said": {"kind": "a"}},
            {"kind": "reveal", "prediction": f"p{number}", "found": {"kind": "a"}},
        ]

    for learner in ("s1", "s2", "s3"):
        events = pair(0, "one set") + [one for number in range(1, 200) for one in pair(number, f"{learner} invented {number}")]
        room.hand_in(learner, json.dumps({"events": events}).encode(), "my_record.json")
    found = predictions.gather(room.course, room.sheet.name)
    assert found.panels[0] == predictions.Panel("03", "one set", 3, 3, 0, 0)
    assert len(found.panels) <= predictions.MOST_ROWS
    said = predictions.section(found)
    assert f"And {3 * (predictions.MOST_PANELS - 1) + 1 - predictions.MOST_ROWS} more" in said
    assert f"3 records with more than {predictions.MOST_PANELS} pictures, more than the lessons have" in said
