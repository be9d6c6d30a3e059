"""The commands for decisions, as an instructor types them."""

from __future__ import annotations

import json
import os
from dataclasses import replace

import pytest

from graders.book import record
from graders.cli.main import main
from graders.mark import batch
from graders.mark.workers.worker import part_file, read_part, write_part
from tests.graders.classroom import Classroom, right, wrong


@pytest.fixture
def room(tmp_path) -> Classroom:
    found = Classroom(tmp_path)
    found.hand_in("s1", found.copy("s1", right))
    found.hand_in("s2", found.copy("s2", wrong))
    batch.mark_sheet(found.course, found.sheet)
    return found


@pytest.fixture
def due_room(tmp_path) -> Classroom:
    found = Classroom(tmp_path, due="2026-02-02 12:00")
    found.hand_in("s2", found.copy("s2", wrong))
    batch.mark_sheet(found.course, found.sheet)
    return found


def run(capsys, *words: object) -> tuple[int, str, str]:
    code = main([str(word) for word in words])
    out = capsys.readouterr()
    return code, out.out, out.err


def test_an_override_tells_what_changed(room, capsys):
    code, out, _ = run(capsys, "override", room.course.folder, "A1", "s2", "l03-02", "1.5", "--reason", "right idea",
                       "--by", "R. Okonjo-Vale")  # fmt: skip
    assert code == 0
    assert "Marks changed for 1 learner.\n  s2: L03-02 0 of 2 → 1.5 of 2" in out


def test_an_override_without_a_reason_is_refused(room, capsys):
    with pytest.raises(SystemExit, match="2"):
        main(["override", str(room.course.folder), "A1", "s2", "L03-02", "1.5"])
    assert "--reason" in capsys.readouterr().err


def test_a_mark_out_of_reach_is_refused_and_nothing_is_kept(room, capsys):
    code, _, err = run(capsys, "override", room.course.folder, "A1", "s2", "L03-02", "99", "--reason", "x")
    assert code == 2
    assert "L03-02: the mark 99.0 is out of reach; give a number from 0 to 2" in err
    assert run(capsys, "trail", room.course.folder)[1] == "Nothing was decided.\n"


def test_a_decision_can_be_taken_back_once(room, capsys):
    folder = room.course.folder
    before = room.course.marks_file("A1").read_bytes()
    run(capsys, "correct", folder, "A1", "L03-02", "--withdraw", "--reason", "misprint")
    assert record.read(room.course.marks_file("A1")).learners[0].max == 24
    code, out, _ = run(capsys, "take-back", folder, "1", "--reason", "no misprint after all")
    assert (code, "Marks changed for 2 learners." in out) == (0, True)
    assert room.course.marks_file("A1").read_bytes() == before
    code, _, err = run(capsys, "take-back", folder, "1", "--reason", "again")
    assert (code, "has been taken back already" in err) == (2, True)


def test_an_accepted_answer_with_parts_is_read_from_one_text(room, capsys):
    item = next(one for one in record.read(room.course.marks_file("A1")).learners[1].items if one.item == "L03-04")
    text = "; ".join(f"{part} = {value}" for part, value in item.given.items())
    code, out, _ = run(capsys, "correct", room.course.folder, "A1", "L03-04", "--accept", text, "--reason", "also right")
    assert code == 0
    assert "s2: L03-04" in out
    assert "s1" not in out


def test_the_trail_as_json_holds_every_field(due_room, capsys):
    run(capsys, "extend", due_room.course.folder, "A1", "s2", "--until", "2026-02-10 17:00", "--reason", "ill", "--by", "R. O.")
    entry, *_ = json.loads(run(capsys, "trail", due_room.course.folder, "--json")[1])
    assert (entry["kind"], entry["learner"], entry["until"], entry["by"]) == ("extend", "s2", "2026-02-10 17:00", "R. O.")


