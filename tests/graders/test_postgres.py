"""The gradebook on a PostgreSQL server: the same marks as in a file, for as many as are at work on it."""

from __future__ import annotations

import csv
import multiprocessing
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from gearkit.words.errors import GearkitError, UsageError
from graders.book import gradebook, record
from graders.cli.main import main
from graders.course import course as courses
from graders.course.course import Course
from graders.course.roster import Learner, Roster
from graders.mark import batch, removal
from tests.graders.book import book_keeping, give_by_hand, rows
from tests.graders.classroom import CLASS, Classroom, blank, right, wrong
from tests.support import postgres

pytestmark = pytest.mark.slow
KILLS = 5


@pytest.fixture(scope="module")
def server() -> Iterator[postgres.Server]:
    with postgres.server() as found:
        yield found


def classroom(folder: Path, address: str = "", roster: Roster = CLASS) -> Classroom:
    room = Classroom(folder, roster=roster, gradebook=address)
    for place, learner in enumerate(roster):
        room.hand_in(learner.id, room.copy(learner.id, (right, wrong, blank)[place % 3]))
    return room


def many(count: int) -> Roster:
    return Roster(tuple(Learner(f"s{number:03d}", f"Learner {number}") for number in range(count)))


def command(course: Course, *words: str) -> list[str]:
    return [sys.executable, "-m", "graders.cli", "mark", str(course.folder), "A1", *words]


@pytest.fixture
def room(server: postgres.Server, tmp_path: Path) -> Classroom:
    return classroom(tmp_path, server.new_database(tmp_path.name))


def test_a_server_holds_the_same_marks_and_comments_as_a_file(room, tmp_path):
    in_file = classroom(tmp_path / "file")
    # The same secret draws the same numbers, so that the comments are the same too.
    secret = in_file.course.folder / ".secret"
    secret.write_text((room.course.folder / ".secret").read_text())
    (in_file.course.folder / ".secret_check").write_text((room.course.folder / ".secret_check").read_text())
    shutil.copytree(room.course.folder / "drawn", in_file.course.folder / "drawn", dirs_exist_ok=True)
    for one in CLASS:
        source = room.course.submitted_folder(one.id, "A1") / "A1.ipynb"
        (in_file.course.submitted_folder(one.id, "A1") / "A1.ipynb").write_bytes(source.read_bytes())
    in_file.course.marks_file("A1").unlink(missing_ok=True)
    batch.mark_sheet(room.course, room.sheet)
    batch.mark_sheet(in_file.course, in_file.sheet)
    assert rows(room.course) == rows(in_file.course)
    assert len(rows(room.course)) == len(CLASS) * len(room.sheet.items)
    assert not (room.course.folder / "gradebook.db").exists()


def test_a_mark_given_by_hand_on_a_server_survives_marking_again_and_can_be_cleared(room):
    batch.mark_sheet(room.course, room.sheet)
    give_by_hand(room.course, "s2", "L03-02", 1.5, "Seen at the board.")
    marks = batch.mark_sheet(room.course, room.sheet)
    item = next(one for one in marks.learners[1].items if one.item == "L03-02")
    assert (item.score, item.automatic) == (1.5, 0.0)
    assert ("s2", "L03-02", 0.0, 1.5, 1.5) in [row[:5] for row in rows(room.course)]
    give_by_hand(room.course, "s2", "L03-02", None)
    marks = batch.mark_sheet(room.course, room.sheet)
    assert next(one for one in marks.learners[1].items if one.item == "L03-02").score == 0.0


def test_the_book_keepings_own_programs_find_the_server_through_the_course_folder(room):
    marks = batch.mark_sheet(room.course, room.sheet)
    book_keeping(room.course.folder, "export", "--to", "marks.csv")
    with (room.course.folder / "marks.csv").open(encoding="utf-8") as table:
        exported = {row["student_id"]: (float(row["score"]), float(row["max_score"])) for row in csv.DictReader(table)}
    assert exported == {one.learner: (one.score, one.max) for one in marks.learners}
    book_keeping(room.course.folder, "generate_feedback", "A1", "--student", "s2", "--force")
    page = (room.course.feedback_folder("s2", "A1") / "A1.html").read_text(encoding="utf-8")
    assert marks.learners[1].items[1].comment in page
    assert not (room.course.folder / "gradebook.db").exists()


def test_whoever_is_removed_is_gone_from_every_table(room, server, tmp_path):
    batch.mark_sheet(room.course, room.sheet)
    removal.remove(room.course, "s2")
    tables = [name for (name,) in server.ask(tmp_path.name, "SELECT tablename FROM pg_tables WHERE schemaname='public'")]
    assert {"student", "grade", "submitted_assignment"} <= set(tables)
    held = [name for name in tables if server.ask(tmp_path.name, f"SELECT 1 FROM {name} t WHERE t::text LIKE '%s2%'")]
    assert held == []
    assert {row[0] for row in rows(room.course)} == {"s1", "s3"}


def test_names_longer_than_the_servers_columns_are_cut_there_and_nowhere_else(server, tmp_path):
    name = "Wilhelmina " * 15 + "Okonjo-Vale, " + "Ø" * 20
    room = classroom(tmp_path, server.new_database(tmp_path.name), Roster((Learner("s1", name, "D"),)))
    assert batch.mark_sheet(room.course, room.sheet).learners[0].name == name
    with gradebook.opened(room.course) as book:
        assert book.find_student("s1").last_name == name[:128]


