"""What can be chosen from: options found by their words, their letter in a list, or any beginning that fits only one."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from gearkit.answers.read.names import bare, plain, spellings, without_kind
from gearkit.text.phrases import as_now_said, shown_word
from gearkit.words.errors import AnswerError
from gearkit.words.say import language_key, say

_LABELS = "abcdefghijkl"
# A list of options written in full is longer than a formula ever is.
_MOST_CHARS = 2000
_BETWEEN = re.compile(r"[,;>\n\u2192\u21d2]|\band\b|\bthen\b")
_JOINING = frozenset({"and", "then"})
_WORD = re.compile(r"\w+")


def labelled(options: Iterable[str]) -> str:
    """Return options as a list with letters, in Markdown.

    Args:
        options: what can be chosen from.
    """
    return "\n".join(f"- ({_LABELS[number]}) {option}" for number, option in enumerate(map(shown_word, options)))


def _bounded(text: str) -> None:
    if len(text) > _MOST_CHARS:
        raise AnswerError(
            "too long",
            say("The answer has {text} characters; {most_chars} are read.", text=len(text), most_chars=_MOST_CHARS),
            say("Write it shorter."),
        )


@dataclass(frozen=True)
class Choices:
    """The options of one question.

    Args:
        options: what can be chosen from, as shown.
        letters: True where the list is shown with letters (a), (b) ...
        aliases: other words for an option.
    """

    options: tuple[str, ...]
    letters: bool = False
    aliases: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def _known(self) -> dict[str, str]:
        """The options by their plain text; of two with the same the first."""
        known = {plain(option): option for option in reversed(self.options)}
        # A form in another language gives its own words back.
        return (
            {**known, **{plain(shown_word(option)): option for option in reversed(self.options)}} if language_key() else known
        )

    def find(self, text: str) -> str:
        """Return the option that a text means.

        Args:
            text: a word, a beginning of one, or a letter of the list.

        Raises:
            AnswerError: it fits none or more than one.
        """
        _bounded(text)
        wanted = plain(text)
        known = self._known.get(wanted)
        if known is not None:
            return known
        text = as_now_said(text)
        known = self._known.get(plain(text))
        if known is not None:
            return known
        if self.letters and len(wanted) == 1 and wanted in _LABELS[: len(self.options)]:
            return self.options[_LABELS.index(wanted)]
        option = self._by_words(text)
        if option is not None:
            return option
        raise AnswerError(
            "option",
            say("“{strip}” is not one of the choices.", strip=text.strip()[:40]),
            say("Choose from: {shown}.", shown=self.shown()),
        )

    def _by_words(self, text: str) -> str | None:
        """Find an option by its other words, or by a beginning that fits only one; None where none or several fit."""
        means = spellings(text)
        for word in (plain(text), *means):
            other_word = self._other_words.get(word)
            if other_word is not None:
                return other_word
            if self.letters and len(word) == 1 and word in _LABELS[: len(self.options)]:
                return self.options[_LABELS.index(word)]
        for word in (plain(text), *means[:1]):
            begins = [
                option for option in self.options if word and any(plain(name).startswith(word) for name in self._names(option))
            ]
            if len(begins) == 1:
                return begins[0]
        return None

    def _names(self, option: str) -> tuple[str, ...]:
        """An option as it stands, without "the", and as it is shown in another language."""
        return (option, bare(option), shown_word(option)) if language_key() else (option, bare(option))

    @cached_property
    def _other_words(self) -> dict[str, str]:
        """Options by plain text, without "the", and by the question's other words; the options' own text comes first."""
        others = {plain(alias): option for alias, option in self.aliases.items()}
        return {**others, **{plain(bare(option)): option for option in reversed(self.options)}, **self._known}

    def several(self, text: str) -> tuple[str, ...]:
        """Return the options that a text names, in its order.

        Args:
            text: options with commas, semicolons, blanks, ``>`` or "and" between; single letters may run together.
        """
        _bounded(text)
        whole = self._known.get(plain(text))
        if whole is not None:
            return (whole,)
        text = as_now_said(text)
        if any(_BETWEEN.search(option) for option in self.options):
            listed = self._listed(text)
            if listed:
                return listed
        pieces = [piece for piece in _BETWEEN.split(text) if plain(piece)]
        if len(pieces) == 1 and self._short():
            known = self._by_words(pieces[0])
            if known is not None:
                return (known,)
            pieces = re.split(r"[\s/+&-]+", without_kind(pieces[0]))
        if len(pieces) == 1 and self._single() and len(pieces[0]) > 1:
            pieces = list(pieces[0])
        return tuple(self.find(piece) for piece in pieces if piece.strip())

    def _listed(self, text: str) -> tuple[str, ...]:
        """Return the options that make up a text word by word, for options with commas of their own; () where others stand in it."""
        words = [word for word in _WORD.findall(text.casefold()) if word != "the"]
        options: list[str] = []
        place = 0
        while place < len(words):
            fits = [(row, option) for row, option in self._rows if tuple(words[place : place + len(row)]) == row]
            if not fits and words[place] in _JOINING:
                place += 1
                continue
            if not fits:
                return ()
            row, option = max(fits, key=lambda fit: len(fit[0]))
            options.append(option)
            place += len(row)
        return tuple(options)

    @cached_property
    def _rows(self) -> tuple[tuple[tuple[str, ...], str], ...]:
        """The words of each option, "the" left out."""
        return tuple(
            (tuple(word for word in _WORD.findall(option.casefold()) if word != "the"), option) for option in self.options
        )

    def _short(self) -> bool:
        return self.letters or all(len(option) <= 3 for option in self.options)

    def _single(self) -> bool:
        return self.letters or all(len(option) == 1 for option in self.options)

    def shown(self) -> str:
        """Return the options in one line."""
        if self.letters:
            return ", ".join(f"({_LABELS[number]}) {option}" for number, option in enumerate(map(shown_word, self.options)))
        return ", ".join(map(shown_word, self.options))

    def label(self, option: str) -> str:
        """Return how an option is written shortest.

        Args:
            option: one of the options.
        """
        return _LABELS[self.options.index(option)] if self.letters else shown_word(option)
