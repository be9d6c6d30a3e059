"""The rules of a sheet: hand-ins that count, what a hint costs, calculator, working time; checked, and put into words.

Every rule is applied somewhere or is said to be a rule for the room: hand-ins are counted when work is taken in, hints are
given by the instructor (who keeps it in the trail, so that no rule depends on what a notebook says about its owner), and
extra working time moves a learner's due time. Which calculator lies on the table, nobody but the room can see.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from gearkit.answers.read.commas import DECIMAL, EITHER, THOUSANDS
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say, say_n
from graders.course import lateness
from graders.course.lateness import Rules
from graders.course.roster import Learner

KINDS = ("graded", "practice")
CALCULATORS: Mapping[str, str] = MappingProxyType(
    {
        "none": later("No calculator: work by hand, and leave fractions as they are."),
        "basic": later("A calculator that adds, subtracts, multiplies and divides may be used, and nothing else."),
        "any": later(
            "Any calculator may be used, and Python in this notebook too, with the kit's solver. Calls of lessons and exercises do "
            "not work while a sheet is marked: leave them out."
        ),
    }
)
ROUNDINGS: Mapping[str, str] = MappingProxyType(
    {
        "fair": "",
        "strict": later(
            "Rounding is strict here: a decimal has to be the right value rounded correctly to three figures or more, or within "
            "what its exercise states. Round only at the end, or give fractions."
        ),
    }
)
OWN_MACHINE = (
    "A learner's own machine cannot be closed: the kit is there with its exercises and all that works out their answers. "
    "While a sheet is marked, code is kept from these, and cells that reach for them are flagged. What helps: items that "
    "ask for an explanation, a short oral check, the sheet under supervision."
)
COMMAS: Mapping[str, str] = MappingProxyType(
    {
        EITHER: "",
        DECIMAL: later("A comma is a decimal comma here: 2,006 is read as 2.006."),
        THOUSANDS: later("A comma with three digits after it parts the thousands here: 2,006 is read as 2006."),
    }
)
LONGEST_MINUTES = 24 * 60
MOST_ATTEMPTS = 20


@dataclass(frozen=True)
class SheetRules:
    """The rules of a sheet.

    Args:
        attempts: hand-ins that count, the last of them being marked; 0 for any number.
        hint_cost: percent of an item's marks that one hint costs; 0 where hints stand in the sheet, free; None where there
            are none.
        calculator: "none", "basic" or "any".
        minutes: working time in minutes; 0 for none.
        rounding: "fair" allows half a percent for steps rounded on the way; "strict" does not.
        comma: what three digits after a comma are: "decimal", "thousands", or "either", which hands the answer back.
        late: what lateness costs on this sheet, as `lateness.read` reads it; "" for the course's rule.
        grace_minutes: minutes after the due time that still count as in time; None for the course's.
    """

    attempts: int = 0
    hint_cost: int | None = None
    calculator: str = "any"
    minutes: int = 0
    rounding: str = "fair"
    comma: str = EITHER
    late: str = ""
    grace_minutes: int | None = None

    def lateness(self, of_the_course: Rules) -> Rules:
        """What lateness costs on this sheet.

        Args:
            of_the_course: the course's rule, which stands where the sheet says nothing.
        """
        return lateness.read(self.late, of_the_course, self.grace_minutes)

    def faults(self, kind: str) -> Iterator[str]:
        """Yield a sentence for each rule that cannot be used.

        Args:
            kind: "graded" or "practice".
        """
        if kind not in KINDS:
            yield f"kind: found {kind!r}, expected one of {', '.join(KINDS)}"
        if not 0 <= self.attempts <= MOST_ATTEMPTS:
            yield f"attempts: found {self.attempts}, expected a whole number from 1 to {MOST_ATTEMPTS}"
        if self.hint_cost is not None and not 0 <= self.hint_cost <= 100:
            yield f"hint_cost: found {self.hint_cost}, expected percent from 0 to 100"
        elif self.hint_cost and kind == "practice":
            yield f"hint_cost: found {self.hint_cost}; hints on a practice sheet are free: leave it out, or give 0"
        if self.calculator not in CALCULATORS:
            yield f"calculator: found {self.calculator!r}, expected one of {', '.join(CALCULATORS)}"
        if self.rounding not in ROUNDINGS:
            yield f"rounding: found {self.rounding!r}, expected one of {', '.join(ROUNDINGS)}"
        if self.comma not in COMMAS:
            yield f"comma: found {self.comma!r}, expected one of {', '.join(COMMAS)}"
        if kind == "practice" and (self.late or self.grace_minutes is not None):
            yield "late: nobody is late with a practice sheet; leave it and the grace out"
        try:
            self.lateness(lateness.UNASKED)
        except UsageError as fault:
            yield str(fault)
        if not 0 <= self.minutes <= LONGEST_MINUTES:
            yield f"minutes: found {self.minutes}, expected a whole number from 1 to {LONGEST_MINUTES}"

    def extra_minutes(self, learner: Learner | None) -> int:
        """Minutes that a learner has more than the others, begun ones counted whole.

        Args:
            learner: from the class list; None for somebody whom it does not know.
        """
        return -(-self.minutes * learner.extra_time // 100) if learner else 0

    def extra_time_unused(self, kind: str, class_list: Iterable[Learner]) -> list[str]:
        """Say whose extra time comes to nothing, because a graded sheet has no working time that it could lengthen.

        Args:
            kind: "graded" or "practice".
            class_list: the learners.
        """
        more = [learner.id for learner in class_list if learner.extra_time]
        if self.minutes or kind == "practice" or not more:
            return []
        return [
            f"Extra time on the class list changes nothing on this sheet, which has no working time: {', '.join(more)}. Compose it "
            "with --minutes N to give a working time, or move a due time for one learner: graders extend --help"
        ]

    def due_for(self, due: dt.datetime | None, learner: Learner | None) -> dt.datetime | None:
        """When the sheet is due for a learner, extra working time counted; None for never.

        Args:
            due: when it is due for those without extra time.
            learner: from the class list; None for somebody whom it does not know.
        """
        return None if due is None else due + dt.timedelta(minutes=self.extra_minutes(learner))

    def in_words(self, kind: str, learner: Learner | None = None) -> list[str]:
        """What a learner reads at the head of the sheet, a sentence each; when it is due is not among them.

        Args:
            kind: "graded" or "practice".
            learner: whose sheet it is; None for everybody's.
        """
        told = [say("This sheet is for practice: its marks do not count.")] if kind == "practice" else []
        if self.minutes:
            extra = self.extra_minutes(learner)
            yours = say("; yours is {minutes} minutes", minutes=self.minutes + extra) if extra else ""
            told.append(say("Working time {minutes} minutes{yours}.", minutes=self.minutes, yours=yours))
        if self.attempts:
            told.append(
                say_n("You can hand in once.", "You can hand in {count} times; the last of these counts.", self.attempts)
            )
        told.append(say(CALCULATORS[self.calculator]))
        told += [say(ROUNDINGS[self.rounding])] if ROUNDINGS[self.rounding] else []
        told += [say(COMMAS[self.comma])] if COMMAS[self.comma] else []
        return [*told, self._hints()]

    def _hints(self) -> str:
        if self.hint_cost is None:
            return say("There are no hints.")
        if self.hint_cost:
            return say(
                "Ask your instructor for a hint: each costs {cost} percent of its exercise's marks.", cost=self.hint_cost
            )
        return say("Hints stand folded up under each exercise and cost nothing.")

    def enforced(self, *, due: bool) -> list[str]:
        """What the kit sees to and what it cannot, for the instructor, a sentence each.

        Args:
            due: whether the sheet has a due time.
        """
        told = []
        if self.attempts:
            told.append(
                f"Hand-ins are counted by graders take-in: what comes after {self.attempts} is put aside and not marked."
            )
        if self.hint_cost:
            told.append(
                "Give a hint with graders hint; it is kept in the trail and its cost is taken off. Lessons show their "
                "own exercises' hints freely: whoever has the lesson can read them there."
            )
        if self.minutes and due:
            told.append(
                "Nobody can see when a learner began. Whoever has extra time on the class list is late only that "
                "much later; let the sheet be due when the working time of the others ends."
            )
        elif self.minutes:
            told.append("The working time is only told to learners: the sheet has no due time, so nobody is late.")
        if self.calculator != "any":
            told.append(
                "The calculator rule is for the room; the kit cannot see it kept. A notebook can calculate too: for work "
                "without it print the sheet."
            )
        return [*told, OWN_MACHINE]
