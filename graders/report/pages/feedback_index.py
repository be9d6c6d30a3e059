"""The instructor's index of feedback pages: who has one, with what mark, and what to look at before handing back."""

from __future__ import annotations

from dataclasses import replace
from html import escape

from graders.book.record import MarkSheet
from graders.course.roster import by_name
from graders.report.pages.page import counted, marks_of, page


def index_page(course: str, sheet: str, marks: MarkSheet, address: str) -> str:
    """Return the index as HTML.

    Args:
        course: title of the course.
        sheet: title of the sheet.
        marks: the mark sheet.
        address: address of a learner's page, with {} for the identity.
    """
    rows = ""
    # Of a large class only what stands in the list is kept.
    short = [replace(learner, items=(), flags=learner.flags[:1]) for learner in marks.learners]
    for marked in sorted(short, key=lambda marked: (marked.group, by_name(marked.name or marked.learner))):
        link = escape(address.format(marked.learner), quote=True)
        flag = f"⚑ {escape(marked.flags[0])}" if marked.flags else ""
        rows += (
            f'<tr><th scope="row"><a href="{link}">{escape(marked.name or marked.learner)}</a> '
            f'<span class="small">{escape(marked.learner)}</span></th><td data-label="Group">{escape(marked.group)}</td>'
            f'<td class="n" data-label="Marks">{marks_of(marked.final, marked.max)}</td>'
            f'<td class="small" data-label="Look at">{flag}</td></tr>'
        )
    header = f'<p class="over">{escape(course)}</p><h1>Feedback pages: {escape(sheet)}</h1>'
    body = (
        f"<p>{counted(len(marks.learners), 'page')}, one for each learner who handed in. Each holds that learner’s data "
        "only, so it can be sent on as it is.</p>"
        '<table class="folded"><thead><tr><th scope="col">Learner</th><th scope="col">Group</th>'
        f'<th scope="col" class="n">Marks</th><th scope="col">Look at</th></tr></thead><tbody>{rows}</tbody></table>'
    )
    return page(f"Feedback pages: {sheet}", header, body, wide=True)
