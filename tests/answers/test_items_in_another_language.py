"""Every word of an exercise and of what is said to its answers can be translated, and marking stays the same in any language."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator

import pytest

from gearkit.answers import items, listing
from gearkit.answers.draw_numbers.variants import Variant, practice
from gearkit.answers.item import Item
from gearkit.answers.judge.marking import mark, right_answer, wrong_texts
from gearkit.answers.judge.results import ItemResult, MarkVerdict
from gearkit.answers.layout_items import from_layout
from gearkit.answers.offers import offered
from gearkit.train.catalogue import entries, find
from gearkit.words.catalogue import of_language
from gearkit.words.say import speaking
from tests.support.amounts import amount
from tests.support.pseudo import Pseudo, escaped, given_name

# What learners write that cannot be read, or is wrong; where it is quoted in a sentence it stays.
_GIVEN = ("", "xyz", "2/3/4", "7,1", "1,5 kg", "B", "((1", "2 3")
# Units are the same in every language that writes them with Latin letters; a catalogue may say otherwise.
_UNITS = {"mm", "min", "km", "kg", "kW", "kJ", "kN", "mph", "rad", "lbf", "pi"}
_LAYOUTS = [given_name(entry.layout) for entry in entries(several=True)]


def of_layouts() -> list[Item]:
    """Items about layouts, of every family."""
    found = [item for name in ("Q36", "Q24") for item in (*(one.item for one in offered(find(name))), *from_layout(find(name)))]
    return found[:: amount(1, 9)]


def told(variant: Variant) -> Iterator[str]:
    """What a learner reads of an item, and of right, wrong and unreadable answers to it."""
    yield listing.title_of(variant.item)
    yield from variant.item.shown_hints
    yield variant.prompt
    for part in variant.parts:
        yield from (part.label, part.shown_unit, *part.shown_options)
    right = right_answer(variant)
    answers = [right, *(wrong_texts(variant, form) for form in variant.key.wrong_forms[:6])]
    answers += [{part.name: text for part in variant.parts} for text in _GIVEN]
    for answer in answers:
        result = mark(variant, answer)
        yield result.comment
        yield from (part.comment for part in result.parts)
        yield from (text for found in result.mistakes for text in (found.name, found.sentence))


def without_quotes(text: str, given: set[str]) -> str:
    """A text without what the learner wrote, which is quoted in it, and without names of layouts."""
    for quoted in sorted(given, key=len, reverse=True):
        text = re.sub(rf"(?<!\w){re.escape(quoted)}(?!\w)", "", text) if quoted else text
    for name in _LAYOUTS:
        text = text.replace(name, "")
    return text


def left_plain(item: Item, language: Pseudo) -> list[str]:
    """The words that stay in plain letters when an item is asked and answered."""
    with speaking(language):
        variant = practice(item)
        given = {*_GIVEN, "xyz", "kg", *(text for text in right_answer(variant).values())}
        given |= {text for form in variant.key.wrong_forms[:6] for text in wrong_texts(variant, form).values()}
        symbols = {*variant.drawn.visible, *item.all_symbols, *(part.name for part in variant.parts)}
        return escaped([without_quotes(text, given) for text in told(variant)], _UNITS | symbols)


@pytest.fixture(scope="module")
def language() -> Pseudo:
    return Pseudo()


def test_no_word_of_the_bank_goes_round_the_catalogue(language: Pseudo) -> None:
    left = {item.id: left_plain(item, language) for item in items.all_items()[:: amount(1, 4)]}
    assert {name: words for name, words in left.items() if words} == {}


def test_no_word_of_items_about_layouts_goes_round_the_catalogue(language: Pseudo) -> None:
    with speaking(language):
        asked = of_layouts()
    left = {item.id: left_plain(item, language) for item in asked}
    assert {name: words for name, words in left.items() if words} == {}


def test_answers_earn_the_same_in_every_language(language: Pseudo) -> None:
    with speaking(language):
        other = {item.id: item for item in of_layouts()} | {item.id: item for item in items.all_items()[:: amount(1, 6)]}
    here = {item.id: item for item in of_layouts()} | {item.id: item for item in items.all_items()[:: amount(1, 6)]}
    assert list(here) == list(other)

    def earned(item: Item) -> list[object]:
        variant = practice(item)
        answers = [right_answer(variant), *(wrong_texts(variant, form) for form in variant.key.wrong_forms)]
        results = [mark(variant, answer) for answer in answers]
        return [variant.values, *((one.score, one.verdict, [found.code for found in one.mistakes]) for one in results)]

    for name, item in here.items():
        with speaking(language):
            in_other = earned(other[name])
        assert in_other == earned(item), name


def test_one_sentence_that_is_not_said_is_found() -> None:
    item = items.find("L03-02")
    missing = item.hints[0]
    assert any(missing in line for line in left_plain(item, Pseudo(without=[missing])))


# What an English learner and a German one write of the same thing.
_IN_GERMAN = (
    ("L01-03", "630 rpm reverse", "630 U/min rückwärts"),
    ("L01-03", "about -630 rpm", "etwa -630 U/min"),
    ("L02-06", "it is standing still", "Es steht still."),
    ("L02-06", "forwards", "Vorwärts"),
    ("L03-02", "The ratio is 2.72 to 1.", "Die Übersetzung ist 2,72 zu 1."),
    ("L04-05", "3.75 degrees", "3,75 Grad"),
    ("L08-02", "267.3 newtonmetres", "rund 267,3 Newtonmeter"),
    ("L11-05", "none", "keine"),
    ("L12-08", "42 teeth", "42 Zähne"),
)


@pytest.mark.parametrize(("item", "english", "german"), _IN_GERMAN)
def test_an_answer_in_german_words_earns_what_the_english_one_does(item: str, english: str, german: str) -> None:
    def marked(text: str) -> ItemResult:
        return mark(practice(items.find(item)), {"answer": text})

    here = marked(english)
    with speaking(of_language("de")):
        there = marked(german)
    assert here.verdict is not MarkVerdict.UNREADABLE
    assert (there.verdict, there.score) == (here.verdict, here.score)
    assert marked(german).verdict is MarkVerdict.UNREADABLE


def test_what_cannot_be_read_in_a_language_either_is_quoted_as_it_was_written() -> None:
    with speaking(of_language("de")):
        result = mark(practice(items.find("L02-06")), {"answer": "Sonne und Mond"})
    assert "„Sonne und Mond“" in result.comment


def test_no_exercise_is_said_in_a_language_while_it_is_loaded() -> None:
    # Whoever loads it first would choose the language of everybody else in the process.
    program = (
        "import importlib, pkgutil\n"
        "from gearkit.words import say\n"
        "class Loud:\n"
        "    def gettext(self, message, *rest):\n"
        "        raise AssertionError(message)\n"
        "    ngettext = pgettext = gettext\n"
        "say.in_notebook(Loud())\n"
        "import gearkit.answers\n"
        "for module in pkgutil.walk_packages(gearkit.answers.__path__, 'gearkit.answers.'):\n"
        "    importlib.import_module(module.name)\n"
        "print(len(gearkit.answers.items.all_items()))\n"
    )
    loaded = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert loaded.returncode == 0, loaded.stderr
    assert int(loaded.stdout) > 100
