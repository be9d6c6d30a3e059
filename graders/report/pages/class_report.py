"""The class report: one self-contained page for the instructor, with the mark sheet as CSV and JSON beside it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from html import escape
from pathlib import Path

from gearkit.text.files import write_atomically
from graders.course.course import Course
from graders.report import gather, mark_files
from graders.report import pseudonyms as pseudonym_list
from graders.report.figures import predictions
from graders.report.figures.class_data import ReportData
from graders.report.figures.ideas import ClassIdeas
from graders.report.pages import class_sections as sections
from graders.report.pages import idea_sections, reliability_sections, submission_sections
from graders.report.pages.page import page
from graders.sheets.sheets import Sheet


def report_page(data: ReportData, feedback: str = "", *, named: bool = True) -> str:
    """Return the class report as HTML.

    Args:
        data: what it is made of.
        feedback: address of a learner's feedback page with {} for the identity, or "" for no links.
        named: whether learners have their names in it.
    """
    when = f" · marked {escape(data.marked_on)}" if data.marked_on else ""
    header = f'<p class="over">{escape(data.course)} · class report{when}</p><h1>{escape(data.sheet)}</h1>'
    pieces = [sections.in_short(data)]
    if data.marks.learners:
        pieces += [
            sections.marks_chart(data),
            sections.teach_again(data),
            idea_sections.for_class(data),
            sections.item_table(data),
            sections.learner_tables(data, feedback),
            submission_sections.to_look_at(data),
            submission_sections.decided(data),
        ]
    pieces.append(submission_sections.not_handed_in(data))
    if data.marks.learners:
        pieces += [submission_sections.worth_a_conversation(data), predictions.section(data.predictions)]
        pieces += [
            reliability_sections.over_subjects(data),
            reliability_sections.progress(data),
            reliability_sections.reliability_section(data),
        ]
    footer = (
        "<p>This page names learners. Keep it inside the college; make a version with pseudonyms before it leaves.</p>"
        if named
        else "<p>Names are replaced by pseudonyms, which follow from the course’s secret; answers are left out.</p>"
    )
    return page(f"{data.sheet}: class report", header, "\n".join(pieces), footer=footer, wide=True)


@dataclass(frozen=True)
class WrittenReport:
    """The files of a class report.

    Args:
        page: the report as HTML.
        table: the mark sheet as CSV.
        data: the mark sheet as JSON.
    """

    page: Path
    table: Path
    data: Path


def write(course: Course, sheet: Sheet, *, pseudonyms: bool = False) -> WrittenReport:
    """Write the class report of a marked sheet, and its mark sheet as CSV and JSON beside it.

    Args:
        course: the course; the files go to reports/SHEET/, or to reports/SHEET/pseudonyms/.
        sheet: the sheet, which must have been marked.
        pseudonyms: whether names, answers and similarity are left out, for a report that leaves the class.

    Raises:
        UsageError: the sheet has not been marked.
    """
    data = gather.report_data(course, sheet)
    folder = course.reports_folder(sheet.name)
    address = f"../../feedback/{{}}/{sheet.name}/{sheet.name}.html"
    if pseudonyms:
        data, folder, address = _without_names(course, data), folder / "pseudonyms", ""
    written = WrittenReport(folder / "class_report.html", folder / "marks.csv", folder / "marks.json")
    write_atomically(written.page, report_page(data, address, named=not pseudonyms))
    mark_files.write_csv(data.marks, data.roster, written.table)
    mark_files.write_json(data.marks, written.data)
    return written


def _without_names(course: Course, data: ReportData) -> ReportData:
    names = pseudonym_list.of_course(course, data.roster, [data.marks, *(marks for _, marks in data.earlier)])
    earlier = tuple((title, names.marks(marks, data.roster)) for title, marks in data.earlier)
    marks = names.marks(data.marks, data.roster)
    return replace(data, marks=marks, roster=names.roster(data.roster), earlier=earlier, similarity=(), ideas=ClassIdeas())
