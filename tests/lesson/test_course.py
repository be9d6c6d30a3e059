"""The course as a whole: the home page, back and next, the record of completion, and Jupyter's own settings for lessons."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from gearkit.answers import items
from gearkit.answers.judge import marking
from gearkit.lesson import lesson_copies
from gearkit.lesson.course import lab
from gearkit.lesson.course.home import CELL, home
from gearkit.lesson.course.links import HOME, back_and_next, notebook_of
from gearkit.lesson.course.overview import PURPOSES, overview
from gearkit.lesson.exercise import Exercise
from gearkit.lesson.opening import open_lesson
from gearkit.lesson.predictions import Predictions
from gearkit.lesson.record import Record
from gearkit.lesson.syllabus import LESSONS
from gearkit.lesson.workbook import Lesson
from gearkit.text import places
from gearkit.words.errors import UsageError

NOON = datetime(2031, 3, 5, 12, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return lesson_copies.hand_over(tmp_path_factory.mktemp("course") / "lessons")


def record(tmp_path: Path, day: int = 0) -> Record:
    return Record(tmp_path / "my_record.json", clock=lambda: NOON + timedelta(days=day))


def does(kept: Record, *names: str) -> None:
    for name in names:
        exercise = Exercise(items.find(name), kept)
        exercise.write(marking.right_answer(exercise.variant))
        exercise.check()


def did(tmp_path: Path, *lessons: int) -> None:
    """A record in which all exercises of some lessons were right at once."""
    facts = {"at": NOON.isoformat(), "kind": "attempt", "draw": 1, "hints": 0, "verdict": "right", "score": "1", "max": "1"}
    events = [{**facts, "item": item.id} for lesson in lessons for item in items.of_lesson(lesson)]
    (tmp_path / "my_record.json").write_text(json.dumps({"seed": "ab", "events": events}), encoding="utf-8")


def test_every_lesson_says_what_it_is_for_and_lies_where_the_links_go() -> None:
    assert list(PURPOSES) == list(LESSONS)
    for plan in LESSONS.values():
        assert (places.lessons() / notebook_of(plan)).is_file()


def test_a_new_learner_is_sent_to_the_start_page(tmp_path: Path, shelf: Path) -> None:
    page = home(record(tmp_path), shelf)
    html = page._repr_html_()
    assert '<a href="00_start_here/start_here.ipynb">Start here</a>. Begin here, about 5 minutes.' in html
    assert "You have not begun yet." in html
    assert "Due again:</strong>" not in html
    assert all(f"0 of {len(items.of_lesson(number))}" in html for number in range(1, 16))


def test_the_home_page_tells_where_one_stopped_what_is_due_and_the_next_step(tmp_path: Path, shelf: Path) -> None:
    does(record(tmp_path), *(item.id for item in items.of_lesson(1)))
    does(record(tmp_path, day=20), "L02-01", "L02-02")
    found = overview(record(tmp_path, day=22))
    assert found.where_stopped() == "Lesson 2, exercise L02-02, 2 days ago."
    assert found.due == len(items.of_lesson(1))
    assert found.lessons[1].complete
    assert found.lessons[2].minutes_left == round(75 * 3 / 5)
    assert found.next_lesson is found.lessons[2]
    html = home(record(tmp_path, day=22), shelf)._repr_html_()
    assert "Go on with exercise L02-03." in html
    assert "It opens with questions from earlier lessons." in html
    assert f"<strong>Due again:</strong> {found.due} exercises" in html
    assert "▷" in html
    assert "Where you stopped: Lesson 2, exercise L02-02, 2 days ago." in repr(home(record(tmp_path, day=22), shelf))


def test_a_finished_lesson_leads_on_and_a_skipped_one_is_not_forgotten(tmp_path: Path) -> None:
    did(tmp_path, 15)
    found = overview(record(tmp_path)).next_lesson
    assert found is not None
    assert found.plan.number == "01"
    did(tmp_path, *range(1, 16))
    done = overview(record(tmp_path))
    assert done.next_lesson is None
    assert "All lessons are done." in done.next_step()


def test_a_lesson_is_complete_with_its_core_and_extra_exercises_are_for_who_has_time(tmp_path: Path) -> None:
    does(record(tmp_path), *LESSONS["03"].core_items)
    kept = record(tmp_path)
    found = overview(kept).lessons[3]
    assert found.complete
    assert (found.core_done, found.done, found.minutes_left) == (4, 4, 0)
    assert home(kept, tmp_path)._repr_html_().count("4 of 4") == 1
    assert Lesson(LESSONS["03"], kept).progress().advice == (
        "The core of this lesson is done: go on to the next lesson. If you have time, do L03-02."
    )
    does(kept, "L03-02")
    (tmp_path / "other").mkdir()
    other = record(tmp_path / "other")
    does(other, "L03-01")
    # The second exercise of the lesson is an extra one.
    assert Lesson(LESSONS["03"], other).progress().advice == "Go on with L03-04."


def test_a_prediction_counts_as_the_place_where_one_stopped(tmp_path: Path) -> None:
    kept = record(tmp_path)
    Predictions(kept, "06", "Q36").keep("1", {}, {"kind": "reduction"})
    found = overview(kept)
    assert found.where_stopped() == "Lesson 6, prediction “Q36”, today."
    assert found.lessons[6].predictions == 1


@pytest.mark.parametrize(
    "odd", [{"item": "X01"}, {"kind": "prediction", "lesson": ["01"]}, {"item": None}, {"at": 7, "item": "L01-01"}]
)
def test_a_record_with_anything_in_it_makes_a_page(tmp_path: Path, odd: dict[str, Any]) -> None:
    event = {"at": "2031-03-05T12:00:00+00:00", "kind": "attempt", **odd}
    (tmp_path / "my_record.json").write_text(json.dumps({"seed": "ab", "events": [event]}), encoding="utf-8")
    assert overview(record(tmp_path)).where_stopped() == "You have not begun yet."


def test_back_home_and_next_lead_to_notebooks_that_are_there(shelf: Path) -> None:
    for number, plan in LESSONS.items():
        start = shelf / plan.folder
        ways = back_and_next(number, start)
        targets = re.findall(r'href="([^"]+)"', ways)
        assert len(targets) == (2 if number in ("00", "15") else 3)
        assert all((start / target).resolve().is_file() for target in targets)
    assert '← Lesson 2: One planetary set</a> · <a href="../home.ipynb">Home</a> · <a' in back_and_next(
        "03", shelf / "03_what_one_set_can_do"
    )


def test_a_lesson_shows_its_ways_at_its_opening_and_at_its_end(shelf: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(shelf / "03_what_one_set_can_do")
    lesson = Lesson(LESSONS["03"], Record())
    for html in (lesson._repr_html_(), lesson.progress()._repr_html_()):
        assert '<nav aria-label="Course">' in html
        assert "Lesson 4: Geometry and assembly\u00a0→</a>" in html


def test_a_lesson_that_lies_on_no_shelf_has_no_broken_links(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert "<nav" not in Lesson(LESSONS["03"], Record(tmp_path / "r.json"))._repr_html_()
    assert "<a " not in home(Record(tmp_path / "r.json"), tmp_path)._repr_html_()


def cell_of(path: Path) -> dict[str, Any]:
    return next(cell for cell in json.loads(path.read_text(encoding="utf-8"))["cells"] if cell["id"] == CELL)


def test_the_home_page_is_there_before_anything_runs_and_is_renewed_each_time(tmp_path: Path) -> None:
    folder = lesson_copies.hand_over(tmp_path / "mine")
    first = cell_of(folder / HOME)["outputs"][0]["data"]["text/html"]
    assert "You have not begun yet." in first
    does(Record(folder / "my_record.json"), "L01-01")
    lesson_copies.fill(folder)
    assert "Lesson 1, exercise L01-01, today." in cell_of(folder / HOME)["outputs"][0]["data"]["text/html"]
    assert cell_of(folder / HOME)["metadata"] == {"jupyter": {"source_hidden": True}}


def test_what_its_owner_wrote_on_the_home_page_stays(tmp_path: Path) -> None:
    folder = lesson_copies.hand_over(tmp_path / "mine")
    held = json.loads((folder / HOME).read_text(encoding="utf-8"))
    own = {"cell_type": "markdown", "id": "own", "metadata": {}, "source": "My plan: *Tuesday*"}
    held["cells"].insert(0, own)
    (folder / HOME).write_text(json.dumps(held), encoding="utf-8")
    lesson_copies.fill(folder)
    assert json.loads((folder / HOME).read_text(encoding="utf-8"))["cells"][0] == own
    (folder / HOME).write_text("my own page", encoding="utf-8")
    lesson_copies.fill(folder)
    assert (folder / HOME).read_text(encoding="utf-8") == "my own page"


def test_numbers_are_the_learners_own_from_the_copying_on(tmp_path: Path) -> None:
    folder = lesson_copies.hand_over(tmp_path / "mine")
    prompts = {Exercise(items.find("L03-02"), Record(folder / "my_record.json")).variant.prompt for _ in range(3)}
    assert len(prompts) == 1
    other = lesson_copies.hand_over(tmp_path / "hers")
    assert Record(other / "my_record.json").seed != Record(folder / "my_record.json").seed
    before = (folder / "my_record.json").read_bytes()
    lesson_copies.fill(folder)
    assert (folder / "my_record.json").read_bytes() == before


def test_a_damaged_record_is_left_for_the_lesson_that_says_what_it_does(tmp_path: Path) -> None:
    folder = lesson_copies.hand_over(tmp_path / "mine")
    (folder / "my_record.json").write_text('{"events": [', encoding="utf-8")
    lesson_copies.fill(folder)
    assert (folder / "my_record.json").read_text(encoding="utf-8") == '{"events": ['
    assert "was damaged" in repr(open_lesson("03", folder / "my_record.json"))


def test_the_record_of_completion_is_a_page_with_the_learners_figures(tmp_path: Path) -> None:
    kept = record(tmp_path)
    does(kept, *(item.id for item in items.of_lesson(1)), "L02-01")
    made = Lesson(LESSONS["00"], kept).completion("Ada <b>*Example*</b>")
    assert made.path == tmp_path / "my_completion.html"
    text = made.path.read_text(encoding="utf-8")
    total = sum(len(items.of_lesson(number)) for number in range(1, 16))
    assert f"1 of 15 lessons complete, 12 of {total} exercises done." in text
    assert "<strong>Ada &lt;b&gt;*Example*&lt;/b&gt;</strong>" in text
    assert "<td>Lesson 1: Gear pairs</td><td>5 of 5</td><td>11 of 11</td><td>–</td><td>–</td><td>5 March 2031</td>" in text
    assert "were not supervised" in text
    assert repr(made) == f"1 of 15 lessons complete, 12 of {total} exercises done. Written to my_completion.html."
    assert "Name</b>" in Lesson(LESSONS["00"], kept).completion().path.read_text(encoding="utf-8")
    with pytest.raises(UsageError, match=r"ends in .html or .pdf"):
        Lesson(LESSONS["00"], kept).completion("Ada", tmp_path / "page.doc")


def test_learners_are_asked_nothing_about_news_and_see_no_grading_menus(tmp_path: Path) -> None:
    """That JupyterLab does what these files say is seen in tests/browser/test_home_in_lab.py."""
    [option] = [part for part in lab.options() if part.startswith("--LabApp.app_settings_dir=")]
    folder = Path(option.partition("=")[2])
    news = json.loads((folder / "overrides.json").read_text())["@jupyterlab/apputils-extension:notification"]
    assert news == {"fetchNews": "false", "checkForUpdates": False}
    assert json.loads((folder / "page_config.json").read_text())["disabledExtensions"]["@jupyter/nbgrader"] is True
    for part in ("formgrader", "validate_assignment", "assignment_list", "course_list"):
        assert f"--ServerApp.jpserver_extensions=nbgrader.server_extensions.{part}=False" in lab.options()
