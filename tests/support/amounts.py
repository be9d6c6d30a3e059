"""How much a slow test does: all of it, or with GEARKIT_TESTS=short (as CI has it) a part that meets every kind."""

from __future__ import annotations

import os

SHORT = os.environ.get("GEARKIT_TESTS") == "short"


def amount(whole: int, short: int) -> int:
    """Return the one or the other."""
    return short if SHORT else whole
