"""Where a learner stands: what is done, what was missed, which mistake comes back, and what to do next."""

from __future__ import annotations

import csv
import io
import os
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from html import escape
from pathlib import Path

from gearkit.answers.beliefs.own_record import in_words
from gearkit.answers.items import Item
from gearkit.answers.mistakes import mistake
from gearkit.lesson.record import Event, Record
from gearkit.text.files import write_atomically
from gearkit.words.errors import GearkitError, UsageError

DONE = "done"
BEGUN = "tried, not right yet"
OPEN = "not tried"
_COMES_BACK = 2


@dataclass(frozen=True)
class Standing:
    """How one exercise stands.

    Args:
        item: the exercise.
        state: done, tried or not tried.
        attempts: how often it was checked.
        hints: how many different hints were asked for.
        best: largest share of the marks so far.
    """

    item: Item
    state: str
    attempts: int
    hints: int
    best: Fraction


@dataclass(frozen=True)
class Progress:
    """A learner's progress through the exercises of one lesson.

    Args:
        title: of the lesson.
        standings: one for each exercise, in the lesson's order.
        recurring: (code, name, how often) of mistakes made more than once, in all lessons, the most frequent first.
        advice: what to do next, in one or two sentences.
        predictions: how many predictions were made in this lesson.
        ideas: what may be behind several answers, in sentences; shown here and written to no file.
    """

    title: str
    standings: tuple[Standing, ...]
    recurring: tuple[tuple[str, str, int], ...]
    advice: str
    predictions: int
    ideas: tuple[str, ...] = ()

    @property
    def done(self) -> int:
        """How many exercises are done."""
        return sum(standing.state == DONE for standing in self.standings)

    def __str__(self) -> str:
        lines = [f"{self.title}: {self.done} of {len(self.standings)} exercises done, {self.predictions} predictions made."]
        lines += [f"  {each.item.id}  {_in_words(each)}" for each in self.standings]
        lines += [f"Comes back: {name} ({count} times)." for _, name, count in self.recurring]
        lines += [f"{_BEHIND}: {idea}" for idea in self.ideas]
        return "\n".join([*lines, self.advice])

    def _repr_html_(self) -> str:
        rows = "".join(
            f'<tr><th scope="row">{each.item.id}</th><td>{_MARKS[each.state]} {escape(_in_words(each))}</td></tr>'
            for each in self.standings
        )
        back = "".join(f"<li>{escape(name)} ({count} times)</li>" for _, name, count in self.recurring)
        repeated = f"<p>Comes back:</p><ul>{back}</ul>" if back else ""
        behind = "".join(f"<p><strong>{_BEHIND}.</strong> {escape(idea)}</p>" for idea in self.ideas)
        return (
            f"<p><strong>{escape(self.title)}</strong>: {self.done} of {len(self.standings)} exercises done, "
            f"{self.predictions} predictions made.</p><table><tbody>{rows}</tbody></table>{repeated}{behind}"
            f"<p><strong>Next:</strong> {escape(self.advice)}</p>"
        )

    def export(self, path: str | os.PathLike[str]) -> Path:
        """Write the progress to a CSV file and return its path.

        Args:
            path: the file; one that is there is replaced, and folders on the way to it are made where they are missing.
        """
        target, table = Path(path), io.StringIO(newline="")
        writer = csv.writer(table)
        writer.writerow(["item", "state", "attempts", "hints", "best share of marks"])
        writer.writerows(
            [each.item.id, each.state, each.attempts, each.hints, f"{float(each.best):.2f}"] for each in self.standings
        )
        try:
            write_atomically(target, table.getvalue(), durable=False)
        except OSError as fault:
            raise GearkitError(f"{target}: cannot be written ({fault.strerror}). Choose another folder.") from None
        return target


_BEHIND = "An idea that may be behind several of your answers"
_MARKS = {DONE: "✓", BEGUN: "◐", OPEN: "○"}


def progress(title: str, lesson_items: Sequence[Item], record: Record, lesson: str) -> Progress:
    """Return how a learner stands in a lesson.

    Args:
        title: of the lesson.
        lesson_items: its exercises, in order.
        record: the learner's record.
        lesson: the lesson's number, such as "03".
    """
    attempts = record.of_kind("attempt")
    hints = record.of_kind("hint")
    standings = tuple(_standing(item, attempts, hints) for item in lesson_items)
    counted = Counter(code for event in attempts for code in _codes(event))
    recurring = tuple((code, _name_of(code), count) for code, count in counted.most_common() if count >= _COMES_BACK)
    made = sum(event.get("lesson") == lesson for event in record.of_kind("prediction"))
    return Progress(title, standings, recurring, _advice(standings, recurring), made, in_words(attempts, record.seed))


def _standing(item: Item, attempts: Sequence[Event], hints: Sequence[Event]) -> Standing:
    own = [event for event in attempts if event.get("item") == item.id]
    asked = {(event.get("draw"), event.get("number")) for event in hints if event.get("item") == item.id}
    best = max((_share(event) for event in own), default=Fraction(0))
    state = DONE if best == 1 else BEGUN if own else OPEN
    return Standing(item, state, len(own), len(asked), best)


def _share(event: Event) -> Fraction:
    try:
        return Fraction(str(event.get("score"))) / Fraction(str(event.get("max")))
    except (ValueError, ZeroDivisionError):
        return Fraction(0)


def _codes(event: Event) -> list[str]:
    codes = event.get("mistakes")
    return [str(code) for code in codes] if isinstance(codes, list) else []


def _name_of(code: str) -> str:
    try:
        return mistake(code).name
    except UsageError:
        # A record may hold a mistake that a later kit no longer lists.
        return code


def _advice(standings: Sequence[Standing], recurring: Sequence[tuple[str, str, int]]) -> str:
    missed = [each for each in standings if each.state == BEGUN]
    untried = [each for each in standings if each.state == OPEN]
    for code, name, _ in recurring:
        practises = [each for each in standings if any(slip.code == code for slip in each.item.all_slips)]
        again = next((each for each in practises if each.state != DONE), practises[0] if practises else None)
        if again is not None and not untried:
            return f"“{name}” comes back: do {again.item.id} again with new numbers and watch for it."
    if missed:
        return f"Take up {missed[0].item.id} again: read its first hint, or ask for new numbers."
    if untried:
        return f"Go on with {untried[0].item.id}."
    return "All exercises of this lesson are done; go on to the next lesson, or repeat one with new numbers."


def _in_words(standing: Standing) -> str:
    if standing.state == OPEN:
        return OPEN
    times = "once" if standing.attempts == 1 else f"{standing.attempts} times"
    hints = f", {standing.hints} hint{'s' if standing.hints != 1 else ''}" if standing.hints else ""
    share = "" if standing.state == DONE else f", best {round(float(standing.best) * 100)} %"
    return f"{standing.state} (checked {times}{hints}{share})"
