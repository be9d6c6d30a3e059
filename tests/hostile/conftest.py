"""One class of hostile submissions for each engine, marked once; what the claims on it assert is told in full."""

from __future__ import annotations

import pytest

pytest.register_assert_rewrite("tests.hostile.corpus")

from tests.hostile import corpus  # noqa: E402


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Ask about each case that is handed in for the engine of the test class."""
    if "case" in metafunc.fixturenames and metafunc.cls is not None:
        cases = [corpus.CASES[place] for place in metafunc.cls.part()]
        metafunc.parametrize("case", cases, ids=[case.name for case in cases])


@pytest.fixture(scope="class")
def outcome(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> corpus.Outcome:
    """What happened to the class with the engine that the test class names."""
    return corpus.of_class(tmp_path_factory.mktemp("hostile"), request.cls.engine)
