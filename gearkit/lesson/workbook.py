"""What a lesson's notebook talks to: open the lesson, explore, predict, answer, check, ask for a hint, see progress.

Every call has a picture or a form where the notebook can show one, and plain words where it cannot.
"""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from typing import TYPE_CHECKING

from gearkit.answers.symbols import Written, symbols
from gearkit.lesson.answering import in_words, texts_of
from gearkit.lesson.course.calls import CourseCalls
from gearkit.lesson.syllabus import LessonPlan
from gearkit.lesson.told import CheckResult, Message, Question
from gearkit.lesson.working.shows import ShowsWorking
from gearkit.words.errors import GearkitError, UsageError
from gearkit.words.say import in_english, language_key, say

if TYPE_CHECKING:
    from gearkit.answers.item import Item
    from gearkit.lesson.exercise import Exercise
    from gearkit.lesson.learnt.progress import Progress
    from gearkit.lesson.panels.exercise import ExercisePanel
    from gearkit.lesson.panels.gear_pair import GearPairPanel
    from gearkit.lesson.panels.layout import LayoutPanel
    from gearkit.lesson.panels.one_set import OneSetPanel
    from gearkit.lesson.panels.task import TaskPanel
    from gearkit.lesson.panels.topics import TopicPanel
    from gearkit.lesson.pictures import Still
    from gearkit.lesson.record import Record
    from gearkit.lesson.solid.cutaway_panel import CutawayPanel
    from gearkit.lesson.trains.build_panel import BuildPanel


