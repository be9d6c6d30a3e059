"""The class report: one self-contained page for the instructor, with the mark sheet as CSV and JSON beside it."""

from __future__ import annotations

from html import escape

from graders.report import class_sections as sections
from graders.report.class_data import ReportData
from graders.report.page import page


def report_page(data: ReportData, feedback: str = "") -> str:
    """Return the class report as HTML.

    Args:
        data: what it is made of.
        feedback: address of a learner's feedback page with {} for the identity, or "" for no links.
    """
    when = f" · marked {escape(data.marked_on)}" if data.marked_on else ""
    header = f'<p class="over">{escape(data.course)} · class report{when}</p><h1>{escape(data.sheet)}</h1>'
    pieces = [sections.in_short(data)]
    if data.marks.learners:
        pieces += [
            sections.marks_chart(data),
            sections.teach_again(data),
            sections.item_table(data),
            sections.learner_tables(data, feedback),
            sections.to_look_at(data),
        ]
    pieces.append(sections.not_handed_in(data))
    if data.marks.learners:
        pieces += [sections.worth_a_conversation(data), sections.progress(data), sections.trust(data)]
    footer = (
        "<p>This page names learners. Keep it inside the college; make a version with pseudonyms before it leaves.</p>"
    )
    return page(f"{data.sheet}: class report", header, "\n".join(pieces), footer=footer, wide=True)
