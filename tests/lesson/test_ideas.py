"""An idea behind several answers in the learner's own progress: from the record alone, and written to no file."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest

from gearkit.answers.beliefs.known import all_beliefs
from gearkit.answers.judge import marking
from gearkit.lesson.learnt.progress import Progress
from gearkit.lesson.opening import open_lesson
from tests.support.learners import thought, with_idea

HEAD = "An idea that may be behind several of your answers"


def works(record: Path, idea: str, lessons: tuple[str, ...] = ("02", "03"), hints: bool = False) -> Progress:
    """Somebody with an idea works through some lessons, each exercise once."""
    for number in lessons:
        lesson = open_lesson(number, record=record)
        for item in lesson.items:
            exercise = lesson._exercise(item)
            if hints:
                exercise.hint()
            contents = thought(idea, exercise.variant, 0.0) if idea else None
            exercise.write(
                with_idea(exercise.variant, contents, random.Random(2)) if contents else marking.right_answer(exercise.variant)
            )
            exercise.check()
    return open_lesson(lessons[-1], record=record).progress()


@pytest.mark.parametrize(
    ("idea", "says"),
    [
        ("carrier as R - S", "the carrier is counted as R − S in place of S + R"),
        ("own turn left out", "the carrier’s own turn is left out"),
    ],
)
def test_progress_tells_an_idea_its_exercises_and_what_to_do(tmp_path: Path, idea: str, says: str) -> None:
    found = works(tmp_path / "my_record.json", idea)
    assert len(found.ideas) == 1
    assert says in found.ideas[0]
    assert "L03-03" in found.ideas[0]
    assert "if it was only a careless mistake, ignore this" in found.ideas[0]
    assert "Then try L0" in found.ideas[0]
    assert f"{HEAD}: {found.ideas[0]}" in str(found)
    assert HEAD in found._repr_html_()


def test_who_is_right_or_works_with_hints_reads_nothing(tmp_path: Path) -> None:
    assert works(tmp_path / "a.json", "").ideas == ()
    assert works(tmp_path / "b.json", "carrier as R - S", hints=True).ideas == ()


def test_only_the_first_answer_to_each_exercise_counts(tmp_path: Path) -> None:
    record = tmp_path / "my_record.json"
    works(record, "")
    assert works(record, "carrier as R - S").ideas == ()


def test_an_idea_is_written_to_no_file(tmp_path: Path) -> None:
    record = tmp_path / "my_record.json"
    found = works(record, "carrier as R - S")
    table = found.export(tmp_path / "progress.csv").read_text()
    for text in (table, record.read_text()):
        assert not any(one.told in text or one.practise in text or one.key in text for one in all_beliefs())


def test_a_record_with_anything_in_it_is_borne(tmp_path: Path) -> None:
    record = tmp_path / "my_record.json"
    works(record, "carrier as R - S")
    held = json.loads(record.read_text())
    odd = [
        {"at": "x", "kind": "attempt", **more}
        for more in (
            {},
            {"item": "L99-01", "draw": 1, "given": {"answer": "1"}},
            {"item": "L03-02", "draw": "x", "given": []},
            {"item": "L03-02", "draw": 10**9, "given": {"answer": None}},
            {"item": 7, "draw": 1},
            {"item": "L03-02", "draw": 2, "given": 3},
        )
    ]
    held["events"] = [*odd, *held["events"], *odd]
    record.write_text(json.dumps(held))
    assert len(open_lesson("03", record=record).progress().ideas) == 1
