"""Each learner's own numbers for an item, worked out again whenever they are needed.

Seed = HMAC-SHA256(course secret; sheet, item, learner, attempt). The same learner gets the same numbers for ever, and
nobody without the secret can work out another's. A draw in which a named wrong answer comes near the right one is
thrown away, so that a slip is never marked right.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property, lru_cache

from gearkit.answers import pool
from gearkit.answers.compare import shown
from gearkit.answers.designs import shows_slip
from gearkit.answers.dice import Dice, seed_of
from gearkit.answers.formulas import condition, value
from gearkit.answers.items import Item
from gearkit.answers.rules import Facts, Task, build
from gearkit.answers.targets import Key, Part
from gearkit.answers.train_words import train_in_words
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError

MOST_DRAWS = 4000
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
        facts: everything that was drawn; never shown.
    """

    item: Item
    values: Mapping[str, Fraction]
    parts: tuple[Part, ...]
    words: Mapping[str, str]
    key: Key = field(repr=False, compare=False)
    facts: Facts = field(repr=False, compare=False)

    @property
    def layout(self) -> Layout | None:
        """The layout with drawn tooth counts, where the item has one."""
        return self.facts.layout

    @cached_property
    def prompt(self) -> str:
        """The question with the learner's numbers, in Markdown with ``$...$``."""
        words = {name: shown_exactly(number) for name, number in self.facts.visible.items()}
        words.update(self.words)
        text = _BLANK.sub(lambda found: words.get(found.group(1), found.group(0)), self.item.prompt)
        if self.layout is not None:
            kinds = self.item.option != "elements without their kind"
            text += "\n\n" + train_in_words(self.facts.layout_name, self.layout, not self.item.draw.hidden, kinds)
        return text

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


def draw(item: Item, *, secret: bytes, sheet: str, learner: str, attempt: int = 1) -> Variant:
    """Return a learner's variant of an item.

    Args:
        item: the item.
        secret: the course's secret key.
        sheet: name of the sheet.
        learner: the learner's id.
        attempt: 1 for the first hand-in, 2 for a retake with new numbers, and so on.

    Raises:
        UsageError: the secret is empty.
    """
    if not secret:
        raise UsageError("The course secret is empty. Draw a new one, or restore the course's .secret file.")
    # The same name typed on two keyboards may come in two forms of Unicode; it is one learner all the same.
    names = [unicodedata.normalize("NFC", name) for name in (sheet, item.id, learner)]
    return drawn(item, seed_of(secret, "gearkit variant 1", *names, str(attempt)))


def practice(item: Item, seed: str = "practice") -> Variant:
    """Return a variant for practice, where nothing is secret.

    Args:
        item: the item.
        seed: any text; another text gives other numbers.
    """
    return drawn(item, seed_of(b"practice", "gearkit practice 1", item.id, seed))


def drawn(item: Item, seed: bytes) -> Variant:
    """Return the variant that a seed gives.

    Args:
        item: the item.
        seed: any bytes.

    Raises:
        UsageError: no draw meets the item's conditions; the item needs mending.
    """
    dice = Dice(seed)
    for _ in range(MOST_DRAWS):
        facts = _facts(item, dice)
        if facts is None:
            continue
        task = build(item, facts, dice)
        if task is not None and _clear(item, task):
            return _variant(item, facts, task)
    raise UsageError(f"Item {item.id}: no draw in {MOST_DRAWS} keeps its wrong answers clear of the right one.")


def _facts(item: Item, dice: Dice) -> Facts | None:
    """Draw sets, layout and numbers; None where a condition fails."""
    plan = item.draw
    values: dict[str, Fraction] = {}
    for suffix in plan.sets:
        values.update(dice.pick(pool.pool()).values(suffix))
    teeth: tuple[pool.Teeth, ...] = ()
    if plan.layout:
        teeth = pool.sane_teeth(plan.layout, dice)
        for number, counts in enumerate(teeth, start=1):
            values.update(counts.values(str(number)))
    for name, (least, most, step) in plan.numbers.items():
        values[name] = dice.pick(_steps(least, most, step))
    if not all(condition(text).holds(values) for text in plan.keep):
        return None
    for name, (text, places) in plan.shown.items():
        found = value(text, values)
        values[name] = found if places is None else round_half_up(found, places)
    visible = {name: number for name, number in values.items() if name not in plan.hidden}
    return Facts(values, visible, plan.layout, teeth)


@lru_cache(maxsize=1024)
def _steps(least: str, most: str, step: str) -> tuple[Fraction, ...]:
    """Return every number that can be drawn, as texts in the bank state it."""
    low, width = Fraction(least), Fraction(step)
    return tuple(low + width * place for place in range(int((Fraction(most) - low) / width) + 1))


def round_half_up(number: Fraction, places: int) -> Fraction:
    """Return a number rounded to so many decimals, halves away from zero.

    Args:
        number: the number.
        places: decimals, 0 or more.
    """
    scale = 10**places
    size = (abs(number) * scale + Fraction(1, 2)).__floor__()
    return Fraction(size if number >= 0 else -size, scale)


def _clear(item: Item, task: Task) -> bool:
    """Return whether every named wrong answer is clear of the right one in at least one part."""
    forms = [form for form in task.key.wrong_forms if form.contents]
    if task.key.constraints:
        return all(shows_slip(task.key, form) for form in forms)
    return all(any(task.apart(part, content, item) for part, content in form.contents.items()) for form in forms)


def _variant(item: Item, facts: Facts, task: Task) -> Variant:
    values = {name: number for name, number in facts.visible.items() if _is_shown(item, name)}
    return Variant(item, values, task.parts, task.words, task.key, facts)


def _is_shown(item: Item, name: str) -> bool:
    return bool(item.draw.layout) or f"<{name}>" in item.prompt


def shown_exactly(number: Fraction) -> str:
    """Return a drawn number as text: whole or as a finished decimal, with a proper minus sign.

    Args:
        number: the number.
    """
    text = str(number.numerator) if number.denominator == 1 else None
    if text is None:
        places = next((places for places in range(1, 7) if (number * 10**places).denominator == 1), None)
        text = shown(number, 6) if places is None else f"{float(number):.{places}f}"
    return text.replace("-", "\u2212") if text.startswith("-") else text
