"""What lateness costs is chosen and told; times that were typed; the class list's changes; a sheet withdrawn."""

from __future__ import annotations

import datetime as dt
import json
from fractions import Fraction
from pathlib import Path

import pytest

from gearkit.words.errors import UsageError
from graders.cli.main import main
from graders.course import course as courses
from graders.course import lateness
from graders.course.lateness import UNASKED, Late, Rules
from graders.mark import batch, rules
from graders.mark.decide import decisions
from graders.sheets import sheets
from graders.sheets.sheet_rules import SheetRules
from tests.graders.classroom import Classroom, right

FUTURE = "2150-02-03 10:00"


def types(capsys: pytest.CaptureFixture[str], *words: object, code: int = 0) -> str:
    assert main([str(word) for word in words]) == code
    said = capsys.readouterr()
    return said.err if code == 2 else said.out


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("full", Rules(7, 0, 0, Late.FULL)),
        (" None ", Rules(7, 0, 0, Late.NONE)),
        ("10 percent a day, 3 days", Rules(7, 10, 3)),
        ("10% per day for 3 days", Rules(7, 10, 3)),
        ("100x1", Rules(7, 100, 1)),
        ("", Rules(7, 20, 2)),
    ],
)
def test_a_rule_is_read_as_it_is_meant_and_written_as_it_is_read(text: str, rule: Rules) -> None:
    found = lateness.read(text, Rules(7, 20, 2))
    assert found == rule
    assert lateness.read(str(found), Rules(7, 20, 2)) == rule


@pytest.mark.parametrize(
    "text", ["ten a day", "10", "0 percent a day, 3 days", "101 percent a day, 3 days", "10x0", "10 x 3 x 2", "-1x3"]
)
def test_what_is_no_rule_is_told_with_those_that_are(text: str) -> None:
    with pytest.raises(UsageError, match=r"expected full \(late work counts in full\), none \(it earns nothing\), or such as"):
        lateness.read(text, UNASKED)


@pytest.mark.parametrize(
    ("rule", "taken"), [(Rules(0, 10, 3), 2), (Rules(0, 0, 0, Late.NONE), 7), (UNASKED, 0), (Rules(0, 10, 0), 7)]
)
def test_two_days_late_of_ten_marks_with_seven_earned(rule: Rules, taken: int) -> None:
    assert rules.late_penalty(2, Fraction(7), Fraction(10), rule) == taken


@pytest.mark.parametrize(
    ("text", "time"),
    [("2026-03-02", (2026, 3, 2, 23, 59)), ("2026-03-02 17:00", (2026, 3, 2, 17)), ("2026-03-02T08", (2026, 3, 2, 8))],
)
def test_a_date_alone_means_the_end_of_that_day(text: str, time: tuple[int, ...]) -> None:
    assert lateness.local_time(text, "Due") == dt.datetime(*time)


@pytest.mark.parametrize("text", ["2026-13-02", "soon", "2026-03-02 17:00+01:00", "20260230"])
def test_what_is_no_time_is_told_with_one_that_is(text: str) -> None:
    with pytest.raises(UsageError, match="such as '2026-10-07 17:00'; a date alone means 23:59"):
        lateness.local_time(text, "Due")


def test_a_sheet_has_a_late_rule_of_its_own_in_its_file_on_its_copies_and_in_its_marks(tmp_path: Path) -> None:
    marks = {}
    for name, own in (("own", SheetRules(late="20 percent a day, 2 days", grace_minutes=0)), ("course", SheetRules())):
        room = Classroom(tmp_path / name, due="2026-02-03 10:00", rules=own)
        assert sheets.read(room.course.sheet_file("A1")).rules == room.sheet.rules
        room.hand_in("s1", room.copy("s1", right), time="2026-02-03 10:10:00 UTC")
        marks[name] = batch.mark_sheet(room.course, room.sheet).learners[0]
        head = room.copy("s1")["cells"][0]["source"]
        assert ("each day begun takes 20 percent of all marks; after 2 days nothing is earned" in head) is (name == "own")
        assert ("each day begun takes 10 percent" in head) is (name == "course")
    # Ten minutes are within the course's grace of 15; a fifth of 26 marks is 5.2.
    assert (marks["own"].penalty, marks["course"].penalty) == (5.2, 0)


