"""Composing sheets, keeping them, and the notebook that is made of them."""

from __future__ import annotations

import base64
import datetime as dt
import json
import re
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbgrader.nbgraderformat import MetadataValidator
from nbgrader.utils import compute_checksum

from gearkit.answers.draw_numbers import variants
from gearkit.answers.judge import marking
from gearkit.answers.listing import title_of
from gearkit.text.files import write_atomically
from gearkit.words.errors import LayoutError, UsageError
from graders.course.course import open_course
from graders.run.read.harvest import SheetCells, harvest
from graders.run.read.notebooks import load
from graders.sheets import notebook, previews, sheets
from tests.graders.classroom import Classroom


@pytest.mark.parametrize("source", ["lesson 3", "Lesson-3", "3", "lessons 03"])
def test_a_lesson_gives_all_its_items(source: str) -> None:
    sheet = sheets.compose(source, "A1")
    assert sheet.item_ids == tuple(f"L03-{number:02d}" for number in (*range(1, 10), *range(21, 25)))
    assert (sheet.title, sheet.marks) == ("Lesson 3", 35)


def test_chosen_items_stand_in_the_order_in_which_they_were_named() -> None:
    assert sheets.compose("L03-02, l02-01;L03-01", "A1").item_ids == ("L03-02", "L02-01", "L03-01")


@pytest.mark.parametrize(
    ("source", "first", "last", "title"),
    [
        ("lesson 3 lesson 2", "L03-01", "L02-23", "Lessons 3 and 2"),
        ("lessons 2, 3 and 6", "L02-01", "L06-24", "Lessons 2, 3 and 6"),
        ("lesson 2, L03-01", "L02-01", "L03-01", "Exercises"),
    ],
)
def test_lessons_and_items_can_be_mixed(source: str, first: str, last: str, title: str) -> None:
    sheet = sheets.compose(source, "A1")
    assert (sheet.item_ids[0], sheet.item_ids[-1], sheet.title) == (first, last, title)


@pytest.mark.parametrize(
    ("source", "words"),
    [
        ("lesson 3, L03-02", "Named twice: L03-02"),
        ("lesson 99", "no items for lesson 99"),
        ("L03-02,L03-02", "Named twice: L03-02"),
        ("L03-99", "no item 'L03-99'"),
        ("something", "'something' is no source of a sheet"),
        ("", "is no source of a sheet"),
    ],
)
def test_a_source_that_is_none_says_what_is_expected(source: str, words: str) -> None:
    with pytest.raises(UsageError, match=words):
        sheets.compose(source, "A1")


