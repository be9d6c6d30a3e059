"""A number may be written in the letters of its question; they are neither units nor unknown names."""

from __future__ import annotations

import pytest

from gearkit.answers import items
from gearkit.answers.draw_numbers import variants
from gearkit.answers.judge import marking


@pytest.mark.parametrize("text", ["1 + R/S", "(S + R)/S", "i = 1 + R/S", "R/S + 1"])
def test_a_ratio_may_be_written_in_tooth_counts(text):
    variant = variants.practice(items.find("L03-02"))
    assert marking.mark(variant, {"answer": text}).verdict == "right"


def test_a_word_in_a_number_is_told_with_the_letters_that_may_stand_there():
    result = marking.mark(variants.practice(items.find("L03-02")), {"answer": "about three"})
    assert (result.verdict, result.score) == ("unreadable", 0)
    assert result.comment == "three is not one of the letters of this question. It uses N, P, R, S."
