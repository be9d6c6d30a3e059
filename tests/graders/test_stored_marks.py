"""Marks that stay on disk are the same marks, whoever writes over their file meanwhile."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from gearkit.words.errors import UsageError
from graders.book import record
from graders.book.record import ItemMark, LearnerMarks, MarkSheet
from graders.mark import changes, marks_on_disk
from graders.mark.marks_on_disk import StoredMarks


def learner(name: str, score: float = 1.0) -> LearnerMarks:
    items = (
        ItemMark("L03-02", score, 2.0, "right", comment='“ü” \u2028 {"learner": '),
        ItemMark("L03-03", 0.0, 1.0, "missing"),
    )
    return LearnerMarks(name, f"Name of {name}", "D", score, 3.0, items, ('{"learner": a flag', "two\nlines"))


SHEET = MarkSheet(
    "A1", 3, 2, (record.Failure("s2", "torn"),), tuple(learner(f"s{n}", n / 2) for n in range(3)), 1.5, "full", ("s9",)
)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    record.write(SHEET, tmp_path / "A1.json")
    return tmp_path / "A1.json"


def test_an_opened_sheet_is_the_one_that_was_written(path: Path) -> None:
    found = marks_on_disk.opened(path)
    assert isinstance(found.learners, StoredMarks)
    assert replace(found, seconds=SHEET.seconds) == SHEET
    assert record.read(path) == replace(found, seconds=record.read(path).seconds)


def test_it_can_be_written_again_to_the_same_bytes(path: Path, tmp_path: Path) -> None:
    record.write(marks_on_disk.opened(path), tmp_path / "again.json")
    assert (tmp_path / "again.json").read_bytes() == path.read_bytes()


def test_what_is_written_in_its_place_later_changes_nothing(path: Path) -> None:
    found = marks_on_disk.opened(path)
    record.write(replace(SHEET, learners=()), path)
    assert found.learners == SHEET.learners


def test_a_shelf_is_a_sequence() -> None:
    found = StoredMarks(3, lambda place: SHEET.learners[place])
    assert (len(found), found[0], found[-1], found[1:]) == (3, SHEET.learners[0], SHEET.learners[2], SHEET.learners[1:])
    assert found == SHEET.learners
    assert SHEET.learners == found
    assert found != SHEET.learners[:2]
    assert list(found) == list(found)
    with pytest.raises(IndexError, match="range"):
        found[3]


def test_a_change_is_made_as_marks_are_taken_out() -> None:
    found = marks_on_disk.changed(SHEET.learners, lambda one: replace(one, name=""))
    assert [one.name for one in found] == ["", "", ""]
    assert SHEET.learners[0].name != ""


@pytest.mark.parametrize("text", ["", "{", "[]", '{"format": 99, "learners": []}', '{"format": 1}'])
def test_what_is_no_mark_sheet_is_refused_as_ever(path: Path, text: str) -> None:
    path.write_text(text)
    with pytest.raises(UsageError, match="mark sheet"):
        marks_on_disk.opened(path)


def test_a_sheet_with_a_damaged_line_is_found_out_when_it_is_opened(path: Path) -> None:
    path.write_text(path.read_text().replace('"score": 0.5', '"score": 0.5.5', 1))
    with pytest.raises(UsageError, match="cannot be read"):
        marks_on_disk.opened(path)


def test_comparing_with_an_opened_sheet_tells_what_changed(path: Path) -> None:
    now = replace(SHEET, learners=(learner("s0", 0.0), learner("s1", 2.0), learner("s3")))
    told = {change.learner: change for change in changes.compare(marks_on_disk.opened(path), now)}
    assert set(told) == {"s1", "s2", "s3"}
    assert told["s1"].items == (("L03-02", (0.5, 2.0), (2.0, 2.0)),)
    assert (told["s1"].before, told["s1"].now) == ((0.5, 3.0), (2.0, 3.0))
    assert (told["s2"].now, told["s3"].before) == (None, None)


def test_the_lines_of_a_shelf_are_those_of_its_file(path: Path) -> None:
    found = marks_on_disk.opened(path).learners
    assert (
        list(marks_on_disk.texts(found)) == [record.line_of(one) for one in found] == list(marks_on_disk.texts(SHEET.learners))
    )
    assert list(marks_on_disk.texts(marks_on_disk.changed(found, lambda one: replace(one, score=9.0)))) == [
        record.line_of(replace(one, score=9.0)) for one in SHEET.learners
    ]
