"""Answers in words: one of several options, some of them, or all of them in order.

An option may be written in full, by its letter where a list shows letters, or by any beginning that fits only one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property, lru_cache
from typing import Any

from gearkit.answers.judge.claims import Relation
from gearkit.answers.judge.targets import RIGHT, WRONG, Judgement, Pattern, Reading
from gearkit.words.errors import AnswerError

_LABELS = "abcdefghijkl"
_NOTHING = frozenset({"none", "nothing", "0"})


@lru_cache(maxsize=4096)
def plain(text: str) -> str:
    """Return a text without blanks, signs and capitals, for comparing words.

    Args:
        text: any text.
    """
    return "".join(mark for mark in text.casefold() if mark.isalnum())


def labelled(options: Iterable[str]) -> str:
    """Return options as a list with letters, in Markdown.

    Args:
        options: what can be chosen from.
    """
    return "\n".join(f"- ({_LABELS[number]}) {option}" for number, option in enumerate(options))


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
        return {plain(option): option for option in reversed(self.options)}

    def find(self, text: str) -> str:
        """Return the option that a text means.

        Args:
            text: a word, a beginning of one, or a letter of the list.

        Raises:
            AnswerError: it fits none or more than one.
        """
        wanted = plain(text)
        known = self._known.get(wanted)
        if known is not None:
            return known
        if self.letters and len(wanted) == 1 and wanted in _LABELS[: len(self.options)]:
            return self.options[_LABELS.index(wanted)]
        for alias, option in self.aliases.items():
            if plain(alias) == wanted:
                return option
        begins = [option for option in self.options if wanted and plain(option).startswith(wanted)]
        if len(begins) == 1:
            return begins[0]
        raise AnswerError("option", f"“{text.strip()[:40]}” is not one of the choices.", f"Choose from: {self.shown()}.")

    def several(self, text: str) -> tuple[str, ...]:
        """Return the options that a text names, in its order.

        Args:
            text: options with commas, semicolons, blanks, ``>`` or "and" between; single letters may run together.
        """
        whole = self._known.get(plain(text))
        if whole is not None:
            return (whole,)
        pieces = [piece for piece in re.split(r"[,;>\n]|\band\b|\bthen\b", text) if piece.strip()]
        if len(pieces) == 1 and self._short():
            pieces = re.split(r"[\s/+&-]+", pieces[0].strip())
        if len(pieces) == 1 and self._single() and len(pieces[0]) > 1:
            pieces = list(pieces[0])
        return tuple(self.find(piece) for piece in pieces if piece.strip())

    def _short(self) -> bool:
        return self.letters or all(len(option) <= 3 for option in self.options)

    def _single(self) -> bool:
        return self.letters or all(len(option) == 1 for option in self.options)

    def shown(self) -> str:
        """Return the options in one line."""
        if self.letters:
            return ", ".join(f"({_LABELS[number]}) {option}" for number, option in enumerate(self.options))
        return ", ".join(self.options)

    def label(self, option: str) -> str:
        """Return how an option is written shortest.

        Args:
            option: one of the options.
        """
        return _LABELS[self.options.index(option)] if self.letters else option


@dataclass(frozen=True)
class ChoiceTarget:
    """One option is asked for.

    Args:
        choices: what can be chosen from.
        right: the right option.
    """

    choices: Choices
    right: str

    def read(self, text: str) -> Reading:
        """Read one option; AnswerError where it fits none."""
        option = self.choices.find(text)
        return Reading(option, option)

    def judge(self, reading: Reading) -> Judgement:
        """Say whether it is the right option."""
        return RIGHT if reading.content == self.right else WRONG

    def agrees(self, reading: Reading, wrong: Any) -> bool:
        """Return whether it is the given wrong option.

        Args:
            reading: what was read.
            wrong: the wrong content.
        """
        return bool(reading.content == wrong)

    def patterns(self, reading: Reading) -> tuple[Pattern, ...]:
        """Nothing general can be said about a wrong choice."""
        return ()

    def right_text(self) -> str:
        """Return the right option."""
        return self.choices.label(self.right)

    def wrong_text(self, wrong: Any) -> str:
        """Return a wrong option."""
        return self.choices.label(wrong)


@dataclass(frozen=True)
class SeveralTarget:
    """Some of the options are asked for.

    Args:
        choices: what can be chosen from.
        accepted: right selections, the designer's or preferred one first.
        scoring: "ticks" gives each right tick a share and takes one for each wrong tick, a larger one where few options
            are wrong: whoever ticks everything knows nothing; "all" is all or nothing.
        clean: share of the marks that only a faultless selection gets.
        other_remark: what is said to a selection that is right but not the preferred one.
    """

    choices: Choices
    accepted: tuple[frozenset[str], ...]
    scoring: str = "ticks"
    clean: Fraction = Fraction(0)
    other_remark: str = ""

    def read(self, text: str) -> Reading:
        """Read a selection; AnswerError where a word fits no option."""
        if plain(text) in _NOTHING and not any(plain(option) in _NOTHING for option in self.choices.options):
            return Reading("none", frozenset())
        chosen = frozenset(self.choices.several(text))
        if not chosen:
            raise AnswerError("option", "Nothing is chosen.", f"Choose from: {self.choices.shown()}; or write none.")
        ordered = [option for option in self.choices.options if option in chosen]
        return Reading(", ".join(ordered), chosen)

    def judge(self, reading: Reading) -> Judgement:
        """Say how much of the selection is right."""
        if reading.content in self.accepted:
            other = reading.content != self.accepted[0]
            return Judgement(Fraction(1), self.other_remark if other else "",
                             says=(Relation.ALSO_RIGHT,) if other and self.other_remark else ())
        wanted, ticked = self.accepted[0], reading.content
        if self.scoring == "all" or not wanted:
            return WRONG
        # All wrong ticks together cost at least what all right ones earn.
        cost = Fraction(len(ticked - wanted), max(1, min(len(wanted), len(self.choices.options) - len(wanted))))
        share = max(Fraction(0), Fraction(len(ticked & wanted), len(wanted)) - cost)
        return Judgement((1 - self.clean) * share)

    def agrees(self, reading: Reading, wrong: Any) -> bool:
        """Return whether it is the given wrong selection.

        Args:
            reading: what was read.
            wrong: the wrong content.
        """
        return bool(reading.content == wrong)

    def patterns(self, reading: Reading) -> tuple[Pattern, ...]:
        """Nothing general can be said about a selection."""
        return ()

    def right_text(self) -> str:
        """Return the right selection."""
        return self.wrong_text(self.accepted[0])

    def wrong_text(self, wrong: Any) -> str:
        """Return a selection as text."""
        return ", ".join(self.choices.label(option) for option in self.choices.options if option in wrong) or "none"


@dataclass(frozen=True)
class OrderTarget:
    """All options in order are asked for.

    Args:
        choices: what is to be put in order.
        order: the right order.
        marks: marks of the part; one is lost for each neighbour swap that is still needed.
    """

    choices: Choices
    order: tuple[str, ...]
    marks: int

    def read(self, text: str) -> Reading:
        """Read an order; AnswerError unless each option is named once."""
        found = self.choices.several(text)
        missing = [self.choices.label(option) for option in self.choices.options if option not in found]
        if missing or len(found) != len(self.order):
            problem = f"{', '.join(missing)} is missing" if missing else "one is named twice"
            raise AnswerError("option", f"In the order, {problem}.",
                              "Name each one once, first to last, with commas between.")
        return Reading(", ".join(self.choices.label(option) for option in found), found)

    def judge(self, reading: Reading) -> Judgement:
        """Say how many neighbour swaps are still needed."""
        places = [self.order.index(option) for option in reading.content]
        swaps = sum(first > second for number, first in enumerate(places) for second in places[number + 1 :])
        if not swaps:
            return RIGHT
        share = max(Fraction(0), Fraction(self.marks - swaps, self.marks))
        remark = "Two neighbours have to change places." if swaps == 1 else ""
        return Judgement(share, remark, says=(Relation.ONE_SWAP,) if remark else ())

    def agrees(self, reading: Reading, wrong: Any) -> bool:
        """Return whether it is the given wrong order.

        Args:
            reading: what was read.
            wrong: the wrong content.
        """
        return tuple(reading.content) == tuple(wrong)

    def patterns(self, reading: Reading) -> tuple[Pattern, ...]:
        """Return that the whole order is turned round, where it is."""
        if tuple(reading.content) == self.order[::-1]:
            return (Pattern("RECIP", "The whole order is turned round.", Relation.REVERSED),)
        return ()

    def right_text(self) -> str:
        """Return the right order."""
        return self.wrong_text(self.order)

    def wrong_text(self, wrong: Any) -> str:
        """Return an order as text."""
        return ", ".join(self.choices.label(option) for option in wrong)