def test_a_layout_with_faults_is_refused_with_its_faults(tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text('format = 1\nname = "x"\njoins = []\ncolour = 1\n')
    with pytest.raises(LayoutError, match="colour"):
        sheets.compose(str(path), "A1")


@pytest.mark.parametrize("due", ["2026-03-02T17:00:00", '"2026-03-02T17:00:00"', '"2026-03-02 17:00"'])
def test_a_due_time_in_a_file_counts_in_quotation_marks_and_without(due: str, tmp_path: Path) -> None:
    file = tmp_path / "A1.toml"
    sheets.write(sheets.compose("lesson 3", "A1", due="2026-01-01 12:00"), file)
    file.write_text(file.read_text(encoding="utf-8").replace("2026-01-01T12:00:00", due), encoding="utf-8")
    assert sheets.read(file).due == dt.datetime(2026, 3, 2, 17)


@pytest.mark.parametrize("due", ['"2026-03"', '"tomorrow"', "5"])
def test_what_is_no_due_time_in_a_file_is_refused(due: str, tmp_path: Path) -> None:
    file = tmp_path / "A1.toml"
    sheets.write(sheets.compose("lesson 3", "A1", due="2026-01-01 12:00"), file)
    file.write_text(file.read_text(encoding="utf-8").replace("2026-01-01T12:00:00", due), encoding="utf-8")
    with pytest.raises(UsageError, match=f"due: found {due.replace(chr(34), chr(39))}, expected a date and time such as"):
        sheets.read(file)


@pytest.mark.parametrize("due", ["tomorrow", "2026-13-01", "2026-03-02T17:00+01:00"])
def test_a_due_time_that_cannot_be_meant_is_refused(due: str) -> None:
    with pytest.raises(UsageError, match="expected a date and time in the course's time zone"):
        sheets.compose("lesson 3", "A1", due=due)


@pytest.mark.parametrize("source", ["lesson 6", "Q36", "L02-01"])
def test_a_sheets_file_reads_back_the_same(tmp_path: Path, source: str) -> None:
    sheet = sheets.compose(source, "A1", title='Title with "quotes" \\ and é', due="2026-03-02 17:00", kind="practice")
    sheets.write(sheet, tmp_path / "A1.toml")
    assert sheets.read(tmp_path / "A1.toml") == sheet


def test_a_layout_text_with_apostrophes_survives(tmp_path: Path) -> None:
    text = Path(__file__).parents[2].joinpath("datasets/layouts/Q24.toml").read_text(encoding="utf-8")
    (tmp_path / "l.toml").write_text(text + "# it's '''odd'''\n", encoding="utf-8")
    sheet = sheets.compose(str(tmp_path / "l.toml"), "A1")
    sheets.write(sheet, tmp_path / "A1.toml")
    assert sheets.read(tmp_path / "A1.toml") == sheet


def test_faults_in_a_sheets_file_are_reported_together(tmp_path: Path) -> None:
    write_atomically(
        tmp_path / "A1.toml",
        'format = 2\nname = "a b"\nkind = "exam"\nattempts = 0\nhint_cost = 101\n'
        'colour = "red"\ntitle = 3\n[[item]]\nid = "L03-99"\n[[item]]\nid = "L03-02"\nmarks = 0\n'
        '[[item]]\nid = "L03-02"\npoints = 2\n[[item]]\nid = "L03-02"\n[[item]]\nmarks = 2\n',
    )
    with pytest.raises(UsageError) as caught:
        sheets.read(tmp_path / "A1.toml")
    for words in (
        "format: found 2, expected 1",
        "name: Sheet name 'a b'",
        "kind: found 'exam'",
        "attempts: found 0",
        "hint_cost: found 101",
        "colour: unknown",
        "title: found 3",
        "item 1: There is no item 'L03-99'",
        "item 2: marks: found 0",
        "item 3: points: unknown",
        "item 4: L03-02 stands on the sheet already",
        "item 5: expected a table",
    ):
        assert words in str(caught.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no [[item]] is there"),
        ("format = [", "cannot be read"),
        ("item = 3", "item: found 3, expected tables"),
        ('format = 1\nname = "a"\nlayouts = ["x"]\n[[item]]\nid = "X00-01"', "layouts, number 1: layout, line 1"),
    ],
)
def test_a_file_that_is_no_sheet_says_so(tmp_path: Path, text: str, words: str) -> None:
    write_atomically(tmp_path / "A1.toml", text)
    with pytest.raises(UsageError, match=re.escape(words)):
        sheets.read(tmp_path / "A1.toml")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"\x90\x00", "is no text in UTF-8; save the file with that encoding"),
        (b"a = " + b"[" * 5000, "brackets nested very deep"),
        (b"a = " + b"1" * 5000, "a number of thousands of digits"),
        (b"a = ", r"no valid TOML: Invalid value \(at "),
    ],
)
def test_a_damaged_file_of_sheet_or_course_is_told_in_plain_words(tmp_path: Path, data: bytes, words: str) -> None:
    room = Classroom(tmp_path, "L03-02")
    for file, read in ((room.course.sheet_file("A1"), sheets.read), (room.course.folder / "course.toml", None)):
        file.write_bytes(data)
        with pytest.raises(UsageError, match=f"{re.escape(str(file))} cannot be read: .*{words}"):
            read(file) if read is not None else open_course(room.course.folder)


def test_a_sheet_saved_with_the_mark_that_some_editors_put_first_is_read(tmp_path: Path) -> None:
    sheet, file = sheets.compose("L03-01", "A1"), tmp_path / "A1.toml"
    sheets.write(sheet, file)
    file.write_bytes(b"\xef\xbb\xbf" + file.read_bytes())
    assert sheets.read(file) == sheet


def test_changed_marks_are_kept_and_scale_the_score(tmp_path: Path) -> None:
    sheet = sheets.compose("L03-01", "A1")
    sheets.write(sheet, tmp_path / "A1.toml")
    (tmp_path / "A1.toml").write_text((tmp_path / "A1.toml").read_text().replace("marks = 6", "marks = 12"))
    assert sheets.read(tmp_path / "A1.toml").marks == 12


@pytest.mark.parametrize("source", ["lesson 2", "lesson 3", "lesson 6", "Q48"])
def test_the_notebook_meets_the_forms_of_notebook_and_book_keeping(tmp_path: Path, source: str) -> None:
    room = Classroom(tmp_path, source=source)
    for book in (notebook.generic(room.sheet), room.copy("s1")):
        parsed = nbformat.reads(json.dumps(book), as_version=4)
        nbformat.validate(parsed)
        MetadataValidator().validate_nb(parsed)
        assert all(not cell.get("outputs") and cell.get("execution_count") is None for cell in parsed.cells)
        tasks = [cell for cell in parsed.cells if cell.metadata.nbgrader.locked]
        assert len(tasks) == len(room.sheet.items) + 3


