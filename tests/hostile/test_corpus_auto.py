"""The class of hostile submissions, run in the engine that each notebook needs."""

from __future__ import annotations

import pytest

from tests.hostile.corpus import Corpus


@pytest.mark.slow
class TestAuto(Corpus):
    """Every claim, with this engine."""

    engine = "auto"
    at_least = 25
