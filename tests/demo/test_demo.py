"""The demo: the whole job on the invented class, twice, and a check of its marks that can fail."""

from __future__ import annotations

import io
import json
import os
import re
import stat
from collections import Counter
from dataclasses import replace
from functools import partial

import pytest

from gearkit.answers.judge import marking
from gearkit.words.errors import UsageError
from graders.book import record
from graders.demo import class_work, college, show
from graders.demo.check import compare
from graders.demo.mishaps import MISHAPS
from graders.demo.plan import mistakes_of
from graders.report import moderation
from graders.report.pages import class_report
from graders.sheets.drawn import variants_for

LEARNERS = tuple(one.id for one in college.roster())


@pytest.fixture(scope="module")
def shown(tmp_path_factory):
    out = io.StringIO()
    outcome = show.run(tmp_path_factory.mktemp("demo") / "shown", "a test's own seed", out)
    return outcome, out.getvalue()


def test_the_class_has_two_groups_and_names_as_class_lists_have_them():
    groups = Counter(one.group for one in college.roster())
    assert groups == {"AT-214-D": 18, "AT-214-E": 9}
    names = [one.name for one in college.roster()]
    assert len(set(names)) == 27
    assert any("," in name for name in names)
    assert any("'" in name for name in names)
    assert any(not name.isascii() for name in names)
    assert any(" " not in name for name in names)


def test_every_learner_gets_exactly_the_planned_marks(shown):
    outcome, _ = shown
    assert outcome.check.differences == ()
    assert outcome.check.agreed == LEARNERS


def test_the_summary_says_that_plan_and_marks_agree_and_where_everything_is(shown):
    outcome, told = shown
    assert "planned = marked for 27 of 27" in told
    assert "gearkit lessons" in told
    for path in (outcome.report.page, outcome.pages.index, outcome.report.table, outcome.demo.course.folder):
        assert str(path) in told
        assert path.exists()


def test_every_named_mistake_of_the_sheet_is_made_by_somebody(shown):
    outcome, _ = shown
    variants = variants_for(outcome.demo.course, outcome.demo.sheet, "fd01")
    wanted = {(variants[place].item.id, code) for place, code in mistakes_of(variants)}
    made = {(answer.item, answer.mistake) for one in outcome.demo.plan for answer in one.answers if answer.mistake}
    assert wanted <= made


def test_every_kind_of_submission_is_there(shown):
    outcome, _ = shown
    notes = {answer.note for one in outcome.demo.plan for answer in one.answers}
    assert {"right", "partly right", "named mistakes", "unreadable", "missing", "lost with the file"} <= notes
    assert {one.mishap for one in outcome.demo.plan} == {"", *MISHAPS}
    assert set(outcome.marks.absent) == {"fd04", "fd13", "fe06"}


def test_answers_that_need_running_were_run_and_the_others_only_read(shown):
    outcome, _ = shown
    ways = {one.learner: {item.way for item in one.items} - {"none"} for one in outcome.marks.learners}
    assert ways["fd10"] == {"run"}
    assert ways["fd03"] == {"read"}


def test_a_forged_card_earns_nothing_on_numbers_of_ones_own(shown):
    outcome, _ = shown
    forger = next(one for one in outcome.marks.learners if one.learner == "fe03")
    marks = {item.item: item.score for item in forger.items}
    assert marks["L02-02"] == marks["L03-08"] == 0
    assert any("made for 'fd03'" in flag for flag in forger.flags)


def test_the_class_report_finds_the_planted_copies_and_nobody_else(shown):
    outcome, _ = shown
    page = outcome.report.page.read_text(encoding="utf-8")
    section = page.split('id="alike"')[1].split("<h2")[0]
    lines = re.findall(r"<li>(.*?)</li>", section)
    assert len(lines) == 2
    assert all("right for those of Bastian Wrenfield" in line for line in lines)
    assert {name for name in ("Mordecai Stellwright", "Tamsin D&#x27;Orlanda") if name in section} == {
        "Mordecai Stellwright", "Tamsin D&#x27;Orlanda",
    }  # fmt: skip


