"""Each learner's own numbers for an item, worked out again whenever they are needed.

Seed = HMAC-SHA256(course secret; sheet, item, learner, attempt). The same learner gets the same numbers for ever, and
nobody without the secret can work out another's. A draw in which a named wrong answer comes near the right one is
thrown away, so that a named mistake is never marked right.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property, lru_cache

from gearkit.answers.comparison.compare import shown
from gearkit.answers.draw_numbers import pool, shared_teeth
from gearkit.answers.draw_numbers.drawn_values import drawn_values_of
from gearkit.answers.draw_numbers.seeded_random import Recorder, SeededRandom, seed_of
from gearkit.answers.item import Item
from gearkit.answers.judge.checkers import Key, Part
from gearkit.answers.layouts import own_teeth
from gearkit.answers.layouts.words import PLAIN, TRAIN, blocks
from gearkit.answers.rules import BuiltItem, DrawnValues, build
from gearkit.answers.train_words import teeth_in_words, train_in_words
from gearkit.text.phrases import localized
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import kept_for_each_language, language_key, later, say

MOST_DRAWS = 4000
# An item whose few numbers are all alike gives up after so many and repeats them.
MOST_REPEATS = 40
# With given tooth counts of a layout, an item is tried so often with other numbers before other counts are taken.
MOST_WITH_COUNTS = 12
# So many tooth counts of a layout are looked at for some that serve all items of a sheet.
MOST_LOOKED_AT = 40
# An item that none of so few serves would be hard to draw for a class.
FEW_COUNTS = 5
_OWN_LETTERS = later("In this question its elements have letters of their own.")
_BLANK = re.compile(r"<([A-Za-z_]\w*)>")


@dataclass(frozen=True)
class Variant:
    """One learner's copy of an item.

    Args:
        item: the item.
        values: the numbers shown to the learner, by letter.
        parts: what has to be filled in; one part named "answer" where there is one answer.
        words: what stands in the prompt for its blanks.
        key: what marking needs; never shown.
        drawn: everything that was drawn; never shown.
        throws: what the item's rule drew besides, each with the number of things that it was drawn from.
    """

    item: Item
    values: Mapping[str, Fraction]
    parts: tuple[Part, ...]
    words: Mapping[str, str]
    key: Key = field(repr=False, compare=False)
    drawn: DrawnValues = field(repr=False, compare=False)
    throws: tuple[tuple[int, int], ...] = field(default=(), repr=False, compare=False)

    @property
    def layout(self) -> Layout | None:
        """The layout with drawn tooth counts, where the item has one."""
        return self.drawn.layout

    @cached_property
    def question(self) -> str:
        """The question with the learner's numbers, without what is told of a layout beside it."""
        pieces = list(_pieces(say(self.item.prompt)))
        pieces[1::2] = map(self._in_words, pieces[1::2])
        return "".join(pieces)

    @property
    def blocks(self) -> tuple[tuple[str, str], ...]:
        """What is told of any layout beside the question, each block with its name; a sheet shows each of them once."""
        return blocks(self.drawn.train_text, self.drawn.teeth, self.item.shows) if self.drawn.train_text else ()

    @cached_property
    def prompt(self) -> str:
        """The question with the learner's numbers, in Markdown with ``$...$``."""
        text = self.question
        name = self.drawn.layout_name
        if self.drawn.train_text:
            return "\n\n".join([text, *(block for _, block in self.blocks)])
        if not name:
            return text
        own = " " + say(_OWN_LETTERS) if pool.plain_name(name) != name else ""
        teeth = teeth_in_words((tooth.sun, tooth.ring) for tooth in self.drawn.teeth) + " " if not self.item.draw.hidden else ""
        return f"{text}\n\n**{pool.plain_name(name)}**.{own} {teeth}{self.train_words}"

    @property
    def train_words(self) -> str:
        """What the question says of shafts and elements, in Markdown; a drawing of the train can stand in its place; "" for none."""
        if self.drawn.train_text:
            return next((block for name, block in self.blocks if name in (TRAIN, PLAIN)), "")
        if not self.drawn.layout_name:
            return ""
        return _train(self.drawn.layout_name, self.tells_kinds)

    @property
    def tells_kinds(self) -> bool:
        """Whether the question says which elements are clutches and which are brakes; a drawing of the train does."""
        return _tells_kinds(self.item)

    def _in_words(self, blank: str) -> str:
        if blank in self.words:
            return say(self.words[blank])
        number = self.drawn.visible.get(blank)
        return f"<{blank}>" if number is None else localized(shown_exactly(number))

    def asks_the_same_as(self, other: Variant) -> bool:
        """Return whether the learner reads the same question with the same numbers, and the same words in its blanks.

        Args:
            other: another variant of the item.
        """
        return (
            self.values == other.values
            and self.words == other.words
            and self.item.prompt == other.item.prompt
            and self.drawn.layout_name == other.drawn.layout_name
        )

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


