"""The feedback of a marked sheet: a page for every learner, written into the course's folder, and an index of them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.judge import marking
from gearkit.lesson.syllabus import LESSONS
from gearkit.text.files import write_atomically
from gearkit.words.errors import UsageError
from graders.book.record import LearnerMarks
from graders.course.course import Course
from graders.course.files import Tell, unheard
from graders.course.language import in_its_language
from graders.mark import marks_on_disk
from graders.mark.decide import decisions, retakes
from graders.report import gather
from graders.report.figures.ideas import Practised, of_learner, practice_sheets
from graders.report.pages import attempts_words
from graders.report.pages.feedback_index import index_page
from graders.report.pages.feedback_page import FeedbackWords, learner_page
from graders.report.pages.item_words import of_items
from graders.sheets.drawn import variants_for
from graders.sheets.pictures import stick_of
from graders.sheets.sheets import Sheet


@dataclass(frozen=True)
class WrittenPages:
    """What writing feedback did.

    Args:
        pages: the learners' pages, in the order of identities.
        index: the instructor's page of links to them.
    """

    pages: tuple[Path, ...]
    index: Path


@in_its_language
def write_pages(course: Course, sheet: Sheet, *, answers: bool = False, note: str = "", tell: Tell = unheard) -> WrittenPages:
    """Write a page for every learner of a marked sheet, and an index of them for the instructor.

    Args:
        course: the course; pages go to feedback/LEARNER/SHEET/SHEET.html, the index to reports/SHEET/.
        sheet: the sheet, which must have been marked.
        answers: whether right answers are shown; only when no retake is open any more.
        note: sentence about a retake or the next step, or "".
        tell: is told how many pages are written, and of how many.

    Raises:
        UsageError: the sheet has not been marked, or right answers are asked for while a retake is open.
    """
    retake = retakes.still_open(course, sheet.name, dt.datetime.now(dt.UTC)) if answers else ""
    if retake:
        raise UsageError(
            f"The retake {retake} can still be handed in, so right answers are not given away yet. "
            "Hand back without --answers, or wait until it is due."
        )
    # One after the other from disk: a large class is never in memory as a whole.
    marks = marks_on_disk.opened(course.marks_file(sheet.name))
    counts = attempts_words.of_sheet(course, sheet.name, marks)
    pages: list[Path] = []
    practised = practice_sheets(course, sheet)
    for count, marked in enumerate(marks.learners):
        tell(count, len(marks.learners))
        path = course.feedback_folder(marked.learner, sheet.name) / f"{sheet.name}.html"
        write_atomically(
            path,
            page_for(
                course,
                sheet,
                marked,
                answers=answers,
                note=note,
                counts=counts.get(marked.learner, ""),
                practised=practised,
            ),
        )
        pages.append(path)
    index = course.reports_folder(sheet.name) / "feedback.html"
    address = f"../../feedback/{{}}/{sheet.name}/{sheet.name}.html"
    write_atomically(index, index_page(course.title, sheet.title, marks, address))
    return WrittenPages(tuple(pages), index)


@in_its_language
def page_for(
    course: Course,
    sheet: Sheet,
    marked: LearnerMarks,
    *,
    answers: bool = False,
    note: str = "",
    counts: str = "",
    practised: Practised = (),
) -> str:
    """Return one learner's page for a sheet of a course.

    Args:
        course: the course.
        sheet: the sheet.
        marked: the learner's marks.
        answers: whether right answers are shown.
        note: sentence about a retake or the next step, or "".
        counts: sentence about what counts of several attempts, or "".
        practised: the course's practice sheets with their marks, whose answers count where an idea is looked for.
    """
    drawn = variants_for(course, sheet, marked.learner, marked.attempt, decisions.withdrawn(course, sheet.name))
    codes = {code for item in marked.items for code in item.mistakes}
    words = FeedbackWords(
        course=course.title,
        sheet=sheet.title,
        items=of_items(entry.item for entry in sheet.items),
        mistakes={code: name for code, (name, _) in gather.mistake_words(codes).items()},
        labels={v.item.id: {part.name: part.label for part in v.parts} for v in drawn if len(v.parts) > 1},
        pictures=_pictures(sheet, drawn, marked),
        answers={v.item.id: marking.right_answer(v) for v in drawn} if answers else {},
        note=note,
        counts=counts,
        zone=course.time_zone,
        ideas=of_learner(course, sheet, marked, drawn, practised),
        lessons={plan.folder: course.lesson_address(plan.folder) for plan in LESSONS.values()},
    )
    return learner_page(_in_course_time(marked, course), words)


def _in_course_time(learner: LearnerMarks, course: Course) -> LearnerMarks:
    """Tell the time of handing in as the sheet's head tells when it is due."""
    if not learner.handed_in:
        return learner
    return replace(learner, handed_in=dt.datetime.fromisoformat(learner.handed_in).astimezone(course.zone).isoformat())


def _pictures(sheet: Sheet, drawn: Sequence[Variant], marks: LearnerMarks) -> dict[str, str]:
    """Return a stick diagram, with the learner's own tooth counts and letters, for each item of a layout that is not all right."""
    missed = {item.item for item in marks.items if item.earned < item.max}
    sketched = {
        variant.item.id: stick_of(sheet, variant)
        for variant in drawn
        if variant.layout is not None and variant.item.id in missed
    }
    return {item: picture.svg() for item, picture in sketched.items() if picture is not None}
