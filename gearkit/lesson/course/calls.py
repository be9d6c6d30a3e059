"""What a lesson knows of the course round it: home, back and next, questions from earlier lessons, the record of completion."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from gearkit.lesson.course.completion import Completion
    from gearkit.lesson.course.home import Home
    from gearkit.lesson.course.language_panel import LanguagePanel
    from gearkit.lesson.learnt.recall import RecallPanel
    from gearkit.lesson.record import Record
    from gearkit.lesson.syllabus import LessonPlan


class CourseCalls:
    """The calls of a lesson that go beyond it.

    Args:
        plan: the lesson's place in the course.
        record: the learner's record.
    """

    plan: LessonPlan
    record: Record

    @property
    def _ways(self) -> str:
        """The way back, home and on, as HTML."""
        from gearkit.lesson.course.links import back_and_next

        return back_and_next(self.plan.number, Path.cwd())

    @property
    def _style(self) -> str:
        """The style of words that are explained, and of the notebook on a narrow page."""
        from gearkit.lesson.course import glossary, narrow

        return glossary.STYLE + narrow.STYLE

    def home(self) -> Home:
        """Return the home page of the course: what each lesson is for, where you stopped, what is due again, the next step."""
        from gearkit.lesson.course.home import home

        return home(self.record)

    def language(self) -> LanguagePanel:
        """Return the choice of the language that your lessons are in."""
        from gearkit.lesson.course.language_panel import LanguagePanel
        from gearkit.lesson.course.links import shelf_of

        return LanguagePanel(self.record, shelf_of(Path.cwd()))

    def completion(self, name: str = "", file: str | Path | None = None) -> Completion:
        """Write the record of completion, a page to print or to hand in, and return it.

        Args:
            name: your name; a line to write it on stands there when it is empty.
            file: a name that ends in .html or .pdf; ``my_completion.html`` beside your record when None.

        Raises:
            UsageError: the file ends otherwise or cannot be written.
            GearkitError: a PDF is asked for and the library for it is not installed.
        """
        from gearkit.lesson.course.completion import completion

        return completion(self.record, name, Path(file) if file is not None else None)

    def recall(self, count: int = 3) -> RecallPanel:
        """Return questions from the lessons that were left alone longest, with new numbers; the same ones all day.

        Args:
            count: how many are open at once; three more can be asked for.

        Raises:
            UsageError: it is no number from 1 to 12.
        """
        from gearkit.lesson.learnt.recall import opened

        return opened(self.record, count)