def test_late_work_counts_in_full_where_nothing_was_chosen_and_is_told_all_the_same(tmp_path: Path, capsys) -> None:
    (tmp_path / "r.csv").write_text("id,name,group\ns1,Ann,D\n")
    types(capsys, "compose", "L03-02", "--due", "2026-02-03", "-o", tmp_path / "a.toml")
    told = types(capsys, "hand-out", tmp_path / "C", tmp_path / "a.toml", "--class", tmp_path / "r.csv")
    assert "Due:        2026-02-03 23:59 UTC. Late work counts in full." in told
    assert "2026-02-03 23:59 is over already; is the date right?" in told
    course = courses.open_course(tmp_path / "C")
    copy = json.loads(course.handed_out_file("s1", "a").read_text())
    folder = course.submitted_folder("s1", "a")
    folder.mkdir(parents=True)
    (folder / "a.ipynb").write_text(json.dumps(copy))
    (folder / "timestamp.txt").write_text("2026-02-05 10:00:00 UTC")
    (one,) = batch.mark_sheet(course, sheets.read(course.sheet_file("a"))).learners
    assert one.penalty == 0
    assert "Handed in late, 2 days started: no marks taken off." in one.flags


def test_compose_check_and_hand_out_show_the_late_rule(tmp_path: Path, capsys) -> None:
    (tmp_path / "r.csv").write_text("id,name,group,e-mail,extra time,room\ns1,Ann,D,x,25,4\n")
    file, late = tmp_path / "a.toml", ("--late", "none", "--grace", "5")
    told = types(capsys, "compose", "L03-02", "--due", FUTURE, *late, "-o", file)
    earns_nothing = "What comes in late earns nothing. Up to 5 minutes late is still in time."
    assert earns_nothing in told
    assert "over already" not in told
    plain = tmp_path / "b.toml"
    assert "What lateness costs is the course's rule" in types(capsys, "compose", "L03-02", "--due", FUTURE, "-o", plain)
    assert earns_nothing in types(capsys, "check", file, "--class", tmp_path / "r.csv")
    told = types(capsys, "check", plain, "--class", tmp_path / "r.csv")
    assert "What lateness costs is the course's rule; name the course to see it: --course COURSE" in told
    unused = "Columns of the class list that are not used: e-mail, room. Used are id, name, group and extra_time"
    assert unused in told
    no_use = "Extra time on the class list changes nothing on this sheet, which has no working time: s1."
    assert no_use in told
    course = tmp_path / "C"
    told = types(capsys, "course", course, "--late", "10 percent a day, 3 days", "--grace", "15", "--time-zone", "Europe/Paris")
    assert "Late, each day begun takes 10 percent" in told
    assert "every setting can still be changed" in told
    assert "Europe/Rome" in types(capsys, "course", course, "--time-zone", "Europe/Rome")
    told = types(capsys, "hand-out", course, plain, "--class", tmp_path / "r.csv")
    assert "Due:        2150-02-03 10:00 Europe/Rome. Late, each day begun takes 10 percent of all marks" in told
    assert unused in told
    assert no_use in told
    assert "and sheets were handed out" in types(capsys, "course", course, "--late", "full", code=2)
    assert "Late, each day begun takes 10 percent" in types(capsys, "course", course)
    for words in (("--minutes", "30"), ("--practice",)):
        types(capsys, "compose", "L03-02", *words, "-o", tmp_path / "c.toml", "--replace")
        assert "Extra time" not in types(capsys, "check", tmp_path / "c.toml", "--class", tmp_path / "r.csv")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--late", "none"), "nobody can be late without a due time"),
        (("--due", FUTURE, "--late", "sometimes"), "late 'sometimes': expected full"),
        (("--due", FUTURE, "--grace", "-1"), "grace -1: expected minutes from 0"),
        (("--practice", "--due", FUTURE, "--late", "none"), "nobody is late with a practice sheet"),
    ],
)
def test_a_late_rule_that_would_do_nothing_or_is_none_is_refused(tmp_path: Path, capsys, words, told) -> None:
    assert told in types(capsys, "compose", "L03-02", *words, "-o", tmp_path / "a.toml", code=2)
    assert not (tmp_path / "a.toml").exists()


