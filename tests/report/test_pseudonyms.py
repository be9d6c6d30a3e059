"""Files that leave the class: nothing in them names a learner, and the same learner has the same pseudonym throughout."""

from __future__ import annotations

import csv
import io
import zipfile

import pytest

from graders.book import record
from graders.course import course as course_folder
from graders.course import roster as class_list
from graders.report import exports
from graders.report.pseudonyms import Pseudonyms
from tests.report.sheets import ROSTER, marked_sheet
from tests.support.exchange_files import ags_scores

SECRET = bytes(range(32))


@pytest.fixture
def course(tmp_path):
    made = course_folder.create(tmp_path / "at214", course_id="AT-214", title="Automatic transmissions")
    class_list.write(ROSTER, made.roster_file)
    record.write(marked_sheet(), made.marks_file("sheet1"))
    return made


def test_a_pseudonym_is_the_same_every_time_and_another_with_another_secret():
    names = Pseudonyms(SECRET, ["fh001", "fh002"])
    assert names.of("fh001") == Pseudonyms(SECRET, ["fh001"]).of("fh001") != names.of("fh002")
    assert names.of("fh001") != Pseudonyms(SECRET[::-1], ["fh001"]).of("fh001")


def test_ten_thousand_learners_have_ten_thousand_pseudonyms():
    identities = [f"learner{n}" for n in range(10_000)]
    names = Pseudonyms(SECRET, identities)
    assert len({names.of(identity) for identity in identities}) == 10_000


def test_a_mark_sheet_keeps_marks_and_mistakes_but_neither_names_nor_answers():
    sheet = marked_sheet()
    names = Pseudonyms(SECRET, [one.id for one in ROSTER])
    quiet = names.marks(sheet, ROSTER)
    assert sorted(one.final for one in quiet.learners) == sorted(one.final for one in sheet.learners)
    assert {code for one in quiet.learners for item in one.items for code in item.mistakes} == {"HELDMOVES", "SIGN"}
    assert all(item.given == item.read_as == {} for one in quiet.learners for item in one.items)
    assert [one.learner for one in quiet.learners] == sorted(one.learner for one in quiet.learners)


@pytest.mark.parametrize("kind", exports.KINDS)
def test_no_exchange_file_names_a_learner(course, kind):
    path = course.folder / f"marks.{kind}"
    exports.write(course, kind, path, pseudonyms=True)
    if kind == "oneroster":
        with zipfile.ZipFile(path) as archive:
            text = "".join(archive.read(name).decode() for name in archive.namelist())
    else:
        text = path.read_text(encoding="utf-8")
    for one in ROSTER:
        assert one.id not in text
        assert one.name not in text
    for words in ("-435.5", "sheet (1)", "alert"):
        assert words not in text
    assert text.count("P-") >= len(ROSTER)


def test_times_in_a_file_without_names_hold_the_day_only(course):
    ags_file = course.folder / "scores.json"
    exports.write(course, "ags", ags_file, pseudonyms=True)
    scores = [score for score in ags_scores(ags_file)[0]["scores"] if "2026-10" in score["timestamp"]]
    assert {score["timestamp"][10:] for score in scores} == {"T00:00:00.000+00:00"}


def test_groups_stay_in_a_file_without_names(course):
    path = course.folder / "marks.csv"
    exports.write(course, "csv", path, pseudonyms=True)
    rows = csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig")))
    assert sorted(row["group"] for row in rows) == ["AT-214-D"] * 2 + ["AT-214-E"] * 3
