"""What is handed out stays: learners keep their numbers whatever a later version of the kit draws, or marking says why not.

`handed_out_before` is a course as gearkit 0.1.0 (commit c5475c3) handed it out, before drawn values were kept: copies with
their drawings taken out, what three learners answered (s1 and s2 rightly, s3 with what is right for s1), and the marks that
that version gave.
"""

from __future__ import annotations

import json
import re
import shutil
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

import gearkit
from gearkit.answers import items as bank
from gearkit.answers.draw_numbers import drawn_values, kept, pool, variants
from gearkit.answers.draw_numbers.kept import ChangedItemError
from gearkit.answers.item import Draw, Item
from gearkit.answers.judge import marking
from gearkit.words.errors import UsageError
from graders.book.record import MarkSheet
from graders.cli.main import main
from graders.course import course as courses
from graders.course import roster
from graders.course.course import Course
from graders.course.secret import SECRET_CHECK
from graders.hand_out import hand_out
from graders.mark import batch
from graders.mark.decide import decisions
from graders.mark.decide.decisions import Decision, DecisionKind
from graders.mark.workers.worker import Settings, context_of
from graders.sheets import drawn, sheets
from tests.graders.classroom import CLASS, TIME, Classroom, call, right

BEFORE = Path(__file__).with_name("handed_out_before")
SECRET = "5e" * 32
_NUMBERS = bank.find("L01-03").draw.numbers
THEN: dict[str, Any] = json.loads((BEFORE / "as_then.json").read_text(encoding="utf-8"))["sheets"]
LEARNERS = ("s1", "s2", "s3")


@pytest.fixture
def old(tmp_path: Path) -> Course:
    """The course of an earlier version with everything handed in."""
    folder = tmp_path / "AT-101"
    folder.mkdir(mode=0o700)
    (folder / ".secret").write_text(SECRET + "\n", encoding="ascii")
    (folder / ".secret").chmod(0o600)
    for name in ("course.toml", "roster.csv"):
        shutil.copy(BEFORE / name, folder / name)
    course = courses.open_course(folder)
    for sheet in THEN:
        course.sheet_file(sheet).parent.mkdir(exist_ok=True)
        shutil.copy(BEFORE / f"{sheet}.toml", course.sheet_file(sheet))
        for learner in LEARNERS:
            copy = course.handed_out_file(learner, sheet)
            copy.parent.mkdir(parents=True)
            shutil.copy(BEFORE / f"{learner}_{sheet}.json", copy)
            _hand_in(course, sheet, learner, json.loads(copy.read_text(encoding="utf-8")))
    return course


def _hand_in(course: Course, sheet: str, learner: str, book: dict[str, Any]) -> None:
    for cell in book["cells"]:
        item = cell["metadata"]["gearkit"].get("item")
        if item:
            cell["source"] = call(item, THEN[sheet][learner][item]["given"])
    folder = course.submitted_folder(learner, sheet)
    folder.mkdir(parents=True)
    (folder / f"{sheet}.ipynb").write_text(json.dumps(book), encoding="utf-8")
    (folder / "timestamp.txt").write_text(TIME, encoding="ascii")


def _mark(course: Course, sheet: str) -> MarkSheet:
    return batch.mark_sheet(course, hand_out.sheet_of(course, sheet), workers=1)


def _withdraw_what_is_asked_otherwise_now(course: Course, sheet: str) -> set[str]:
    """Do what marking says where it stops: take out the items that it names; return them."""
    try:
        _mark(course, sheet)
    except UsageError as fault:
        told = str(fault)
    else:
        return set()
    named = re.search(r"does not ask ([L\d, -]+) any more", told)
    assert named, told
    for item in named[1].split(", "):
        decisions.keep(course, Decision(DecisionKind.WITHDRAW, sheet, "t", "asked otherwise now", item=item))
    return set(named[1].split(", "))


def _choices_are_worded_otherwise(course: Course, sheet: str, item: str) -> bool:
    copy = course.handed_out_file("s1", sheet).read_text(encoding="utf-8")
    return not all(
        json.dumps(option, ensure_ascii=False)[1:-1] in copy
        for part in variants.practice(bank.find(item)).parts
        for option in part.options
    )


def _scores(marks: MarkSheet) -> dict[tuple[str, str], float]:
    return {(one.learner, item.item): item.score for one in marks.learners for item in one.items}


