"""The class of hostile submissions, run in a real Jupyter kernel."""

from __future__ import annotations

import pytest

from tests.hostile.corpus import Corpus


@pytest.mark.slow
class TestKernel(Corpus):
    """Every claim, with this engine."""

    engine = "kernel"
    at_least = 65
