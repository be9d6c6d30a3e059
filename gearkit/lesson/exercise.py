"""One exercise as a learner works on it: own numbers, how the answer was read, checking, hints, and a record of it all."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from html import escape

from gearkit.answers.draw_numbers import variants
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.item import Item
from gearkit.answers.judge import marking
from gearkit.answers.judge.checkers import Part
from gearkit.answers.judge.results import ItemResult, MarkVerdict
from gearkit.answers.kinds.choices import labelled
from gearkit.answers.kinds.kind import Form
from gearkit.draw.lever.sketches import svgs_of
from gearkit.lesson.answering import LONGEST_TEXT
from gearkit.lesson.form import FormOfPart, form_of
from gearkit.lesson.pictures import train_shown
from gearkit.lesson.record import Event, Record
from gearkit.text.markdown import inline, to_html
from gearkit.text.mathml import from_expression
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say

# Marks what was done when an exercise was asked again, apart from its own lesson.
RECALL = "recall"
# On paper and in a cell an order is written as letters; a form has buttons for it.
_BY_LETTERS = later(" Answer with the letters.")
_BEFORE_UNIT = re.compile(
    r"(?<=\d) (?=(?:mm|km|km/h|m|m/s²|r/min|[1U]/min|rad/s|N|N·m|kW|kg|kJ|s|%|percent|Prozent)(?![\w/·]))"
)


def last_draw(events: Iterable[Event], item: str) -> int:
    """Return the number of the last set of numbers that an exercise came with, 1 being the first.

    Args:
        events: draws, attempts or hints of the record.
        item: the exercise's id.
    """
    return max(
        (number for event in events if event.get("item") == item and isinstance(number := event.get("draw"), int)), default=1
    )


class Exercise:
    """The learner's work on one item.

    Args:
        item: the item.
        record: the learner's record; it also gives the numbers.
        recall_draw: where the exercise is asked again in a recall, which set of numbers it comes with; 0 in its own
            lesson, which goes on where the learner stopped.
    """

    def __init__(self, item: Item, record: Record, *, recall_draw: int = 0) -> None:
        self.item = item
        self._record = record
        self._draw = recall_draw or last_draw([event for event in record.of_kind("draw") if not event.get(RECALL)], item.id)
        self._tag = {RECALL: True} if recall_draw else {}
        self._heard: list[Callable[[], None]] = []
        self._start()
        self._take_up()

    def _start(self) -> None:
        self.variant: Variant = variants.practice(self.item, seed=f"{self._record.seed}/{self._draw}")
        self.given: dict[str, str] = {}
        self.result: ItemResult | None = None
        self.hints_shown = 0

    def _take_up(self) -> None:
        """Go on where the learner stopped: the last answer that was checked with these numbers, its verdict, the hints."""

        def own(kind: str) -> list[Event]:
            return [
                event
                for event in self._record.of_kind(kind)
                if event.get("item") == self.item.id and event.get("draw") == self._draw
            ]

        self.hints_shown = min(len(own("hint")), len(self.item.hints))
        given = next((event.get("given") for event in reversed(own("attempt"))), None)
        if isinstance(given, dict):
            self.given = {str(name): str(text)[:LONGEST_TEXT] for name, text in given.items()}
            self.result = marking.mark(self.variant, self.given)

    @property
    def draw(self) -> int:
        """Which set of numbers this is, from 1."""
        return self._draw

    @property
    def recalled(self) -> bool:
        """Whether it is asked again, apart from its own lesson."""
        return bool(self._tag)

    @property
    def prompt_html(self) -> str:
        """The question as HTML; options that the form shows itself are left out, pictures to choose among stand in their place, and a train
        is drawn."""
        prompt, drawn = self.variant.prompt, ""
        for part in self.variant.parts:
            if part.pictures:
                drawn += _pictures(part)
            if part.options:
                prompt = _without_list(prompt, part)
        train, words = train_shown(self.variant), self.variant.train_words
        if not (train and words in prompt):
            return _set(prompt) + drawn
        before, _, after = prompt.partition(words)
        title = say("The train in words")
        told = f'<details class="gk-history"><summary>{title}</summary>{to_html(words)}</details>'
        return _set(before.strip()) + train + (_set(after.strip()) if after.strip() else "") + told + drawn

    @property
    def hints(self) -> tuple[str, ...]:
        """The hints asked for so far, as HTML."""
        return tuple(inline(text) for text in self.item.shown_hints[: self.hints_shown])

    def option_text(self, part: Part, number: int) -> str:
        """Return what is written down when an option is chosen in a form.

        Args:
            part: a part with options.
            number: which option, from 0.
        """
        listed = labelled(part.options) in self.variant.prompt
        return "abcdefghijkl"[number] if listed else part.shown_options[number]

    def listen(self, heard: Callable[[], None]) -> None:
        """Call a function whenever the work on this exercise changes."""
        self._heard.append(heard)

    def write(self, texts: Mapping[str, str]) -> None:
        """Put an answer down without checking it.

        Args:
            texts: text by part name; for an item with several parts also one text under "answer".
        """
        if dict(texts) == self.given:
            return
        self.given = dict(texts)
        self.result = None
        self._tell()

    def form(self) -> tuple[FormOfPart, ...]:
        """Return how every part reads, before any check; never whether it is right."""
        return form_of(self.variant, self.given)

    def check(self) -> ItemResult:
        """Mark the answer as it stands and keep the attempt."""
        result = marking.mark(self.variant, self.given)
        self.result = result
        if result.verdict is not MarkVerdict.MISSING:
            self._record.add("attempt", {
                "item": self.item.id, "draw": self._draw, "given": self.given, "verdict": result.verdict.value,
                "score": str(result.score), "max": str(result.max), "hints": self.hints_shown,
                "mistakes": [named.code for named in result.mistakes], **self._tag,
            })  # fmt: skip
        self._tell()
        return result

    def hint(self) -> str:
        """Return the next hint as Markdown and keep that it was asked for; the last one again when there is no other.

        Raises:
            UsageError: the item has no hints.
        """
        if not self.item.hints:
            raise UsageError(f"{self.item.id} has no hints.")
        if self.hints_shown < len(self.item.hints):
            self.hints_shown += 1
            self._record.add("hint", {"item": self.item.id, "draw": self._draw, "number": self.hints_shown, **self._tag})
            self._tell()
        return self.item.shown_hints[self.hints_shown - 1]

    def new_numbers(self) -> None:
        """Start the exercise again with numbers that it never came with before, in its lesson or in a recall."""
        self._draw = max(self._draw, last_draw(self._record.events, self.item.id)) + 1
        self._record.add("draw", {"item": self.item.id, "draw": self._draw, **self._tag})
        self._start()
        self._tell()

    def _tell(self) -> None:
        for heard in self._heard:
            heard()


def _set(prompt: str) -> str:
    """A question as HTML, in which no line ends between a number and its unit."""
    return to_html(_BEFORE_UNIT.sub("\u00a0", prompt))


def _without_list(prompt: str, part: Part) -> str:
    """Take the list of options out of a question, and what asks for letters where the form has buttons that put them in order."""
    listed = labelled(part.options)
    if listed in prompt and part.kind.traits.form is Form.ORDER:
        prompt = prompt.replace(say(_BY_LETTERS), "")
    # Without its list a sentence ends, whatever followed its colon.
    return prompt.replace(f":\n\n{listed}", ".").replace(listed, "")


def _pictures(part: Part) -> str:
    """The pictures of a part side by side, each with its letter; a picture says in words what it shows."""
    figures = "".join(
        f"<figure><figcaption>({'abcdefghijkl'[number]})</figcaption>{svg}</figure>"
        for number, svg in enumerate(svgs_of(part.pictures))
    )
    return f'<div class="gk-choices">{figures}</div>'


def shown_reading(part: Part, text: str) -> str:
    """Return a reading as HTML: maths as maths, words as words.

    Args:
        part: the part that was answered.
        text: how it was read.
    """
    if part.kind.traits.read_as_formula:
        return from_expression(text)
    return escape(text)
