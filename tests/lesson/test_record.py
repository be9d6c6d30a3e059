"""The learner's record loses nothing: not on restart, not on damage, not with two notebooks open, not on update."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from gearkit.lesson.record import Record, record_path

AT_NOON = datetime(2031, 3, 5, 12, 0, tzinfo=UTC)


def test_what_was_written_is_there_after_a_restart(tmp_path: Path) -> None:
    first = Record(tmp_path / "r.json", clock=lambda: AT_NOON)
    first.add("attempt", {"item": "L03-02", "verdict": "wrong"})
    again = Record(tmp_path / "r.json")
    assert again.events == ({"at": "2031-03-05T12:00:00.000+00:00", "kind": "attempt", "item": "L03-02", "verdict": "wrong"},)
    assert again.seed == first.seed


def test_the_file_is_plain_json_with_one_event_on_a_line(tmp_path: Path) -> None:
    record = Record(tmp_path / "r.json")
    for number in range(3):
        record.add("hint", {"item": "L03-02", "number": number})
    text = (tmp_path / "r.json").read_text(encoding="utf-8")
    assert [event["number"] for event in json.loads(text)["events"]] == [0, 1, 2]
    assert len(text.splitlines()) == 3 + 2


def test_opening_a_record_writes_nothing(tmp_path: Path) -> None:
    Record(tmp_path / "r.json").of_kind("attempt")
    assert list(tmp_path.iterdir()) == []


def test_two_open_notebooks_lose_nothing_of_each_other(tmp_path: Path) -> None:
    one, other = Record(tmp_path / "r.json"), Record(tmp_path / "r.json")
    one.add("attempt", {"item": "a"})
    other.add("attempt", {"item": "b"})
    one.add("attempt", {"item": "c"})
    assert [event["item"] for event in other.events] == ["a", "b", "c"]
    assert one.seed == other.seed


def test_processes_that_write_at_once_lose_nothing(tmp_path: Path) -> None:
    script = (
        "import sys; from pathlib import Path; from gearkit.lesson.record import Record\n"
        "record = Record(Path(sys.argv[1]))\n"
        "for number in range(20): record.add('attempt', {'by': sys.argv[2], 'number': number})\n"
    )
    running = [subprocess.Popen([sys.executable, "-c", script, str(tmp_path / "r.json"), name]) for name in "ab"]
    assert [process.wait(60) for process in running] == [0, 0]
    events = Record(tmp_path / "r.json").events
    for name in "ab":
        assert [event["number"] for event in events if event["by"] == name] == list(range(20))


@pytest.mark.parametrize("damage", ["cut", "tail", "not json", "wrong shape"])
def test_a_damaged_file_is_set_aside_and_its_readable_entries_are_taken_over(tmp_path: Path, damage: str) -> None:
    path = tmp_path / "my_record.json"
    record = Record(path)
    for number in range(4):
        record.add("attempt", {"item": "L03-02", "number": number})
    text = path.read_text(encoding="utf-8")
    harmed, expected = {
        "cut": (text[: text.index('"number": 3')], [0, 1, 2]),
        "tail": (text + "}}}", [0, 1, 2, 3]),
        "not json": ("\x00\x00\x00", []),
        "wrong shape": ('{"events": 5}', []),
    }[damage]
    path.write_text(harmed, encoding="utf-8")
    after = Record(path)
    assert [event["number"] for event in after.events] == expected
    [notice] = after.take_notices()
    assert "was set aside, unchanged, as my_record.damaged-" in notice
    [aside] = tmp_path.glob("my_record.damaged-*.json")
    assert aside.read_text(encoding="utf-8") == harmed
    after.add("attempt", {"item": "L03-02", "number": 9})
    assert [event["number"] for event in Record(path).events] == [*expected, 9]


def test_the_seed_survives_damage_so_the_learners_numbers_stay(tmp_path: Path) -> None:
    path = tmp_path / "r.json"
    record = Record(path)
    record.add("draw", {"item": "L03-02"})
    path.write_text(path.read_text(encoding="utf-8")[:-3], encoding="utf-8")
    assert Record(path).seed == record.seed


def test_entries_of_a_newer_kit_are_kept_as_they_are(tmp_path: Path) -> None:
    path = tmp_path / "r.json"
    path.write_text(
        '{"format": 7, "seed": "ab12", "house": {"colour": "plain"}, "events": [\n'
        '{"at": "2031", "kind": "unheard of", "deep": [1, {"x": null}]}\n]}',
        encoding="utf-8",
    )
    Record(path).add("hint", {"item": "L02-01"})
    held = json.loads(path.read_text(encoding="utf-8"))
    assert held["house"] == {"colour": "plain"}
    assert held["events"][0] == {"at": "2031", "kind": "unheard of", "deep": [1, {"x": None}]}
    assert held["seed"] == "ab12"


def test_a_folder_that_cannot_be_written_is_told_and_the_work_is_kept_until_it_can(tmp_path: Path) -> None:
    blocker = tmp_path / "shelf"
    blocker.write_text("a file where a folder should be")
    record = Record(blocker / "r.json")
    record.add("attempt", {"item": "L03-02"})
    [notice] = record.take_notices()
    assert "could not be written" in notice
    assert record.of_kind("attempt")[0]["item"] == "L03-02"
    blocker.unlink()
    record.add("attempt", {"item": "L03-03"})
    assert [event["item"] for event in Record(blocker / "r.json").events] == ["L03-02", "L03-03"]


def test_a_lock_left_by_a_killed_process_does_not_stop_the_learner(tmp_path: Path) -> None:
    lock = tmp_path / "r.json.lock"
    lock.touch()
    os.utime(lock, (0, 0))
    Record(tmp_path / "r.json").add("attempt", {"item": "L03-02"})
    assert not lock.exists()
    assert len(Record(tmp_path / "r.json").events) == 1


def test_the_record_lies_beside_the_lessons_whichever_lesson_is_open(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("GEARKIT_RECORD", raising=False)
    (tmp_path / "00_start_here").mkdir()
    (tmp_path / "03_what_one_set_can_do").mkdir()
    assert record_path(tmp_path / "03_what_one_set_can_do") == tmp_path / "my_record.json"
    monkeypatch.setenv("GEARKIT_RECORD", str(tmp_path / "elsewhere.json"))
    assert record_path(tmp_path) == tmp_path / "elsewhere.json"
