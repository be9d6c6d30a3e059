"""The rules of a sheet: each is told to the learner, and each that can be seen to is."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import os
from collections.abc import Mapping
from pathlib import Path

import pytest

from gearkit.answers.judge import marking
from gearkit.words.errors import UsageError
from graders.book import record
from graders.cli.main import main
from graders.course import course as courses
from graders.course.roster import Learner, Roster
from graders.hand_out import hand_out
from graders.mark import batch
from graders.mark.decide import decisions
from graders.mark.decide.decisions import Decision, DecisionKind
from graders.sheets import drawn, first_page, previews, sheets
from graders.sheets.sheet_rules import CALCULATORS, SheetRules
from graders.take_in import take_in
from tests.graders.classroom import NINE_OF_LESSON_3, Classroom, call, computed, right

CLASS = Roster((Learner("s1", "Ann Lee", "D"), Learner("s2", "Kåre Ek", "D", extra_time=25), Learner("s3", "Cy Vane", "E")))
# Later than any hint that a test gives; a hint after the hand-in costs nothing.
AFTER = "2150-02-03 10:00:00 UTC"
COSTING = SheetRules(attempts=2, hint_cost=25, calculator="basic", minutes=90)


def head(room: Classroom, learner: str) -> str:
    return str(room.copy(learner)["cells"][0]["source"])


def types(capsys: pytest.CaptureFixture[str], *words: object, code: int = 0) -> str:
    found = main([str(word) for word in words])
    told = capsys.readouterr()
    assert found == code, told.err
    return told.out + told.err


def test_the_head_of_every_copy_tells_all_rules_and_extra_time_only_to_whom_it_belongs(tmp_path: Path) -> None:
    room = Classroom(tmp_path, due="2026-02-03 10:00", roster=CLASS, rules=COSTING)
    ann, kare = head(room, "s1"), head(room, "s2")
    for rule in (
        "9 exercises, 26 marks.",
        "You can hand in 2 times; the last of these counts.",
        CALCULATORS["basic"],
        "each costs 25 percent of its exercise's marks",
        "each day begun takes 10 percent of all marks",
        "Up to 15 minutes late is still in time.",
    ):
        assert rule in ann
        assert rule in kare
    assert "Due 2026-02-03 10:00 UTC.\n" in ann
    assert "Working time 90 minutes.\n" in ann
    # A quarter of 90 minutes is 22.5, and a begun minute is given whole.
    assert "Due 2026-02-03 10:23 UTC, your 23 minutes of extra time counted." in kare
    assert "Working time 90 minutes; yours is 113 minutes." in kare
    assert "113" not in room.course.release_file("A1").read_text(encoding="utf-8")


def test_the_preview_tells_the_learner_the_rules_and_the_marker_what_nobody_can_see_kept(tmp_path: Path) -> None:
    room = Classroom(tmp_path, due="2026-02-03 10:00", roster=CLASS, rules=COSTING)
    shown = previews.for_learner(room.sheet, "s2", room.course.secret(), course=room.course)
    marker = previews.for_learner(room.sheet, "s2", room.course.secret(), course=room.course, answers=True)
    for rule in first_page.lines(room.sheet, room.course, CLASS.find("s2")):
        assert f"- {rule}" in shown
    assert "For the marker" not in shown
    assert "For the marker: Nobody can see when a learner began." in marker
    for entry in room.sheet.items:
        assert all(hint in marker and hint not in shown for hint in entry.item.hints)


def test_lateness_begins_for_each_learner_when_their_own_time_is_over(tmp_path: Path) -> None:
    # Without grace a minute decides: due at 10:00, for the learner with a quarter more of 90 minutes at 10:23.
    room = Classroom(tmp_path, due="2026-02-03 10:00", roster=CLASS, rules=SheetRules(minutes=90))
    settings = room.course.folder / "course.toml"
    settings.write_text(settings.read_text().replace("grace_minutes = 15", "grace_minutes = 0"))
    room.course = hand_out_course(room)
    for learner, time in (("s1", "10:01"), ("s2", "10:23"), ("s3", "10:00")):
        room.hand_in(learner, room.copy(learner, right), time=f"2026-02-03 {time}:00 UTC")
    marks = {one.learner: one for one in batch.mark_sheet(room.course, room.sheet).learners}
    shown = json.loads(room.course.autograded_file("s2", "A1").read_text(encoding="utf-8"))
    assert "yours is 113 minutes" in shown["cells"][0]["source"]
    # A day begun takes 10 percent of 26 marks.
    assert [marks[learner].penalty for learner in ("s1", "s2", "s3")] == [2.6, 0, 0]
    # A decision about somebody makes lateness be worked out anew; extra time stays counted.
    decisions.keep(room.course, Decision(DecisionKind.OVERRIDE, "A1", "me", "seen", item="L03-02", learner="s2", score=1.0))
    again = {one.learner: one.penalty for one in batch.decided_again(room.course, room.sheet).marks.learners}
    assert again == {"s1": 2.6, "s2": 0, "s3": 0}


def hand_out_course(room: Classroom):
    from graders.course import course as courses

    return courses.open_course(room.course.folder)


def test_a_hint_costs_its_share_of_the_item_whether_the_notebook_is_read_or_run(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path, roster=CLASS, rules=SheetRules(hint_cost=25))
    room.hand_in("s1", room.copy("s1", right), time=AFTER)
    room.hand_in("s2", room.copy("s2", computed), time=AFTER)
    room.hand_in("s3", room.copy("s3", lambda variant: "pass"), time=AFTER)
    item = room.sheet.items[0].item
    for learner in ("s1", "s2", "s3"):
        told = types(capsys, "hint", room.course.folder, "A1", learner, item.id, "--by", "me")
        assert f"Hint 1 of 3 to {item.id}, for {learner}" in told
        assert item.hints[0] in told
    types(capsys, "hint", room.course.folder, "A1", "s1", item.id, "--by", "me")
    batch.mark_sheet(room.course, room.sheet)
    marks = {one.learner: one for one in record.read(room.course.marks_file("A1")).learners}
    first = {learner: one.items[0] for learner, one in marks.items()}
    # The item carries 6 marks: one hint takes 1.5, two take 3, and nothing can be taken from nothing.
    assert [(first[who].earned, first[who].hint_cost, first[who].score, first[who].hints) for who in ("s1", "s2", "s3")] == [
        (6, 3, 3, 2),
        (6, 1.5, 4.5, 1),
        (0, 0, 0, 1),
    ]
    assert (first["s1"].way, first["s2"].way) == ("read", "run")
    for one in marks.values():
        assert one.score == sum(mark.score for mark in one.items)
        assert one.to_json()["score"] == one.score
    assert (marks["s1"].final, marks["s2"].final, marks["s3"].final) == (23, 24.5, 0)


def test_hints_come_one_after_the_other_and_the_last_again_costs_nothing(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path, roster=CLASS, rules=SheetRules(hint_cost=40))
    room.hand_in("s1", room.copy("s1", right), time=AFTER)
    batch.mark_sheet(room.course, room.sheet)
    item = room.sheet.items[1].item
    told = [types(capsys, "hint", room.course.folder, "A1", "s1", item.id, "--by", "me") for _ in range(4)]
    assert "$" in "".join(item.hints)
    hints = [hint.replace("$", "").replace("\\,", " ").replace("-", "−") for hint in item.hints]
    assert [hints[min(number, 2)] in text.replace("-", "−") for number, text in enumerate(told)] == [True] * 4
    assert "s1: L03-02 2 of 2 → 1.2 of 2" in told[0]
    assert "every hint to L03-02 already (3 in all); the last one again, at no cost" in told[3]
    mark = record.read(room.course.marks_file("A1")).learners[0].items[1]
    # Three hints at 40 percent would be more than there is.
    assert (mark.earned, mark.hint_cost, mark.score, mark.hints) == (2, 2, 0, 3)
    types(capsys, "take-back", room.course.folder, 1, "--reason", "wrong learner", "--by", "me")
    mark = record.read(room.course.marks_file("A1")).learners[0].items[1]
    assert (mark.hint_cost, mark.score, mark.hints) == (1.6, 0.4, 2)
    trail = [one["kind"] for one in json.loads(types(capsys, "trail", room.course.folder, "--json"))]
    assert trail.count("hint") == 3


@pytest.mark.parametrize(
    ("kind", "more", "left"),
    [
        (DecisionKind.FULL_MARKS, {}, (2, 0)),
        (DecisionKind.WITHDRAW, {}, (0, 0)),
        (DecisionKind.OVERRIDE, {"learner": "s1", "score": 1.5}, (1.5, 0)),
    ],
    ids=["full marks for everybody", "withdrawn", "override"],
)
def test_nobody_pays_for_a_hint_to_an_item_that_was_no_good_nor_twice_where_a_person_gave_the_mark(
    tmp_path: Path, kind: DecisionKind, more: Mapping[str, object], left: tuple[float, float]
) -> None:
    room = Classroom(tmp_path, roster=CLASS, rules=SheetRules(hint_cost=50))
    room.hand_in("s1", room.copy("s1", right), time=AFTER)
    decisions.keep(room.course, Decision(DecisionKind.HINT, "A1", "me", "asked for", item="L03-02", learner="s1"))
    batch.mark_sheet(room.course, room.sheet)
    assert record.read(room.course.marks_file("A1")).learners[0].items[1].score == 1
    decisions.keep(room.course, Decision(kind, "A1", "me", "because", item="L03-02", **more))
    mark = batch.decided_again(room.course, room.sheet).marks.learners[0].items[1]
    assert (mark.score, mark.hint_cost) == left


def test_what_hints_took_is_seen_on_feedback_report_trace_gradebook_and_in_the_table(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path, roster=CLASS, rules=SheetRules(hint_cost=50))
    for learner in ("s1", "s2"):
        room.hand_in(learner, room.copy(learner, right), time=AFTER)
    types(capsys, "hint", room.course.folder, "A1", "s1", "L03-02", "--by", "me")
    for command in ("mark", "hand-back", "report"):
        types(capsys, command, room.course.folder, "A1")
    pages = {
        learner: (room.course.feedback_folder(learner, "A1") / "A1.html").read_text(encoding="utf-8")
        for learner in ("s1", "s2")
    }
    assert "You were given 1 hint: your answer earned 2, and 1 came off for the hint." in pages["s1"]
    assert "hint:" not in pages["s2"]
    assert "Every item is right. Go on to the next lesson." in pages["s1"]
    page = (room.course.reports_folder("A1") / "class_report.html").read_text(encoding="utf-8")
    assert '<td>L03-02</td><td class="n">2 → 1</td><td>1 hint given</td>' in page
    assert "1 hint was given: 2 marks earned, 1 taken off" in types(capsys, "show", room.course.folder, "A1", "s1", "L03-02")
    table = (room.course.reports_folder("A1") / "marks.csv").read_text(encoding="utf-8-sig")
    rows = {row["learner"]: row for row in csv.DictReader(io.StringIO(table))}
    assert [(rows[who]["hint_cost"], rows[who]["score"], rows[who]["L03-02"]) for who in ("s1", "s2")] == [
        ("1.0", "25.0", "1.0"),
        ("0.0", "26.0", "2.0"),
    ]
    from graders.book import gradebook

    with gradebook.opened(room.course) as book:
        grade = book.find_grade("L03-02", "A1", "A1", "s1")
        assert (grade.score, grade.max_score) == (1, 2)
        assert "1 hint was given" in book.find_comment("L03-02", "A1", "A1", "s1").auto_comment


def test_hints_that_are_free_stand_in_the_sheet_and_on_a_sheet_without_there_are_none(tmp_path: Path, capsys) -> None:
    free = Classroom(tmp_path / "a", roster=CLASS, kind="practice", rules=SheetRules(hint_cost=0))
    none = Classroom(tmp_path / "b", roster=CLASS)
    for room, stands in ((free, True), (none, False)):
        text = "\n".join(cell["source"] for cell in room.copy("s1")["cells"])
        assert all(
            (f"<summary>Hint {n}</summary>\n\n{hint}\n" in text) is stands
            for entry in room.sheet.items
            for n, hint in enumerate(entry.item.hints, start=1)
        )
        assert ("Hints stand folded up" in text) is stands
        assert ("There are no hints." in text) is not stands
    refused = types(capsys, "hint", free.course.folder, "A1", "s1", "L03-02", "--by", "me", code=2)
    assert "stand in it and are free" in refused
    assert "is one without hints" in types(capsys, "hint", none.course.folder, "A1", "s1", "L03-02", "--by", "me", code=2)
    assert decisions.read(free.course) == decisions.read(none.course) == ()


def test_practice_is_never_late_and_counts_neither_in_totals_nor_in_exports(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path, roster=CLASS, due="2026-02-01 10:00")
    sheet = sheets.compose("lesson 2", "P1", kind="practice", due="2026-02-01 10:00")
    hand_out.hand_out(room.course, sheet, CLASS)
    room.hand_in("s1", room.copy("s1", right), time="2026-02-01 09:00:00 UTC")
    folder = room.course.submitted_folder("s1", "P1")
    folder.mkdir(parents=True)
    (folder / "P1.ipynb").write_bytes(room.course.handed_out_file("s1", "P1").read_bytes())
    (folder / "timestamp.txt").write_text("2026-02-02 09:00:00 UTC")
    for name in ("A1", "P1"):
        types(capsys, "mark", room.course.folder, name)
    assert record.read(room.course.marks_file("P1")).learners[0].penalty == 0
    types(capsys, "totals", room.course.folder)
    types(capsys, "export", room.course.folder, "--to", "csv", "-o", tmp_path / "all.csv")
    for path in (room.course.folder / "reports" / "course_marks.csv", tmp_path / "all.csv"):
        row = next(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig"))))
        assert float(row["max"]) == 26
        assert not any(column.startswith("P1") for column in row)


def handed(folder: Path, room: Classroom, number: int, day: int) -> Path:
    """A folder with a hand-in of s1 that has its number in it."""
    book = room.copy("s1", right if number == 2 else lambda variant: f"# {number}")
    place = folder / str(number) / "s1"
    place.mkdir(parents=True)
    (place / "A1.ipynb").write_text(json.dumps(book))
    at = dt.datetime(2026, 2, day, 10, tzinfo=dt.UTC).timestamp()
    os.utime(place / "A1.ipynb", (at, at))
    return folder / str(number)


def test_of_several_hand_ins_the_last_that_counts_is_marked_and_later_ones_are_kept_aside(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path, roster=CLASS, rules=SheetRules(attempts=2))
    told = [
        take_in.take_in(room.course, "A1", handed(tmp_path / "in", room, number, number), CLASS, replace=True)
        for number in (1, 2, 3)
    ]
    assert [one.taken for one in told] == [("s1",), ("s1",), ()]
    assert "handing in counts 2 times; the work of 2026-02-03 10:00:00 UTC came after that" in told[2].refused[0]
    # Taking the same in again neither counts nor keeps it once more.
    take_in.take_in(room.course, "A1", tmp_path / "in" / "3", CLASS, replace=True)
    one = batch.mark_sheet(room.course, room.sheet).learners[0]
    assert one.score == 26
    assert one.flags == ("Handing in counts 2 times; a later hand-in was put aside and not marked.",)
    types(capsys, "hand-back", room.course.folder, "A1")
    page = (room.course.feedback_folder("s1", "A1") / "A1.html").read_text(encoding="utf-8")
    assert "a later hand-in was put aside and not marked" in page
    assert "was unusual" not in page
    types(capsys, "remove", room.course.folder, "s1", "--yes")
    assert not list(room.course.folder.rglob("beyond-*"))


def test_in_the_exchange_folder_the_hand_ins_are_counted_by_their_times(tmp_path: Path) -> None:
    room = Classroom(tmp_path, roster=CLASS, rules=SheetRules(attempts=2))
    for number, (day, name) in enumerate(((3, "c"), (2, "b"), (1, "a")), start=1):
        folder = tmp_path / "inbound" / f"s1+A1+2026-02-0{day} 10:00:00 UTC+{name}"
        folder.mkdir(parents=True)
        book = room.copy("s1", right if day == 2 else lambda variant, number=number: f"# {number}")
        (folder / "A1.ipynb").write_text(json.dumps(book))
        (folder / "timestamp.txt").write_text(f"2026-02-0{day} 10:00:00 UTC")
    for _ in range(2):
        told = take_in.take_in(room.course, "A1", tmp_path / "inbound", CLASS)
        assert "the work of 2026-02-03 10:00:00 UTC came after that" in told.refused[0]
    one = batch.mark_sheet(room.course, room.sheet).learners[0]
    assert (one.score, one.handed_in, len(one.flags)) == (26, "2026-02-02T10:00:00+00:00", 1)


def test_more_hand_ins_than_count_after_marking_are_noticed_when_marking_goes_on(tmp_path: Path) -> None:
    room = Classroom(tmp_path, roster=CLASS, rules=SheetRules(attempts=1))
    take_in.take_in(room.course, "A1", handed(tmp_path / "in", room, 2, 2), CLASS)
    assert batch.mark_sheet(room.course, room.sheet).learners[0].flags == ()
    take_in.take_in(room.course, "A1", handed(tmp_path / "in", room, 3, 3), CLASS)
    one = batch.mark_sheet(room.course, room.sheet, resume=True).learners[0]
    assert (one.score, len(one.flags)) == (26, 1)


def test_a_rule_that_cannot_be_meant_is_refused_with_all_others() -> None:
    with pytest.raises(UsageError) as caught:
        sheets.compose(
            "lesson 3",
            "A1",
            kind="exam",
            marks={"L03-01": 0},
            rules=SheetRules(attempts=21, hint_cost=101, calculator="abacus", minutes=2000),
        )
    for words in (
        "kind: found 'exam'",
        "attempts: found 21",
        "hint_cost: found 101",
        "calculator: found 'abacus'",
        "minutes: found 2000",
        "L03-01: marks: found 0",
    ):
        assert words in str(caught.value)


def test_handing_out_again_with_other_rules_says_that_the_copies_tell_the_old_ones(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path, roster=CLASS)
    assert not hand_out.hand_out(room.course, room.sheet, CLASS).outdated
    later = sheets.compose(NINE_OF_LESSON_3, "A1", rules=SheetRules(attempts=1))
    assert hand_out.hand_out(room.course, later, CLASS).outdated
    assert not hand_out.hand_out(room.course, later, CLASS).outdated


def test_right_answers_wait_for_whoever_has_extra_time_on_a_retake(tmp_path: Path) -> None:
    from graders.mark.decide import retakes

    room = Classroom(tmp_path, roster=CLASS, rules=SheetRules(minutes=60))
    retakes.offer(room.course, room.sheet, ["s1", "s2"], due=dt.datetime(2026, 2, 3, 10, 0))
    # A quarter of an hour more for s2.
    for minute, still in ((0, True), (14, True), (16, False)):
        now = dt.datetime(2026, 2, 3, 10, minute, tzinfo=dt.UTC)
        assert bool(retakes.still_open(room.course, "A1", now)) is still


def test_a_retake_and_a_note_are_told_at_the_head_and_who_was_not_asked_is_not_missing(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path, roster=CLASS)
    later = sheets.compose("lesson 2", "B1", note="Hand in at the desk.")
    hand_out.hand_out(room.course, later, CLASS)
    sheets.write(later, tmp_path / "B1.toml")
    assert sheets.read(tmp_path / "B1.toml") == later
    told = types(capsys, "retake", room.course.folder, "B1", "--learner", "s1", "--count", "average", "--cap", "70")
    assert "Retake B1-retake: 1 copy made" in told
    copy = json.loads(room.course.handed_out_file("s1", "B1-retake").read_text(encoding="utf-8"))
    assert (
        "- Hand in at the desk. You have been here before: of your two attempts the average counts, and this one brings "
        "at most 70 percent of the marks."
    ) in copy["cells"][0]["source"]
    (tmp_path / "in").mkdir()
    told = types(capsys, "take-in", room.course.folder, "B1-retake", tmp_path / "in")
    assert "Nothing yet from 1 of 1:\n  s1  Ann Lee" in told


def test_what_hints_took_is_told_beside_the_mark_in_exchange_files(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path, roster=CLASS, rules=SheetRules(hint_cost=50))
    room.hand_in("s1", room.copy("s1", right), time=AFTER)
    types(capsys, "hint", room.course.folder, "A1", "s1", "L03-02", "--by", "me")
    types(capsys, "mark", room.course.folder, "A1")
    types(capsys, "export", room.course.folder, "--to", "ags", "-o", tmp_path / "marks.json")
    text = (tmp_path / "marks.json").read_text(encoding="utf-8")
    assert "1 mark taken off for hints." in text
    assert '"scoreGiven": 25' in text


def test_what_counts_of_two_attempts_is_told_on_both_pages(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path, roster=CLASS)
    for learner in ("s1", "s2"):
        room.hand_in(learner, room.copy(learner, right if learner == "s2" else lambda variant: "pass"))
    types(capsys, "mark", room.course.folder, "A1")
    types(capsys, "retake", room.course.folder, "A1", "--learner", "s1", "--learner", "s2", "--cap", "70")
    from tests.graders.classroom import call

    again = hand_out.sheet_of(room.course, "A1-retake")
    variants = {one.item.id: one for one in drawn.variants_for(room.course, again, "s1")}
    book = json.loads(room.course.handed_out_file("s1", "A1-retake").read_text(encoding="utf-8"))
    for cell in book["cells"]:
        if item := cell["metadata"]["gearkit"].get("item"):
            cell["source"] = call(item, marking.right_answer(variants[item]))
    folder = room.course.submitted_folder("s1", "A1-retake")
    folder.mkdir(parents=True)
    (folder / "A1-retake.ipynb").write_text(json.dumps(book))
    types(capsys, "mark", room.course.folder, "A1-retake")
    for name in ("A1", "A1-retake"):
        types(capsys, "hand-back", room.course.folder, name)
        page = (room.course.feedback_folder("s1", name) / f"{name}.html").read_text(encoding="utf-8")
        # Seven tenths of 26 marks are 18.2.
        assert (
            "You had two attempts: 0, then 26. Of these the better one counts (the second brings at most 70% of the "
            "marks): 18.2 of 26 marks." in page
        )
    other = (room.course.feedback_folder("s2", "A1") / "A1.html").read_text(encoding="utf-8")
    assert "You could take this sheet again and handed in nothing for that; what counts is 26 of 26." in other


def test_a_group_is_given_more_time_at_once_and_each_stands_in_the_trail(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path, roster=CLASS, due="2026-02-01 10:00")
    for learner in ("s1", "s2", "s3"):
        room.hand_in(learner, room.copy(learner, right), time="2026-02-02 09:00:00 UTC")
    types(capsys, "mark", room.course.folder, "A1")
    told = types(
        capsys,
        "extend",
        room.course.folder,
        "A1",
        "--group",
        "D",
        "--until",
        "2026-02-02 10:00",
        "--reason",
        "trip",
        "--by",
        "me",
    )
    assert "Decisions 1 to 2 kept" in told
    penalties = {one.learner: one.penalty for one in record.read(room.course.marks_file("A1")).learners}
    assert penalties == {"s1": 0, "s2": 0, "s3": 2.6}
    assert "Groups: D, E." in types(
        capsys, "extend", room.course.folder, "A1", "--group", "X", "--until", "2026-02-02 10:00", "--reason", "trip", code=2
    )
    assert "Name one learner, or a group" in types(
        capsys,
        "extend",
        room.course.folder,
        "A1",
        "s1",
        "--group",
        "D",
        "--until",
        "2026-02-02 10:00",
        "--reason",
        "trip",
        code=2,
    )


def test_the_preview_as_a_notebook_is_the_copy_that_will_be_handed_out(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path, roster=CLASS, rules=COSTING, due="2026-02-03 10:00")
    path = tmp_path / "look.ipynb"
    types(capsys, "preview", room.course.sheet_file("A1"), "--course", room.course.folder, "--learner", "s2", "-o", path)
    assert path.read_bytes() == room.course.handed_out_file("s2", "A1").read_bytes()


def test_one_is_told_as_one(tmp_path: Path, capsys) -> None:
    file = tmp_path / "one.toml"
    assert main(["compose", "L03-02", "--marks", "L03-02=1", "-o", str(file)]) == 0
    told = capsys.readouterr().out
    assert "Exercises: 1 item of 1 kind, 1 mark\n" in told
    assert "1 exercise, 1 mark." in told
    room = Classroom(tmp_path)
    room.hand_in("s1", room.copy("s1", right))
    folder = str(room.course.folder)
    for words, said in (
        (("mark",), "1 of 1 submission marked"),
        (("hand-back",), "1 feedback page written."),
        (("moderate",), "1 script for the second marker"),
    ):
        assert main([*words, folder, "A1"]) == 0
        assert said in capsys.readouterr().out


def test_lateness_that_costs_otherwise_than_the_copies_tell_is_named_at_marking(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    room = Classroom(tmp_path, due="2026-02-03 10:00", roster=CLASS)
    room.hand_in("s1", room.copy("s1", right))
    assert "Changed since" not in types(capsys, "mark", room.course.folder, "A1")
    settings = room.course.folder / "course.toml"
    settings.write_text(settings.read_text().replace("late_percent_per_day = 10", "late_percent_per_day = 40"))
    told = types(capsys, "mark", room.course.folder, "A1")
    assert "Changed since the copies were handed out, so that learners read otherwise: Late, each day begun takes 40" in told
    assert "1 exercise" not in told
    # Whose copies are gone, or hold something else, is told nothing that may be wrong.
    room.course.handed_out_file("s1", "A1").write_text("{}")
    room.course.handed_out_file("s3", "A1").unlink()
    assert "Changed since" not in types(capsys, "mark", room.course.folder, "A1")


def test_strict_rounding_is_told_at_the_head_kept_in_the_file_and_marked_by(tmp_path: Path) -> None:
    verdicts = {}
    for rounding in ("fair", "strict"):
        room = Classroom(tmp_path / rounding, roster=CLASS, rules=SheetRules(rounding=rounding))
        variant = room.variants("s1")["L03-02"]
        value = 1 + variant.values["R"] / variant.values["S"]
        # 0.4 percent off: more than a correct rounding, less than the half percent allowed for rounded steps.
        off = f"{float(value * 1004 / 1000):.4f}"
        cells = {"L03-02": call("L03-02", {"answer": off})}
        room.hand_in("s1", room.copy("s1", lambda one, cells=cells: cells.get(one.item.id) or right(one)))
        sheets.write(room.sheet, tmp_path / f"{rounding}.toml")
        assert sheets.read(tmp_path / f"{rounding}.toml").rules.rounding == rounding
        assert ("Rounding is strict here" in head(room, "s1")) is (rounding == "strict")
        marks = next(one for one in batch.mark_sheet(room.course, room.sheet).learners if one.learner == "s1")
        verdicts[rounding] = next(one.verdict for one in marks.items if one.item == "L03-02")
    assert verdicts == {"fair": "right", "strict": "wrong"}


def test_an_unknown_rounding_is_refused_with_those_that_are_known(tmp_path: Path) -> None:
    file = tmp_path / "sheet.toml"
    sheets.write(sheets.compose("L03-02", "A1"), file)
    file.write_text(file.read_text(encoding="utf-8").replace("format = 1", 'format = 1\nrounding = "rough"'), encoding="utf-8")
    with pytest.raises(UsageError, match="rounding: found 'rough', expected one of fair, strict"):
        sheets.read(file)


def test_what_a_comma_is_comes_from_the_course_or_the_sheet_is_told_and_is_marked_by(tmp_path: Path) -> None:
    told = {
        "decimal": "A comma is a decimal comma here: 2,006 is read as 2.006.",
        "thousands": "A comma with three digits after it parts the thousands here: 2,006 is read as 2006.",
    }
    found = {}
    for course, sheet in (("", "either"), ("decimal", "either"), ("thousands", "either"), ("thousands", "decimal")):
        folder = tmp_path / f"{course}-{sheet}"
        courses.create(folder / "course", title="Test course", comma=course)
        room = Classroom(folder, roster=CLASS, rules=SheetRules(comma=sheet))
        handed_out = sheets.read(room.course.sheet_file("A1"))
        values = room.variants("s1")["L03-02"].values
        cells = {"L03-02": call("L03-02", {"answer": f"{float(1 + values['R'] / values['S']):.3f}".replace(".", ",")})}
        room.hand_in("s1", room.copy("s1", lambda one, cells=cells: cells.get(one.item.id) or right(one)))
        marks = next(one for one in batch.mark_sheet(room.course, handed_out).learners if one.learner == "s1")
        found[course, sheet] = next(one.verdict for one in marks.items if one.item == "L03-02")
        assert {one.way for one in marks.items} == {"read"}
        said = [sentence for sentence in told.values() if sentence in head(room, "s1")]
        assert said == ([told[handed_out.rules.comma]] if handed_out.rules.comma != "either" else [])
        assert sheets.read(room.course.sheet_file("A1")).rules.comma == handed_out.rules.comma
    assert found == {
        ("", "either"): "unreadable",
        ("decimal", "either"): "right",
        ("thousands", "either"): "wrong",
        ("thousands", "decimal"): "right",
    }
