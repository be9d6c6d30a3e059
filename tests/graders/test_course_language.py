"""A course in another language: its sheets, marks and pages for learners come out in it, and German answers are read."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from graders.course import course as courses
from graders.course.course import Course
from graders.hand_out import hand_out
from graders.mark import batch
from graders.report.pages import feedback
from graders.sheets import drawn, sheets
from tests.graders.classroom import CLASS, TIME, call, wrong

ITEMS = "L01-01, L03-02, L03-07"


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> Course:
    made = courses.create(tmp_path_factory.mktemp("german") / "course", title="Automatikgetriebe", language="de")
    hand_out.hand_out(made, sheets.compose(ITEMS, "A1", title="Woche 3"), CLASS)
    return made


def hand_in(course: Course, learner: str, answers: dict[str, str]) -> None:
    book = json.loads(course.handed_out_file(learner, "A1").read_text(encoding="utf-8"))
    for cell in book["cells"]:
        item = cell["metadata"]["gearkit"].get("item")
        if item:
            cell["source"] = answers[item]
    folder = course.submitted_folder(learner, "A1")
    folder.mkdir(parents=True)
    (folder / "A1.ipynb").write_text(json.dumps(book), encoding="utf-8")
    (folder / "timestamp.txt").write_text(TIME)


def test_sheet_marks_and_feedback_are_in_the_language_and_a_german_number_is_right(course: Course) -> None:
    copy = course.handed_out_file("s1", "A1").read_text(encoding="utf-8")
    assert "das Hohlrad wird festgehalten" in copy
    assert "What is the ratio" not in copy
    sheet = hand_out.sheet_of(course, "A1")
    variants = {variant.item.id: variant for variant in drawn.variants_for(course, sheet, "s1")}
    sun, ring = (int(variants["L03-02"].values[name]) for name in "SR")
    speed, tooth = (int(variants["L03-07"].values[name]) for name in ("n", "S"))
    german = f"{tooth * speed / int(variants['L03-07'].values['R']):.3f}".replace(".", ",")
    hand_in(
        course,
        "s1",
        {
            "L01-01": wrong(variants["L01-01"]),
            "L03-02": call("L03-02", {"answer": f"{1 + ring / sun:.3f}".replace(".", ",")}),
            "L03-07": call("L03-07", {"answer": f"{german} 1/min rückwärts"}),
        },
    )
    marks = batch.mark_sheet(course, sheet, workers=1).learners[0]
    assert [(item.item, item.earned == item.max) for item in marks.items] == [
        ("L01-01", False),
        ("L03-02", True),
        ("L03-07", True),
    ]
    assert marks.flags == ()
    page = Path(feedback.write_pages(course, sheet).pages[0]).read_text(encoding="utf-8")
    assert "das Hohlrad wird festgehalten" in page
    assert "Übersetzung auf dem Kopf" in page
    assert "upside down" not in page


def test_a_course_in_english_beside_it_stays_english(course: Course, tmp_path: Path) -> None:
    other = courses.create(tmp_path / "course", title="Automatic transmissions")
    hand_out.hand_out(other, sheets.compose(ITEMS, "A1"), CLASS)
    assert "Hohlrad" not in other.handed_out_file("s1", "A1").read_text(encoding="utf-8")
    assert course.language != other.language
