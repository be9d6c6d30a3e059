"""Exchange files: each against its field list, and back again without loss."""

from __future__ import annotations

import csv
import datetime
import io
import json
import uuid
import zipfile
from dataclasses import replace

import pytest

from gearkit.words.errors import UsageError
from graders.book import record
from graders.course import course as course_folder
from graders.course import roster as class_list
from graders.report import exports
from graders.report.exports import data, xapi
from graders.report.mark_files import read_csv
from tests.report.sheets import ROSTER, marked_sheet
from tests.support.exchange_files import ags_scores, oneroster_tables, xapi_statements

# OneRoster CSV binding 1.2(.1), cross-read in two public implementations.
LINE_ITEMS = (
    "sourcedId,status,dateLastModified,title,description,assignDate,dueDate,classSourcedId,categorySourcedId,"
    "academicSessionSourcedId,resultValueMin,resultValueMax,schoolSourcedId"
)
RESULTS = (
    "sourcedId,status,dateLastModified,lineItemSourcedId,studentSourcedId,scoreStatus,score,scoreDate,comment,"
    "textScore,classSourcedId,inProgress,incomplete,late,missing"
)
CATEGORIES = "sourcedId,status,dateLastModified,title,weight"
# LTI AGS 2.0 score body, two platform vendors' developer pages.
AGS_PROGRESS = {"Initialized", "Started", "InProgress", "Submitted", "Completed"}
AGS_GRADING = {"FullyGraded", "Pending", "PendingManual", "Failed", "NotReady"}


@pytest.fixture
def course(tmp_path):
    made = course_folder.create(tmp_path / "at214", course_id="AT-214", title="Automatic transmissions")
    class_list.write(ROSTER, made.roster_file)
    record.write(marked_sheet(), made.marks_file("sheet1"))
    record.write(replace(marked_sheet(), sheet="sheet2"), made.marks_file("sheet2"))
    made.sheet_file("sheet1").parent.mkdir(parents=True, exist_ok=True)
    made.sheet_file("sheet1").write_text(
        'title = "One set, \\"quoted\\", and more"\ndue = 2026-10-05T17:00:00+01:00\n', encoding="utf-8"
    )
    return made


def exported(course, kind, name):
    path = course.folder / name
    assert exports.write(course, kind, path) == 2
    return path


def test_oneroster_tables_have_exactly_the_fields_of_the_binding(course):
    with zipfile.ZipFile(exported(course, "oneroster", "marks.zip")) as archive:
        heads = {name: archive.read(name).decode().split("\r\n")[0] for name in archive.namelist()}
    assert heads == {
        "manifest.csv": "propertyName,value",
        "categories.csv": CATEGORIES,
        "lineItems.csv": LINE_ITEMS,
        "results.csv": RESULTS,
    }


def test_oneroster_manifest_names_all_files_and_marks_the_three_written_as_bulk(course):
    tables = oneroster_tables(exported(course, "oneroster", "marks.zip"))
    manifest = {row["propertyName"]: row["value"] for row in tables["manifest"]}
    named = {key: value for key, value in manifest.items() if key.startswith("file.")}
    assert len(named) == 21
    assert {key for key, value in named.items() if value == "bulk"} == {"file.categories", "file.lineItems", "file.results"}
    assert (manifest["manifest.version"], manifest["oneroster.version"]) == ("1.0", "1.2")


def test_oneroster_results_point_to_line_items_and_line_items_to_their_category(course):
    tables = oneroster_tables(exported(course, "oneroster", "marks.zip"))
    line_items = {row["sourcedId"]: row for row in tables["lineItems"]}
    assert {row["lineItemSourcedId"] for row in tables["results"]} == set(line_items)
    assert {row["categorySourcedId"] for row in tables["lineItems"]} == {tables["categories"][0]["sourcedId"]}
    ids = [row["sourcedId"] for table in ("lineItems", "results", "categories") for row in tables[table]]
    assert len(ids) == len(set(ids))


