"""A set with a name of its own is called by it in questions, hints and answers, as in the drawing beside them."""

from __future__ import annotations

import re

import pytest

from gearkit.answers.draw_numbers import kept, variants
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.families import Offer
from gearkit.answers.judge import marking
from gearkit.answers.offers import offered
from gearkit.draw.stick import stick_diagram
from gearkit.solve.ratios import symbol_suffixes
from gearkit.train import catalogue
from gearkit.train.layout import Layout

# A reduction set with a name between two numbered ones: what counts places would call set 2 "set 1".
FILE = """
format = 1
name = "Bench 6"
joins = [["input", "V.ring"], ["P2.carrier", "P3.carrier"], ["P2.ring", "P3.ring", "output"]]
source = {kind = "own", citation = "invented"}
set = [
  {name = "P2", pinions = "single", sun = 38, ring = 82},
  {name = "V", pinions = "single", sun = 34, ring = 74},
  {name = "P3", pinions = "double", sun = 31, ring = 82},
]
element = [
  {name = "BV", kind = "brake", between = ["V.sun", "housing"]},
  {name = "KV", kind = "clutch", between = ["V.ring", "V.carrier"]},
  {name = "K1", kind = "clutch", between = ["V.carrier", "P3.sun"]},
  {name = "K3", kind = "clutch", between = ["V.carrier", "P2.carrier"]},
  {name = "B1", kind = "brake", between = ["P2.sun", "housing"]},
  {name = "B2", kind = "brake", between = ["P2.carrier", "housing"]},
]
range = [
  {name = "1", engaged = ["BV", "K1", "B2"]},
  {name = "2", engaged = ["KV", "K1", "B2"]},
  {name = "3", engaged = ["BV", "K1", "B1"]},
  {name = "4", engaged = ["KV", "K1", "K3"]},
]
"""
# The named set first, and what version 0.5.0 kept of three draws when it told sets with names by their numbers.
IN_FRONT = re.sub(r"(.*\"P2\", pinions.*\n)(.*\"V\".*\n)", r"\2\1", FILE, count=1).removesuffix("\n")
HANDED_OUT = {
    "X06-LEVER-1": ([0, 1, 2, 3, 0, 1, 0, 3, 3, 4, 1, 3, 1, 2, 3, 4, 1, 3, 0, 2], "12ccaa9594b3"),
    "X06-STILL-1": ([], "fdcf0f01fc35"),
    "X06-RATIO-STEPS-1": ([2, 3, 1, 2, 2, 3, 0, 2], "b449bd845f79"),
}
FIRST = re.compile(r"\b(?:set|sets|sun|ring|carrier) 1\b", re.IGNORECASE)


@pytest.fixture(scope="module")
def layout() -> Layout:
    return catalogue.parse(FILE)


@pytest.fixture(scope="module")
def asked(layout: Layout) -> list[tuple[Offer, Variant]]:
    return [(offer, variants.draw(offer.item, secret=b"named sets", sheet="s", learner="a")) for offer in offered(layout)]


def test_a_set_without_a_number_has_the_least_letter_that_is_free(layout: Layout) -> None:
    assert symbol_suffixes(layout) == {"P2": "2", "V": "1", "P3": "3"}


def test_no_question_speaks_of_a_set_that_the_drawing_does_not_have(layout: Layout, asked: list[tuple[Offer, Variant]]) -> None:
    assert "V set" in stick_diagram.picture(layout).svg()
    told = [
        " ".join(
            (variant.prompt, *variant.item.hints, *(option for part in variant.parts for option in (part.label, *part.options)))
        )
        for _, variant in asked
    ]
    assert sum("V set" in text or "V sun" in text for text in told) > 20
    assert [match[0] for text in told if (match := FIRST.search(text))] == []


def test_the_words_of_copies_that_were_handed_out_before_still_earn_the_marks(asked: list[tuple[Offer, Variant]]) -> None:
    tried = 0
    for _, variant in asked:
        right = marking.right_answer(variant)
        earlier = {name: re.sub(r"\bV (sun|ring|carrier)\b", r"\1 1", text) for name, text in right.items()}
        if earlier != right:
            tried += 1
            assert marking.mark(variant, earlier).score == marking.mark(variant, right).score > 0, variant.item.id
    assert tried


@pytest.mark.parametrize("item", HANDED_OUT)
def test_what_was_handed_out_with_numbers_for_names_is_still_asked(item: str) -> None:
    thrown, asks = HANDED_OUT[item]
    data = {
        "numbers": {},
        "teeth": [[46, 32, 110, 3], [46, 20, 86, 3], [32, 0, 86, 3]],
        "throws": [list(pair) for pair in zip(thrown[::2], thrown[1::2], strict=True)],
        "layout": "72d1c2e51cb980c3",
        "asks": asks,
    }
    offer = next(offer for offer in offered(catalogue.parse(IN_FRONT)) if offer.id == item)
    variant = kept.variant_of(offer.item, data)
    right = marking.right_answer(variant)
    earlier = {name: re.sub(r"\bV (sun|ring|carrier)\b", r"\1 1", text) for name, text in right.items()}
    assert marking.mark(variant, earlier).verdict == "right"
    with pytest.raises(kept.ChangedItemError, match=item):
        kept.variant_of(offer.item, {**data, "asks": asks[::-1]})