@pytest.mark.parametrize("source", ["lesson 2", "lesson 3", "lesson 6", "Q48"])
def test_a_copy_holds_the_learners_numbers_and_neither_secret_nor_answer(tmp_path: Path, source: str) -> None:
    room = Classroom(tmp_path, source=source)
    text = room.course.handed_out_file("s1", "A1").read_text(encoding="utf-8")
    assert room.course.secret().hex() not in text
    for variant in room.variants("s1").values():
        assert json.dumps(variant.question, ensure_ascii=False)[1:-1] in text
        assert all(json.dumps(block, ensure_ascii=False)[1:-1] in text for _, block in variant.blocks)
    cells = [cell["source"] for cell in json.loads(text)["cells"] if cell["cell_type"] == "code"]
    for variant in room.variants("s1").values():
        for answer in marking.right_answer(variant).values():
            assert all(json.dumps(answer) not in source for source in cells)


@pytest.mark.parametrize("source", ["lesson 2", "lesson 3", "lesson 6", "Q48"])
def test_an_untouched_copy_is_read_without_running_and_has_no_answer(tmp_path: Path, source: str) -> None:
    room = Classroom(tmp_path, source=source)
    found = load(room.course.handed_out_file("s1", "A1").read_bytes())
    assert found is not None
    cells = SheetCells(room.sheet.item_ids, (notebook.setup_source(room.sheet),), notebook.symbols_of(room.sheet))
    result = harvest(found, cells, None)
    assert (dict(result.answers), result.way, result.flags) == ({}, "read", ())


def test_two_learners_have_different_tasks_and_the_same_sheet_again_the_same(tmp_path: Path) -> None:
    room = Classroom(tmp_path)
    assert room.copy("s1") == room.copy("s1")
    assert room.copy("s1")["cells"][2]["source"] != room.copy("s2")["cells"][2]["source"]


def test_a_cells_fingerprint_is_the_book_keepings(tmp_path: Path) -> None:
    for cell in Classroom(tmp_path, source="lesson 2").copy("s1", lambda v: "é")["cells"]:
        assert notebook.checksum(cell) == compute_checksum(nbformat.from_dict(cell))


def pictures_in(book: dict[str, Any]) -> list[tuple[str, str]]:
    """Text alternative and content of every picture of a notebook."""
    found = []
    for cell in book["cells"]:
        for words, data in re.findall(r"!\[([^\]]*)\]\(data:image/svg\+xml;base64,([^)]*)\)", cell["source"]):
            found.append((words, base64.b64decode(data).decode("utf-8")))
    return found


def test_a_layout_is_drawn_with_the_learners_tooth_counts_and_described(tmp_path: Path) -> None:
    room = Classroom(tmp_path, source="Q36")
    for learner in ("s1", "s2"):
        ((words, picture),) = pictures_in(room.copy(learner))
        values = next(iter(room.variants(learner).values())).values
        for number in "123":
            assert f"ring: {values[f'R{number}']}" in picture
            assert f"sun: {values[f'S{number}']}" in picture
        assert words.startswith("Half-section above the axis")
        assert 'role="img"' in picture


def test_each_layout_is_drawn_once_and_not_where_the_drawing_would_be_the_answer(tmp_path: Path) -> None:
    room = Classroom(tmp_path, source="lesson 6")
    titles = [re.search(r"<title[^>]*>([^<]*)", picture).group(1) for _, picture in pictures_in(room.copy("s1"))]
    # The four levers of the last task are no drawings of a layout.
    titles = [title for title in titles if not title.startswith(("Lever picture", "Stick picture of one"))]
    # L06-02 asks what each element of the Q24 does, so the Q24 is not drawn.
    assert [("Q36" in title, "Q48" in title, "Q24" in title) for title in titles] == [
        (True, False, False),
        (False, True, False),
    ]


def test_every_sheet_ends_with_the_caution() -> None:
    last = notebook.generic(sheets.compose("lesson 2", "A1"))["cells"][-1]["source"]
    assert "follow the maker's service procedure and data, local codes and licensed practice" in last


def test_the_preview_shows_every_task_with_the_numbers_that_the_learner_will_have() -> None:
    sheet = sheets.compose("lesson 2", "A1")
    text = previews.for_learner(sheet, "ann", b"s" * 32)
    for number, entry in enumerate(sheet.items, start=1):
        assert f"### {number}. {title_of(entry.item)} ({entry.item.id}, {entry.marks} mark" in text
        assert variants.draw(entry.item, secret=b"s" * 32, sheet="A1", learner="ann").prompt in text
