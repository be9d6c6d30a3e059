"""No item's answer is printed by another item of the same sheet, unless the bank says that the two exclude each other."""

from __future__ import annotations

import re

import pytest

from gearkit.answers import items
from gearkit.answers.draw_numbers import variants
from gearkit.answers.item import Item
from gearkit.answers.judge import marking
from tests.answers.before import drawn_before

ALL = items.all_items()


def asked(item: Item) -> str:
    """What a learner reads before the layout's own text, and that text."""
    return variants.practice(item).prompt


def on(layout: str) -> list[Item]:
    return [item for item in ALL if item.draw.layout == layout]


@pytest.mark.parametrize("item", [item for item in on("Q36") if item.id != "L06-01"], ids=lambda item: item.id)
def test_what_shows_the_elements_of_a_range_of_the_q36_excludes_the_chart_item(item: Item) -> None:
    chart = items.find("L06-01")
    ranges = {
        "range_1": "first",
        "range_2": "second",
        "range_3": "third",
        "range_4": "fourth",
        "range_5": "fifth",
        "range_6": "sixth",
        "range_R": "reverse",
    }
    right = marking.right_answer(drawn_before(chart))
    says = [
        f"({word}|[Rr]ange {name.removeprefix('range_')})[^.]*\\({' and '.join(right[name].split(', '))} applied\\)"
        for name, word in ranges.items()
    ]
    prompt = asked(item)
    tells = (
        any(re.search(words, variants.practice(item, f"says {number}").prompt) for words in says for number in range(8))
        or "| range | A |" in prompt
    )
    assert tells == (item.id in chart.excludes), prompt


@pytest.mark.parametrize("item", [item for item in on("Q24") if item.id != "L06-02"], ids=lambda item: item.id)
def test_what_shows_the_kinds_of_elements_of_the_q24_excludes_the_item_about_roles(item: Item) -> None:
    roles = items.find("L06-02")
    assert "(brake)" not in asked(roles)
    assert ("(brake)" in asked(item)) == (item.id in roles.excludes)


def test_excluded_items_are_items() -> None:
    known = {item.id for item in ALL}
    for item in ALL:
        assert set(item.excludes) <= known - {item.id}


@pytest.mark.parametrize("item_id", ["L07-06", "L08-09", "L10-02", "L10-04"])
def test_an_item_about_ranges_shows_which_elements_they_apply(item_id: str) -> None:
    prompt = asked(items.find(item_id))
    assert re.search(r"\| (range|row) \| A \| B \|", prompt)
    assert prompt.count("\n| ") >= 7


@pytest.mark.parametrize("item_id", ["L08-02", "L08-04", "L08-05", "L08-06", "L08-07", "L11-04", "L11-09"])
def test_where_a_size_is_asked_a_sign_neither_helps_nor_costs(item_id: str) -> None:
    for number in range(10):
        variant = variants.practice(items.find(item_id), str(number))
        assert "a sign does not count" in variant.prompt
        right = marking.right_answer(variant)
        assert marking.mark(variant, {name: f"-{text}" for name, text in right.items()}).score == variant.item.marks
        for form in variant.key.wrong_forms:
            wrong = marking.wrong_texts(variant, form)
            turned = {name: f"-{text}" for name, text in wrong.items()}
            assert marking.mark(variant, turned).score == marking.mark(variant, wrong).score < variant.item.marks
