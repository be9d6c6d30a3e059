"""The languages beside English: what a translation may not change, and that the kit reads its files as Babel does."""

from __future__ import annotations

from typing import Any

import pytest
from babel.messages.catalog import Message

from gearkit.words.catalogue import Catalogue, codes, of_language
from tests.support.messages import forms, template
from tests.support.translations import faults, translated


@pytest.mark.parametrize("code", codes())
def test_no_translation_changes_a_value_a_formula_a_number_or_mark_up(code: str) -> None:
    wrong = [f"{name}: {message.id!r}: {fault}" for name, message in translated(code) for fault in faults(message, code)]
    assert wrong == []


@pytest.mark.parametrize("code", codes())
def test_the_kit_reads_the_files_of_a_language_as_babel_does(code: str) -> None:
    kit, seen = of_language(code), 0
    for _, message in translated(code):
        if not all(forms(message)):
            continue
        seen += 1
        if isinstance(message.id, str):
            read = (kit.pgettext(message.context, message.id) if message.context else kit.gettext(message.id),)
        else:
            read = (kit.ngettext(*message.id, 1), kit.ngettext(*message.id, 2))
        assert read == forms(message)
    assert seen > 90


def test_a_text_over_several_lines_a_doubtful_and_an_empty_one_are_read_as_they_are_meant() -> None:
    catalogue = Catalogue(
        'msgid ""\nmsgstr ""\n"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n\n'
        '#: a.py\nmsgid ""\n"One \\"long\\"\\n"\n"text."\nmsgstr "Ein \\"langer\\" "\n"Text."\n\n'
        '#, fuzzy\nmsgid "doubtful"\nmsgstr "zweifelhaft"\n\nmsgid "empty"\nmsgstr ""\n\n'
        'msgctxt "of a gear"\nmsgid "range"\nmsgstr "Gang"\n\n'
        'msgid "{count} set"\nmsgid_plural "{count} sets"\nmsgstr[0] "{count} Satz"\nmsgstr[1] "{count} Sätze"\n'
    )
    assert catalogue.gettext('One "long"\ntext.') == 'Ein "langer" Text.'
    assert [catalogue.gettext(text) for text in ("doubtful", "empty", "range", "")] == ["doubtful", "empty", "range", ""]
    assert catalogue.pgettext("of a gear", "range") == "Gang"
    assert [catalogue.ngettext("{count} set", "{count} sets", count) for count in (0, 1, 2)] == [
        "{count} Sätze",
        "{count} Satz",
        "{count} Sätze",
    ]


def test_forms_that_are_marked_each_by_itself_are_found_as_forms() -> None:
    catalogue = Catalogue('msgid "{count} gear"\nmsgstr "{count} Rad"\n\nmsgid "{count} gears"\nmsgstr "{count} Räder"\n')
    assert [catalogue.ngettext("{count} gear", "{count} gears", count) for count in (1, 2)] == ["{count} Rad", "{count} Räder"]


SOUND: dict[Any, Any] = {
    "The {name} turns 1.5 times.": "{name} dreht sich 1,5-mal.",
    "Write $\\frac{S}{R}$ as `1 + R/S`, or 1,200 of <n>.": "Schreibe $\\frac{S}{R}$ als `1 + R/S`, oder 1200 von <n>.",
    ("{count} set", "{count} sets"): ("{count} Satz", "{count} Sätze"),
}
WRONG = {
    ("The {name} turns.", "Er dreht sich."): "another value",
    ("It is $S/R$.", "Es ist $R/S$."): "another formula",
    ("Write `1 + R/S`.", "Schreibe `1 + S/R`."): "other code",
    ("Of 30 teeth.", "Von 36 Zähnen."): "numbers are missing",
    ("It is 1.5 long.", "Es ist 1.5 lang."): "a decimal point",
    ("All of them.", "All of them."): "still English",
    (" and more", "und mehr"): "other blanks",
    ("What turns?", "Was dreht sich."): "ends otherwise",
    (
        "It turns at 2400. The part is small.",
        "Es dreht sich mit\n2400. Der Teil ist klein.",
    ): "another number of headings and lines of lists",
    ("A <b>wide</b> one.", "Ein <i>breites</i>."): "another tag",
}


def test_sound_translations_pass_and_each_kind_of_fault_is_found() -> None:
    for source, text in SOUND.items():
        assert faults(Message(source, text), "de") == []
    for (source, text), fault in WRONG.items():
        assert fault in " ".join(faults(Message(source, text), "de"))
    assert faults(Message(("{count} set", "{count} sets"), ("{count} Satz", "")), "de") == ["some forms are empty"]


# What a language need not have: the page for instructors.
NOT_NAMED = "lessons/instructor/"


@pytest.mark.parametrize("code", codes())
def test_everything_that_learners_read_is_translated(code: str) -> None:
    there = {(message.context or "", message.id) for _, message in translated(code)}
    missing = [
        f"{min(name for name, _ in message.locations)}: {message.id!r}"
        for message in template()
        if message.id
        and (message.context or "", message.id) not in there
        and not min(name for name, _ in message.locations).startswith(NOT_NAMED)
    ]
    assert missing == []