def test_oneroster_results_come_back_with_mark_lateness_and_absence(course):
    results = oneroster_tables(exported(course, "oneroster", "marks.zip"))["results"][:5]
    found = [(r["studentSourcedId"], r["score"], r["late"], r["missing"], r["scoreStatus"]) for r in results]
    assert found == [
        ("fh001", "10", "false", "false", "fully graded"),
        ("fh002", "7", "false", "false", "fully graded"),
        ("fh003", "1.5", "true", "false", "fully graded"),
        ("fh004", "2", "false", "false", "fully graded"),
        ("fh005", "", "false", "true", "not submitted"),
    ]


def test_a_title_with_quotes_and_commas_comes_back_from_oneroster(course):
    tables = oneroster_tables(exported(course, "oneroster", "marks.zip"))
    assert tables["lineItems"][0]["title"] == 'One set, "quoted", and more'
    assert tables["lineItems"][0]["dueDate"] == "2026-10-05"


def test_the_same_marks_give_the_same_zip_byte_for_byte(course):
    first = exported(course, "oneroster", "first.zip").read_bytes()
    assert exported(course, "oneroster", "second.zip").read_bytes() == first


def test_ags_scores_hold_only_known_fields_and_words_and_come_back(course):
    sheets = ags_scores(exported(course, "ags", "scores.json"))
    assert [sheet["lineItem"]["tag"] for sheet in sheets] == ["sheet1", "sheet2"]
    assert set(sheets[0]["lineItem"]) == {"label", "scoreMaximum", "resourceId", "tag"}
    scores = sheets[0]["scores"]
    assert [(s["userId"], s.get("scoreGiven")) for s in scores] == [
        ("fh001", 10), ("fh002", 7), ("fh003", 1.5), ("fh004", 2), ("fh005", None),
    ]  # fmt: skip
    for score in scores:
        assert score["activityProgress"] in AGS_PROGRESS
        assert score["gradingProgress"] in AGS_GRADING
        assert "." in score["timestamp"]  # sub-seconds are asked for
        assert datetime.datetime.fromisoformat(score["timestamp"]).tzinfo is not None


def test_ags_says_why_a_late_mark_is_lower(course):
    late = ags_scores(exported(course, "ags", "scores.json"))[0]["scores"][2]
    assert late["comment"] == "2.5 marks earned, 1 taken off for lateness."


def test_xapi_statements_hold_what_the_specification_asks_for_and_come_back(course):
    statements = xapi_statements(exported(course, "xapi", "marks.jsonl"))
    assert len(statements) == 2 * 4 * (3 + 1)  # two sheets, four learners, three items and the sheet itself
    for one in statements:
        assert set(one) >= {"id", "actor", "verb", "object"}
        uuid.UUID(one["id"])
        assert one["actor"]["account"].keys() == {"homePage", "name"}
        assert one["verb"]["id"].startswith("http")
        assert one["object"]["id"].startswith("https://")
        score = one["result"]["score"]
        assert -1 <= score["scaled"] <= 1
        assert score["min"] <= score["raw"] <= score["max"]
    assert len({one["id"] for one in statements}) == len(statements)


def test_xapi_keeps_what_was_answered_and_whether_it_was_right(course):
    statements = xapi_statements(exported(course, "xapi", "marks.jsonl"))
    mine = [one for one in statements if one["actor"]["account"]["name"] == "fh003" and "sheet1" in one["object"]["id"]]
    answered = {one["object"]["id"].rsplit("/", 1)[1]: one["result"] for one in mine[:3]}
    assert answered["L02-02"]["response"] == "-433"
    assert answered["L02-03"]["response"] == "sun[.]1300[,]planet[.]7"
    assert answered["L02-08"] == {
        "score": {"scaled": 0, "raw": 0, "min": 0, "max": 2}, "success": False, "completion": False,
    }  # fmt: skip


