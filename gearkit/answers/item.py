"""What an exercise is: its question, what is drawn for each learner, its answer, its named mistakes and its hints.

Everything in an item is data. Formulas and conditions are texts that `formulas` reads; an answer that no formula can
give (a chart, an order, a diagnosis) names a rule from `rules` that works it out from the drawn layout.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from typing import Any

from gearkit.answers.comparison.compare import EXACTLY, Tolerance
from gearkit.answers.judge.claims import Relation
from gearkit.answers.kinds.kind import AnswerKind as AnswerKind
from gearkit.words.say import say

ONE_PART = "answer"
# Drawn numbers that choose between questions, letters of elements or orders of rows; nobody is shown them.
PICKS = frozenset({"version", "letters", "rows"})
Like = tuple[str, ...] | Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class NamedMistake:
    """A wrong answer that has a name.

    Args:
        code: the mistake behind it, from `mistakes`.
        wrong: the wrong formula; for an item with several parts a formula for each part it changes. In an instance of a family
            ``<answer>`` stands for its right formula, ``<ratio 2>`` for the ratio of another range, and so any that
            `layouts/formula.py` writes; ``<alone sun carrier P1>`` is one set with its third member held.
        sentence: what the learner reads; the mistake's own sentence when empty.
        when: for a tooth-count design, the condition on the learner's counts that shows the mistake.
        says: what the sentence says of the answer beyond that it is the wrong one, such as that its size is right.
        right_too: parts that the sentence calls right; where they are not, the mistake is not told.
        together: True where the sentence speaks of all its parts: it is told only if all are as predicted.
    """

    code: str
    wrong: str | Mapping[str, str]
    sentence: str = ""
    when: str = ""
    says: tuple[Relation, ...] = ()
    right_too: tuple[str, ...] = ()
    together: bool = False


@dataclass(frozen=True)
class Draw:
    """What is drawn for each learner.

    Args:
        sets: one suffix per planetary set from the pool; ("",) gives S, P, R, N and ("1", "2") gives S1 ... N2.
        layout: a catalogue layout whose tooth counts are drawn, such as "Q36".
        train: the text of any layout whose tooth counts are drawn; all its items on a learner's sheet share them.
        numbers: name -> (least, most, step), as texts.
        keep: conditions that a draw has to meet.
        shown: name -> (formula, decimals), worked out from what was drawn; decimals None leaves it exact.
        hidden: names that the learner never sees.
        later: names that came to be drawn later -> the value that whatever was handed out before has.
    """

    sets: tuple[str, ...] = ()
    layout: str = ""
    train: str = ""
    numbers: Mapping[str, tuple[str, str, str]] = field(default_factory=dict)
    keep: tuple[str, ...] = ()
    shown: Mapping[str, tuple[str, int | None]] = field(default_factory=dict)
    hidden: tuple[str, ...] = ()
    later: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Field:
    """One part of an item with several parts.

    Args:
        label: what stands beside its box.
        kind: how it is answered.
        marks: its marks as text, such as "1" or "1/2".
        unit: its unit, if any.
    """

    label: str
    kind: AnswerKind
    marks: str = "1"
    unit: str = ""


@dataclass(frozen=True)
class Version:
    """Another question that an item may ask, as hard as the first and for the same marks; what is empty is as in the item.

    The hints are the item's, so they have to fit every version.

    Args:
        prompt: see `Item`.
        answer: see `Item`.
        named_mistakes: see `Item`.
        symbols: see `Item`.
        also: see `Item`.
        fields: see `Item`.
        carry: see `Item`.
        rule: see `Item`.
        option: see `Item`.
        like: see `Item`.
        times: see `Item`.
    """

    prompt: str = ""
    answer: str | Mapping[str, str] = ""
    named_mistakes: tuple[NamedMistake, ...] = ()
    symbols: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    fields: Mapping[str, Field] = field(default_factory=dict)
    carry: Mapping[str, str] = field(default_factory=dict)
    rule: str = ""
    option: str = ""
    like: Like = ()
    times: str = ""


@dataclass(frozen=True)
class Constraint:
    """One demand on a tooth-count design, marked by itself.

    Args:
        label: the demand in a few words.
        conditions: all of them have to hold for the learner's counts.
        marks: as text.
        advice: what to look at when it fails.
    """

    label: str
    conditions: tuple[str, ...]
    marks: str
    advice: str


@dataclass(frozen=True)
class Item:
    """One exercise.

    Args:
        id: lesson and number, such as "L03-02".
        kind: how it is answered.
        marks: full marks.
        prompt: the question in Markdown; ``<S>`` stands for the drawn value of S.
        hints: three, each leaving at least one step to do.
        answer: the right formula, or one per part; empty where a rule or constraints decide.
        named_mistakes: named wrong answers, most telling first.
        draw: what is drawn for each learner.
        fields: the parts, where there are several.
        symbols: the letters of a symbolic answer.
        also: other formulas that are right as well.
        tolerance: how near a number has to be.
        unit: unit of a number.
        rule: name of the rule that builds the answer.
        constraints: demands on a tooth-count design.
        carry: part -> formula over the drawn numbers and the other parts; an answer that follows from the learner's own
            wrong ones by it earns half.
        pi: True where a learner may write pi.
        words: name of a drawn whole number -> the words that stand for 1, 2, 3 ... in the prompt.
        option: free word for the rule, such as which version to build.
        size_only: True where a size is asked for, so that a sign in front of a number does not count.
        excludes: items that must not stand on one sheet with it, because one prints what the other asks for.
        versions: other questions that it may ask; the drawn number "version" chooses, 1 being the item itself.
        shows: of an item about any layout, what stands beside the question besides sets, joins and elements.
        title: a few words for lists, "" where it has none.
        like: of a lesson's item about a layout, the family of which it is an instance and what it is about, such as
            ("ratio", "2"), or that for each part; without a rule its answer is that family's.
        times: what the family's answer is multiplied by, such as a drawn input speed.
    """

    id: str
    kind: AnswerKind
    marks: int
    prompt: str
    hints: tuple[str, str, str]
    answer: str | Mapping[str, str] = ""
    named_mistakes: tuple[NamedMistake, ...] = ()
    draw: Draw = Draw()
    fields: Mapping[str, Field] = field(default_factory=dict)
    symbols: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    tolerance: Tolerance = EXACTLY
    unit: str = ""
    rule: str = ""
    constraints: tuple[Constraint, ...] = ()
    carry: Mapping[str, str] = field(default_factory=dict)
    pi: bool = False
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    option: str = ""
    size_only: bool = False
    excludes: tuple[str, ...] = ()
    versions: tuple[Version, ...] = ()
    shows: tuple[str, ...] = ()
    title: str = ""
    like: Like = ()
    times: str = ""

    def __hash__(self) -> int:
        # What all draws of an item have in common is kept by the item; its tables could not be hashed.
        return hash(self.id)

    @property
    def lesson(self) -> int:
        """The number of the lesson it belongs to."""
        return int(self.id[1:3])

    @property
    def shown_hints(self) -> tuple[str, ...]:
        """Its hints in the reader's language."""
        return tuple(map(say, self.hints))

    @property
    def slips(self) -> tuple[NamedMistake, ...]:
        """Its named mistakes, as notebooks copied from versions up to 0.4.1 ask for them."""
        return self.named_mistakes

    @cached_property
    def questions(self) -> tuple[Item, ...]:
        """The item as each of its versions asks it; the item alone where it has no others."""
        return (self, *(replace(self, versions=(), **_changes(version)) for version in self.versions))

    @property
    def all_symbols(self) -> tuple[str, ...]:
        """The letters of all its versions."""
        return tuple(dict.fromkeys(name for question in self.questions for name in question.symbols))

    @property
    def all_named_mistakes(self) -> tuple[NamedMistake, ...]:
        """The named wrong answers of all its versions."""
        return tuple(each_mistake for question in self.questions for each_mistake in question.named_mistakes)

    def asked(self, values: Mapping[str, Fraction]) -> Item:
        """Return the item as it is asked with drawn numbers.

        Args:
            values: the drawn numbers.
        """
        return self.questions[int(values["version"]) - 1] if self.versions else self


def _changes(version: Version) -> dict[str, Any]:
    given = {name: value for name, value in vars(version).items() if value}
    if "answer" in given or "like" in given:
        # Other answers than the item's come with nothing of its own that hangs on them.
        given = {"also": (), "carry": {}, **given}
    return given