def may_be_asked_in(item: Item, text: str) -> bool:
    """Return whether a question has the words in which an item asks, whatever is drawn; no draw stands there otherwise.

    Args:
        item: the item.
        text: the question as somebody was given it.
    """
    if not any(all(words in text for words in _pieces(say(question.prompt))[::2]) for question in item.questions):
        return False
    name = item.draw.layout
    return not name or say(_OWN_LETTERS) in text or _train(name, _tells_kinds(item)) in text


def _tells_kinds(item: Item) -> bool:
    return item.option != "elements without their kind" and PLAIN not in item.shows


@kept_for_each_language(128)
def _train(name: str, with_kinds: bool) -> str:
    return train_in_words(pool.layout_named(name), with_kinds)


@lru_cache(maxsize=512)
def _pieces(prompt: str) -> tuple[str, ...]:
    """Return a question's texts, and between each two of them the name of the blank."""
    return tuple(_BLANK.split(prompt))


def draw(
    item: Item,
    *,
    secret: bytes,
    sheet: str,
    learner: str,
    attempt: int = 1,
    unlike: str | Variant = "",
    beside: Sequence[Item] = (),
) -> Variant:
    """Return a learner's variant of an item.

    Args:
        item: the item.
        secret: the course's secret key.
        sheet: name of the sheet.
        learner: the learner's id.
        attempt: 1 for the first hand-in, 2 for another one with new numbers, and so on.
        unlike: name of the sheet of which this one is a retake, or the learner's variant there; "" for none. Its numbers
            are not given again, as far as the item has others.
        beside: the sheet's items; those about the same layout get the same tooth counts, as far as some serve them all.

    Raises:
        UsageError: the secret is empty.
    """
    if isinstance(unlike, str):
        before = draw(item, secret=secret, sheet=unlike, learner=learner, attempt=attempt) if unlike else None
    else:
        before = unlike
    seed = seed_for(item, secret, sheet, learner, attempt)
    if not item.draw.train:
        return drawn(item, seed, before)
    shared = shared_teeth.seed_for(item.draw.train, secret, sheet, learner, attempt)
    alike = tuple(
        (other, seed_for(other, secret, sheet, learner, attempt)) for other in beside if other.draw.train == item.draw.train
    ) or ((item, seed),)
    return _of_a_layout(item, seed, shared, alike, before)


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
    own = seed_of(b"practice", "gearkit practice 1", item.id, seed)
    if not item.draw.train:
        return drawn(item, own)
    shared = shared_teeth.seed_for(item.draw.train, b"practice", "practice", seed)
    return _of_a_layout(item, own, shared, ((item, own),))


def is_served(item: Item, seed: str) -> bool:
    """Return whether one of the first tooth counts that a seed gives serves an item about any layout.

    Args:
        item: the item.
        seed: any text.
    """
    own, shared = seed_of(b"trial", item.id, seed), shared_teeth.seed_for(item.draw.train, b"trial", "trial", seed)
    return any(_with_counts(item, own, shared, place) for place in range(FEW_COUNTS))


