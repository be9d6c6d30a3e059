"""Every word of a story can be translated: under a language made for tests none is left in plain letters."""

from __future__ import annotations

import re
from itertools import combinations

import pytest

from gearkit.explain.story import tell
from gearkit.train.catalogue import entries
from gearkit.train.layout import Layout
from gearkit.words.say import speaking
from tests.support.amounts import amount
from tests.support.pseudo import Pseudo, escaped, given_name, seen_in


def names_in(layout: Layout) -> set[str]:
    """What the maker of a layout called things."""
    own = [*(element.name for element in layout.elements), *(item.name for item in layout.ranges), *layout.further_shafts]
    return {*re.findall(r"[A-Za-z]+", given_name(layout)), *own}


def left_plain(layout: Layout, language: Pseudo, most: int) -> list[str]:
    """The words that stay in plain letters in the stories of a layout: all its ranges, and combinations of few elements."""
    elements = [element.name for element in layout.elements]
    chosen = [each for size in (0, 1, 2, 4) for each in combinations(elements, size)][:most]
    with speaking(language):
        stories = [tell(layout, item.name) for item in layout.ranges] + [tell(layout, engaged=each) for each in chosen]
        pages = [text for story in stories for text in (*seen_in(story.html()), *story.text().splitlines())]
    return escaped(pages, names_in(layout))


@pytest.fixture(scope="module")
def language() -> Pseudo:
    return Pseudo()


def test_no_word_of_a_story_goes_round_the_catalogue(language: Pseudo) -> None:
    for entry in entries(several=True):
        assert left_plain(entry.layout, language, amount(40, 6)) == [], entry.name


def test_one_sentence_that_is_not_said_is_found() -> None:
    (layout,) = [entry.layout for entry in entries() if entry.name == "Q36"]
    missing = "Direct drive: the output turns with the input."
    found = left_plain(layout, Pseudo(without=[missing]), 0)
    assert any(missing in line for line in found)
    assert left_plain(layout, Pseudo(), 0) == []
