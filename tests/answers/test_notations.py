"""Every ordinary notation on every item that takes it: right answers are read and right, near misses are not, doubt is handed back."""

from __future__ import annotations

import random

from tests.answers.notations import cases, in_columns, table
from tests.support.amounts import SHORT

WHOLE = 8_000
LOST = 0.01


def test_ordinary_right_answers_are_read_and_no_wrong_one_is_accepted() -> None:
    played = list(cases())
    assert len(played) >= WHOLE
    if SHORT:
        played = random.Random(13).sample(played, 6_000)
    rows = table(played)
    shown = in_columns(rows)
    right, refused = sum(row.right for row in rows.values()), sum(row.refused for row in rows.values())
    assert right > len(played) / 8
    assert refused < LOST * right, shown
    assert sum(row.wrong for row in rows.values()) > len(played) / 2
    assert not any(row.accepted for row in rows.values()), shown


def test_what_has_two_meanings_is_handed_back_with_how_to_write_each() -> None:
    doubtful = [case for case in cases() if case.right is None]
    rows = table(random.Random(13).sample(doubtful, 300) if SHORT else doubtful)
    assert {"three digits after a comma", "ratio with a colon", "minus and forward", "power of ten beside that letter"} <= set(
        rows
    )
    assert not any(row.guessed for row in rows.values()), in_columns(rows)
