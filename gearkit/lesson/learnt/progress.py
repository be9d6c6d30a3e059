"""Where a learner stands: what is done, kept or due again, which mistake is made again and again, and what to do next."""

from __future__ import annotations

import io
import os
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path

from gearkit.answers import items
from gearkit.answers.beliefs.own_record import in_words
from gearkit.answers.item import Item
from gearkit.answers.mistakes import mistake
from gearkit.lesson.learnt.standing import ONCE_RIGHT, Standing, State, is_right, standings, title_of
from gearkit.lesson.record import Event, Record
from gearkit.text.files import write_atomically
from gearkit.words.errors import GearkitError, UsageError
from gearkit.words.say import later, say, say_n

# A notebook sets tables flush right, as suits numbers.
_LEFT = 'style="text-align:left"'
_COMES_BACK = 2
# After so many exercises in which a mistake can be made, right at once and without a hint, it is behind the learner.
_OVERCOME = 2


@dataclass(frozen=True)
class Progress:
    """A learner's progress through the exercises of one lesson.

    Args:
        title: of the lesson.
        standings: one for each exercise, in the lesson's order.
        recurring: (code, name, how often) of mistakes made more than once, in all lessons, and not overcome since; the
            most frequent first.
        advice: what to do next, in one or two sentences.
        predictions: how many predictions were made in this lesson.
        ideas: what may be behind several answers, in sentences; shown here and written to no file.
        ways: links back, home and on, as HTML.
    """

    title: str
    standings: tuple[Standing, ...]
    recurring: tuple[tuple[str, str, int], ...]
    advice: str
    predictions: int
    ideas: tuple[str, ...] = ()
    ways: str = ""

    @property
    def done(self) -> int:
        """How many exercises are done."""
        return sum(standing.state in ONCE_RIGHT for standing in self.standings)

    @property
    def kept(self) -> int:
        """How many were right again on another day, and not too long ago."""
        return sum(standing.state is State.KEPT for standing in self.standings)

    @property
    def due(self) -> int:
        """How many were done, but so long ago that they are due again."""
        return sum(standing.state is State.DUE for standing in self.standings)

    @property
    def _counted(self) -> str:
        more = [f"{count} {word}" for count, word in ((self.kept, say("kept")), (self.due, say("due again"))) if count]
        told = [
            say("{done} of {standings} exercises done", done=self.done, standings=len(self.standings)),
            *more,
            say_n("{count} prediction made", "{count} predictions made", self.predictions),
        ]
        return ", ".join(told) + "."

    def __str__(self) -> str:
        lines = [f"{self.title}: {self._counted}"]
        lines += [f"  {each.item.id}  {each.words()}" for each in self.standings]
        lines += [
            say("Made more than once: {name} ({number} times).", name=name, number=count) for _, name, count in self.recurring
        ]
        lines += [f"{say(_BEHIND)}: {idea}" for idea in self.ideas]
        return "\n".join([*lines, self.advice])

    def _repr_html_(self) -> str:
        rows = "".join(
            f'<tr><th scope="row" style="white-space:nowrap">{each.item.id}</th><td {_LEFT}>{escape(title_of(each.item))}</td><td {_LEFT}>{_MARKS[each.state]} {escape(each.words())}</td></tr>'
            for each in self.standings
        )
        back = "".join(
            "<li>" + say("{name} ({count} times)", name=escape(name), count=count) + "</li>"
            for _, name, count in self.recurring
        )
        repeated = "<p>" + say("Made more than once:") + f"</p><ul>{back}</ul>" if back else ""
        behind = "".join(f"<p><strong>{say(_BEHIND)}.</strong> {escape(idea)}</p>" for idea in self.ideas)
        further = say("Next:")
        return (
            f"<p><strong>{escape(self.title)}</strong>: {self._counted}</p><table><tbody>{rows}</tbody></table>{repeated}{behind}"
            f"<p><strong>{further}</strong> {escape(self.advice)}</p>{self.ways}"
        )

    def export(self, path: str | os.PathLike[str]) -> Path:
        """Write the progress to a CSV file and return its path.

        Args:
            path: the file; one that is there is replaced, and folders on the way to it are made where they are missing.
        """
        # Every page loads this module, and hardly any learner writes the file.
        import csv

        target, table = Path(path), io.StringIO(newline="")
        writer = csv.writer(table)
        writer.writerow(["item", "state", "attempts", "hints", say("best share of marks")])
        writer.writerows(
            [each.item.id, each.state, each.attempts, each.hints, f"{float(each.best):.2f}"] for each in self.standings
        )
        try:
            write_atomically(target, table.getvalue(), durable=False)
        except OSError as fault:
            raise GearkitError(f"{target}: cannot be written ({fault.strerror}). Choose another folder.") from None
        return target


