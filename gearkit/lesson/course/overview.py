"""How a learner stands in the whole course: what each lesson is for, what is done and due again, where to go on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from gearkit.answers import items
from gearkit.lesson.learnt.standing import ONCE_RIGHT, Standing, State, day_of, days_ago, standings
from gearkit.lesson.record import Event, Record
from gearkit.lesson.syllabus import LESSONS, LessonPlan
from gearkit.words.errors import GearkitError
from gearkit.words.say import later, say, say_n

START = "00"
# What somebody can do after a lesson, as the answer to "what is it for?".
PURPOSES = {
    "00": later("Learn how a lesson works: run it, predict, answer."),
    "01": later("Find speed and direction of gears in mesh. Everything else is built on this."),
    "02": later("Find the third speed of a planetary set when you know two."),
    "03": later("Know all that one set can do: reduce, overdrive, reverse, drive direct, or nothing."),
    "04": later("Check whether tooth counts can be built: one axis, equal spacing, room between the planets."),
    "05": later("Work out two sets that share shafts."),
    "06": later("Read an application chart and work out the ratio of every range."),
    "07": later("Tell neutral, a range and a tie-up apart before you work out a ratio."),
    "08": later("Find the torque that each clutch and brake has to hold."),
    "09": later("Follow the power through the sets and find what is lost on the way."),
    "10": later("Go from ratios to engine speed, road speed and pull at the wheels."),
    "11": later("Say which element lets go and which takes hold in every shift."),
    "12": later("Find the faulty element from measured speeds."),
    "13": later("Choose tooth counts, check them, and build a bench model."),
    "14": later("Work out a transmission that an engine and electric machines drive together."),
    "15": later("See how differentials and transfer cases divide speed and torque."),
}


@dataclass(frozen=True)
class LessonStanding:
    """How one lesson stands.

    Args:
        plan: the lesson.
        purpose: what it is for.
        exercises: how its exercises stand, in order.
        predictions: how many predictions were made in it.
        last: the day on which it was last worked in; None where it never was.
    """

    plan: LessonPlan
    purpose: str
    exercises: tuple[Standing, ...]
    predictions: int
    last: date | None

    def count(self, *states: State) -> int:
        """Return how many exercises stand so.

        Args:
            states: the states that count.
        """
        return sum(each.state in states for each in self.exercises)

    @property
    def done(self) -> int:
        """How many exercises were right without a hint."""
        return self.count(*ONCE_RIGHT)

    @property
    def core(self) -> tuple[Standing, ...]:
        """How the core exercises stand; all of them where the plan names none."""
        return tuple(each for each in self.exercises if each.item.id in self.plan.core_items) or self.exercises

    @property
    def core_done(self) -> int:
        """How many core exercises were right without a hint."""
        return sum(each.state in ONCE_RIGHT for each in self.core)

    @property
    def complete(self) -> bool:
        """Whether all its core exercises were right without a hint; of a lesson without any, whether it was worked in."""
        return self.core_done == len(self.core) and (bool(self.core) or self.last is not None)

    @property
    def minutes_left(self) -> int:
        """Planned minutes for what is not done yet; extra exercises are for who has time."""
        if not self.core:
            return 0 if self.complete else self.plan.minutes
        return round(self.plan.minutes * (1 - self.core_done / len(self.core)))


@dataclass(frozen=True)
class Overview:
    """How the course stands.

    Args:
        lessons: all lessons in order.
        today: the day on which it was asked.
        stopped: the last thing that was done: lesson number, what it was, and the day; None where nothing was done yet.
    """

    lessons: tuple[LessonStanding, ...]
    today: date
    stopped: tuple[str, str, date] | None

    @property
    def next_lesson(self) -> LessonStanding | None:
        """The lesson to go on with; None when all are complete."""
        by_number = {each.plan.number: each for each in self.lessons}
        if self.stopped is None:
            return by_number[START]
        here = by_number.get(self.stopped[0])
        if here is not None and not here.complete:
            return here
        after = [each for each in self.lessons if here is None or each.plan.number > here.plan.number]
        waiting = [each for each in (*after, *self.lessons) if not each.complete and each.plan.number != START]
        return next(iter(waiting), None)

    @property
    def due(self) -> int:
        """How many exercises are due again."""
        return sum(each.count(State.DUE) for each in self.lessons)

    def where_stopped(self) -> str:
        """Return where the learner stopped, in a sentence."""
        if self.stopped is None:
            return say("You have not begun yet.")
        number, what, day = self.stopped
        return say(
            "Lesson {number}, {what}, {days_ago}.",
            number=int(number),
            what=what,
            days_ago=days_ago(max(0, (self.today - day).days)),
        )

    def next_step(self) -> str:
        """Return what to do next, in a sentence without its lesson's title."""
        lesson_standing = self.next_lesson
        if lesson_standing is None:
            return say("All lessons are done. Open any of them for three questions to keep what you know.")
        again = self.due and lesson_standing.plan.number != START
        recall = (" " + say("It opens with questions from earlier lessons.")) if again else ""
        minutes = say("about {minutes_left} minutes", minutes_left=lesson_standing.minutes_left)
        if self.stopped is None:
            return say("Begin here, {minutes}.", minutes=minutes)
        untried = next((each.item.id for each in lesson_standing.core if each.state not in ONCE_RIGHT), "")
        at = (" " + say("Go on with exercise {untried}.", untried=untried)) if lesson_standing.done and untried else ""
        return f"{minutes[0].upper()}{minutes[1:]}.{recall}{at}"


def overview(record: Record) -> Overview:
    """Return how the course stands by a learner's record.

    Args:
        record: the record.
    """
    attempts, hints, predictions = (record.of_kind(kind) for kind in ("attempt", "hint", "prediction"))
    last, what = defaultdict[str, list[date]](list), None
    for event in record.events:
        number, day = lesson_of(event), day_of(event)
        if number and day:
            last[number].append(day)
            what = (number, _what(event), day)
    made = [str(event.get("lesson")) for event in predictions]
    lessons = tuple(
        LessonStanding(
            plan,
            say(PURPOSES[number]),
            tuple(standings(items.of_lesson(int(number)), attempts, hints, record.today)) if number != START else (),
            made.count(number),
            max(last[number], default=None),
        )
        for number, plan in LESSONS.items()
    )
    return Overview(lessons, record.today, what)


def lesson_of(event: Event) -> str:
    """Return the number of the lesson in which something was done; "" where it was in none, such as one on an own layout.

    Args:
        event: an event of the record.
    """
    if str(event.get("lesson")) in LESSONS:
        return str(event["lesson"])
    if event.get("kind") not in ("attempt", "hint", "draw"):
        return ""
    try:
        return f"{items.find(str(event.get('item'))).lesson:02}"
    except GearkitError:
        return ""


def _what(event: Event) -> str:
    if event.get("kind") == "prediction":
        return say("prediction “{name}”", name=say(str(event.get("panel"))))
    return say("exercise {get}", get=event.get("item"))


def hours(minutes: int) -> str:
    """Return a number of minutes in words.

    >>> hours(45), hours(200)
    ('45 minutes', '3 h 20 min')
    """
    return (
        say_n("{count} minute", "{count} minutes", minutes)
        if minutes < 60
        else say("{minutes} h {minutes2} min", minutes=minutes // 60, minutes2=f"{minutes % 60:02}")
    )


def minutes_left(lessons: Sequence[LessonStanding]) -> int:
    """Return the planned minutes for all that is not done yet.

    Args:
        lessons: how they stand.
    """
    return sum(each.minutes_left for each in lessons)
