"""Answers in a class sheet: the text of each answer is kept, and the learner sees how it was read.

A sheet cell says ``answer("L03-02", 1 + R/S)``. What is kept is text and only text: nothing here compares, and nothing
here knows whether an answer is right, so a sheet can be handed in with nothing in it to find out. A mistake in form
is printed for the learner to mend; it never stops the notebook.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

from gearkit.words.errors import GearkitError
from gearkit.words.say import catalogue_of, in_notebook, languages, say

if TYPE_CHECKING:
    from gearkit.lesson.form import FormOfPart

ONE_PART = "answer"
# Longer texts are refused by the reader, which says so; no more than this of one is kept.
LONGEST_TEXT = 4000
OF_A_LESSON = "L"
_SHOWN = 200
# A tooth count, such as R or S12; the longer words beside a number are none.
_LETTER = re.compile(r"\b(?![xX]\b)[A-Za-z]_?[0-9]{0,2}\b")


class AnswerSheet:
    """The answers given so far in one notebook, as texts; the last call for an item that says anything wins."""

    def __init__(self) -> None:
        self.comma = "either"
        self._given: dict[str, dict[str, str]] = {}
        self._kept: list[str] = []
        self._told: dict[str, dict[str, str]] = {}

    def keep(self, item: str, parts: Mapping[str, str]) -> None:
        """Keep the texts of one answer; an empty one takes nothing back.

        Args:
            item: the item's id, such as ``"L03-02"``.
            parts: text by part name; ``"answer"`` where the item has one part only.
        """
        if item not in self._given or any(parts.values()):
            self._given[item] = dict(parts)
            self._kept.append(item)

    def changed(self) -> dict[str, dict[str, str]]:
        """Return a copy of the answers that changed since this was last asked: item id -> part name -> text."""
        kept, self._kept = self._kept, []
        now = {item: self._given[item] for item in kept}
        changed = {item: parts for item, parts in now.items() if self._told.get(item) != parts}
        # Never changed in place, so that both may hold the same.
        self._told.update(changed)
        return {item: dict(parts) for item, parts in changed.items()}

    def collected(self) -> dict[str, dict[str, str]]:
        """Return a copy of all answers: item id -> part name -> text."""
        return {item: dict(parts) for item, parts in self._given.items()}

    def clear(self) -> None:
        """Forget every answer, as a fresh notebook would."""
        self.comma = "either"
        self._given.clear()
        self._kept.clear()
        self._told.clear()


# A notebook is one process, and its sheet is the one thing its cells share; the runner collects it when they have run.
_SHEET = AnswerSheet()


def answer(item: str, *texts: object, **parts: object) -> None:
    """Keep an answer and print how the kit reads it; whether it is right is not looked at.

    Args:
        item: the item's id, such as ``"L03-02"``.
        texts: the one answer: an expression in lesson symbols, a number, or text.
        parts: for an item with several parts, one answer for each part's name.

    Examples:
        >>> answer("L03-02", "152/59")            # doctest: +SKIP
        L03-02: read as 152/59
    """
    name = str(item).strip()
    if len(texts) > 1:
        print(
            say(
                '{name}: {texts} answers were given without a name; only the first is kept. Name each part, as in answer("L03-01", S_R_C="3/2", C_R_S="2/3").',
                name=name,
                texts=len(texts),
            )
        )
    given = texts_of(texts[0] if texts else None, parts)
    _SHEET.keep(name, given)
    print(how_it_reads(name, given))


def comma(says: str) -> None:
    """Say what three digits after a comma are in this notebook, so that answers are read back as they will be marked.

    Args:
        says: "decimal" or "thousands"; any other word leaves both open.
    """
    _SHEET.comma = says


def language(code: str) -> None:
    """Say in which language answers are read back in this notebook.

    Args:
        code: such as "de"; a language that this version of the kit lacks changes nothing.
    """
    if code in languages():
        in_notebook(catalogue_of(code))


def collected() -> dict[str, dict[str, str]]:
    """Return what was answered in this process: item id -> part name -> text."""
    return _SHEET.collected()


def changed() -> dict[str, dict[str, str]]:
    """Return what was answered in this process since this was last asked: item id -> part name -> text."""
    return _SHEET.changed()


def clear() -> None:
    """Forget every answer of this process."""
    _SHEET.clear()


def texts_of(only: object, parts: Mapping[str, object]) -> dict[str, str]:
    """Turn what was written in a call into texts by part name.

    Args:
        only: the answer given without a name; a mapping gives parts, None gives nothing.
        parts: the answers given by name.
    """
    given: dict[str, str] = {}
    if isinstance(only, Mapping):
        given.update((str(name), text_of(value)) for name, value in only.items())
    elif only is not None:
        given[ONE_PART] = text_of(only)
    given.update((name, text_of(value)) for name, value in parts.items())
    return given


def text_of(value: object) -> str:
    """Return the text of one answer as the reader will get it.

    Args:
        value: an expression in lesson symbols, a number, a text, or a list of such for an order or several choices.
    """
    if value is None:
        return ""
    if isinstance(value, Fraction):
        # Brackets would change nothing for the reader, and 16/5 is how a learner writes it.
        return f"{value.numerator}/{value.denominator}" if value.denominator != 1 else str(value.numerator)
    if isinstance(value, list | tuple):
        return ", ".join(text_of(entry) for entry in value)
    if isinstance(value, int) and value.bit_length() > 2000:
        # Python itself writes out no more than 4,300 digits.
        return say("(a whole number of more than 600 digits)")
    try:
        text = str(value)
    except Exception as fault:
        # Whatever a cell hands over, the sheet goes on; the text says what happened.
        return say(
            "(an answer of type {name__} that has no text: {name__2})",
            name__=type(value).__name__,
            name__2=type(fault).__name__,
        )
    return " ".join(text.split())


def how_it_reads(item: str, given: Mapping[str, str]) -> str:
    """Say how the kit reads an answer, or what to mend in its form; never whether it is right.

    Args:
        item: the item's id.
        given: the texts by part name.
    """
    if not any(given.values()):
        return say("{item}: nothing was answered yet.", item=item)
    try:
        return _read(item, given)
    except GearkitError as fault:
        return f"{item}: {fault}"


def in_words(forms: Sequence[FormOfPart], given: Mapping[str, str]) -> str:
    """Say how the parts of an answer read, and which names are no part of it.

    Args:
        forms: one for each part, from ``form_of``.
        given: the texts by part name, as they were written.
    """
    from gearkit.answers.read.names import plain

    known = [each.part.name for each in forms]
    spellings = {plain(word) for each in forms for word in (each.part.name, each.part.label, ONE_PART)}
    strangers = ", ".join(name for name, text in given.items() if text and plain(name) not in spellings)
    if all(each.empty for each in forms):
        if strangers:
            return say(
                "none of the names {strangers} is a part of this item; its parts are {join}.",
                strangers=strangers,
                join=", ".join(known),
            )
        return say("nothing was answered yet.")
    said = []
    for each in forms:
        name = "" if each.part.name == ONE_PART else f"{each.part.name} "
        if each.trouble:
            said.append(say("{name}cannot be read: {trouble}", name=name, trouble=each.trouble))
        elif each.read_as:
            said.append(
                say("{name}read as {read_as}", name=name, read_as=each.read_as) + (f" ({each.remark})" if each.remark else "")
            )
    empty = [each.part.name for each in forms if each.empty]
    if empty:
        said.append(say("still empty: {join}", join=", ".join(empty)))
    if strangers:
        said.append(say("no part is called {strangers}", strangers=strangers))
    return "; ".join(said)


def _read_of_layout(item: str, given: Mapping[str, str]) -> str:
    """Say how an answer reads to an item that an instructor made from a layout; the bank does not have it.

    A part is either a ratio, written with digits, or words: the state of a combination, or names of elements.
    """
    from gearkit.answers.item import AnswerKind
    from gearkit.answers.kinds.numbers import NumberChecker
    from gearkit.answers.read.commas import settled

    said = []
    for part, text in given.items():
        name = "" if part == ONE_PART else f"{part} "
        if not text:
            said.append(say("{name}still empty", name=name))
            continue
        if not any(letter.isdigit() for letter in text):
            said.append(say("{name}kept as {text}", name=name, text=text[:_SHOWN]))
            continue
        # Any numbers serve to see how it reads; that they differ keeps a difference of two letters from being 0.
        names = dict.fromkeys(letter.replace("_", "") for letter in _LETTER.findall(text))
        letters = {letter: Fraction(1009 + 10 * place) for place, letter in enumerate(names)}
        try:
            reading = NumberChecker(Fraction(1), AnswerKind.EXACT_RATIO, letters=letters).read(settled(text, _SHEET.comma))
            said.append(
                say("{name}read as {read_as}", name=name, read_as=reading.read_as)
                + (f" ({reading.remark})" if reading.remark else "")
            )
        except GearkitError as fault:
            said.append(say("{name}cannot be read: {fault}", name=name, fault=fault))
    return f"{item}: " + "; ".join(said)


def _read(item: str, given: Mapping[str, str]) -> str:
    from gearkit.answers.draw_numbers.variants import practice
    from gearkit.answers.items import find
    from gearkit.lesson.form import form_of

    if not item.upper().startswith(OF_A_LESSON) and "-" in item:
        return _read_of_layout(item, given)
    # Any numbers serve to see how a text is read; the learner's own are not needed and not known here.
    forms = form_of(practice(find(item)), given, _SHEET.comma)
    return f"{item}: {in_words(forms, given)}"
