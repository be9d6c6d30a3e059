"""The marks of a whole course on one page and as CSV: every sheet, what counts after retakes, and the sum."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from pathlib import Path

from gearkit.text.files import write_atomically
from graders.course.course import Course
from graders.course.roster import by_name
from graders.mark.decide.retakes import CountedMark, Retake
from graders.report.figures import course_marks
from graders.report.figures.course_marks import CourseMarks, CourseRow
from graders.report.figures.statistics import FEWEST_FOR_PERCENT
from graders.report.mark_files import Cell, csv_text
from graders.report.pages import charts, plots
from graders.report.pages.class_sections import framed
from graders.report.pages.page import counted, marks_of, number, page
from graders.report.pages.reliability_sections import progress_over_sheets


@dataclass(frozen=True)
class WrittenCourse:
    """The files of a course report.

    Args:
        page: the report as HTML.
        table: the same marks as CSV.
    """

    page: Path
    table: Path


def write(course: Course) -> WrittenCourse:
    """Write the marks of a course as a page and as CSV.

    Args:
        course: the course; the files go to its reports folder.

    Raises:
        UsageError: no sheet has been marked yet.
    """
    marks = course_marks.gather(course)
    written = WrittenCourse(course.folder / "reports" / "course.html", course.folder / "reports" / "course_marks.csv")
    write_atomically(written.page, course_page(course.title, marks))
    write_atomically(written.table, "\ufeff" + csv_text(columns(marks), rows(marks)))
    return written


def columns(marks: CourseMarks) -> tuple[str, ...]:
    """Return the columns of the table: learner, name, group, the attempts and what counts for each sheet, the sum."""
    each: list[str] = []
    for column in marks.columns:
        each += [f"{column.name} first", f"{column.name} retake"] if column.retake else []
        each.append(column.name)
    return ("learner", "name", "group", *each, "total", "max")


def rows(marks: CourseMarks) -> list[dict[str, Cell]]:
    """Return a row for each learner; an attempt that was not handed in stays empty and counts 0."""
    table: list[dict[str, Cell]] = []
    for row in marks.rows:
        cells: dict[str, Cell] = {"learner": row.learner.id, "name": row.learner.name, "group": row.learner.group}
        for column, mark in zip(marks.columns, row.marks, strict=True):
            cells[column.name] = mark.counts
            if column.retake:
                for word, attempt in zip(("first", "retake"), mark.attempts, strict=False):
                    cells[f"{column.name} {word}"] = "" if attempt is None else attempt
        table.append({**cells, "total": row.total, "max": row.full})
    return table


def course_page(title: str, marks: CourseMarks) -> str:
    """Return the page as HTML.

    Args:
        title: title of the course.
        marks: its marks.
    """
    header = f'<p class="over">{escape(title)}</p><h1>Marks of the course</h1>'
    groups: dict[str, list[CourseRow]] = {}
    for row in sorted(marks.rows, key=lambda row: (row.learner.group, by_name(row.learner.name))):
        groups.setdefault(row.learner.group or "no group", []).append(row)
    full = max((row.full for row in marks.rows), default=0.0)
    pieces = [
        f'<p class="lead">{counted(len(marks.columns), "sheet")}, {number(full)} marks together, '
        f"{counted(len(marks.rows), 'learner')}.</p>"
    ]
    if full and marks.rows:
        sums = {group: [row.total for row in people] for group, people in groups.items()}
        pieces.append(framed(plots.marks(sums, full, "Sum of marks of every learner, by group"), "Plot of sums"))
    if len(marks.columns) > 1:
        titles = [column.title for column in marks.columns]
        pieces.append(progress_over_sheets(_progress(marks, groups), titles, "Mean share of marks over the sheets"))
    shares = len(marks.rows) >= FEWEST_FOR_PERCENT
    pieces += [_rules(marks), *(_table(marks, group, people, shares) for group, people in groups.items())]
    footer = "<p>This page names learners. Keep it inside the college.</p>"
    return page("Marks of the course", header, "\n".join(pieces), footer=footer, wide=True)


def _progress(marks: CourseMarks, groups: dict[str, list[CourseRow]]) -> dict[str, list[list[tuple[float, float]]]]:
    """For each group and sheet what counts of those who handed it in, and the full marks."""
    return {
        group: [
            [
                (row.marks[place].counts, column.full)
                for row in people
                if column.full and any(attempt is not None for attempt in row.marks[place].attempts)
            ]
            for place, column in enumerate(marks.columns)
        ]
        for group, people in groups.items()
    }


def _rules(marks: CourseMarks) -> str:
    told = [f"<li>{escape(column.title)}: {_rule(column.retake)}</li>" for column in marks.columns if column.retake is not None]
    return f"<h2>Retakes</h2><ul>{''.join(told)}</ul>" if told else ""


def _rule(retake: Retake) -> str:
    cap = f", and the retake brings at most {retake.cap}% of the marks" if retake.cap is not None else ""
    asked = counted(len(retake.learners), "learner was", "learners were")
    return f"of two attempts the {escape(str(retake.counting))} counts{cap}; {asked} asked."


def _table(marks: CourseMarks, group: str, people: list[CourseRow], shares: bool) -> str:
    head = "".join(
        f'<th scope="col" class="n">{escape(column.title)}<br><span class="small">of {number(column.full)}</span></th>'
        for column in marks.columns
    )
    body = "".join(_row(row, shares) for row in people)
    last = '<th scope="col">Share</th>' if shares else ""
    return (
        f'<h2>{escape(group)}</h2><div class="scroll" tabindex="0" role="region" aria-label="Marks of '
        f'{escape(group, quote=True)}"><table><thead><tr><th scope="col">Learner</th>{head}<th scope="col" class="n">Sum'
        f"</th>{last}</tr></thead><tbody>{body}</tbody></table></div>"
    )


def _row(row: CourseRow, shares: bool) -> str:
    cells = "".join(f'<td class="n">{_mark(mark)}</td>' for mark in row.marks)
    share = row.total / row.full if row.full else 0.0
    last = f'<td class="share">{charts.bar(share, f"{share:.0%}")} {share:.0%}</td>' if shares else ""
    return (
        f'<tr><th scope="row">{escape(row.learner.name)} <span class="small">{escape(row.learner.id)}</span></th>{cells}'
        f'<td class="n" title="{marks_of(row.total, row.full)}">{number(row.total)}</td>{last}</tr>'
    )


def _mark(mark: CountedMark) -> str:
    if all(attempt is None for attempt in mark.attempts):
        return "–"
    if len(mark.attempts) == 1:
        return number(mark.counts)
    told = " then ".join("–" if attempt is None else number(attempt) for attempt in mark.attempts)
    return f'{number(mark.counts)}<br><span class="small">{told}</span>'
