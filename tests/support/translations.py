"""What can be checked of a translation without reading it: its values, formulas, numbers and mark-up are those of the English."""

from __future__ import annotations

import re
import sys
from collections import Counter
from collections.abc import Iterator
from typing import Any

from babel.messages.pofile import read_po

from gearkit.words.catalogue import FOLDER
from tests.support.messages import forms

_CODE = re.compile(r"`[^`]*`")
# In code: a name in quotes, and words such as a direction behind a number; not names of files, functions and letters.
_OWN_WORDS = re.compile(r'(?<=")\w+ [\w ]+(?=")|(?<![\w."(])[^\W\d_]{4,}(?![\w."(])')
_FORMULA = re.compile(r"\$\$?[^$]+\$\$?")
# What a line begins with that Markdown makes a heading, a list or a quotation of.
_BLOCK = re.compile(r"^ {0,3}(?:\d+[.)]|[-+*]|#+|>)(?= )", re.MULTILINE)
# What has to stand in a translation as it stands in the English, as often or not.
_KEPT = {"value": re.compile(r"\{\w+\}"), "tag or drawn value": re.compile(r"</?\w[^<>]*>"), "link": re.compile(r"\]\([^)]*\)")}
_NUMBER = re.compile(r"(?<![\w.,])\d+(?:[.,]\d+)?")
_THOUSANDS = re.compile(r"(?<=\d)[,\u202f](?=\d{3}\b)")
_POINT = re.compile(r"(?<![\d.\w])\d+\.\d+(?![\d.])")
# Words that are the same in both languages, as whole messages.
SAME = {
    "de": frozenset(
        [
            "Name",
            "Text",
            "Symbol",
            "Park",
            "Position",
            "Motor",
            "Generator",
            "Minute",
            "normal",
            "rad/s",
            "Planet",
            "{minutes} h {minutes2} min",
            "April",
            "August",
            "September",
            "November",
        ]
    )
}


def faults(message: Any, language: str) -> list[str]:
    """Return what is wrong with the translation of a message, in words; nothing where there is none.

    Args:
        message: a message of Babel's, of which all forms are translated.
        language: the code of its language.
    """
    source = (message.id,) if isinstance(message.id, str) else message.id
    if not all(forms(message)):
        return ["some forms are empty"] if any(forms(message)) else []
    return [
        f"{fault}: {text!r}"
        for number, text in enumerate(forms(message))
        for fault in _faults(source[min(number, len(source) - 1)], text, language)
    ]


def _faults(source: str, text: str, language: str) -> Iterator[str]:
    for name, pattern in _KEPT.items():
        if set(pattern.findall(_own_text(source))) != set(pattern.findall(_own_text(text))):
            yield f"another {name} than {sorted(set(pattern.findall(source)))}"
    if _formulas(source) != _formulas(text):
        yield "another formula"
    if _code(source) != _code(text):
        yield "other code"
    lost = _numbers(_THOUSANDS.sub("", source)) - _numbers(text) - _numbers(_THOUSANDS.sub("", text))
    if lost:
        yield f"numbers are missing: {sorted(lost)}"
    if _POINT.search(_FORMULA.sub(" ", _CODE.sub(" ", text))) and source != ".":
        yield "a decimal point"
    if source == text and re.search(r"[a-z]{3}", _words(source)) and text not in SAME[language]:
        yield "still English"
    if len(_BLOCK.findall(source)) != len(_BLOCK.findall(text)):
        yield "another number of headings and lines of lists"
    if source[:1].isspace() != text[:1].isspace() or source[-1:].isspace() != text[-1:].isspace():
        yield "other blanks at an end"
    if source.rstrip("* ")[-1:] in ".?!:" and source.rstrip("* ")[-1:] != text.rstrip("* ")[-1:] and source != ".":
        yield "ends otherwise"


def _own_text(text: str) -> str:
    """A text without its formulas and code, in which braces and tags mean something else."""
    return _FORMULA.sub(" ", _CODE.sub(" ", text))


def _words(text: str) -> str:
    text = _own_text(text)
    for pattern in _KEPT.values():
        text = pattern.sub(" ", text)
    return text


def _formulas(text: str) -> Counter[str]:
    """The formulas of a text, words in them left out."""
    return Counter(
        re.sub(r"\\text\w*\{[^}]*\}", "", formula).replace("{,}", ".") for formula in _FORMULA.findall(_CODE.sub(" ", text))
    )


def _code(text: str) -> Counter[str]:
    """The code of a text: plain words that somebody writes as an answer may be those of the language, and decimals its own."""
    codes = (_OWN_WORDS.sub("", re.sub(r"(?<=\d),(?=\d)", ".", code)) for code in _CODE.findall(text))
    return Counter(code for code in codes if re.search(r"[^\w` -]|\d|_", code))


def _numbers(text: str) -> set[str]:
    return {number.replace(",", ".").rstrip(".") for number in _NUMBER.findall(_words(text))}


def translated(language: str) -> Iterator[tuple[str, Any]]:
    """Yield each message of a language that is translated, with the name of its file.

    Args:
        language: the code of the language.
    """
    for path in sorted((FOLDER / language).glob("*.po")):
        with path.open("rb") as file:
            for message in read_po(file, locale=language):
                if message.id and any(forms(message)) and not message.fuzzy:
                    yield path.name, message


if __name__ == "__main__":
    for code in sys.argv[1:]:
        for name, message in translated(code):
            for fault in faults(message, code):
                print(f"{name}: {message.id!r}\n    {fault}")