def test_a_sheets_file_may_give_a_date_alone(tmp_path: Path) -> None:
    file = tmp_path / "a.toml"
    sheets.write(sheets.compose("L03-02", "a", due="2026-03-02"), file)
    assert "due = 2026-03-02T23:59:00" in file.read_text()
    file.write_text(file.read_text().replace("2026-03-02T23:59:00", "2026-03-02"))
    assert sheets.read(file).due == dt.datetime(2026, 3, 2, 23, 59)


def test_a_hint_after_the_hand_in_costs_nothing_until_something_is_handed_in_again(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path, rules=SheetRules(hint_cost=50))
    room.hand_in("s1", room.copy("s1", right))
    batch.mark_sheet(room.course, room.sheet)
    told = types(capsys, "hint", room.course.folder, "A1", "s1", "L03-02", "--by", "me")
    assert "this hint costs nothing unless they hand in again" in told
    assert "No mark changed." in told

    def second() -> tuple[float, float, int]:
        mark = batch.mark_sheet(room.course, room.sheet).learners[0].items[1]
        return mark.score, mark.hint_cost, mark.hints

    assert second() == (2, 0, 1)
    room.hand_in("s1", room.copy("s1", right), time="2150-01-01 10:00:00 UTC")
    assert second() == (1, 1, 1)


def test_a_hint_that_is_written_down_later_costs_as_when_it_was_given(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path, rules=SheetRules(hint_cost=50))
    room.hand_in("s1", room.copy("s1", right))
    words = ("hint", room.course.folder, "A1", "s1", "L03-02", "--by", "me", "--at")
    assert "cannot have been given later than now" in types(capsys, *words, "2150-01-01", code=2)
    assert "costs nothing" not in types(capsys, *words, "2026-02-03 09:59")
    mark = batch.mark_sheet(room.course, room.sheet).learners[0].items[1]
    assert (mark.score, mark.hint_cost) == (1, 1)


def test_extensions_take_a_date_and_warn_of_one_that_is_over(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path, due="2026-02-03 10:00")
    words = ("extend", room.course.folder, "A1", "s1", "--reason", "ill", "--by", "me", "--until")
    assert "2026-02-05 23:59 is over already" in types(capsys, *words, "2026-02-05")
    assert "over already" not in types(capsys, *words, "2150-02-05")
    assert [one.until for one in decisions.standing(room.course, "A1")] == ["2026-02-05 23:59", "2150-02-05 23:59"]


def test_who_left_the_class_list_or_changed_on_it_is_told_at_hand_out(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path)
    (tmp_path / "new.csv").write_text("id,name,group,extra_time\ns1,Ann Lee,E,25\ns3,Cy Ek,E,\ns4,Di New,D,\n")
    words = ("hand-out", room.course.folder, "A1", "--class", tmp_path / "new.csv")
    told = types(capsys, *words)
    assert "Changed on the class list: s1: group D → E, extra time 0% → 25%." in told
    assert "Not on this class list any more: s2 Ødegård, Kåre." in told
    data = json.loads(types(capsys, *words, "--json"))
    assert (data["vanished"], data["changed"]) == (["s2 Ødegård, Kåre"], [])