def test_feedback_pages_hold_no_right_answer_and_nobody_elses_name(shown):
    outcome, _ = shown
    course, sheet = outcome.demo.course, outcome.demo.sheet
    names = {one.id: one.name for one in college.roster()}
    for one in outcome.marks.learners:
        text = (course.feedback_folder(one.learner, sheet.name) / f"{sheet.name}.html").read_text(encoding="utf-8")
        assert not any(other in text for identity, other in names.items() if identity != one.learner)
        shown_words = re.sub(r"<style>.*?</style>|<[^>]*>", " ", text, flags=re.DOTALL)
        assert not any(re.search(rf"\b{identity}\b", shown_words) for identity in names if identity != one.learner)
        assert "Right answer" not in text
        by_item = {variant.item.id: variant for variant in variants_for(course, sheet, one.learner)}
        for item in one.items:
            if item.item in ("L02-02", "L03-08") and item.verdict != "right":
                truth = marking.right_answer(by_item[item.item])["answer"].split()[0]
                assert truth not in text


def test_a_drawing_shows_the_learners_own_tooth_counts(shown):
    outcome, _ = shown
    course, sheet = outcome.demo.course, outcome.demo.sheet
    seen = 0
    for one in outcome.marks.learners:
        text = (course.feedback_folder(one.learner, sheet.name) / f"{sheet.name}.html").read_text(encoding="utf-8")
        articles = dict(re.findall(r'<span class="soft">(L\d\d-\d\d)</span>(.*?)</article>', text, flags=re.DOTALL))
        for variant in variants_for(course, sheet, one.learner):
            article = articles[variant.item.id]
            item = next(item for item in one.items if item.item == variant.item.id)
            assert ('class="picture"' in article) == (variant.layout is not None and item.score < item.max)
            if 'class="picture"' in article:
                teeth = {int(count) for count in re.findall(r">(?:ring|sun): (\d+)<", article)}
                assert teeth == {count for pset in variant.layout.sets for count in (pset.sun_teeth, pset.ring_teeth)}
                seen += 1
    assert seen > 10


def test_nothing_handed_in_was_changed_by_marking(shown):
    outcome, _ = shown
    for submission in outcome.demo.plan:
        folder = outcome.demo.course.submitted_folder(submission.learner, outcome.demo.sheet.name)
        before = {path.name: path.read_bytes() for path in folder.iterdir()}
        class_work.hand_in(outcome.demo, submission)
        assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_the_course_key_can_be_read_by_its_owner_only(shown):
    outcome, _ = shown
    assert stat.S_IMODE(os.stat(outcome.demo.course.folder / ".secret").st_mode) == 0o600


def test_the_mark_file_and_the_printed_marks_agree(shown):
    outcome, _ = shown
    kept = record.read(outcome.demo.course.marks_file(outcome.demo.sheet.name))
    printed = json.loads(outcome.report.data.read_text(encoding="utf-8"))
    assert [(one.learner, one.score) for one in kept.learners] == [
        (one["learner"], one["score"]) for one in printed["learners"]
    ]


def test_a_second_demo_in_the_same_folder_keeps_the_first_and_gives_the_same_marks(shown):
    outcome, _ = shown
    folder = outcome.demo.course.folder.parent
    note = outcome.demo.course.folder / "my notes.txt"
    note.write_text("tried something out")
    again = show.run(folder, "a test's own seed", io.StringIO())
    assert [one.to_json() for one in again.marks.learners] == [one.to_json() for one in outcome.marks.learners]
    assert (folder / "AT-214.previous" / "my notes.txt").read_text() == "tried something out"
    assert not (folder / "AT-214" / "my notes.txt").exists()


