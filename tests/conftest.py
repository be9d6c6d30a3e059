"""What holds for every test: properties have no time limit, CI draws the same examples each time, and a new course's
secret is the test's own, so that its learners have the same numbers each time."""

from __future__ import annotations

import gc
import hashlib
import itertools
import os
import sys

import pytest
from hypothesis import settings

# jsonschema does without this checker of addresses, whose 38 grammars every process of the tests would wait 2 s for.
sys.modules.setdefault("rfc3987_syntax", None)

settings.register_profile("desk", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "desk")


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    """Let the courses that are made from here on draw from secrets that follow from the test's name."""
    from graders.course import course

    number = itertools.count(1)
    course.new_secret = lambda: hashlib.sha256(f"{item.nodeid} {next(number)}".encode()).hexdigest()


@pytest.hookimpl
def pytest_collection_finish() -> None:
    """Let no search for circles go through what collecting 12,000 tests made; it took a sixth of all tests' time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)