def test_a_withdrawn_sheet_counts_nowhere_lies_aside_whole_and_leaves_its_name_free(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path, source="L03-02, L03-05")
    folder = room.course.folder
    room.hand_in("s1", room.copy("s1", right))
    types(capsys, "mark", folder, "A1")
    types(capsys, "override", folder, "A1", "s1", "L03-02", "1", "--reason", "seen", "--by", "me")
    work = {path.relative_to(folder): path.read_bytes() for path in (folder / "submitted").rglob("*") if path.is_file()}
    words = ("withdraw", folder, "A1", "--reason", "wrong lesson", "--by", "me")
    assert "1 learner has handed in work for sheet A1" in types(capsys, *words, code=2)
    told = types(capsys, *words, "--yes")
    assert "3 copies, work of 1" in told
    aside = folder / "withdrawn" / "A1"
    assert {path: (aside / path).read_bytes() for path in work} == work
    assert [path for path in folder.rglob("*A1*") if aside not in path.parents and path != aside] == []
    assert "has no marked sheet that counts" in types(capsys, "totals", folder, code=2)
    assert "There is no sheet 'A1'" in types(capsys, "mark", folder, "A1", code=2)
    # Another sheet under the name: nothing of the first one's decisions or marks clings to it.
    again = tmp_path / "A1.toml"
    sheets.write(sheets.compose("L03-02", "A1"), again)
    (tmp_path / "r.csv").write_text("id,name,group\ns1,Ann Lee,D\n")
    types(capsys, "hand-out", folder, again, "--class", tmp_path / "r.csv")
    room.sheet = sheets.read(again)
    room.hand_in("s1", room.copy("s1", right))
    assert batch.mark_sheet(room.course, room.sheet).learners[0].score == 2
    assert [one["kind"] for one in json.loads(types(capsys, "trail", folder, "A1", "--json"))].count("withdraw sheet") == 1
    # Whoever is removed is removed from what lies aside too.
    types(capsys, "remove", folder, "s1", "--yes")
    assert [path for path in aside.rglob("*") if "s1" in path.parts or (path.is_file() and b'"s1"' in path.read_bytes())] == []


def test_rules_can_be_changed_again_where_the_only_sheet_was_withdrawn_and_nobody_had_handed_in(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path)
    rule = ("course", room.course.folder, "--late", "none")
    assert "and sheets were handed out" in types(capsys, *rule, code=2)
    types(capsys, "withdraw", room.course.folder, "A1", "--reason", "wrong rules", "--by", "me")
    shown = types(capsys, "course", room.course.folder)
    assert "No sheet is out any more, and nobody handed anything in: every setting can be changed with this command." in shown
    types(capsys, *rule)
    assert courses.open_course(room.course.folder).rules.late == "none"
    again = tmp_path / "A1.toml"
    sheets.write(sheets.compose("L03-02", "A1"), again)
    (tmp_path / "r.csv").write_text("id,name,group\ns1,Ann Lee,D\n")
    types(capsys, "hand-out", room.course.folder, again, "--class", tmp_path / "r.csv")
    assert "and sheets were handed out" in types(capsys, "course", room.course.folder, "--late", "full", code=2)


def test_rules_stand_where_work_was_handed_in_for_the_sheet_that_was_withdrawn_and_that_is_said(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path)
    room.hand_in("s1", room.copy("s1", right))
    types(capsys, "withdraw", room.course.folder, "A1", "--reason", "wrong rules", "--by", "me", "--yes")
    refused = types(capsys, "course", room.course.folder, "--late", "none", code=2)
    assert "and work was handed in for sheet A1 before it was withdrawn. Leave the option out" in refused
    assert "sheets were handed out" not in refused
    shown = types(capsys, "course", room.course.folder)
    assert "Work was handed in for sheet A1 before it was withdrawn, so these settings stand as learners read them." in shown
    # With the learner goes the work, and with it the reason.
    types(capsys, "remove", room.course.folder, "s1", "--yes")
    types(capsys, "course", room.course.folder, "--late", "none")


def test_a_sheet_with_a_retake_is_withdrawn_after_it(tmp_path: Path, capsys) -> None:
    room = Classroom(tmp_path)
    types(capsys, "retake", room.course.folder, "A1", "--learner", "s1", "--due", "2150-02-03")
    words = ("--reason", "no", "--by", "me")
    assert "Withdraw that first" in types(capsys, "withdraw", room.course.folder, "A1", *words, code=2)
    assert "1 copy, work of 0" in types(capsys, "withdraw", room.course.folder, "A1-retake", *words)
    assert "3 copies, work of 0" in types(capsys, "withdraw", room.course.folder, "A1", *words)
    assert "There is no sheet" in types(capsys, "withdraw", room.course.folder, "A1", *words, code=2)