def test_xapi_has_no_score_where_an_item_was_withdrawn_for_it_would_have_no_range(course):
    gathered = data.gather(course)
    sheet = gathered.sheets[0]
    first = sheet.marks.learners[0]
    items = (replace(first.items[0], score=0.0, max=0.0), *first.items[1:])
    marks = replace(sheet.marks, learners=(replace(first, items=items), *sheet.marks.learners[1:]))
    (withdrawn, *others) = xapi.statements(replace(gathered, sheets=(replace(sheet, marks=marks),)))
    assert "score" not in withdrawn["result"]
    assert withdrawn["result"]["completion"] is True
    assert all(one["result"]["score"]["min"] < one["result"]["score"]["max"] for one in others)


def test_xapi_leaves_learners_words_out_when_told_to(course, tmp_path):
    gathered = replace(data.gather(course), responses=False)
    xapi.write(gathered, tmp_path / "quiet.jsonl")
    assert all("response" not in one["result"] for one in xapi_statements(tmp_path / "quiet.jsonl"))


def test_the_csv_of_a_course_has_every_learner_once_and_sums_what_is_missing_as_nothing(course):
    rows = read_csv(exported(course, "csv", "marks.csv"))
    assert [row["learner"] for row in rows] == ["fh001", "fh002", "fh003", "fh004", "fh005"]
    assert [(float(row["final"]), float(row["max"])) for row in rows] == [(20, 20), (14, 20), (3, 20), (4, 20), (0, 20)]
    assert rows[4]["sheet1 final"] == ""
    assert float(rows[2]["sheet1 penalty"]) == 1


def test_every_cell_of_text_in_the_csv_is_quoted(course):
    text = exported(course, "csv", "marks.csv").read_text(encoding="utf-8-sig")
    assert '"Achterberg, Ilse"' in text
    assert len({len(row) for row in csv.reader(io.StringIO(text))}) == 1


def test_ids_of_the_outside_come_from_exchange_toml(course):
    (course.folder / "exchange.toml").write_text(
        'school = "fernhallow"\nclass = "AT-214-2026"\nacademic_session = "2026-autumn"\n'
        'home_page = "https://fernhallow.example"\n'
    )
    line_item = oneroster_tables(exported(course, "oneroster", "marks.zip"))["lineItems"][0]
    assert line_item["schoolSourcedId"] == "fernhallow"
    assert line_item["academicSessionSourcedId"] == "2026-autumn"
    assert line_item["classSourcedId"] == "AT-214-2026"


def test_faults_of_exchange_toml_are_named_together(course):
    (course.folder / "exchange.toml").write_text('scool = "fernhallow"\nclass = 3\n')
    with pytest.raises(UsageError, match=r"scool: unknown; known are school.*class: found 3, expected a text"):
        exports.write(course, "csv", course.folder / "marks.csv")


# Retakes, identities of the outside, what could not be read: one rule for OneRoster and AGS alike.


@pytest.fixture
def with_retake(course):
    """Sheet 2 becomes a retake of sheet 1: best counts, capped at 70 percent; fh005 hands in only there, fh002 worse."""
    first, second, third, _ = marked_sheet().learners
    fifth = replace(first, learner="fh005", name="Quist Pernille", handed_in="2026-10-12T09:00:00+01:00")
    worse = replace(third, learner="fh002", name=second.name, score=2.5, penalty=0.0, handed_in="2026-10-11T09:00:00+01:00")
    again = replace(marked_sheet(), sheet="sheet2", learners=(worse, fifth), absent=())
    record.write(again, course.marks_file("sheet2"))
    plan = {"sheet2": {"of": "sheet1", "counting": "best", "cap": 70, "learners": ["fh002", "fh005"]}}
    (course.folder / "retakes.json").write_text(json.dumps(plan))
    return course


