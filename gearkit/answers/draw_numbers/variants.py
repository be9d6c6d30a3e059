"""Each learner's own numbers for an item, worked out again whenever they are needed.

Seed = HMAC-SHA256(course secret; sheet, item, learner, attempt). The same learner gets the same numbers for ever, and
nobody without the secret can work out another's. A draw in which a named wrong answer comes near the right one is
thrown away, so that a slip is never marked right.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property, lru_cache

from gearkit.answers.comparison.compare import shown
from gearkit.answers.comparison.formulas import Condition, Work, condition, work
from gearkit.answers.draw_numbers import pool
from gearkit.answers.draw_numbers.seeded_random import Dice, Recorder, seed_of
from gearkit.answers.items import PICKS, Item
from gearkit.answers.judge.targets import Key, Part
from gearkit.answers.read.expression import Pair
from gearkit.answers.rules import Facts, Task, build
from gearkit.answers.train_words import teeth_in_words, train_in_words
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError

MOST_DRAWS = 4000
# An item whose few numbers are all alike gives up after so many and repeats them.
MOST_REPEATS = 40
_BLANK = re.compile(r"<([A-Za-z_]\w*)>")
Number = tuple[Fraction, Pair]


@dataclass(frozen=True)
class Variant:
    """One learner's copy of an item.

    Args:
        item: the item.
        values: the numbers shown to the learner, by letter.
        parts: what has to be filled in; one part named "answer" where there is one answer.
        words: what stands in the prompt for its blanks.
        key: what marking needs; never shown.
        facts: everything that was drawn; never shown.
        throws: what the item's rule drew besides, each with the number of things that it was drawn from.
    """

    item: Item
    values: Mapping[str, Fraction]
    parts: tuple[Part, ...]
    words: Mapping[str, str]
    key: Key = field(repr=False, compare=False)
    facts: Facts = field(repr=False, compare=False)
    throws: tuple[tuple[int, int], ...] = field(default=(), repr=False, compare=False)

    @property
    def layout(self) -> Layout | None:
        """The layout with drawn tooth counts, where the item has one."""
        return self.facts.layout

    @cached_property
    def prompt(self) -> str:
        """The question with the learner's numbers, in Markdown with ``$...$``."""
        pieces = list(_pieces(self.item.prompt))
        pieces[1::2] = map(self._in_words, pieces[1::2])
        text = "".join(pieces)
        name = self.facts.layout_name
        if not name:
            return text
        own = " In this question its elements have letters of their own." if pool.plain_name(name) != name else ""
        teeth = teeth_in_words((one.sun, one.ring) for one in self.facts.teeth) + " " if not self.item.draw.hidden else ""
        train = _train(name, self.item.option != "elements without their kind")
        return f"{text}\n\n**{pool.plain_name(name)}**.{own} {teeth}{train}"

    def _in_words(self, blank: str) -> str:
        if blank in self.words:
            return self.words[blank]
        number = self.facts.visible.get(blank)
        return f"<{blank}>" if number is None else shown_exactly(number)

    def asks_the_same_as(self, other: Variant) -> bool:
        """Return whether the learner reads the same question with the same numbers, and the same words in its blanks.

        Args:
            other: another variant of the item.
        """
        return (self.values == other.values and self.words == other.words and self.item.prompt == other.item.prompt
                and self.facts.layout_name == other.facts.layout_name)

    @property
    def options(self) -> tuple[str, ...]:
        """What can be chosen from, where the item has one part with options."""
        return self.parts[0].options if len(self.parts) == 1 else ()

    def answer_cell(self) -> str:
        """Return the call that answers it in a class sheet, with every part still empty."""
        if len(self.parts) == 1:
            return f'answer("{self.item.id}", "")'
        blanks = ",\n       ".join(f'{part.name}=""' for part in self.parts)
        return f'answer("{self.item.id}",\n       {blanks})'


@lru_cache(maxsize=128)
def _train(name: str, with_kinds: bool) -> str:
    return train_in_words(pool.layout_named(name), with_kinds)


