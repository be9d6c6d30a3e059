"""Hostile code behind every level of protection that can be built here, those of an older system among them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pytest

from graders.run.sandbox.layers import Layer
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


@dataclass(frozen=True)
class Setting:
    """A level and the engine behind it."""

    level: Level
    engine: str

    @property
    def told(self) -> str:
        """What the mark sheet says of it."""
        return f"{self.level.protection.level}{', in a Jupyter kernel' if self.engine == 'kernel' else ''}"


def settings() -> list[Setting]:
    """All levels; the short form leaves out those that lie between two others, and what a real kernel would take."""
    between = ("full, user namespace, no landlock", "strong, landlock 3", "strong, landlock 5")
    warm = [Setting(one, "warm") for one in buildable() if amount(1, 0) or one.name not in between]
    kernel = [Setting(one, "kernel") for one in buildable() if Layer.ROOT in one.protection]
    return warm + kernel[: amount(len(kernel), 0)]


@pytest.fixture(scope="class", params=settings(), ids=lambda one: f"{one.level.name}, {one.engine}")
def setting(request: pytest.FixtureRequest) -> Setting:
    return request.param


@pytest.fixture(scope="class")
def outcome(setting: Setting, tmp_path_factory: pytest.TempPathFactory) -> Outcome:
    with setting.level.forced():
        # One process: a second one would choose its layers for itself.
        return of_class(tmp_path_factory.mktemp("level"), setting.engine, part(), workers=1)


class TestLevels(Claims):
    """Every claim, behind each level."""

    part = staticmethod(part)

    def test_the_class_was_run_behind_this_level(self, outcome: Outcome, setting: Setting) -> None:
        assert outcome.marked.sandbox == setting.told
        assert len(outcome.places) >= len(EACH_KIND)