def test_a_retake_is_part_of_its_sheet_and_no_line_item_of_its_own(with_retake):
    tables = oneroster_tables(exported(with_retake, "oneroster", "marks.zip"))
    assert [row["title"] for row in tables["lineItems"]] == ['One set, "quoted", and more']
    found = {row["studentSourcedId"]: (row["score"], row["scoreStatus"], row["comment"]) for row in tables["results"]}
    assert found["fh001"] == ("10", "fully graded", "")
    # Best of 7 and 2.5; and 10 of the retake capped at 70 percent of 10.
    assert found["fh002"] == ("7", "fully graded", "First attempt: 7 marks; second: 2.5 marks. What counts: 7 marks.")
    assert found["fh005"] == ("7", "fully graded", "First attempt: nothing handed in; second: 10 marks. What counts: 7 marks.")
    (sheet,) = ags_scores(exported(with_retake, "ags", "scores.json"))
    scores = {score["userId"]: score for score in sheet["scores"]}
    assert {user: score["scoreGiven"] for user, score in scores.items()} == {
        "fh001": 10, "fh002": 7, "fh003": 1.5, "fh004": 2, "fh005": 7,
    }  # fmt: skip
    assert scores["fh005"]["timestamp"].startswith("2026-10-12T09:00:00")
    assert scores["fh005"]["comment"] == "First attempt: nothing handed in; second: 10 marks. What counts: 7 marks."


def test_what_could_not_be_read_waits_for_a_person_and_is_no_zero(course):
    first, second, third, fourth = marked_sheet().learners
    failed = (record.Failure("fh004", "The file is empty."),)
    record.write(replace(marked_sheet(), learners=(first, second, third, replace(fourth, score=0.0)), failed=failed),
                 course.marks_file("sheet1"))  # fmt: skip
    row = oneroster_tables(exported(course, "oneroster", "marks.zip"))["results"][3]
    assert (row["studentSourcedId"], row["score"], row["scoreStatus"], row["missing"]) == ("fh004", "", "submitted", "false")
    score = ags_scores(exported(course, "ags", "scores.json"))[0]["scores"][3]
    assert (score["activityProgress"], score["gradingProgress"]) == ("Submitted", "PendingManual")
    assert "scoreGiven" not in score
    statements = xapi_statements(exported(course, "xapi", "marks.jsonl"))
    told = [one for one in statements if one["actor"]["account"]["name"] == "fh004"]
    assert {one["object"]["id"].split("/")[-2 if "L02" in one["object"]["id"] else -1] for one in told} == {"sheet2"}


def test_identities_of_the_outside_stand_in_every_form_but_the_table_and_never_beside_pseudonyms(course):
    (course.folder / "exchange.toml").write_text('[users]\nfh001 = "a7c1-4410"\n')
    assert oneroster_tables(exported(course, "oneroster", "marks.zip"))["results"][0]["studentSourcedId"] == "a7c1-4410"
    assert ags_scores(exported(course, "ags", "scores.json"))[0]["scores"][0]["userId"] == "a7c1-4410"
    names = {one["actor"]["account"]["name"] for one in xapi_statements(exported(course, "xapi", "marks.jsonl"))}
    assert names == {"a7c1-4410", "fh002", "fh003", "fh004"}
    assert read_csv(exported(course, "csv", "marks.csv"))[0]["learner"] == "fh001"
    exports.write(course, "ags", course.folder / "quiet.json", pseudonyms=True)
    text = (course.folder / "quiet.json").read_text()
    assert "a7c1-4410" not in text
    assert "fh00" not in text


def test_faults_of_the_identities_are_named_together(course):
    (course.folder / "exchange.toml").write_text('[users]\nfh001 = "a"\nfh002 = "a"\nfh003 = 7\n')
    with pytest.raises(
        UsageError, match=r"users.fh003: found 7, expected a text in quotes; users: 'a' stands for two learners"
    ):
        exports.write(course, "ags", course.folder / "scores.json")
    (course.folder / "exchange.toml").write_text('users = "all"\n')
    with pytest.raises(UsageError, match=r"users: found 'all', expected a table \[users\]"):
        exports.write(course, "ags", course.folder / "scores.json")


