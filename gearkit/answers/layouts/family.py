"""What a family of items is: which questions it has for a layout, and how one of them is built from drawn tooth counts."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from gearkit.answers.comparison.compare import EXACTLY, Tolerance
from gearkit.answers.draw_numbers.pool import layout_named
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.item import ONE_PART, AnswerKind, Draw, Item
from gearkit.answers.judge.checkers import Checker, Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.kinds.words import ChoiceChecker, SeveralChecker
from gearkit.answers.layouts.own_teeth import AS_GIVEN
from gearkit.answers.layouts.train import Train, train_of
from gearkit.answers.layouts.words import earlier_words
from gearkit.answers.layouts.wrong import MOST_FORMS, Wrong
from gearkit.answers.rules.built_item import BuiltItem, DrawnValues
from gearkit.train import catalogue

LEVELS = {1: "easy", 2: "middle", 3: "hard"}


@dataclass(frozen=True)
class Case:
    """One question that a family has for a layout.

    Args:
        about: names of ranges, elements, members it is about; they make its id, and `build` gets them back.
        title: a few words for lists.
        question: in Markdown; ``<n>`` stands for a drawn number, ``<chosen>`` for words of the built item.
        marks: full marks.
        level: 1 easy, 2 middle, 3 hard.
        hints: three, each leaving a step to do.
        numbers: name -> (least, most, step) of numbers drawn besides tooth counts.
        asks: facts that it asks for, such as "ratio 3".
        tells: facts that its question prints.
        shows: blocks that stand beside the question besides sets, joins and elements.
        kind: how it is answered, where that is not the family's own kind.
        symbols: the letters of a symbolic answer.
        answer: the formula of a symbolic answer.
        tolerance: how near a number has to be.
        unit: unit of a number.
        size_only: True where a sign in front does not count.
        pi: True where a learner may write pi.
    """

    about: tuple[str, ...]
    title: str
    question: str
    marks: int
    level: int
    hints: tuple[str, str, str]
    numbers: Mapping[str, tuple[str, str, str]] = field(default_factory=dict)
    asks: frozenset[str] = frozenset()
    tells: frozenset[str] = frozenset()
    shows: tuple[str, ...] = ()
    kind: AnswerKind | None = None
    symbols: tuple[str, ...] = ()
    answer: str = ""
    tolerance: Tolerance = EXACTLY
    unit: str = ""
    size_only: bool = False
    pi: bool = False


class Ask(NamedTuple):
    """One question about a drawn layout.

    Args:
        item: the item.
        train: the layout with the learner's tooth counts.
        own: the layout as it was given.
        drawn: what was drawn.
        seeded: for what the question itself draws.
        about: the names that the question is about.
    """

    item: Item
    train: Train
    own: Train
    drawn: DrawnValues
    seeded: SeededRandom
    about: tuple[str, ...]


@dataclass(frozen=True)
class Family:
    """Questions of one make.

    Args:
        name: a word for ids, such as "ratio".
        subject: what it is about, in the trade's words.
        lesson: the lesson that teaches it.
        kind: how it is answered.
        cases: the questions that it has for a layout.
        build: builds the item; None where the draw does not serve.
    """

    name: str
    subject: str
    lesson: int
    kind: AnswerKind
    cases: Callable[[Train], Iterable[Case]]
    build: Callable[[Ask], BuiltItem | None]

    def item(self, case: Case, text: str, name: str) -> Item:
        """Return the item of one of its questions.

        Args:
            case: the question.
            text: text of the layout file.
            name: the item's id.
        """
        return Item(
            id=name,
            kind=case.kind or self.kind,
            marks=case.marks,
            prompt=case.question,
            hints=case.hints,
            draw=Draw(train=text, numbers=case.numbers),
            rule=self.name,
            option=json.dumps(case.about),
            answer=case.answer,
            symbols=case.symbols,
            tolerance=case.tolerance,
            unit=case.unit,
            size_only=case.size_only,
            pi=case.pi,
            shows=case.shows,
            title=case.title,
        )


def ask_of(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> Ask:
    """Return the question that an item asks of what was drawn.

    Args:
        item: an item that a family made, or a lesson's that is an instance of one.
        drawn: what was drawn.
        seeded: for what the question itself draws.
    """
    text = item.draw.train or _text_of(drawn.layout_name)
    own = train_of(text, tuple(AS_GIVEN for _ in drawn.teeth))
    about = tuple(json.loads(item.option)) if item.draw.train else tuple(item.like)[1:]
    return Ask(item, train_of(text, drawn.teeth), own, drawn, seeded, about)


@lru_cache(maxsize=128)
def _text_of(layout_name: str) -> str:
    """The text of a catalogue layout, with its elements' letters as they were drawn."""
    return catalogue.dumps(layout_named(layout_name))


class UnclearError(Exception):
    """A mistake gives the right answer with these tooth counts, and with others it does not."""


def wrong_values(
    ask: Ask,
    right: Callable[[Train], Fraction | None],
    wrongs: Iterable[Wrong],
    factor: Fraction = Fraction(1),
    most: int = MOST_FORMS,
) -> Iterator[tuple[Wrong, Fraction]]:
    """Yield mistakes that give something else than what is right, with what they give.

    Args:
        ask: the question.
        right: works the right value out.
        wrongs: the mistakes, most telling first.
        factor: what all values are multiplied by.
        most: how many at most.

    Raises:
        UnclearError: a mistake gives the right value by chance.
    """
    wanted, given = _sized(ask, right(ask.train)), 0
    seen: set[tuple[str, Fraction]] = set()
    for wrong in wrongs:
        value = _sized(ask, wrong.at(ask.train))
        if value is None or given >= most or (wrong.code, value) in seen:
            continue
        if value == wanted:
            if _sized(ask, wrong.at(ask.own)) == _sized(ask, right(ask.own)):
                continue
            raise UnclearError
        seen.add((wrong.code, value))
        given += 1
        yield wrong, value * factor