class Lesson(ShowsWorking, CourseCalls):
    """One lesson in the hands of one learner.

    Args:
        plan: title, minutes and what comes with the lesson.
        record: the learner's record.
    """

    def __init__(self, plan: LessonPlan, record: Record) -> None:
        self.plan = plan
        self.record = record
        self._exercises: dict[str, Exercise] = {}

    def __repr__(self) -> str:
        notices = " ".join(self.record.take_notices())
        return say(
            "{title}. {time}Your record: {path}. {notices}",
            title=self.title,
            time=self._time,
            path=self.record.path.name,
            notices=notices,
        ).strip()

    def _repr_html_(self) -> str:
        notices = "".join(f"<p>△ {escape(notice)}</p>" for notice in self.record.take_notices())
        kept = say("your work is kept in <code>{name}</code>", name=escape(self.record.path.name))
        return f"{self._style}<p><strong>{escape(self.title)}</strong> · {self._time.replace('. ', ' · ')}{kept}</p>{self._ways}{notices}"

    @property
    def _time(self) -> str:
        """The planned time in a sentence with a blank behind it; "" where the notebook tells it itself."""
        return say("{minutes} minutes.", minutes=self.plan.minutes) + " "

    @property
    def title(self) -> str:
        """Number and title of the lesson."""
        return (
            say("Lesson {number}: {title}", number=int(self.plan.number), title=self.plan.title)
            if self.plan.number != "00"
            else self.plan.title
        )

    @property
    def items(self) -> tuple[str, ...]:
        """Ids of the lesson's exercises, in order."""
        return tuple(item.id for item in self._offered())

    def _offered(self) -> tuple[Item, ...]:
        from gearkit.answers import items

        return items.of_lesson(int(self.plan.number))

    def symbols(self, names: str = "S P R") -> tuple[Written, ...]:
        """Return lesson symbols to write answers with.

        Args:
            names: their names with blanks between, such as "S P R".
        """
        return symbols(names)

    def explore(
        self, layout: str | None = None, *, sun: int = 36, planet: int = 21, planets: int = 3, two_speeds: bool = False
    ) -> OneSetPanel | LayoutPanel:
        """Return a live panel of one set, or of a layout.

        Args:
            layout: a layout's name or file, such as "Q36"; None for one set.
            sun: tooth count of the sun to begin with, for one set.
            planet: tooth count of a planet to begin with, for one set.
            planets: how many planets, for one set.
            two_speeds: for one set: give two speeds in place of holding or joining members.
        """
        from gearkit.lesson.panels import topics

        if layout is not None:
            return topics.of_layout(self.record, self.plan.number, layout, gated=False)
        return topics.of_one_set(self.record, self.plan.number, (sun, planet, planets), two_speeds=two_speeds, gated=False)

    def predict(
        self,
        layout: str | None = None,
        *,
        sun: int = 36,
        planet: int = 21,
        planets: int = 3,
        two_speeds: bool = False,
        teeth: Mapping[str, tuple[int, int]] | None = None,
        compare: str = "",
    ) -> OneSetPanel | LayoutPanel:
        """Return a live panel whose result stays shut until a prediction is entered; predictions are kept.

        Args:
            layout: a layout's name or file, such as "Q36"; None for one set.
            sun: tooth count of the sun to begin with, for one set.
            planet: tooth count of a planet to begin with, for one set.
            planets: how many planets, for one set.
            two_speeds: for one set: give two speeds in place of holding or joining members.
            teeth: for a layout: other tooth counts of its sets, such as {"P1": (30, 78)}, sun and ring.
            compare: for a layout: what is said in the reveal; the kit's own words when empty.
        """
        from gearkit.lesson.panels import topics

        if layout is not None:
            return topics.of_layout(self.record, self.plan.number, layout, teeth, compare, gated=True)
        return topics.of_one_set(self.record, self.plan.number, (sun, planet, planets), two_speeds=two_speeds, gated=True)

    def explore_gears(self, *, driver: int = 18, driven: int = 45) -> GearPairPanel:
        """Return a live panel of a gear pair, with idlers or a ring if wanted.

        Args:
            driver: tooth count of the driving gear to begin with.
            driven: tooth count of the last gear to begin with.
        """
        from gearkit.lesson.panels import topics

        return topics.of_gears(self.record, self.plan.number, driver, driven, gated=False)

    def predict_gears(self, *, driver: int = 18, driven: int = 45) -> GearPairPanel:
        """Return the same panel with the last gear hidden until a prediction is entered; predictions are kept.

        Args:
            driver: tooth count of the driving gear to begin with.
            driven: tooth count of the last gear to begin with.
        """
        from gearkit.lesson.panels import topics

        return topics.of_gears(self.record, self.plan.number, driver, driven, gated=True)

    def explore_about(self, topic: str, layout: str = "Q36") -> TopicPanel:
        """Return a live panel of a topic.

        Args:
            topic: assembly, shifts, faults or split.
            layout: a layout's name or file; assembly needs none, split asks for machines or several outputs.
        """
        from gearkit.lesson.panels.topics import panel_about

        return panel_about(topic, layout, self.record, self.plan.number)

    def build_layout(self, layout: str | None = None) -> BuildPanel:
        """Return a live panel in which a layout is put together, part by part, and saved as a file.

        Args:
            layout: a layout's name or file to go on from; None to begin with nothing.
        """
        from gearkit.lesson.trains.build_panel import BuildPanel
        from gearkit.train.catalogue import find

        return BuildPanel(None if layout is None else find(layout), title=say("Put a layout together"))

    def predict_about(
        self,
        topic: str,
        layout: str = "Q36",
        *,
        seed: str = "",
        teeth: Mapping[str, tuple[int, int]] | None = None,
        compare: str = "",
    ) -> TaskPanel:
        """Return a task whose result stays shut until something was predicted; predictions are kept.

        Args:
            topic: assembly, freedoms, torques, power, road, shifts, faults, design, split or sharing.
            layout: a layout's name or file; assembly and design need none; split asks for two machines, sharing for two
                outputs.
            seed: for "faults": a word from the instructor that hides the same faults for everybody; own ones if empty.
            teeth: other tooth counts of the layout's sets, such as {"P1": (30, 78)}, sun and ring.
            compare: what is said in the reveal; the kit's own words when empty.
        """
        from gearkit.lesson.panels.task import TaskPanel
        from gearkit.lesson.panels.topics import OTHER_TEETH
        from gearkit.lesson.predictions import Predictions
        from gearkit.lesson.tasks.topics import task_about

        task = task_about(topic, layout, seed or self.record.seed, teeth)
        other = OTHER_TEETH if teeth else ""
        language = language_key()
        # A record names a prediction in English, whatever the learner reads.
        with in_english():
            name = task_about(topic, layout, seed or self.record.seed, teeth).title if language else task.title
        kept = Predictions(self.record, self.plan.number, name + other, compare)
        return TaskPanel(task, kept, title=say("Predict: {heading}{other}", heading=task.heading, other=say(other)))

    def cutaway(self, layout: str, range_name: str | int = "", *, predict: bool = False) -> CutawayPanel:
        """Return the live cutaway of a layout: its parts as solid bodies, to be turned and looked at from every side.

        Args:
            layout: a layout's name or file, such as "Q24".
            range_name: the range applied to begin with; empty for none.
            predict: whether it stays at rest until somebody said which bodies stand still and which turn back.
        """
        from gearkit.lesson.solid.cutaway_panel import opened

        return opened(self.record, self.plan.number, layout, str(range_name), predict=predict)

    def show(self, layout: str, what: str = "stick", *, range_name: str | int = "", set_name: str = "") -> Still:
        """Return a still picture of a layout, as ``gearkit draw`` makes it.

        Args:
            layout: a layout's name or file, such as "Q36".
            what: stick, levers, speeds, chart, ratios, power, cutaway or front.
            range_name: range to show; power needs one; empty for none.
            set_name: which set, for a front view; the first one if empty.

        Raises:
            UsageError: no such layout, picture, range or set, or an option that the picture does not take.
        """
        from gearkit.draw.noted import noted_picture
        from gearkit.lesson.pictures import Still
        from gearkit.train.catalogue import find

        return Still(noted_picture(find(layout), what, str(range_name) or None, set_name or None))

    def members(self, *, sun: int = 36, planet: int = 21, planets: int = 3) -> Still:
        """Return a still picture of one set from the front, with a line from each name to its part.

        Args:
            sun: tooth count of the sun.
            planet: tooth count of a planet.
            planets: how many planets.
        """
        from gearkit.lesson.pictures import set_from_the_front

        return set_from_the_front(sun, planet, planets)

    def exercise(self, item: str) -> ExercisePanel:
        """Return the form of an exercise, with this learner's numbers.

        Args:
            item: the exercise's id, such as "L03-02".
        """
        from gearkit.lesson.panels.exercise import ExercisePanel

        return ExercisePanel(self._exercise(item))

    def worked(self, item: str) -> ExercisePanel:
        """Return a worked example whose last line is yours; each one that is right without a hint leaves you one line more.

        Args:
            item: an exercise that asks for the next line, such as "L02-22".

        Raises:
            UsageError: there is no such exercise, or it has no worked example.
        """
        from gearkit.lesson.learnt.worked import WorkedExample
        from gearkit.lesson.panels.exercise import ExercisePanel

        name = str(item).strip().upper()
        example = f"W{name[1:]}"
        if example not in self._exercises:
            self._exercises[example] = WorkedExample(self._item(name), self.record)
        return ExercisePanel(self._exercises[example])

    def question(self, item: str) -> Message:
        """Return the question of an exercise in words, with this learner's numbers.

        Args:
            item: the exercise's id.
        """
        return Question(self._exercise(item).variant.prompt, item)

    def answer(self, item: str, *texts: object, **parts: object) -> Message:
        """Put an answer down and see how the kit reads it; nothing is checked yet.

        Args:
            item: the exercise's id.
            texts: the one answer: an expression in lesson symbols, a number or text.
            parts: for an exercise with several parts, an answer for each part's name.
        """
        exercise = self._exercise(item)
        given = texts_of(texts[0] if texts else None, parts)
        exercise.write(given)
        return Message(in_words(exercise.form(), given), exercise.item.id)

    def check(self, item: str, *texts: object, **parts: object) -> CheckResult:
        """Check an answer at once; hand it over here or with ``answer`` before.

        Args:
            item: the exercise's id.
            texts: the one answer, as in ``answer``.
            parts: answers by part name, as in ``answer``.
        """
        exercise = self._exercise(item)
        if texts or parts:
            exercise.write(texts_of(texts[0] if texts else None, parts))
        return CheckResult(exercise.check())

    def hint(self, item: str) -> Message:
        """Return the next hint of an exercise.

        Args:
            item: the exercise's id.
        """
        exercise = self._exercise(item)
        text = exercise.hint()
        return Message(
            text, say("Hint {hints_shown} of {hints}", hints_shown=exercise.hints_shown, hints=len(exercise.item.hints))
        )

    def new_numbers(self, item: str) -> Message:
        """Start an exercise again with other numbers and return the new question.

        Args:
            item: the exercise's id.
        """
        self._exercise(item).new_numbers()
        return self.question(item)

    def progress(self) -> Progress:
        """Return what is done, kept or due again, which mistake was made more than once, and what to do next."""
        from gearkit.lesson.learnt.progress import progress

        return progress(self.title, self._offered(), self.record, self.plan.number, self._ways, self.plan.core_items)

    def _exercise(self, item: str) -> Exercise:
        from gearkit.lesson.exercise import Exercise

        name = str(item).strip().upper()
        if name not in self._exercises:
            try:
                item_ = self._item(name)
            except GearkitError as fault:
                raise UsageError(f"{fault} This lesson's exercises: {', '.join(self.items)}.") from None
            self._exercises[name] = Exercise(item_, self.record)
        return self._exercises[name]

    def _item(self, name: str) -> Item:
        from gearkit.answers import items

        return items.find(name)