def _of_a_layout(
    item: Item, seed: bytes, shared: bytes, alike: tuple[tuple[Item, bytes], ...], unlike: Variant | None = None
) -> Variant:
    """The variant with the first tooth counts of a shared seed that serve all the items of a sheet; else with its own."""
    start = _first_that_serve(alike, shared)
    for place in (*range(start, own_teeth.MOST_CANDIDATES + 1), *range(start)):
        for variant in _with_counts(item, seed, shared, place):
            if unlike is None or not variant.asks_the_same_as(unlike):
                return variant
    if unlike is not None:
        return _of_a_layout(item, seed, shared, alike)
    raise UsageError(
        f"Item {item.id}: with all tooth counts near those of the layout a usual mistake would give the right answer too, so it "
        "cannot be asked. Leave it out; graders items --layout LAYOUT lists what can be asked instead."
    )


@lru_cache(maxsize=512)
def _first_that_serve(alike: tuple[tuple[Item, bytes], ...], shared: bytes) -> int:
    """The place of the first tooth counts that serve all items; where none do, of those that serve most."""
    best, served = 0, -1
    for place in range(MOST_LOOKED_AT):
        number = 0
        for item, seed in alike:
            if not _with_counts(item, seed, shared, place):
                break
            number += 1
        if number == len(alike):
            return place
        if number > served:
            best, served = place, number
    return best


@kept_for_each_language(4096)
def _with_counts(item: Item, seed: bytes, shared: bytes, place: int) -> tuple[Variant, ...]:
    """The first variants of an item with given tooth counts; none where they do not serve it."""
    teeth = own_teeth.candidates(item.draw.train, shared).at(place)
    if teeth is None:
        return ()
    seeded, variants = SeededRandom(seed_of(seed, f"with counts {place}")), list[Variant]()
    for _ in range(MOST_WITH_COUNTS):
        own_values = drawn_values_of(item, seeded, teeth=teeth)
        if own_values is None:
            continue
        drawing = Recorder(seeded)
        built = build(item, own_values, drawing)
        if built is not None:
            variants.append(made_of(item, own_values, built, tuple(drawing.throws)))
        # What draws nothing besides would come out the same each time.
        if variants or not (drawing.throws or item.draw.numbers):
            break
    return tuple(variants)


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
    seeded = SeededRandom(seed)
    if item.draw.train:
        yield from (
            variant for place in range(own_teeth.MOST_CANDIDATES + 1) for variant in _with_counts(item, seed, seed, place)
        )
        return
    for _ in range(MOST_DRAWS):
        own_values = drawn_values_of(item, seeded, all_serve=handed_out and not item.rule, before=before)
        if own_values is None:
            continue
        drawing = Recorder(seeded) if item.rule else seeded
        built = build(item, own_values, drawing, handed_out=handed_out)
        if built is not None:
            yield made_of(item, own_values, built, tuple(drawing.throws) if isinstance(drawing, Recorder) else ())


def made_of(item: Item, own_values: DrawnValues, built: BuiltItem, throws: tuple[tuple[int, int], ...]) -> Variant:
    """Return the variant that an item makes of what was drawn.

    Args:
        item: the item.
        own_values: what was drawn.
        built: what the item makes of it.
        throws: what its rule drew besides, each with the number of things that it was drawn from.
    """
    item = item.asked(own_values.values)
    return Variant(item, _told(item, own_values), _said(built.parts), built.words, built.key, own_values, throws)


def _said(parts: tuple[Part, ...]) -> tuple[Part, ...]:
    """The parts with what stands beside their boxes in the reader's language."""
    return tuple(replace(part, label=say(part.label)) for part in parts) if language_key() else parts


def _told(item: Item, own_values: DrawnValues) -> Mapping[str, Fraction]:
    """Return the numbers that the learner reads: a layout's all, else those that the question has a blank for."""
    if item.draw.layout or item.draw.train:
        return own_values.visible
    blanks = _pieces(item.prompt)[1::2]
    return {name: number for name, number in own_values.visible.items() if name in blanks}


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
