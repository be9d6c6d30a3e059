"""Messages are looked up where they are said, in the language of the stretch of code or of the notebook."""

from __future__ import annotations

import ast
import gettext
import io
from pathlib import Path

import pytest
from babel import Locale
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo

from gearkit.text.phrases import decimal, listed
from gearkit.words.errors import UsageError
from gearkit.words.say import catalogue_of, in_notebook, languages, later, say, say_in, say_n, speaking
from gearkit.words.terms import Verdict
from tests.support.messages import KEYWORDS, all_messages

ROOT = Path(__file__).resolve().parents[2]


def german() -> gettext.GNUTranslations:
    """A few messages as a catalogue of gettext's, made by Babel as those of the kit are."""
    catalog = Catalog(locale="de")
    catalog.add("The {name} turns {turns} times.", "{turns}-mal dreht {name}.")
    catalog.add(("{count} set", "{count} sets"), ("{count} Satz", "{count} Sätze"))
    catalog.add("and", "und")
    catalog.add("range", "Gang")
    catalog.add(".", ",", context="decimal mark")
    file = io.BytesIO()
    write_mo(file, catalog)
    return gettext.GNUTranslations(io.BytesIO(file.getvalue()))


def test_a_message_is_said_in_the_language_of_the_stretch_with_its_values_in_the_languages_order() -> None:
    def told() -> str:
        return say("The {name} turns {turns} times.", name="Steg", turns=decimal(1.5))

    assert told() == "The Steg turns 1.5 times."
    with speaking(german()):
        assert told() == "1,5-mal dreht Steg."
        assert listed(["A", "B", "C"]) == "A, B und C"
    assert told() == "The Steg turns 1.5 times."


def test_a_number_chooses_the_form_and_a_word_of_a_vocabulary_is_said_too() -> None:
    with speaking(german()):
        assert [say_n("{count} set", "{count} sets", number) for number in (1, 2)] == ["1 Satz", "2 Sätze"]
        assert say("{verdict}", verdict=Verdict.RANGE) == "Gang"
    assert say("{verdict}", verdict=Verdict.RANGE) == "range"


def test_what_the_language_lacks_stays_english_and_braces_without_values_mean_themselves() -> None:
    with speaking(german()):
        assert say(later("Nothing turns.")) == "Nothing turns."
        assert say_in("a meaning", "and") == "and"
        assert say(r"$\frac{S}{R}$") == r"$\frac{S}{R}$"


def test_a_notebook_keeps_its_language_in_every_context() -> None:
    in_notebook(german())
    try:
        assert say("and") == "und"
    finally:
        in_notebook(None)
    assert say("and") == "and"


def test_a_language_that_is_not_offered_is_refused_with_those_that_are() -> None:
    with pytest.raises(UsageError, match=r"There is no language 'xx'. Choose one of: en"):
        catalogue_of("xx")
    assert catalogue_of("en") is None


def calls() -> list[tuple[Path, ast.Call]]:
    """Every call that holds a message."""
    found = []
    for package in ("gearkit", "graders"):
        for path in sorted((ROOT / package).rglob("*.py")):
            text = path.read_text(encoding="utf-8")
            if "words.say import" not in text:
                continue
            tree = ast.parse(text)
            found += [
                (path, node)
                for node in ast.walk(tree)
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in KEYWORDS
            ]
    return found


def test_every_message_that_is_written_in_the_code_is_found_by_the_extractor() -> None:
    # Where Python splits an f-string into its parts, Babel does not see a call inside one.
    known, contexts = {text for _, text in all_messages()}, {context for context, _ in all_messages()}
    hidden = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path, node in calls()
        for text in [each.value for each in node.args[:2] if isinstance(each, ast.Constant) and isinstance(each.value, str)]
        if text not in known and not (ast.unparse(node.func) == "say_in" and text in contexts)
    ]
    assert hidden == []


def test_no_message_is_an_f_string() -> None:
    wrong = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path, node in calls()
        if any(isinstance(each, ast.JoinedStr) for each in node.args[:1])
    ]
    assert wrong == []


@pytest.mark.parametrize("code", languages()[1:])
def test_a_language_that_is_offered_writes_numbers_as_its_readers_do(code: str) -> None:
    with speaking(catalogue_of(code)):
        assert decimal(1.5) == f"1{Locale.parse(code).number_symbols['latn']['decimal']}5"