@lru_cache(maxsize=512)
def _pieces(prompt: str) -> tuple[str, ...]:
    """Return a question's texts, and between each two of them the name of the blank."""
    return tuple(_BLANK.split(prompt))


def draw(item: Item, *, secret: bytes, sheet: str, learner: str, attempt: int = 1, unlike: str | Variant = "") -> Variant:
    """Return a learner's variant of an item.

    Args:
        item: the item.
        secret: the course's secret key.
        sheet: name of the sheet.
        learner: the learner's id.
        attempt: 1 for the first hand-in, 2 for another one with new numbers, and so on.
        unlike: name of the sheet of which this one is a retake, or the learner's variant there; "" for none. Its numbers
            are not given again, as far as the item has others.

    Raises:
        UsageError: the secret is empty.
    """
    if isinstance(unlike, str):
        before = draw(item, secret=secret, sheet=unlike, learner=learner, attempt=attempt) if unlike else None
    else:
        before = unlike
    return drawn(item, seed_for(item, secret, sheet, learner, attempt), before)


def seed_for(item: Item, secret: bytes, sheet: str, learner: str, attempt: int = 1) -> bytes:
    """Return what a learner's numbers for an item are drawn from.

    Args:
        item: the item.
        secret: the course's secret key.
        sheet: name of the sheet.
        learner: the learner's id.
        attempt: which variant, counted from 1.

    Raises:
        UsageError: the secret is empty.
    """
    if not secret:
        raise UsageError("The course secret is empty. Draw a new one, or restore the course's .secret file.")
    # The same name typed on two keyboards may come in two forms of Unicode; it is one learner all the same.
    names = [unicodedata.normalize("NFC", name) for name in (sheet, item.id, learner)]
    return seed_of(secret, "gearkit variant 1", *names, str(attempt))


def practice(item: Item, seed: str = "practice") -> Variant:
    """Return a variant for practice, where nothing is secret.

    Args:
        item: the item.
        seed: any text; another text gives other numbers.
    """
    return drawn(item, seed_of(b"practice", "gearkit practice 1", item.id, seed))


def drawn(item: Item, seed: bytes, unlike: Variant | None = None) -> Variant:
    """Return the variant that a seed gives.

    Args:
        item: the item.
        seed: any bytes.
        unlike: a variant whose task is not to be given again, as far as the item has others.

    Raises:
        UsageError: no draw meets the item's conditions; the item needs mending.
    """
    for repeats, variant in enumerate(tried(item, seed)):
        if unlike is None or repeats == MOST_REPEATS or not variant.asks_the_same_as(unlike):
            return variant
    raise UsageError(f"Item {item.id}: no draw in {MOST_DRAWS} keeps its wrong answers clear of the right one.")


def tried(item: Item, seed: bytes, *, handed_out: bool = False, before: bool = False) -> Iterator[Variant]:
    """Yield the variants that a seed gives one after the other; the first is the one to give.

    Args:
        item: the item.
        seed: any bytes.
        handed_out: yield also draws that serve no more, to find again what an earlier version of the kit handed out.
        before: draw as it was done before the numbers came that the item calls `later`.
    """
    dice = Dice(seed)
    for _ in range(MOST_DRAWS):
        facts = _facts(item, dice, all_serve=handed_out and not item.rule, before=before)
        if facts is None:
            continue
        drawing = Recorder(dice) if item.rule else dice
        task = build(item, facts, drawing, handed_out=handed_out)
        if task is not None:
            yield made_of(item, facts, task, tuple(drawing.throws) if isinstance(drawing, Recorder) else ())


def made_of(item: Item, facts: Facts, task: Task, throws: tuple[tuple[int, int], ...]) -> Variant:
    """Return the variant that an item makes of what was drawn.

    Args:
        item: the item.
        facts: what was drawn.
        task: what the item makes of it.
        throws: what its rule drew besides, each with the number of things that it was drawn from.
    """
    item = item.asked(facts.values)
    return Variant(item, _told(item, facts), task.parts, task.words, task.key, facts, throws)