def test_the_check_finds_a_mark_that_is_not_as_planned(shown):
    outcome, _ = shown
    first = outcome.marks.learners[0]
    tampered = replace(first, items=(replace(first.items[0], score=first.items[0].score + 0.5), *first.items[1:]))
    marks = replace(outcome.marks, learners=(tampered, *outcome.marks.learners[1:]))
    found = compare(outcome.demo.plan, LEARNERS, marks)
    assert found.differences[0].startswith(f"{first.learner}: L02-01")
    assert len(found.agreed) == 26
    assert "planned = marked for 26 of 27\n  differs  fd01: L02-01" in show.summary(replace(outcome, check=found))


def test_the_check_finds_a_learner_who_was_not_marked(shown):
    outcome, _ = shown
    found = compare(outcome.demo.plan, LEARNERS, replace(outcome.marks, learners=outcome.marks.learners[1:]))
    assert re.match(r"fd01: planned [\d.]+ marks, but was not marked", found.differences[0])


def test_the_command_fails_where_a_mark_is_not_as_planned(shown, tmp_path):
    outcome, _ = shown
    differs = replace(outcome.check, differences=("fd01: something",))
    assert show.demo(tmp_path, tell=lambda folder: outcome) == 0
    assert show.demo(tmp_path, tell=lambda folder: replace(outcome, check=differs)) == 1


def test_a_folder_with_other_things_in_it_is_left_alone(tmp_path):
    (tmp_path / "thesis.txt").write_text("years of work")
    with pytest.raises(UsageError, match=r"is not empty and no demo made it \(thesis.txt is in it\); nothing was changed"):
        show.run(tmp_path, out=io.StringIO())
    assert [path.name for path in tmp_path.iterdir()] == ["thesis.txt"]


def test_a_file_in_the_place_of_the_folder_is_named(tmp_path):
    (tmp_path / "demo").write_text("")
    with pytest.raises(UsageError, match="is a file; give a folder for the demo"):
        show.run(tmp_path / "demo", out=io.StringIO())


def test_a_report_that_leaves_the_class_names_nobody_and_keeps_the_figures(shown):
    outcome, _ = shown
    written = class_report.write(outcome.demo.course, outcome.demo.sheet, pseudonyms=True)
    assert written.page.parent.name == "pseudonyms"
    named = outcome.report.page.read_text(encoding="utf-8")
    for path in (written.page, written.table, written.data):
        text = path.read_text(encoding="utf-8")
        assert not any(one.name in text or f">{one.id}<" in text or f'"{one.id}"' in text for one in college.roster())
    quiet = written.page.read_text(encoding="utf-8")
    assert "Worth a conversation" not in quiet
    for figure in re.findall(r"facility \d+%", named):
        assert figure in quiet


def test_the_sample_for_the_second_marker_shows_right_answers_and_keeps_what_was_filled_in(shown):
    outcome, _ = shown
    course, sheet = outcome.demo.course, outcome.demo.sheet
    written = moderation.write(course, sheet, [50])
    by_learner = {one.learner: one for one in outcome.marks.learners}
    assert {one.learner for one in written.sample} >= {
        learner for learner, one in by_learner.items() if one.final * 2 < one.max
    }
    for path in written.scripts:
        variant = variants_for(course, sheet, path.stem)[1]
        assert marking.right_answer(variant)["answer"].split()[0].lstrip("-") in path.read_text(encoding="utf-8")
    written.form.write_text("begun")
    assert moderation.write(course, sheet, [50]).form.read_text() == "begun"


def test_in_a_german_course_no_cell_of_a_sheet_counts_as_changed(tmp_path, monkeypatch):
    """The demo marked with the sheet as it was composed, which lacked the comma that a German course had written into it."""
    create = class_work.course_folder.create
    monkeypatch.setattr(class_work.course_folder, "create", partial(create, language="de"))
    marks = show.run(tmp_path / "german", "a test's own seed", io.StringIO()).marks
    assert marks.marked == len(marks.learners) > 20
    assert [one.learner for one in marks.learners if any("own cell was changed" in flag for flag in one.flags)] == []
