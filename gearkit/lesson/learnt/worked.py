"""A worked example whose last lines are the learner's: one at first, one more after each that was right without a hint."""

from __future__ import annotations

from dataclasses import replace

from gearkit.answers import items
from gearkit.answers.item import Item
from gearkit.lesson.exercise import Exercise
from gearkit.lesson.learnt.standing import is_right
from gearkit.lesson.record import Record
from gearkit.words.errors import UsageError
from gearkit.words.say import say

_NEXT_LINE = "next_line"
# No worked example has more lines.
_MOST_LINES = 12


class WorkedExample(Exercise):
    """A worked example in the hands of a learner.

    Args:
        item: an exercise that asks for the next line of a solution; the example is of the same kind.
        record: the learner's record; it also gives the numbers, and how many lines are the learner's.
    """

    def __init__(self, item: Item, record: Record) -> None:
        self._of = item
        super().__init__(with_own_lines(item, 1), record)

    def _start(self) -> None:
        # Examples that were right before, each with numbers of its own, make the next one a line longer.
        attempts = self._record.of_kind("attempt")
        done = {event.get("draw") for event in attempts if event.get("item") == self.item.id and is_right(event)}
        self.item = with_own_lines(self._of, 1 + sum(isinstance(draw, int) and draw < self._draw for draw in done))
        super()._start()


def with_own_lines(item: Item, count: int) -> Item:
    """Return the exercise that a worked example is.

    Args:
        item: an exercise that asks for the next line of a solution.
        count: how many of the last lines are the learner's.

    Raises:
        UsageError: it asks for something else.
    """
    if item.rule != _NEXT_LINE:
        known = ", ".join(other.id for other in items.all_items() if other.rule == _NEXT_LINE)
        raise UsageError(f"{item.id} has no worked example. Exercises that have one: {known}.")
    yours = say("The last line is yours: which number does it give?")
    if count > 1:
        yours = say("The lines with … are yours: which number does each of them give?")
    lead = say("It is worked out line by line (numbers are rounded to four figures):")
    return replace(
        item,
        id=f"W{item.id[1:]}",
        rule="own_lines",
        option=f"{item.option}#{min(count, _MOST_LINES)}",
        prompt=f"<problem>\n\n{lead}\n\n<lines>\n\n{yours}",
        title="",
    )
