"""The course folder: settings, secret and places."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from gearkit.text.files import write_atomically
from gearkit.text.phrases import decimal
from gearkit.words.errors import UsageError
from graders.course import course as courses
from graders.course.lateness import UNASKED, Late, Rules
from graders.course.secret import SECRET_BYTES
from graders.demo import class_work
from graders.mark.workers import worker
from graders.mark.workers.worker import Settings
from graders.run.sandbox.layers import Limits


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    courses.create(tmp_path / "AT-214", title="Automatic transmissions", time_zone="Europe/London")
    return tmp_path / "AT-214"


def test_the_secret_can_be_read_by_its_owner_only(folder: Path) -> None:
    assert stat.S_IMODE((folder / ".secret").stat().st_mode) == 0o600


def test_creating_twice_keeps_the_secret_and_the_settings(folder: Path) -> None:
    first = courses.open_course(folder)
    again = courses.create(folder, title="Automatic transmissions", time_zone="Europe/London")
    assert (again.secret(), again.title, again.id) == (first.secret(), "Automatic transmissions", "AT-214")


def test_a_course_keeps_its_language_and_with_it_what_a_comma_is(tmp_path: Path) -> None:
    german = courses.create(tmp_path / "AT-215", language="de")
    assert (german.language, german.comma) == ("de", "decimal")
    assert courses.open_course(german.folder) == courses.create(german.folder) == german
    assert courses.create(tmp_path / "AT-216").language == "en"
    with german.speaking():
        assert decimal(1.5) == "1,5"
    with pytest.raises(UsageError, match="There is no language 'xx'"):
        courses.create(tmp_path / "AT-217", language="xx")
    settings = german.folder / "course.toml"
    settings.write_text(settings.read_text().replace('"de"', '"xx"'))
    with pytest.raises(UsageError, match="language: found 'xx', expected one of en, de"):
        courses.open_course(german.folder)


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        ({"title": "Another title"}, "with title = 'Automatic transmissions', not 'Another title'"),
        ({"time_zone": "Europe/Paris"}, "with time_zone = 'Europe/London', not 'Europe/Paris'"),
        ({"course_id": "AT-215"}, "with id = 'AT-214', not 'AT-215'"),
        ({"rules": Rules()}, "with the late rule full, not 10 percent a day, 3 days, and sheets were handed out"),
    ],
)
def test_settings_that_learners_have_read_otherwise_are_refused(folder: Path, setting: dict[str, str], words: str) -> None:
    (folder / "handed_out" / "s1" / "A1").mkdir(parents=True)
    before = (folder / "course.toml").read_bytes()
    with pytest.raises(UsageError, match=words):
        courses.create(folder, **setting)
    assert (folder / "course.toml").read_bytes() == before


def test_settings_can_be_changed_until_something_was_handed_out(folder: Path) -> None:
    secret = (folder / ".secret").read_bytes()
    with (folder / "course.toml").open() as file:
        text = file.read().replace("[rules]", 'ideas = false\nlessons = "https://example.invalid/lessons"\n\n[rules]')
    write_atomically(folder / "course.toml", text)
    changed = courses.create(folder, title="Two", time_zone="Europe/Paris", comma="decimal", rules=Rules(5, 20, 2))
    assert (changed.id, changed.title, changed.time_zone, changed.comma) == ("AT-214", "Two", "Europe/Paris", "decimal")
    assert changed.rules == Rules(5, 20, 2, Late.PER_DAY)
    # What has no option stays as it was written by hand.
    assert (changed.ideas, changed.lessons) == (False, "https://example.invalid/lessons")
    assert courses.create(folder) == changed
    assert (folder / ".secret").read_bytes() == secret


def test_a_new_course_takes_nothing_off_for_lateness_and_one_without_the_line_keeps_what_it_had(folder: Path) -> None:
    assert courses.open_course(folder).rules == UNASKED
    (folder / "course.toml").write_text(
        'format = 1\nid = "a"\ntitle = "b"\n[rules]\ngrace_minutes = 15\nlate_percent_per_day = 10\nlate_days = 3\n'
    )
    assert courses.open_course(folder).rules.in_words() == (
        "Late, each day begun takes 10 percent of all marks; after 3 days nothing is earned. Up to 15 minutes late is "
        "still in time."
    )
    (folder / "course.toml").write_text('format = 1\nid = "a"\ntitle = "b"\n[rules]\nlate = "sometimes"\n')
    with pytest.raises(UsageError, match=r"rules.late: found 'sometimes', expected one of full, per day, none"):
        courses.open_course(folder)


@pytest.mark.parametrize("identity", ["a b", "../x", "a/b", "-x", "x" * 65])
def test_a_course_identity_that_cannot_name_a_folder_is_refused(tmp_path: Path, identity: str) -> None:
    with pytest.raises(UsageError, match="cannot name a folder"):
        courses.create(tmp_path / "new", course_id=identity)
    assert not (tmp_path / "new").exists()


def test_a_folder_of_any_name_gives_a_course_an_identity(tmp_path: Path) -> None:
    assert courses.create(tmp_path / "_Ünter Fünf_").id == "nter-F-nf"


def test_two_courses_have_different_secrets(tmp_path: Path) -> None:
    # In processes of their own: in this one the secrets follow from the test's name.
    script = "import sys; from pathlib import Path; from graders.course import course; course.create(Path(sys.argv[1]))"
    for name in ("day", "evening", "day again"):
        subprocess.run([sys.executable, "-c", script, str(tmp_path / name)], check=True, timeout=60)
    secrets = {courses.open_course(tmp_path / name).secret() for name in ("day", "evening", "day again")}
    assert len(secrets) == 3
    assert {len(secret) for secret in secrets} == {SECRET_BYTES}


def test_a_secret_that_others_can_read_is_refused(folder: Path) -> None:
    (folder / ".secret").chmod(0o644)
    with pytest.raises(UsageError, match=r"can be read by others \(mode 644, expected 600\).*chmod 600"):
        courses.open_course(folder).secret()


def test_a_linked_secret_is_refused(folder: Path) -> None:
    (folder / ".secret").rename(folder / "elsewhere")
    (folder / ".secret").symlink_to(folder / "elsewhere")
    with pytest.raises(UsageError, match="expected an ordinary file that you own"):
        courses.open_course(folder).secret()


def test_a_missing_secret_says_what_is_lost(folder: Path) -> None:
    (folder / ".secret").unlink()
    with pytest.raises(UsageError, match="is missing"):
        courses.open_course(folder).secret()


@pytest.mark.parametrize("text", ["", "abc", "zz" * 32, "ab" * 31])
def test_a_damaged_secret_is_refused(folder: Path, text: str) -> None:
    write_atomically(folder / ".secret", text, mode=0o600)
    with pytest.raises(UsageError, match="is damaged: expected 64 hexadecimal digits"):
        courses.open_course(folder).secret()


def test_a_folder_without_settings_is_no_course(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"is not a course folder: course\.toml is missing"):
        courses.open_course(tmp_path)


def test_faults_in_the_settings_are_reported_together(folder: Path) -> None:
    write_atomically(
        folder / "course.toml", 'format = 2\nid = "x"\ntitle = 3\ncolour = "red"\n[rules]\ngrace_minutes = -1\nhurry = true\n'
    )
    with pytest.raises(UsageError) as caught:
        courses.open_course(folder)
    for part in (
        "format: found 2, expected 1",
        "title: found 3",
        "colour: unknown",
        "rules.grace_minutes: found -1",
        "rules.hurry: unknown",
    ):
        assert part in str(caught.value)


def test_an_unknown_time_zone_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="time_zone: found 'Mars/Base'"):
        courses.create(tmp_path / "c", time_zone="Mars/Base")
    assert not (tmp_path / "c").exists()


def test_a_title_with_quotes_and_accents_survives(tmp_path: Path) -> None:
    title = 'Getriebe "für" \\ alle\tTage'
    assert courses.create(tmp_path / "c", title=title).title == title


@pytest.mark.parametrize("learner", ["../up", "a/b", "", ".hidden", "a b", "x" * 65, "a\n", "-x", "a*"])
def test_an_identity_that_cannot_name_a_folder_is_refused(learner: str) -> None:
    assert "cannot name a folder" in (courses.check_learner(learner) or "")


@pytest.mark.parametrize("learner", ["s001", "m.okafor@college.example", "Zoë_1", "7"])
def test_ordinary_identities_are_accepted(learner: str) -> None:
    assert courses.check_learner(learner) is None


@pytest.mark.parametrize("sheet", ["", "a/b", "..", "a b", "a+b"])
def test_a_sheet_name_that_cannot_name_a_folder_is_refused(sheet: str) -> None:
    with pytest.raises(UsageError, match="cannot name a folder"):
        courses.check_sheet(sheet)


def test_a_failed_write_leaves_the_old_file_and_no_other(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_atomically(tmp_path / "f", "old")

    def refuse(*args: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(os, "replace", refuse)
    with pytest.raises(OSError, match="disk full"):
        write_atomically(tmp_path / "f", "new")
    assert [(path.name, path.read_text()) for path in tmp_path.iterdir()] == [("f", "old")]


@pytest.mark.parametrize(("line", "cell", "whole"), [("", 5, 20), ("cell_seconds = 1\n", 1, 20), ("cell_seconds = 9\n", 9, 36)])
def test_a_course_says_how_long_a_cell_may_run(folder: Path, line: str, cell: int, whole: int) -> None:
    settings = folder / "course.toml"
    write_atomically(settings, settings.read_text().replace("[rules]", f"{line}\n[rules]"))
    limits = worker.engines_for(courses.open_course(folder), Settings()).args[0]
    assert (limits.cell_seconds, limits.seconds) == (cell, whole)
    assert replace(limits, cell_seconds=5.0, seconds=20.0) == Limits()


@pytest.mark.parametrize("value", ["0", "61", "2.5", "true", '"5"'])
def test_a_time_for_a_cell_that_cannot_be_meant_is_refused(folder: Path, value: str) -> None:
    settings = folder / "course.toml"
    write_atomically(settings, settings.read_text().replace("[rules]", f"cell_seconds = {value}\n\n[rules]"))
    with pytest.raises(UsageError, match=r"cell_seconds: found .*, expected a whole number of seconds from 1 to 60"):
        courses.open_course(folder)


def test_only_the_demo_gives_a_cell_less_time(tmp_path: Path) -> None:
    assert courses.create(tmp_path / "own").cell_seconds == 5
    assert class_work.open_demo_course(tmp_path / "demo", "any").cell_seconds == 1