def test_marking_one_item_again_leaves_all_others_to_the_letter(room, capsys):
    # As if an older kit had marked two items of two learners otherwise.
    for learner in ("s1", "s2"):
        path = part_file(room.course, "A1", learner)
        part = read_part(path)
        assert part is not None
        items = tuple(
            replace(one, score=0.25, comment="old") if one.item in ("L03-02", "L03-03") else one for one in part.marks.items
        )
        score = sum(one.score for one in items)
        write_part(replace(part, marks=replace(part.marks, items=items, score=score)), path)
    batch.decided_again(room.course, room.sheet)
    code, out, _ = run(capsys, "mark-again", room.course.folder, "A1", "--item", "l03-02", "--learner", "s1")
    assert code == 0
    assert "Marks changed for 1 learner.\n  s1: L03-02 0.25 of 2 → 2 of 2, together 22.5 of 26 → 24.25 of 26" in out
    first, second = record.read(room.course.marks_file("A1")).learners
    scores = {one.item: (one.score, one.comment) for one in first.items}
    assert scores["L03-03"] == (0.25, "old")
    assert {one.item: one.score for one in second.items}["L03-02"] == 0.25


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--item", "L09-99"), "has no item L09-99. Its items: L03-01"),
        (("--learner", "s3"), "Nothing was handed in for sheet A1 by: s3"),
    ],
)
def test_marking_again_what_is_not_there_is_refused(room, capsys, words, told):
    code, _, err = run(capsys, "mark-again", room.course.folder, "A1", *words)
    assert code == 2
    assert told in err


def test_marking_a_sheet_again_after_a_decision_lists_no_change(room, capsys):
    run(capsys, "override", room.course.folder, "A1", "s2", "L03-02", "1.5", "--reason", "right idea")
    code, out, _ = run(capsys, "mark", room.course.folder, "A1")
    assert code == 0
    assert "changed" not in out
    assert {one.item: one.score for one in record.read(room.course.marks_file("A1")).learners[1].items}["L03-02"] == 1.5


def test_cells_that_are_gone_and_cards_that_were_dropped_are_told(tmp_path):
    room = Classroom(tmp_path)
    gone = room.copy("s1", right)
    gone["cells"] = [cell for cell in gone["cells"] if cell["metadata"]["gearkit"].get("item") not in ("L03-02", "L03-05")]
    room.hand_in("s1", gone)
    stripped = room.copy("s2", right)
    stripped["cells"] = [{**cell, "metadata": {}} for cell in stripped["cells"]]
    room.hand_in("s2", stripped)
    first, second = batch.mark_sheet(room.course, room.sheet).learners
    assert first.flags == ("The cells of L03-02, L03-05 are not in the notebook any more.",)
    assert second.flags == (
        "The notebook was saved by a program that dropped its cells' cards; answers were found by their items.",
    )
    assert second.score == second.max


def test_the_trail_of_a_sheet_that_is_not_there_is_refused(room, capsys):
    code, _, err = run(capsys, "trail", room.course.folder, "nope")
    assert (code, "There is no sheet 'nope'" in err) == (2, True)


@pytest.mark.parametrize("percent", ["0", "500", "-5"])
def test_a_retake_below_no_percentage_is_refused(room, capsys, percent):
    code, _, err = run(capsys, "retake", room.course.folder, "A1", "--below", percent)
    assert (code, "expected percent from 1 to 100" in err) == (2, True)


