"""The records of a marked sheet."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from gearkit.words.errors import UsageError
from graders.book import record

ITEM = record.ItemMark(
    "L03-02", 1.5, 2.0, "wrong", ("NOONE",), "R/S is …", {"answer": "R/S"}, {"answer": "R/S"}, "read", "Sun drives …"
)
LEARNER = record.LearnerMarks(
    "s001", "Ødegård, K.", "D", 1.5, 2.0, (ITEM,), ("a second copy was ignored",), 1, "2026-02-03T10:00:00+00:00", 0.4
)
SHEET = record.MarkSheet("A1", 2, 1, (record.Failure("s002", "the file is empty"),), (LEARNER,), 3.25, "full", ("s009",))


def test_a_mark_sheet_survives_the_file(tmp_path: Path) -> None:
    record.write(SHEET, tmp_path / "A1.json")
    assert record.read(tmp_path / "A1.json") == SHEET


def test_the_time_taken_does_not_change_the_mark_sheets_bytes(tmp_path: Path) -> None:
    record.write(SHEET, tmp_path / "a.json")
    slower = record.MarkSheet(**{**vars(SHEET), "seconds": 99.0})
    record.write(slower, tmp_path / "b.json")
    assert (tmp_path / "a.json").read_bytes() == (tmp_path / "b.json").read_bytes()
    assert record.read(tmp_path / "b.json").seconds == 99.0


def test_the_json_has_the_agreed_keys() -> None:
    data = SHEET.to_json()
    assert data.keys() == {"sheet", "submissions", "marked", "failed", "learners", "seconds"}
    assert data["learners"][0].keys() == {"learner", "score", "max", "items", "flags"}
    item = data["learners"][0]["items"][0]
    assert item.keys() == {"item", "score", "max", "verdict", "mistakes", "comment"}
    assert isinstance(item["score"], float)
    assert json.loads(json.dumps(data)) == data


def test_a_penalty_never_pushes_the_mark_below_zero() -> None:
    assert LEARNER.final == 1.1
    # A binary fraction's tail (17.4 - 3.6 is 13.799999999999999) is no mark.
    assert record.LearnerMarks(**{**vars(LEARNER), "score": 17.4, "penalty": 3.6}).final == 13.8
    assert record.LearnerMarks(**{**vars(LEARNER), "penalty": 7.0}).final == 0.0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[1]", "has format 'list'"),
        ('{"format": 9}', "has format 9; expected 1"),
        ("{", "cannot be read"),
        ("[" * 100_000, "cannot be read"),
    ],
)
def test_a_file_that_is_no_mark_sheet_is_refused(tmp_path: Path, text: str, words: str) -> None:
    (tmp_path / "x.json").write_text(text)
    with pytest.raises(UsageError, match=words):
        record.read(tmp_path / "x.json")


def test_a_missing_mark_sheet_says_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="Mark the sheet first"):
        record.read(tmp_path / "x.json")