def test_two_who_open_a_new_gradebook_at_once_both_find_it_whole(server, tmp_path):
    course = courses.create(tmp_path / "course", gradebook=server.new_database(tmp_path.name))
    with multiprocessing.get_context("fork").Pool(6) as pool:
        assert pool.map(look, [course] * 24, chunksize=1) == [0] * 24
    assert len(server.ask(tmp_path.name, "SELECT version_num FROM alembic_version")) == 1


def look(course: Course) -> int:
    with gradebook.opened(course) as book:
        return len(book.students)


def test_two_who_mark_at_once_end_with_the_marks_of_one(server, tmp_path):
    room = classroom(tmp_path, server.new_database(tmp_path.name), many(40))
    batch.mark_sheet(room.course, room.sheet)
    expected, in_book = room.course.marks_file("A1").read_bytes(), rows(room.course)
    both = [subprocess.Popen(command(room.course), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for _ in "ab"]
    told = [one.communicate(timeout=240) for one in both]
    for process, (_, error) in zip(both, told, strict=True):
        assert process.returncode == 0 or "is in use: process" in error, error
    assert 0 in [process.returncode for process in both]
    assert room.course.marks_file("A1").read_bytes() == expected
    assert rows(room.course) == in_book


def test_marking_killed_at_any_moment_leaves_a_gradebook_that_marking_again_makes_whole(server, tmp_path):
    room = classroom(tmp_path, server.new_database(tmp_path.name), many(20))
    batch.mark_sheet(room.course, room.sheet)
    expected = rows(room.course)
    seeded = random.Random(20_260_203)
    for point in range(KILLS):
        process = subprocess.Popen(command(room.course), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(seeded.uniform(0.2, 4.0))
        process.send_signal(signal.SIGKILL)
        process.wait()
        batch.mark_sheet(room.course, room.sheet, resume=True)
        assert rows(room.course) == expected, f"kill point {point}"


def test_a_server_that_is_down_is_told_without_the_password_and_marking_goes_on_later(tmp_path, capsys):
    with postgres.server() as server:
        room = classroom(tmp_path, server.new_database(tmp_path.name))
        batch.mark_sheet(room.course, room.sheet)
        return_to = record.read(room.course.marks_file("A1"))
        with server.stopped():
            assert main(["mark", str(room.course.folder), "A1"]) == 2
            told = capsys.readouterr().err
        assert told.startswith("graders mark: The gradebook postgresql+psycopg://teach:***@/")
        assert "cannot be used" in told
        assert told.rstrip().endswith("Is the server running, and does it let you in?")
        assert postgres.PASSWORD not in told
        assert "Traceback" not in told
        assert main(["mark", str(room.course.folder), "A1", "--resume"]) == 0
        assert record.read(room.course.marks_file("A1")).learners == return_to.learners


def test_a_wrong_password_is_told_without_it(server, tmp_path):
    address = server.new_database(tmp_path.name).replace("teach:pa", "teach:no")
    with pytest.raises(GearkitError, match="password authentication failed") as told:
        classroom(tmp_path, address)
    assert "no%2Fss" not in str(told.value)
    assert "no/ss" not in str(told.value)


def test_the_database_of_another_course_is_refused_and_left_as_it_is(room, tmp_path):
    before = rows(room.course)
    other = courses.create(tmp_path / "other", course_id="AT-999", gradebook=room.course.gradebook)
    with (
        pytest.raises(UsageError, match=r"holds the gradebook of the course course; .*Give AT-999 an empty database"),
        gradebook.opened(other),
    ):
        pass
    assert rows(room.course) == before


def test_a_database_that_holds_something_else_is_refused_and_left_as_it_is(server, tmp_path):
    address = server.new_database(tmp_path.name)
    server.tell(tmp_path.name, "CREATE TABLE parts (name text)")
    course = courses.create(tmp_path / "course", gradebook=address)
    with (
        pytest.raises(UsageError, match=r"holds something else \(parts\); nothing was written to it"),
        gradebook.opened(course),
    ):
        pass
    tables = server.ask(tmp_path.name, "SELECT tablename FROM pg_tables WHERE schemaname='public'")
    assert tables == [("parts",)]


def test_a_course_moves_from_its_file_to_a_server_with_marks_given_by_hand(server, tmp_path):
    room = classroom(tmp_path)
    batch.mark_sheet(room.course, room.sheet)
    give_by_hand(room.course, "s2", "L03-02", 1.5)
    before = batch.mark_sheet(room.course, room.sheet)
    settings = room.course.folder / "course.toml"
    text = settings.read_text().replace("[rules]", f'gradebook = "{server.new_database(tmp_path.name)}"\n\n[rules]')
    settings.write_text(text)
    settings.chmod(0o600)
    moved = courses.open_course(room.course.folder)
    marks = batch.mark_sheet(moved, room.sheet)
    assert [item.score for item in marks.learners[1].items if item.item == "L03-02"] == [1.5]
    assert marks.learners == before.learners
    assert rows(moved) == rows(room.course)
