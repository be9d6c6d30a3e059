"""The seed of a layout's tooth counts: one for all items about it on a learner's sheet."""

from __future__ import annotations

import hashlib
import unicodedata
from functools import lru_cache

from gearkit.answers.draw_numbers.seeded_random import seed_of


def seed_for(text: str, secret: bytes, sheet: str, learner: str, attempt: int = 1) -> bytes:
    """Return what a learner's tooth counts of a layout are drawn from.

    Args:
        text: the layout's text.
        secret: the course's secret key.
        sheet: name of the sheet.
        learner: the learner's id.
        attempt: which variant, counted from 1.
    """
    names = [unicodedata.normalize("NFC", name) for name in (sheet, learner)]
    return seed_of(secret, "gearkit tooth counts 1", digest(text), *names, str(attempt))


@lru_cache(maxsize=64)
def digest(text: str) -> str:
    """Return a short word that stands for a layout's text.

    Args:
        text: the layout's text.
    """
    return hashlib.sha256(text.encode()).hexdigest()[:16]