def test_an_export_never_replaces_what_is_no_file(room, capsys, tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    code, _, err = run(capsys, "export", room.course.folder, "--to", "csv", "-o", pipe)
    assert (code, "no ordinary file" in err, pipe.is_fifo()) == (2, True, True)


def test_a_file_that_cannot_be_written_is_named_as_the_caller_named_it(room, capsys, tmp_path):
    (tmp_path / "taken").write_text("")
    code, _, err = run(capsys, "export", room.course.folder, "--to", "csv", "-o", tmp_path / "taken" / "marks.csv")
    assert code == 2
    assert "taken/marks.csv: " in err
    assert ".part" not in err


def test_a_learner_who_handed_in_since_is_told_as_new(room, capsys):
    room.hand_in("s3", room.copy("s3", wrong))
    code, out, _ = run(capsys, "mark", room.course.folder, "A1")
    assert code == 0
    assert "s3: new, " in out
    assert "none →" not in out


def test_an_override_before_the_sheet_is_marked_says_that_it_has_to_be_marked_first(tmp_path, capsys):
    room = Classroom(tmp_path)
    room.hand_in("s1", room.copy("s1", right))
    code, _, err = run(capsys, "override", room.course.folder, "A1", "s1", "L03-02", "1", "--reason", "seen")
    assert code == 2
    assert "has not been marked yet" in err
    assert "handed in nothing" not in err


@pytest.mark.parametrize("answer", ["", "zz=3", "  "])
def test_an_answer_that_no_learner_can_have_given_is_not_accepted(room, capsys, answer):
    code, _, err = run(capsys, "correct", room.course.folder, "A1", "L03-01", "--accept", answer, "--reason", "misprint")
    assert code == 2
    assert "cannot be accepted; expected S_R_C=...; C_R_S=..." in err
    assert run(capsys, "trail", room.course.folder)[1] == "Nothing was decided.\n"


def test_no_extension_gives_less_time(due_room, capsys):
    folder = due_room.course.folder
    code, _, err = run(capsys, "extend", folder, "A1", "s2", "--until", "2026-02-02 11:00", "--reason", "ill")
    assert code == 2
    assert "Extension until '2026-02-02 11:00': the sheet is due 2026-02-02 12:00 for s2; give a later time." in err
    for time, reason in (("2026-02-09 17:00", "long"), ("2026-02-04 17:00", "short, for the whole group")):
        assert run(capsys, "extend", folder, "A1", "s2", "--until", time, "--reason", reason)[0] == 0
    one = next(one for one in record.read(due_room.course.marks_file("A1")).learners if one.learner == "s2")
    assert "Due time extended to 2026-02-09 17:00: long" in one.flags


def test_a_sheet_without_a_due_time_cannot_be_extended(room, capsys):
    code, _, err = run(capsys, "extend", room.course.folder, "A1", "s2", "--until", "2026-02-09 17:00", "--reason", "ill")
    assert code == 2
    assert "Sheet A1 has no due time, so nobody is late and there is nothing to extend." in err


def test_an_appeal_shows_the_decisions_about_this_answer_and_no_other_learners(room, capsys):
    folder = room.course.folder
    for learner, reason in (("s1", "about s1"), ("s2", "about s2")):
        run(capsys, "override", folder, "A1", learner, "L03-02", "1", "--reason", reason)
    numbers = {
        entry["learner"]: entry["number"]
        for entry in json.loads(run(capsys, "trail", folder, "--json")[1])
        if entry["kind"] == "override"
    }
    for learner, number in numbers.items():
        run(capsys, "take-back", folder, number, "--reason", f"back for {learner}")
    out = run(capsys, "show", folder, "A1", "s2", "L03-02")[1]
    assert f"take back {numbers['s2']}. back for s2" in out
    # On a screen the signs that make bold and formulas on a page would only stand in the way.
    assert "$" not in out
    assert "**" not in out
    assert "s1" not in out


def test_an_appeal_says_what_could_not_be_read_and_what_was_left_empty(tmp_path, capsys):
    room = Classroom(tmp_path)
    room.hand_in("s1", room.copy("s1", lambda variant: {"L03-02": 'answer("L03-02", "3,700")'}.get(variant.item.id, "")))
    batch.mark_sheet(room.course, room.sheet)
    assert "wrote '3,700', could not be read, right is" in run(capsys, "show", room.course.folder, "A1", "s1", "L03-02")[1]
    assert "wrote nothing, right is" in run(capsys, "show", room.course.folder, "A1", "s1", "L03-03")[1]