_BEHIND = later("An idea that may be behind several of your answers")
_MARKS = {
    State.DONE: "✓",
    State.KEPT: "✓✓",
    State.DUE: "↻",
    State.HELPED: "◐",
    State.BEGUN: "◐",
    State.OPEN: "○",
}


def progress(
    title: str, lesson_items: Sequence[Item], record: Record, lesson: str, ways: str = "", core: Sequence[str] = ()
) -> Progress:
    """Return how a learner stands in a lesson.

    Args:
        title: of the lesson.
        lesson_items: its exercises, in order.
        record: the learner's record.
        lesson: the lesson's number, such as "03".
        ways: links back, home and on, as HTML.
        core: ids of the exercises that everybody does; all of them when empty.
    """
    attempts = record.of_kind("attempt")
    standing = tuple(standings(lesson_items, attempts, record.of_kind("hint"), record.today))
    recurring = recurring_mistakes(attempts)
    made = sum(event.get("lesson") == lesson for event in record.of_kind("prediction"))
    return Progress(title, standing, recurring, _advice(standing, recurring, core), made, in_words(attempts, record.seed), ways)


def recurring_mistakes(attempts: Sequence[Event]) -> tuple[tuple[str, str, int], ...]:
    """Return (code, name, how often) of the mistakes made more than once and not overcome since, the most frequent first.

    A mistake is overcome when two exercises in which it can be made were right since, each at once and without a hint.

    Args:
        attempts: what was checked, oldest first.
    """
    counted = Counter(code for event in attempts for code in _codes(event))
    often = [(code, count) for code, count in counted.most_common() if count >= _COMES_BACK]
    firsts = _first_tries(attempts) if often else []
    return tuple((code, _name_of(code), count) for code, count in often if not _is_overcome(code, attempts, firsts))


def _first_tries(attempts: Sequence[Event]) -> list[int]:
    """The places of the first answers to each exercise with each numbers: what comes after feedback proves less."""
    seen: dict[tuple[object, object], int] = {}
    for place, event in enumerate(attempts):
        seen.setdefault((event.get("item"), str(event.get("draw"))), place)
    return sorted(seen.values())


def _is_overcome(code: str, attempts: Sequence[Event], firsts: Sequence[int]) -> bool:
    last = max(place for place, event in enumerate(attempts) if code in _codes(event))
    right = [str(attempts[place].get("item")) for place in firsts if place > last and is_right(attempts[place])]
    return sum(_can_show(code, name) for name in right) >= _OVERCOME


def _can_show(code: str, name: str) -> bool:
    try:
        return any(each_mistake.code == code for each_mistake in items.find(name).all_named_mistakes)
    except GearkitError:
        # An exercise of another kit, or one on a layout of the learner's own.
        return False


def _codes(event: Event) -> list[str]:
    codes = event.get("mistakes")
    return [str(code) for code in codes] if isinstance(codes, list) else []


def _name_of(code: str) -> str:
    try:
        return mistake(code).name
    except UsageError:
        # A record may hold a mistake that a later kit no longer lists.
        return code


def _advice(standing: Sequence[Standing], recurring: Sequence[tuple[str, str, int]], core: Sequence[str]) -> str:
    missed = [each for each in standing if each.state in (State.BEGUN, State.HELPED)]
    untried = [each for each in standing if each.state is State.OPEN]
    for code, name, _ in recurring:
        practises = [
            each for each in standing if any(each_mistake.code == code for each_mistake in each.item.all_named_mistakes)
        ]
        again = next((each for each in practises if each.state not in ONCE_RIGHT), practises[0] if practises else None)
        if again is not None and not untried:
            return say(
                "You made this mistake more than once: {name}. Do {id} again with new numbers and watch for it.",
                name=name,
                id=again.item.id,
            )
    if missed:
        first = missed[0]
        if first.state is State.HELPED:
            return say("Do {id} once more with new numbers and without a hint; then it is done.", id=first.item.id)
        return say("Take up {id} again: read its first hint, or ask for new numbers.", id=first.item.id)
    waiting = [each for each in untried if each.item.id in core or not core]
    if waiting:
        return say("Go on with {id}.", id=waiting[0].item.id)
    if untried:
        return say(
            "The core of this lesson is done: go on to the next lesson. If you have time, do {id}.", id=untried[0].item.id
        )
    due = [each for each in standing if each.state is State.DUE]
    if due:
        return say("All exercises of this lesson were done. Due again: {id}; ask for new numbers.", id=due[0].item.id)
    return say("All exercises of this lesson are done; go on to the next lesson, or repeat one with new numbers.")