@dataclass(frozen=True)
class _Plan:
    """What all draws of an item have in common.

    Args:
        numbers: each name with what it is drawn from.
        keep: conditions that a draw has to meet.
        shown: each name with what works it out, and its decimals.
    """

    numbers: tuple[tuple[str, tuple[Number, ...]], ...]
    keep: tuple[Condition, ...]
    shown: tuple[tuple[str, Work, int | None], ...]


@lru_cache(maxsize=512)
def _plan(item: Item) -> _Plan:
    draw = item.draw
    return _Plan(
        tuple((name, _steps(*limits)) for name, limits in draw.numbers.items()),
        tuple(map(condition, draw.keep)),
        tuple((name, work(text), places) for name, (text, places) in draw.shown.items()),
    )


def _facts(item: Item, dice: Dice, *, all_serve: bool = False, before: bool = False) -> Facts | None:
    """Draw sets, layout and numbers; None where a condition fails, unless all shall serve.

    As before, what came to be drawn later is not drawn.
    """
    draw, plan = item.draw, _plan(item)
    values: dict[str, Fraction] = {}
    pairs: dict[str, Pair] = {}
    sets = tuple([dice.pick(pool.pool()) for _ in draw.sets])
    teeth = pool.sane_teeth(draw.layout, dice) if draw.layout else ()
    named = [*zip(sets, draw.sets, strict=True), *[(counts, str(number)) for number, counts in enumerate(teeth, start=1)]]
    for counts, suffix in named:
        their_values, their_pairs = pool.lettered(counts, suffix)
        values.update(their_values)
        pairs.update(their_pairs)
    for name, numbers in plan.numbers:
        if before and name in draw.later:
            values[name] = Fraction(draw.later[name])
            pairs[name] = values[name].as_integer_ratio()
        else:
            values[name], pairs[name] = dice.pick(numbers)
    for one in plan.keep:
        if not all_serve and not one.holds(pairs):
            return None
    for name, found, places in plan.shown:
        number = Fraction(*found(pairs))
        values[name] = number = number if places is None else round_half_up(number, places)
        pairs[name] = number.as_integer_ratio()
    return Facts(values, pairs, visible(item, values), pool.with_letters(draw.layout, values), teeth, sets)


def visible(item: Item, values: Mapping[str, Fraction]) -> Mapping[str, Fraction]:
    """Return those of an item's numbers that the learner may see.

    Args:
        item: the item.
        values: all of them.
    """
    hidden = {*item.draw.hidden, *PICKS.intersection(item.draw.numbers)}
    return {name: number for name, number in values.items() if name not in hidden} if hidden else values


@lru_cache(maxsize=1024)
def _steps(least: str, most: str, step: str) -> tuple[Number, ...]:
    """Return every number that can be drawn, as texts in the bank state it."""
    low, width = Fraction(least), Fraction(step)
    steps = (low + width * place for place in range(int((Fraction(most) - low) / width) + 1))
    return tuple((number, number.as_integer_ratio()) for number in steps)


def _told(item: Item, facts: Facts) -> Mapping[str, Fraction]:
    """Return the numbers that the learner reads: a layout's all, else those that the question has a blank for."""
    if item.draw.layout:
        return facts.visible
    blanks = _pieces(item.prompt)[1::2]
    return {name: number for name, number in facts.visible.items() if name in blanks}


def round_half_up(number: Fraction, places: int) -> Fraction:
    """Return a number rounded to so many decimals, halves away from zero.

    Args:
        number: the number.
        places: decimals, 0 or more.
    """
    scale = 10**places
    size = (abs(number) * scale + Fraction(1, 2)).__floor__()
    return Fraction(size if number >= 0 else -size, scale)


def shown_exactly(number: Fraction) -> str:
    """Return a drawn number as text: whole or as a finished decimal, with a proper minus sign.

    Args:
        number: the number.
    """
    text = str(number.numerator) if number.denominator == 1 else None
    if text is None:
        places = next((places for places in range(1, 7) if 10**places % number.denominator == 0), None)
        text = shown(number, 6) if places is None else f"{float(number):.{places}f}"
    return text.replace("-", "\u2212") if text.startswith("-") else text
