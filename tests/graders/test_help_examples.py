"""The examples that the help of every command shows, typed one after the other as they are printed."""

from __future__ import annotations

import shlex
import shutil
from pathlib import Path

import pytest

from gearkit.answers.draw_numbers.variants import Variant
from graders.cli import after, courses, deciding, elsewhere, listing, marking, paper, preparing, telling, term, units
from graders.cli.main import ORDER, main
from graders.course import course as course_folders
from graders.hand_out import hand_out
from tests.graders.classroom import Classroom, right, wrong

# These need a server's accounts or take long; test_exchange, test_protection and tests/demo play them.
ELSEWHERE = ("exchange", "doctor", "demo")
ROSTER = 'id,name,group\nfd06,"Bell, Ann",D\nfd07,Bo Cray,D\nfd08,Cÿ Dent,E\n'


def mistaken(variant: Variant) -> str:
    """The first named mistake; nothing where these numbers show none apart from the right answer."""
    return wrong(variant) if variant.key.wrong_forms else ""


def hand_in_elsewhere() -> None:
    """Write the zip that the example takes in: one all right, one with every first mistake, of three."""
    room = Classroom.__new__(Classroom)
    room.course = course_folders.open_course(Path("COURSE"))
    room.sheet = hand_out.sheet_of(room.course, "week3")
    for learner, write in (("fd06", right), ("fd07", mistaken)):
        folder = room.hand_in(learner, room.copy(learner, write), time="")
        (Path("handed in") / learner).mkdir(parents=True)
        shutil.move(folder / "week3.ipynb", Path("handed in") / learner)
        folder.rmdir()
    shutil.make_archive("submissions", "zip", "handed in")


def test_the_examples_of_all_commands_work_as_they_are_printed_in_the_order_of_the_job(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    # A slow machine is told how far long work is.
    monkeypatch.setattr(telling, "QUIET_SECONDS", float("inf"))
    Path("ROSTER.csv").write_text(ROSTER, encoding="utf-8")
    examples = {
        one.name: one.example
        for family in (listing, units, courses, preparing, paper, marking, after, deciding, term, elsewhere)
        for one in family.COMMANDS
    }
    assert set(examples) == set(ORDER)
    for name in (one for one in ORDER if one not in ELSEWHERE):
        if name == "take-in":
            hand_in_elsewhere()
        program, *words = shlex.split(examples[name])
        code = main(words)
        said = capsys.readouterr()
        assert (program, words[0], code, said.err) == ("graders", name, 0, "")
        assert said.out.strip()
    assert not Path("COURSE/submitted/fd07/week3").exists()  # the last of them removed fd07


@pytest.mark.parametrize("name", ELSEWHERE)
def test_commands_played_elsewhere_are_commands(name):
    assert name in ORDER
