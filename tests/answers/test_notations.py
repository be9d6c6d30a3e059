"""Every ordinary notation on every item that takes it: right answers are read and right, near misses are not, doubt is handed back."""

from __future__ import annotations

import random

from gearkit.answers.draw_numbers.variants import practice
from gearkit.answers.items import find
from gearkit.answers.judge import marking
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


def test_how_far_a_vehicle_goes_is_read_in_kilometres_and_in_metres() -> None:
    tried = (practice(find("L10-23"), f"far {number}") for number in range(200))
    variant = next(one for one in tried if one.parts[0].unit == "km")
    far = float(variant.key.checkers["answer"].value)
    for text in (f"{far:.4g} km", f"{far:.4g} kilometres", f"{far:.4g}", f"{far * 1000:.5g} m"):
        assert marking.mark(variant, {"answer": text}).verdict == "right", text
    assert marking.mark(variant, {"answer": f"{far:.4g} m"}).verdict == "wrong"