def _sized(ask: Ask, value: Fraction | None) -> Fraction | None:
    """A value without its sign where only a size is asked for."""
    return abs(value) if value is not None and ask.item.size_only else value


def number(
    ask: Ask,
    right: Callable[[Train], Fraction | None],
    wrongs: Iterable[Wrong],
    factor: Fraction = Fraction(1),
    words: Mapping[str, str] | None = None,
) -> BuiltItem | None:
    """Return the built item of a question that one number answers; None where a mistake gives the right value by chance.

    Args:
        ask: the question.
        right: works the right value out.
        wrongs: the mistakes, most telling first.
        factor: what all values are multiplied by, such as the input speed.
        words: what stands in the question's blanks.
    """
    value, item = _sized(ask, right(ask.train)), ask.item
    if value is None:
        return None
    try:
        forms = tuple(
            WrongForm(wrong.code, {ONE_PART: value_}, wrong.sentence, says=wrong.says)
            for wrong, value_ in wrong_values(ask, right, wrongs, factor)
            # What is right but for its sign earns half and has its own sentence.
            if value_ != -value * factor
        )
    except UnclearError:
        return None
    checker = NumberChecker(value * factor, item.kind, item.tolerance, item.unit, ask.drawn.visible, item.pi, item.size_only)
    part = Part(ONE_PART, "", item.kind, item.unit, (), Fraction(item.marks))
    return BuiltItem((part,), Key({ONE_PART: checker}, forms, values=ask.drawn.values), words or {})


def choice(
    ask: Ask,
    options: Sequence[str],
    right: str,
    wrong: Iterable[tuple[str, str, str]] = (),
    *,
    aliases: Mapping[str, str] | None = None,
    words: Mapping[str, str] | None = None,
    label: str = "",
) -> BuiltItem:
    """Return the built item of a question that one option answers.

    Args:
        ask: the question.
        options: what can be chosen from.
        right: the right one.
        wrong: mistakes as code, option and sentence; those that name the right option are left out.
        aliases: other words for an option.
        words: what stands in the question's blanks.
        label: what stands beside the box.
    """
    choices = _choices(ask, options, aliases)
    forms = tuple(WrongForm(code, {ONE_PART: option}, text) for code, option, text in wrong if option != right)
    part = Part(ONE_PART, label, ask.item.kind.of_each_part, "", choices.options, Fraction(ask.item.marks))
    return BuiltItem((part,), Key({ONE_PART: ChoiceChecker(choices, right)}, forms), words or {})


def several(
    ask: Ask,
    options: Sequence[str],
    right: Iterable[str],
    wrong: Iterable[tuple[str, Iterable[str], str]] = (),
    *,
    words: Mapping[str, str] | None = None,
) -> BuiltItem:
    """Return the built item of a question that some of the options answer.

    Args:
        ask: the question.
        options: what can be chosen from.
        right: the right ones.
        wrong: mistakes as code, options and sentence; those that name the right ones are left out.
        words: what stands in the question's blanks.
    """
    wanted = frozenset(right)
    forms = tuple(
        WrongForm(code, {ONE_PART: frozenset(options_)}, text)
        for code, options_, text in wrong
        if frozenset(options_) != wanted
    )
    part = Part(ONE_PART, "", AnswerKind.MULTIPLE_CHOICE, "", tuple(options), Fraction(ask.item.marks))
    return BuiltItem((part,), Key({ONE_PART: SeveralChecker(_choices(ask, options), (wanted,))}, forms), words or {})


def grid(
    ask: Ask,
    rows: Sequence[tuple[str, str, str]],
    options: Sequence[str],
    forms: Iterable[WrongForm] = (),
    *,
    aliases: Mapping[str, str] | None = None,
) -> BuiltItem:
    """Return the built item of a question with one choice in each row, the marks shared evenly.

    Args:
        ask: the question.
        rows: name, label and right option of each row.
        options: what can be chosen from.
        forms: named mistakes.
        aliases: other words for an option.
    """
    choices = _choices(ask, options, aliases)
    marks = Fraction(ask.item.marks, len(rows))
    parts = tuple(Part(name, label, ask.item.kind.of_each_part, "", choices.options, marks) for name, label, _ in rows)
    checkers: dict[str, Checker] = {name: ChoiceChecker(choices, right) for name, _, right in rows}
    return BuiltItem(parts, Key(checkers, tuple(forms)))


def _choices(ask: Ask, options: Sequence[str], aliases: Mapping[str, str] | None = None) -> Choices:
    """The options with their other words; a set with a name was told by its number in copies of earlier versions."""
    earlier = {earlier_words(ask.train.layout, option): option for option in options}
    others = {told: option for told, option in earlier.items() if told not in options}
    return Choices(tuple(options), aliases={**others, **(aliases or {})})


def part_name(start: str, name: str, place: int) -> str:
    """Return a word for a part of an answer that Python can read before "=".

    Args:
        start: what it begins with, such as "range".
        name: the range's or element's name.
        place: its place, for names without letters and digits.
    """
    plain = "".join(mark for mark in name if mark.isascii() and mark.isalnum())
    return f"{start}_{plain}" if plain == name else f"{start}_{place}_{plain}".rstrip("_")
