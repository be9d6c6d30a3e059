"""Every word in a picture, and of what is read out in its place, can be translated."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from gearkit.answers import items
from gearkit.answers.draw_numbers.variants import practice
from gearkit.draw.core.measure import text_width
from gearkit.draw.core.svg import Group, Text
from gearkit.draw.cutaway.solid_placement import NotSolidError
from gearkit.draw.lever.sketches import svgs_of
from gearkit.draw.noted import cannot_be_put_together, noted_picture
from gearkit.draw.registry import PICTURES, Kind, RangeUse, picture_of
from gearkit.train.catalogue import entries, find
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import UsageError
from gearkit.words.say import speaking, speaking_language
from gearkit.words.terms import PinionKind
from tests.support.amounts import SHORT
from tests.support.pseudo import Pseudo, escaped, given_name, seen_in


def ranges_shown(layout: Layout, kind: Kind) -> list[str | None]:
    """The ranges with which a picture is drawn; None is the layout alone."""
    if kind.ranges is RangeUse.ALL:
        return [None]
    return [*(item.name for item in layout.ranges), *([None] if kind.ranges is RangeUse.MAY else [])]


def pictures(layout: Layout) -> Iterator[str]:
    """Every picture that a layout has, as SVG text; what cannot be drawn of it is told to whoever asks, in words of an error."""
    for what, kind in PICTURES.items():
        if layout.plain or kind.several:
            for name in ranges_shown(layout, kind)[:: 3 if SHORT else 1]:
                try:
                    yield noted_picture(layout, what, name).svg()
                except (UsageError, NotSolidError):
                    continue


def left_plain(layout: Layout, language: Pseudo) -> list[str]:
    """The words that stay in plain letters in the pictures of a layout; names that its maker gave stay as they are."""
    own = {each.name for each in (*layout.elements, *layout.ranges, *layout.sets, *layout.machines)} | {*layout.further_shafts}
    with speaking(language):
        drawn = list(pictures(layout))
    assert drawn
    return escaped([text.replace(given_name(layout), "") for svg in drawn for text in seen_in(svg)], own)


@pytest.fixture(scope="module")
def language() -> Pseudo:
    return Pseudo()


@pytest.mark.parametrize("name", [entry.name for entry in entries(several=True)][:: 4 if SHORT else 1])
def test_no_word_of_a_picture_goes_round_the_catalogue(name: str, language: Pseudo) -> None:
    assert left_plain(find(name), language) == []


def test_what_is_said_of_sets_that_cannot_be_put_together_goes_through_the_catalogue(language: Pseudo) -> None:
    single, double = PinionKind.SINGLE, PinionKind.DOUBLE
    faulty = {
        "is odd": PlanetarySet("P1", single, 30, 67),
        "no multiple of 4": PlanetarySet("P1", single, 30, 68, planets=4),
        "do not clear": PlanetarySet("P1", single, 20, 70, planets=6),
        "pairs of pinions cannot": PlanetarySet("P1", double, 30, 70, planets=3),
        "do not fit": PlanetarySet("P1", double, 30, 90, planets=3, sun_pinion_teeth=12, ring_pinion_teeth=12),
    }
    for why, pset in faulty.items():
        assert why in cannot_be_put_together([pset])
        with speaking(language):
            assert escaped([cannot_be_put_together([pset])], {"P1"}) == []


@pytest.mark.parametrize("item", ["L02-23", "L03-24"])
def test_no_word_of_a_picture_to_choose_goes_round_the_catalogue(item: str, language: Pseudo) -> None:
    with speaking(language):
        svgs = svgs_of(practice(items.find(item)).parts[0].pictures)
    assert svgs
    assert escaped([text for svg in svgs for text in seen_in(svg)]) == []


def test_one_word_that_is_not_said_is_found() -> None:
    found = left_plain(find("Q36"), Pseudo(without=["power path"]))
    assert any("power" in line and "path" in line for line in found)


@pytest.mark.parametrize("layout", ["Q24", "Q36"])
def test_a_train_stands_beside_its_question_in_german_too(layout: str) -> None:
    """Cards of single-pinion sets were given room for a kind of pinion that they do not name; panels put a train of up to
    654 px beside its question (600 px at the least size of its letters)."""
    with speaking_language("de"):
        assert picture_of(find(layout), "stick", None, None).width <= 654


def words_in(group: Group) -> Iterator[tuple[float, float, float, str]]:
    """Where each text of a picture begins and ends, with its height and itself."""
    for shape in group.shapes:
        if isinstance(shape, Group):
            yield from words_in(shape)
        elif isinstance(shape, Text):
            wide = text_width(shape.text, shape.size, bold=shape.bold)
            begin = shape.x - {"start": 0.0, "middle": wide / 2, "end": wide}[shape.anchor]
            yield begin, begin + wide, shape.y, shape.text


@pytest.mark.parametrize("what", ["chart", "ratios"])
@pytest.mark.parametrize("layout", ["Q24", "Q36", "Q48"])
def test_german_headings_of_charts_have_room(layout: str, what: str) -> None:
    """The word for "step" ran into that for "ratio", and began outside the picture of ratios."""
    with speaking_language("de"):
        words = sorted(words_in(picture_of(find(layout), what, None, None)))
    assert {"Stufensprung", "Gang"} <= {text for _, _, _, text in words}
    assert [text for begin, *_, text in words if begin < 0] == []
    close = [
        (text, other)
        for number, (_, end, y, text) in enumerate(words)
        for begin, _, height, other in words[number + 1 :]
        if height == y and begin < end + 6
    ]
    assert close == []
