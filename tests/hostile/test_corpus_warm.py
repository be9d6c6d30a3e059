"""The class of hostile submissions, run in the warm shell."""

from __future__ import annotations

from tests.hostile.corpus import Corpus


class TestWarm(Corpus):
    """Every claim, with this engine."""

    engine = "warm"
