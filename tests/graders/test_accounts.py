"""Which account belongs to which learner: a small file of the instructor's, read whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from gearkit.words.errors import UsageError
from graders.course import accounts
from graders.course import course as courses
from graders.course.course import Course


@pytest.fixture
def course(tmp_path: Path) -> Course:
    return courses.create(tmp_path / "course")


def test_an_account_bears_the_learners_identity_unless_the_file_says_otherwise(course):
    assert accounts.of("fd01", accounts.read(course)) == "fd01"
    (course.folder / "accounts.csv").write_text('\ufeffid,account\nfd01,u1234\n"fd02", "u5678"\n', encoding="utf-8")
    known = accounts.read(course)
    assert [accounts.of(one, known) for one in ("fd01", "fd02", "fd03")] == ["u1234", "u5678", "fd03"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("name,login\nfd01,u1\n", "the columns are name, login; expected id, account"),
        ("id,account\nfd01,u1\nfd01,u2\nfd02,u1\n,u4\n",
         "line 3: id 'fd01' is there twice; line 4: account 'u1' is there twice; line 5: the id is empty"),
        ("id,account\nfd01\n", "line 2: the account is empty"),
    ],
)  # fmt: skip
def test_faults_of_the_file_are_named_together_with_their_lines(course, text, told):
    (course.folder / "accounts.csv").write_text(text)
    with pytest.raises(UsageError, match=told):
        accounts.read(course)


def test_whoever_is_forgotten_is_gone_from_the_file_and_the_others_stay(course):
    path = course.folder / "accounts.csv"
    path.write_text("id,account\nfd01,u1\nfd02,u2\n")
    assert accounts.forget(course, "fd01") == 1
    assert path.read_text() == "id,account\nfd02,u2\n"
    assert accounts.forget(course, "fd01") == 0


def test_an_account_that_the_machine_does_not_have_has_no_number():
    assert accounts.number_of("no-such-account-here") is None
    assert accounts.number_of("root") == 0
    assert accounts.name_of(0) == "root"
    assert accounts.name_of(4_000_000_001) == "number 4000000001"
