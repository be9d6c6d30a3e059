"""Hostile code behind every level of protection that can be built here, those of an older system among them."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from tests.graders.levels import Level, buildable
from tests.hostile import code_cases
from tests.hostile.corpus import CASES, Claims, Outcome, of_class
from tests.support.amounts import amount

# One of each kind of harm, none of which has to wait for the end of its time; the whole form has all code.
EACH_KIND = (
    "a forged end of the notebook",
    "every descriptor is written to",
    "the parent is killed",
    "every process is killed",
    "the secret is read",
    "the gradebook is written",
    "a neighbour's work is read",
    "the course is deleted",
    "the rights of the course are changed",
    "files are left behind",
    "a connection to this machine",
    "a program is started",
    "the bank is asked in secret",
)


def part() -> Sequence[int]:
    """The cases, by their places."""
    named = [place for place, case in enumerate(CASES) if case.name in EACH_KIND]
    return [place for place, case in enumerate(CASES) if case in code_cases.CASES] if amount(1, 0) else named


def levels() -> list[Level]:
    """All levels; the short form leaves out those that lie between two others."""
    between = ("full, user namespace, no landlock", "strong, landlock 3", "strong, landlock 5")
    return [one for one in buildable() if amount(1, 0) or one.name not in between]


@pytest.fixture(scope="class", params=levels(), ids=lambda level: level.name)
def level(request: pytest.FixtureRequest) -> Level:
    return request.param


@pytest.fixture(scope="class")
def outcome(level: Level, tmp_path_factory: pytest.TempPathFactory) -> Outcome:
    with level.forced():
        # One process: a second one would choose its walls for itself.
        return of_class(tmp_path_factory.mktemp("level"), "warm", part(), workers=1)


class TestLevels(Claims):
    """Every claim, behind each level."""

    part = staticmethod(part)

    def test_the_class_was_run_behind_this_level(self, outcome: Outcome, level: Level) -> None:
        assert outcome.marked.sandbox == level.walls.level
        assert len(outcome.places) >= len(EACH_KIND)
