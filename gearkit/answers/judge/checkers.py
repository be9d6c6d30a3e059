"""What one part of an answer asks for: how its text is read, and when it is right.

Each family of answers has a target class in `kinds`; marking knows only what is written here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from typing import Any, NamedTuple, Protocol

from gearkit.answers.item import AnswerKind, Constraint
from gearkit.answers.judge.claims import Claim, Relation
from gearkit.text.phrases import shown_word
from gearkit.words.say import say


class Reading(NamedTuple):
    """What was made of one text.

    Args:
        read_as: the answer as the kit understood it, to be shown to the learner.
        content: what the target works with.
        remark: a sentence for the learner about how it was read, or "".
        says: what the remark says about the answer.
    """

    read_as: str
    content: Any
    remark: str = ""
    says: tuple[Relation, ...] = ()


class Pattern(NamedTuple):
    """A general mistake that turns the right answer into the learner's.

    Args:
        code: the mistake.
        sentence: what the learner reads, or "" for the mistake's own.
        relation: how the answer stands to the right one.
        value: the factor, where the relation has one.
    """

    code: str
    sentence: str
    relation: Relation
    value: str = ""


@dataclass(frozen=True)
class Judgement:
    """How right one part is.

    Args:
        share: share of the part's marks, 0 to 1.
        remark: a sentence about it, or "".
        patterns_found: mistakes that the judgement itself shows, such as a wrong unit.
        final: True where the remark says it all and no named mistake is looked for.
        says: what the remark says about the answer.
        if_alone: what it is where no wrong answer of this draw would look the same at the digits given.
        strictly: what it is on a sheet that wants decimals rounded strictly; None for the same.
    """

    share: Fraction
    remark: str = ""
    patterns_found: tuple[Pattern, ...] = ()
    final: bool = False
    says: tuple[Relation, ...] = ()
    if_alone: Judgement | None = None
    strictly: Judgement | None = None

    @property
    def right(self) -> bool:
        """True at full marks."""
        return self.share == 1


RIGHT, WRONG = Judgement(Fraction(1)), Judgement(Fraction(0))


class Checker(Protocol):
    """What one part asks for."""

    def read(self, text: str) -> Reading:
        """Read a text; AnswerError where its form is wrong."""

    def judge(self, reading: Reading) -> Judgement:
        """Say how right it is."""

    def agrees(self, reading: Reading, wrong: Any) -> bool:
        """Return whether the answer is the given wrong content.

        Args:
            reading: what was read.
            wrong: the wrong content.
        """

    def patterns(self, reading: Reading) -> tuple[Pattern, ...]:
        """Return general mistakes (sign, reciprocal, factor) that explain a wrong answer."""

    def right_text(self) -> str:
        """Return a text that is right."""

    def wrong_text(self, wrong: Any) -> str:
        """Return a text that says the given wrong content."""


@dataclass(frozen=True)
class Part:
    """One part of a variant, as a form or a sheet shows it.

    Args:
        name: the word that it is answered under.
        label: what stands beside its box.
        kind: how it is answered.
        unit: its unit, or "".
        options: what can be chosen from, or ().
        marks: its marks.
        pictures: for each option what is to be drawn, where pictures can be chosen from; its words are the option.
    """

    name: str
    label: str
    kind: AnswerKind
    unit: str = ""
    options: tuple[str, ...] = ()
    marks: Fraction = Fraction(1)
    pictures: tuple[Any, ...] = ()

    @property
    def shown_options(self) -> tuple[str, ...]:
        """What can be chosen from, in the reader's language; any of the two is read."""
        return tuple(map(shown_word, self.options))

    @property
    def shown_unit(self) -> str:
        """Its unit in the reader's language."""
        return say(self.unit)


@dataclass(frozen=True)
class WrongForm:
    """A named wrong answer with this variant's numbers.

    Args:
        code: the mistake.
        contents: wrong content by part; parts not named are as in the right answer.
        sentence: what the learner reads, or "" for the mistake's own.
        when: for a design, the condition that shows it.
        says: what the sentence says of each part of the form beyond that it is the predicted answer.
        needs: other parts that its sentence speaks of, and how they stand; elsewhere the form is not told.
        together: True where the form is told only if every part that it names is the predicted answer.
    """

    code: str
    contents: Mapping[str, Any]
    sentence: str = ""
    when: str = ""
    says: tuple[Relation, ...] = ()
    needs: tuple[Claim, ...] = ()
    together: bool = False


@dataclass(frozen=True)
class Key:
    """All that marking needs to know about a variant; never shown to a learner.

    Args:
        checkers: what each part asks for.
        forms: the named wrong answers in order, or what makes them.
        constraints: demands on a design; then the parts are whole numbers and these decide.
        carry: part -> (formula over the other parts, share): an answer that follows from the learner's own wrong ones.
        follows: part -> what it has to be after the learner's own other entries, or None where that cannot be told; for
            parts in words.
        values: drawn values, hidden ones too.
    """

    checkers: Mapping[str, Checker]
    forms: tuple[WrongForm, ...] | Callable[[], tuple[WrongForm, ...]] = ()
    constraints: tuple[Constraint, ...] = ()
    carry: Mapping[str, tuple[str, Fraction]] = field(default_factory=dict)
    values: Mapping[str, Fraction] = field(default_factory=dict)
    follows: Mapping[str, Callable[[Mapping[str, Any]], Any]] = field(default_factory=dict)

    @cached_property
    def wrong_forms(self) -> tuple[WrongForm, ...]:
        """The named wrong answers, in order; a right answer never asks for them."""
        return self.forms() if callable(self.forms) else self.forms