def test_a_statement_is_never_changed_a_mark_that_came_out_otherwise_is_another_one(course):
    before = xapi_statements(exported(course, "xapi", "one.jsonl"))
    first, *others = marked_sheet().learners
    lower = replace(first, score=7.0, items=(replace(first.items[0], score=0.0, verdict="wrong"), *first.items[1:]))
    record.write(replace(marked_sheet(), learners=(lower, *others)), course.marks_file("sheet1"))
    after = xapi_statements(exported(course, "xapi", "two.jsonl"))
    assert len(after) == len(before)
    new = [one for one in after if one["id"] not in {old["id"] for old in before}]
    assert [(one["verb"]["display"]["en"], one["result"]["score"]["raw"]) for one in new] == [("answered", 0), ("scored", 7)]
    by_id = {one["id"]: one for one in before}
    assert all(one == by_id[one["id"]] for one in after if one["id"] in by_id)


def test_a_statement_without_a_known_time_of_handing_in_has_none(course):
    statements = xapi_statements(exported(course, "xapi", "marks.jsonl"))
    timed = {one["actor"]["account"]["name"]: one.get("timestamp", "") for one in statements}
    assert timed["fh003"] == "2026-10-06T18:00:00.000+01:00"
    assert timed["fh004"] == ""


def test_activities_have_addresses_without_blanks_and_say_what_kind_of_answer_they_take(course):
    settings = course.folder / "course.toml"
    settings.write_text(settings.read_text().replace('id = "AT-214"', 'id = "AT 214/é"'))
    course = course_folder.open_course(course.folder)
    statements = xapi_statements(exported(course, "xapi", "marks.jsonl"))
    ids = {one["object"]["id"] for one in statements}
    assert "https://example.invalid/AT%20214%2F%C3%A9/sheet1/L02-02" in ids
    kinds = {
        one["object"]["id"].rsplit("/", 1)[1]: one["object"]["definition"].get("interactionType") for one in statements[:4]
    }
    assert kinds == {"L02-02": "other", "L02-03": "performance", "L02-08": "other", "sheet1": None}
    for one in statements:
        definition = one["object"]["definition"]
        assert ("interactionType" in definition) is (definition.get("type", "").endswith("/cmi.interaction"))


def test_an_unknown_kind_is_refused_with_the_known_ones(course):
    with pytest.raises(UsageError, match="no exchange file 'ods'; known are oneroster, csv, xapi, ags"):
        exports.write(course, "ods", course.folder / "marks.ods")


def test_a_course_without_marks_says_what_to_do(tmp_path):
    made = course_folder.create(tmp_path / "empty")
    with pytest.raises(UsageError, match=r"no marked sheet to export. Mark one first: graders mark"):
        exports.write(made, "csv", tmp_path / "marks.csv")


def test_what_a_receiver_needs_and_stands_nowhere_is_named(tmp_path):
    from graders.report import exports
    from tests.graders.classroom import Classroom

    course = Classroom(tmp_path).course
    told = exports.to_be_set(course, "xapi")
    assert "home_page (now https://example.invalid, which names every actor and object)" in told
    assert "under [users] the receiver's ids of 3 learners" in told
    (course.folder / "exchange.toml").write_text(
        'home_page = "https://school.example"\n[users]\ns1 = "1"\ns2 = "2"\ns3 = "3"\n'
    )
    assert exports.to_be_set(course, "xapi") == ""
    assert exports.to_be_set(course, "ags") == ""
    assert "school; class; academic_session" in exports.to_be_set(course, "oneroster")
    assert exports.to_be_set(course, "csv") == ""
