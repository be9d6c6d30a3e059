"""The commands as their user sees them: what they print, where errors go, and how they end."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from graders.cli import main, telling
from graders.mark.batch import Progress
from tests.graders.classroom import Classroom, right, wrong

ROSTER = 'id,name,group\ns1,Ann Lee,D\ns2,"Ødegård, Kåre",E\n'


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    # A slow machine is told how far long work is.
    monkeypatch.setattr(telling, "QUIET_SECONDS", float("inf"))
    Path("class.csv").write_text(ROSTER, encoding="utf-8")
    return tmp_path


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    try:
        code = main(list(words))
    except SystemExit as ended:
        code = int(ended.code or 0)
    told = capsys.readouterr()
    assert "Traceback" not in told.out + told.err
    return code, told.out, told.err


def test_the_job_from_lesson_to_mark_sheet(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "compose", "lesson", "3", "-o", "week3.toml")
    assert code == 0
    assert "Lesson 3: 13 items of 9 kinds, 35 marks" in out
    code, out, _ = run(capsys, "hand-out", "course", "week3.toml", "--class", "class.csv", "--title", "Gears")
    assert code == 0
    assert "2 copies made" in out
    copy = Path("course/handed_out/s1/week3/week3.ipynb")
    handed_in = Path("course/submitted/s1/week3/week3.ipynb")
    handed_in.parent.mkdir(parents=True)
    handed_in.write_bytes(copy.read_bytes())
    code, out, err = run(capsys, "mark", "course", "week3")
    assert (code, err) == (0, "")
    assert "1 of 1 submission marked" in out
    assert "Nothing handed in by 1: s2" in out


def test_marks_as_json_have_the_agreed_form(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    room = Classroom(tmp_path)
    room.hand_in("s1", room.copy("s1", right))
    room.hand_in("s2", room.copy("s2", wrong))
    room.hand_in("s3", b"{")
    code, out, _ = run(capsys, "mark", str(room.course.folder), "A1", "--json")
    told = json.loads(out)
    assert code == 1, "a submission that could not be read is a finding"
    assert told.keys() == {"sheet", "submissions", "marked", "failed", "learners", "seconds"}
    assert (told["sheet"], told["submissions"], told["marked"]) == ("A1", 3, 2)
    assert [one["learner"] for one in told["failed"]] == ["s3"]
    first = told["learners"][0]
    assert first.keys() == {"learner", "score", "max", "items", "flags"}
    assert (first["learner"], first["score"], first["max"]) == ("s1", 26.0, 26.0)
    for item in first["items"]:
        assert item.keys() == {"item", "score", "max", "verdict", "mistakes", "comment"}
        assert item["verdict"] == "right"


def test_work_that_lies_outside_the_learners_folders_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    room = Classroom(tmp_path)
    room.hand_in("s1", room.copy("s1", right))
    command = ("mark", str(room.course.folder), "A1")
    assert "nothing is looked for there" not in run(capsys, *command)[1]
    submitted = room.course.submitted
    (submitted / "s2").mkdir()
    # Beside a sheet's folder, in the place of it, and another sheet's; the last two are nobody's concern here.
    for loose in ("s3.ipynb", "s2/A1.ipynb", "s1/A1.ipynb", "s2/B7.ipynb"):
        (submitted / loose).write_bytes(b"{}")
    code, out, _ = run(capsys, *command)
    assert code == 0
    assert "looked for there: submitted/s2/A1.ipynb, submitted/s3.ipynb. Work belongs into submitted/LEARNER/A1;" in out
    _, out, err = run(capsys, *command, "--json")
    assert json.loads(out)["submissions"] == 1
    assert "submitted/s3.ipynb" in err


def test_composing_prints_data_and_previews(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "compose", "Q24", "--ask", "X06-RATIO-2,x06-ratio-kinds", "-o", "unseen.toml", "--json")
    assert (code, json.loads(out)["items"]) == (
        0,
        [{"item": "X06-RATIO-KINDS", "marks": 2}, {"item": "X06-RATIO-2", "marks": 6}],
    )
    code, out, _ = run(capsys, "compose", "L03-02", "-o", "one.toml", "--preview")
    assert code == 0
    assert "\n1. Sun in, ring held, carrier out (L03-02, 2 marks)\n" in out


def test_a_sheet_is_not_written_over_by_another(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(capsys, "compose", "lesson 3", "-o", "s.toml")[0] == 0
    assert run(capsys, "compose", "lesson 3", "-o", "s.toml")[0] == 0
    before = Path("s.toml").read_bytes()
    code, _, err = run(capsys, "compose", "lesson 2", "-o", "s.toml")
    assert (code, Path("s.toml").read_bytes()) == (2, before)
    assert "holds something else. Give another name, or add --replace." in err
    assert run(capsys, "compose", "lesson 2", "-o", "s.toml", "--replace")[0] == 0


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["compose", "lesson 99", "-o", "x"], "no items for lesson 99"),
        (["compose", "Q36", "-o", "x", "--ask", "colour"], "cannot ask about colour; known are ratio, "),
        (
            ["compose", "Q36", "-o", "x", "--ask", "X06-RATIO-STEPS-1"],
            "cannot be asked for X06-RATIO-STEPS-1: with most tooth counts",
        ),
        (
            ["compose", "Q48", "-o", "x", "--ask", "X10-STEP-4-5"],
            "Ask for another item that this lists: graders items --layout",
        ),
        (["compose", "Q48", "-o", "x", "--ask", "X99-NONE-1"], "cannot ask about X99-NONE-1; known are ratio, "),
        (["items", "--layout", "Q36", "--subject", "colour"], "nothing here is about 'colour'. There is: ratio"),
        (["items", "--layout", "no-such.toml"], "no-such.toml"),
        (["compose", "lesson 3", "-o", "."], "is a folder; give the name of a sheet's file"),
        (["compose", "lesson 3", "-o", "x", "--marks", "L03-01"], "expected an item and its marks, such as L03-02=4"),
        (["compose", "lesson 3", "-o", "x", "--items", "-3"], "--items -3: expected a whole number from 1"),
        (["compose", "lesson 3"], "required: -o/--output"),
        (["hand-out", "course", "none.toml", "--class", "class.csv"], "There is no sheet 'none.toml'"),
        (["hand-out", "course", "none.toml", "--class", "nobody.csv"], "There is no class list nobody.csv"),
        (["mark", "course", "A1"], "is not a course folder"),
        (["mark", "course", "A1", "--workers", "-2"], "--workers -2: expected a number"),
        (["frobnicate"], "invalid choice"),
    ],
)
def test_unusable_input_ends_with_2_and_a_sentence_on_the_error_stream(
    here: Path,
    capsys: pytest.CaptureFixture[str],
    words: list[str],
    told: str,
) -> None:
    code, out, err = run(capsys, *words)
    assert (code, out) == (2, "")
    assert told in err
    assert [path.name for path in here.iterdir()] == ["class.csv"], "something was written"


def test_a_class_list_with_faults_leaves_no_course_behind(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(capsys, "compose", "lesson 3", "-o", "s.toml")
    Path("class.csv").write_text(ROSTER + "s1,Double,D\n", encoding="utf-8")
    code, _, err = run(capsys, "hand-out", "course", "s.toml", "--class", "class.csv")
    assert code == 2
    assert "line 4: identity 's1' is already in line 2" in err
    assert not Path("course").exists()


@pytest.mark.parametrize("command", ["compose", "hand-out", "mark", "report", "hand-back", "export", "demo", "doctor"])
def test_every_command_explains_itself_with_an_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, command, "--help")
    assert code == 0
    assert f"example:  graders {command}" in out


def told_at(*progress: Progress) -> list[str]:
    return [telling.progress_words(one, "submissions marked") for one in progress]


def test_no_rate_and_no_time_left_are_told_before_they_can_be_known() -> None:
    slow_start = [Progress(done, 225, seconds) for done, seconds in ((0, 3.0), (1, 4.0), (4, 4.2))]
    assert told_at(*slow_start) == [f"{done} of 225 submissions marked" for done in (0, 1, 4)]
    assert told_at(Progress(200, 225, 5.0, before=198)) == ["200 of 225 submissions marked"]


def test_the_rate_is_that_of_this_run_and_is_told_in_whole_words() -> None:
    assert told_at(
        Progress(25, 225, 5.0), Progress(125, 225, 10.0, before=25), Progress(6, 96, 60.0), Progress(225, 225, 9.0)
    ) == [
        "25 of 225 submissions marked, 5 per second, about 40 s left",
        "125 of 225 submissions marked, 10 per second, about 10 s left",
        "6 of 96 submissions marked, 10 s each, about 15 min left",
        "225 of 225 submissions marked",
    ]
    assert told_at(Progress(224, 225, 2.0)) == ["224 of 225 submissions marked, 112 per second, about a second left"]


def test_progress_is_told_on_the_error_stream_and_not_too_often(capsys: pytest.CaptureFixture[str]) -> None:
    teller = telling.MarkingTeller("submissions marked")
    for done in range(20):
        teller(Progress(done, 225, 3.0 + done / 100))
    teller(Progress(20, 225, 0.5))
    teller.close()
    told = capsys.readouterr()
    assert (told.out, told.err) == ("", "0 of 225 submissions marked\n")