@pytest.mark.parametrize("sheet", sorted(THEN))
def test_a_course_of_an_earlier_version_gives_the_marks_that_it_gave_then(old: Course, sheet: str) -> None:
    stopped = _withdraw_what_is_asked_otherwise_now(old, sheet)
    # Whoever wrote (b) or a choice's own words then would be marked by other words now.
    assert [item for item in sorted(stopped) if not _choices_are_worded_otherwise(old, sheet, item)] == []
    scores = _scores(_mark(old, sheet))
    right_then = {
        (learner, item): told["marks"][0]
        for learner, rows in THEN[sheet].items()
        for item, told in rows.items()
        if told["marks"][0] == told["marks"][1] and item not in stopped
    }
    nothing_then = {
        (learner, item) for learner, rows in THEN[sheet].items() for item, told in rows.items() if not told["marks"][0]
    }
    assert {where: scores[where] for where in right_then} == right_then
    assert {where for where in nothing_then if scores[where]} == set()
    assert len(right_then) >= 2 * (len(THEN[sheet]["s1"]) - len(stopped))
    assert len(stopped) < 0.1 * len(THEN[sheet]["s1"])


def test_what_marking_found_in_the_old_copies_is_kept_from_then_on(old: Course, monkeypatch: pytest.MonkeyPatch) -> None:
    _withdraw_what_is_asked_otherwise_now(old, "A1")
    before = _scores(_mark(old, "A1"))
    assert all(drawn.file_of(old, "A1", learner).is_file() for learner in LEARNERS)
    _draw_otherwise(monkeypatch)
    assert _scores(_mark(old, "A1")) == before


def _draw_otherwise(monkeypatch: pytest.MonkeyPatch) -> None:
    """A later version: everybody would be drawn other numbers."""
    seed = variants.seed_of
    monkeypatch.setattr(variants, "seed_of", lambda secret, *fields: seed(secret, "later", *fields))


def test_draws_that_a_later_version_throws_away_are_found_in_the_old_copies(
    old: Course, monkeypatch: pytest.MonkeyPatch
) -> None:
    _withdraw_what_is_asked_otherwise_now(old, "A1")
    before = _scores(_mark(old, "A1"))
    shutil.rmtree(old.folder / "drawn")
    # Wrong answers have to be twice as far away from now on, so that some draws come out otherwise.
    monkeypatch.setattr("gearkit.answers.rules.plain.apart", _far_apart)
    monkeypatch.setattr("gearkit.answers.rules.built_item.apart", _far_apart)
    sheet = hand_out.sheet_of(old, "A1")
    now = [drawn.fresh(old, sheet, entry.item, "s1").prompt for entry in sheet.items]
    assert now != [one.prompt for one in drawn.variants_for(old, sheet, "s1", withdrawn=decisions.withdrawn(old, "A1"))]
    assert _scores(_mark(old, "A1")) == before


def _far_apart(right: tuple[int, int], wrong: tuple[int, int], tolerance: object) -> bool:
    first, second = Fraction(*right), Fraction(*wrong)
    return abs(first - second) > max(abs(first), abs(second)) / 50


