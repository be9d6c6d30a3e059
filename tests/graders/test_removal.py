"""Removing a learner leaves nothing of them anywhere in the course, and everybody else's marks as they were."""

from __future__ import annotations

import pytest

from graders.book import record
from graders.cli.main import main
from graders.course import roster
from graders.course.roster import Learner, Roster
from graders.mark import batch, removal
from graders.mark.decide import decisions, retakes
from graders.mark.decide.decisions import Decision, DecisionKind
from graders.report.pages import class_report, course_report, feedback
from tests.graders.classroom import Classroom, right, wrong

# An identity and a name that occur nowhere by accident.
GONE = "quillfeather"
CLASS = Roster((Learner("s1", "Ann Lee", "D"), Learner(GONE, "Zadrozny-Quince, Ulla", "E"), Learner("s3", "Cy Ek", "E")))


@pytest.fixture
def room(tmp_path) -> Classroom:
    found = Classroom(tmp_path, roster=CLASS)
    found.hand_in("s1", found.copy("s1", right))
    found.hand_in(GONE, found.copy(GONE, wrong))
    batch.mark_sheet(found.course, found.sheet)
    made = Decision(DecisionKind.OVERRIDE, "A1", "R. O.", f"{GONE} showed it", item="L03-02", learner=GONE, score=1.0)
    decisions.keep(found.course, made)
    batch.decided_again(found.course, found.sheet)
    retakes.offer(found.course, found.sheet, [GONE, "s3"])
    feedback.write_pages(found.course, found.sheet)
    class_report.write(found.course, found.sheet)
    course_report.write(found.course)
    return found


def holding(room: Classroom, *words: str) -> list[str]:
    """Every file of the course that holds one of the words, in its content or its path."""
    found = []
    for path in sorted(room.course.folder.rglob("*")):
        inside = str(path.relative_to(room.course.folder))
        content = path.read_bytes() if path.is_file() else b""
        if any(word in inside or word.encode() in content for word in words):
            found.append(inside)
    return found


def test_nothing_of_a_removed_learner_is_left_in_the_course(room):
    assert len(holding(room, GONE, "Zadrozny")) > 10
    removed = removal.remove(room.course, GONE)
    assert holding(room, GONE, "Zadrozny") == []
    assert removed.left == ()
    assert "gradebook: 1" in removed.done


def test_everybody_elses_marks_stay_as_they_were(room):
    before = record.read(room.course.marks_file("A1"))
    removal.remove(room.course, GONE)
    after = record.read(room.course.marks_file("A1"))
    assert after.learners == tuple(one for one in before.learners if one.learner != GONE)
    assert (after.submissions, after.marked, after.absent) == (1, 1, ("s3",))
    again = batch.mark_sheet(room.course, room.sheet)
    assert again.learners == after.learners
    assert [one.id for one in roster.read(room.course.roster_file)] == ["s1", "s3"]


def test_the_trail_stays_whole_without_the_identity(room):
    before = decisions.read(room.course)
    removal.remove(room.course, GONE)
    after = decisions.read(room.course)
    assert [one.kind for one in after] == [one.kind for one in before]
    assert (after[0].learner, after[0].reason, after[0].score) == ("(removed)", "(removed)", 1.0)


def test_removing_twice_says_that_nothing_is_there(room, capsys):
    assert main(["remove", str(room.course.folder), GONE, "--yes"]) == 0
    assert f"Removed {GONE}:" in capsys.readouterr().out
    assert main(["remove", str(room.course.folder), GONE, "--yes"]) == 2
    assert f"has nothing of '{GONE}'. Is the identity right?" in capsys.readouterr().err


def test_without_yes_nothing_is_removed(room, capsys):
    assert main(["remove", str(room.course.folder), GONE]) == 2
    assert "If that is meant, add --yes." in capsys.readouterr().err
    assert room.course.submitted_folder(GONE, "A1").exists()


def test_a_file_of_the_instructors_own_that_names_them_is_pointed_out(room, capsys):
    note = room.course.folder / "notes.txt"
    note.write_text(f"Talk to {GONE} on Monday.")
    assert main(["remove", str(room.course.folder), GONE, "--yes"]) == 1
    assert str(note) in capsys.readouterr().out
    assert note.exists()


@pytest.mark.parametrize("learner", ["../s1", "", ".."])
def test_what_cannot_be_an_identity_removes_nothing(room, learner, capsys):
    assert main(["remove", str(room.course.folder), learner, "--yes"]) == 2
    assert "Nothing was removed" in capsys.readouterr().err
    assert room.course.submitted_folder("s1", "A1").exists()


def test_an_identity_that_is_only_a_word_in_a_report_removes_nothing(room, capsys):
    report = room.course.folder / "reports" / "note.html"
    report.parent.mkdir(exist_ok=True)
    report.write_text("nobody handed in late")
    assert main(["remove", str(room.course.folder), "nobody", "--yes"]) == 2
    assert "has nothing of 'nobody'" in capsys.readouterr().err
    assert report.exists()


def test_short_identities_are_not_found_in_other_words_nor_in_pictures_and_pseudonyms_go_too(room, capsys):
    picture = room.course.folder / "sheets" / "picture.txt"
    picture.write_text(f"![a drawing](data:image/svg+xml;base64,/{GONE}+{GONE}0) and x{GONE}y")
    for command in (["report"], ["report", "--pseudonyms"]):
        assert main([command[0], str(room.course.folder), "A1", *command[1:]]) == 0
    pseudonyms = room.course.reports_folder("A1") / "pseudonyms"
    assert list(pseudonyms.iterdir())
    assert main(["remove", str(room.course.folder), GONE, "--yes"]) == 0, capsys.readouterr()
    assert list(pseudonyms.iterdir()) == []
    assert picture.exists()


@pytest.mark.parametrize("text", ["\n%s: changed", "in/%s/A1", '"%s"', "_%s_", "a\\n%s", "%s"])
def test_an_identity_that_stands_as_a_word_is_found(room, capsys, text):
    note = room.course.folder / "note.txt"
    note.write_text(text % GONE)
    assert main(["remove", str(room.course.folder), GONE, "--yes"]) == 1
    assert str(note) in capsys.readouterr().out