def test_marking_an_old_course_that_is_drawn_otherwise_now_stops_and_says_what_to_do(
    old: Course, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    _withdraw_what_is_asked_otherwise_now(old, "A1")
    shutil.rmtree(old.folder / "drawn", ignore_errors=True)
    shutil.rmtree(old.folder / "marks", ignore_errors=True)
    _change_item(monkeypatch, "L01-03", numbers={**_NUMBERS, "n": ("310", "3010", "50")})
    assert main(["mark", str(old.folder), "A1"]) == 2
    told = " ".join(capsys.readouterr().err.split())
    assert "does not ask L01-03 any more as the copy of s1 does" in told
    assert "Mark with the version that handed it out" in told
    assert f"graders withdraw {old.folder} A1 L01-03" in told
    assert not (old.folder / "marks" / "A1").exists()


def test_an_item_that_is_asked_otherwise_now_can_be_withdrawn_and_the_rest_is_marked(
    old: Course, monkeypatch: pytest.MonkeyPatch
) -> None:
    _withdraw_what_is_asked_otherwise_now(old, "A1")
    before = _scores(_mark(old, "A1"))
    _change_item(monkeypatch, "L01-03", numbers={**_NUMBERS, "k": ("1", "9", "1")})
    with pytest.raises(ChangedItemError, match="does not ask L01-03 any more"):
        _mark(old, "A1")
    decisions.keep(old, Decision(DecisionKind.WITHDRAW, "A1", "t", "asked otherwise now", item="L01-03"))
    after = _scores(_mark(old, "A1"))
    assert {where for where in before if after[where] != before[where]} <= {(learner, "L01-03") for learner in LEARNERS}


def _change_item(monkeypatch: pytest.MonkeyPatch, item_id: str, **draw: Any) -> Item:
    """A later version whose item draws other numbers."""
    item = bank.find(item_id)
    changed = replace(item, draw=Draw(**{**vars(item.draw), **draw}))
    monkeypatch.setitem(bank._bank(), item_id, changed)
    drawn_values._plan.cache_clear()
    return changed


def test_the_wrong_secret_is_told_for_an_old_course_too(old: Course) -> None:
    (old.folder / ".secret").write_text("ab" * 32 + "\n", encoding="ascii")
    with pytest.raises(UsageError, match=r"were not drawn from the secret in .*\.secret\. Put back"):
        _mark(old, "A1")
    assert not old.marks_file("A1").exists()


def test_questions_that_are_worded_otherwise_now_are_told_when_marking(
    old: Course, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    _withdraw_what_is_asked_otherwise_now(old, "A1")
    monkeypatch.setitem(bank._bank(), "L01-03", replace(bank.find("L01-03"), prompt=f"Think. {bank.find('L01-03').prompt}"))
    assert main(["mark", str(old.folder), "A1"]) == 0
    told = re.search(r"asked in other words than this version of gearkit asks now: ([L\d, -]+)\.", capsys.readouterr().out)
    assert told
    assert "L01-03" in told[1].split(", ")
    assert "L01-07" not in told[1].split(", ")


def test_a_course_of_this_version_is_told_nothing_about_words(room: Classroom, capsys: pytest.CaptureFixture[str]) -> None:
    room.hand_in("s1", room.copy("s1", right))
    assert main(["mark", str(room.course.folder), "A1"]) == 0
    assert "in other words" not in capsys.readouterr().out


def test_newcomers_to_an_old_course_get_numbers_and_the_others_keep_theirs(old: Course) -> None:
    sheet, before = hand_out.sheet_of(old, "A2"), old.handed_out_file("s1", "A2").read_bytes()
    hand_out.hand_out(old, sheet, roster.Roster((roster.Learner("s9", "Di Oh", "E"),)))
    assert old.handed_out_file("s1", "A2").read_bytes() == before
    assert drawn.file_of(old, "A2", "s9").is_file()


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    return Classroom(tmp_path, "lesson 2, lesson 3")


def test_nothing_that_a_later_version_draws_changes_the_marks_of_what_is_out(
    room: Classroom, monkeypatch: pytest.MonkeyPatch
) -> None:
    for learner in LEARNERS:
        room.hand_in(learner, room.copy(learner, right))
    _draw_otherwise(monkeypatch)
    marks = batch.mark_sheet(room.course, room.sheet, workers=1)
    assert [one.score for one in marks.learners] == [one.max for one in marks.learners]


def test_a_retake_repeats_no_number_that_was_kept(room: Classroom, monkeypatch: pytest.MonkeyPatch) -> None:
    again = replace(room.sheet, name="A1-retake", retake_of="A1")
    # Drawn afresh the retake would be what the first sheet was: only what is kept tells that it must not.
    monkeypatch.setattr(
        variants,
        "seed_for",
        lambda item, secret, sheet, learner, attempt=1: variants.seed_of(
            secret, "gearkit variant 1", "A1", item.id, learner, "1"
        ),
    )
    for entry in again.items:
        first = next(one for one in drawn.variants_for(room.course, room.sheet, "s1") if one.item.id == entry.item.id)
        assert not drawn.fresh(room.course, again, entry.item, "s1").asks_the_same_as(first)


@pytest.mark.parametrize("item", bank.all_items(), ids=lambda item: item.id)
def test_what_is_kept_gives_the_same_task_again_and_holds_no_answer(item: Item) -> None:
    for number in range(3):
        variant = variants.draw(item, secret=b"s" * 32, sheet="A1", learner=f"learner {number}")
        assert variants.may_be_asked_in(item, variant.prompt)
        data = json.loads(json.dumps(kept.kept(variant)))
        again = kept.variant_of(item, data)
        assert (again, again.prompt, again.drawn.values) == (variant, variant.prompt, variant.drawn.values)
        assert marking.right_answer(again) == marking.right_answer(variant)
        assert data.keys() == {"numbers", "teeth", "throws", "layout", "asks"}
        assert set(data["numbers"]) == {*item.draw.numbers, *item.draw.shown}
        assert all(len(throw) == 2 for throw in data["throws"])


def test_an_item_whose_choices_stand_in_another_order_now_is_not_marked_by_their_letters(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from gearkit.answers.rules import workshop

    item = bank.find("L11-08")
    data = kept.kept(variants.practice(item))
    monkeypatch.setattr(workshop, "_EVENTS", workshop._EVENTS[::-1])
    with pytest.raises(ChangedItemError, match="L11-08"):
        kept.variant_of(item, data)


def test_sets_that_the_pool_has_no_more_are_kept_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    item = bank.find("L02-02")
    variant = variants.practice(item)
    data = kept.kept(variant)
    monkeypatch.setattr(pool, "pool", lambda: ())
    assert kept.variant_of(item, data) == variant


def test_kept_values_lie_in_the_course_folder_for_its_owner_alone_and_in_no_copy(room: Classroom) -> None:
    path = drawn.file_of(room.course, "A1", "s1")
    assert path.stat().st_mode & 0o077 == 0
    data = json.loads(path.read_bytes())
    hidden = [
        (name, data["items"][entry.item.id]["numbers"][name]) for entry in room.sheet.items for name in entry.item.draw.hidden
    ]
    assert hidden
    copy = room.course.handed_out_file("s1", "A1").read_text(encoding="utf-8")
    assert '"throws"' not in copy
    assert '"asks"' not in copy


def test_what_a_hand_in_says_about_drawn_values_is_not_asked(room: Classroom) -> None:
    for learner in ("s1", "s2"):
        book = room.copy(learner, right)
        other = json.loads(drawn.file_of(room.course, "A1", "s3").read_bytes())
        book["metadata"]["gearkit"] |= {"drawn": other, "items": other["items"]}
        room.hand_in(learner, book)
        (room.course.submitted_folder(learner, "A1") / "A1.json").write_text(json.dumps(other), encoding="utf-8")
    marks = batch.mark_sheet(room.course, room.sheet, workers=1)
    assert [one.score for one in marks.learners] == [one.max for one in marks.learners]


@pytest.mark.parametrize("text", ["", "{", "[]", '{"format": 2, "items": {}}', '{"format": 1, "items": []}'])
def test_kept_values_that_are_damaged_stop_marking_with_what_to_do(room: Classroom, text: str) -> None:
    room.hand_in("s1", room.copy("s1", right))
    drawn.file_of(room.course, "A1", "s1").write_text(text, encoding="utf-8")
    with pytest.raises(UsageError, match=r"A1\.json cannot be used .*Restore it from a backup; if there is none, delete it"):
        batch.mark_sheet(room.course, room.sheet, workers=1)
    drawn.file_of(room.course, "A1", "s1").unlink()
    marks = batch.mark_sheet(room.course, room.sheet, workers=1)
    assert [one.score for one in marks.learners] == [one.max for one in marks.learners]


def test_another_course_s_secret_stops_everything_before_a_mark_is_lost(
    tmp_path: Path, room: Classroom, capsys: pytest.CaptureFixture[str]
) -> None:
    for learner in LEARNERS:
        room.hand_in(learner, room.copy(learner, right))
    other = courses.create(tmp_path / "other")
    own = (room.course.folder / ".secret").read_bytes()
    shutil.copy(other.folder / ".secret", room.course.folder / ".secret")
    for command in (
        ["mark", str(room.course.folder), "A1"],
        ["hand-out", str(room.course.folder), "A1", "--class", str(room.course.roster_file)],
    ):
        assert main(command) == 2
        told = " ".join(capsys.readouterr().err.split())
        assert "is not the one that this course was handed out with" in told
        assert "Put back this course's own .secret from your backup" in told
    assert not room.course.marks_file("A1").exists()
    (room.course.folder / ".secret").write_bytes(own)
    assert main(["mark", str(room.course.folder), "A1"]) == 0


def test_a_secret_that_is_lost_for_good_costs_nobody_a_mark(tmp_path: Path, room: Classroom) -> None:
    for learner in LEARNERS:
        room.hand_in(learner, room.copy(learner, right))
    shutil.copy(courses.create(tmp_path / "other").folder / ".secret", room.course.folder / ".secret")
    (room.course.folder / SECRET_CHECK).unlink()
    marks = batch.mark_sheet(room.course, room.sheet, workers=1)
    assert [one.score for one in marks.learners] == [one.max for one in marks.learners]


def test_a_course_that_lost_its_secret_is_not_given_another_one_silently(room: Classroom) -> None:
    (room.course.folder / ".secret").unlink()
    with pytest.raises(UsageError, match=r"is missing\. Restore it from your backup"):
        courses.create(room.course.folder)
    assert not (room.course.folder / ".secret").exists()


def test_resuming_with_another_version_of_the_kit_marks_anew(room: Classroom, monkeypatch: pytest.MonkeyPatch) -> None:
    before = context_of(room.course, room.sheet, Settings())
    monkeypatch.setattr(gearkit, "__version__", "99.0")
    assert context_of(room.course, room.sheet, Settings()) != before


def test_the_kit_that_keeps_what_it_draws_is_not_the_one_that_did_not() -> None:
    project = (Path(__file__).resolve().parents[2] / "pyproject.toml").read_text(encoding="utf-8")
    assert f'version = "{gearkit.__version__}"' in project
    assert gearkit.__version__ != "0.1.0"
    assert len(CLASS) == len(LEARNERS)
    assert sheets.read(BEFORE / "A1.toml").name == "A1"
