"""A sample of scripts for a second marker, with everything a mark was made of, and what the two markers agree on.

Taken are: every script within 3 percent of a grade boundary, every fail, the best, every mark given by hand, and at
random so many more that the sample has at least six scripts or a tenth of the class, whichever is more.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from html import escape
from pathlib import Path

from gearkit.text.files import write_atomically
from gearkit.words.errors import UsageError
from graders.book.record import LearnerMarks, MarkSheet
from graders.course.course import Course
from graders.report import gather
from graders.report.figures.statistics import kappa
from graders.report.mark_files import Cell, csv_text, read_csv
from graders.report.pages import feedback
from graders.report.pages.page import marks_of, page
from graders.sheets.sheets import Sheet

NEAR = 3
FEWEST = 6
_COLUMNS = ("learner", "item", "max", "first", "second")
_REMEDY = "The form is second_marks.csv beside the sample; write both with: graders moderate COURSE SHEET"


@dataclass(frozen=True)
class Sampled:
    """One script of the sample.

    Args:
        learner: identity.
        reasons: why it is in the sample.
    """

    learner: str
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class WrittenSample:
    """The files of a sample.

    Args:
        index: the list of scripts, with why each is in it.
        scripts: a page for each script, with the right answers.
        form: CSV for the second marker's marks.
        sample: the scripts.
    """

    index: Path
    scripts: tuple[Path, ...]
    form: Path
    sample: tuple[Sampled, ...]


def choose(marks: MarkSheet, boundaries: Sequence[int], seed: str) -> tuple[Sampled, ...]:
    """Return the sample of a mark sheet.

    Args:
        marks: the mark sheet.
        boundaries: grade boundaries, percent of the maximum; the lowest is the pass mark.
        seed: fixes what is drawn at random.

    Raises:
        UsageError: no boundary, or one that is no percentage.
    """
    if not boundaries or not all(0 < boundary < 100 for boundary in boundaries):
        given = ", ".join(str(boundary) for boundary in boundaries) or "none"
        raise UsageError(f"Boundaries {given}: expected at least one percentage between 0 and 100, such as 50.")
    best = max((_percent(marked) for marked in marks.learners), default=Fraction(0))
    reasons_of = {marked.learner: _reasons(marked, boundaries, best) for marked in marks.learners}
    chosen = {learner: reasons for learner, reasons in reasons_of.items() if reasons}
    wanted = max(FEWEST, -(-len(reasons_of) // 10))
    rest = sorted(learner for learner in reasons_of if learner not in chosen)
    for learner in random.Random(f"moderation {seed}").sample(rest, max(0, min(wanted - len(chosen), len(rest)))):
        chosen[learner] = ["drawn at random"]
    return tuple(Sampled(learner, tuple(chosen[learner])) for learner in sorted(chosen))


def _percent(learner: LearnerMarks) -> Fraction:
    return Fraction(learner.final).limit_denominator(10**6) * 100 / Fraction(learner.max) if learner.max else Fraction(0)


def _reasons(learner: LearnerMarks, boundaries: Sequence[int], best: Fraction) -> list[str]:
    percent = _percent(learner)
    near = [boundary for boundary in boundaries if abs(percent - boundary) <= NEAR]
    reasons = [f"within {NEAR} percent of the boundary {boundary}" for boundary in near]
    reasons += ["below the pass mark"] if percent < min(boundaries) else []
    reasons += ["the best mark"] if percent == best else []
    reasons += ["a mark given by hand"] if any(item.automatic is not None for item in learner.items) else []
    return reasons


def write(course: Course, sheet: Sheet, boundaries: Sequence[int]) -> WrittenSample:
    """Write the sample of a marked sheet; it holds right answers and stays with the markers.

    Args:
        course: the course; the files go to reports/SHEET/moderation/.
        sheet: the sheet, which must have been marked.
        boundaries: grade boundaries, percent of the maximum; the lowest is the pass mark.

    Raises:
        UsageError: the sheet has not been marked, or a boundary is no percentage.
    """
    marks = gather.marks_of_sheet(course, sheet)
    sample = choose(marks, boundaries, f"{course.id} {sheet.name}")
    folder = course.reports_folder(sheet.name) / "moderation"
    by_learner = {learner.learner: learner for learner in marks.learners}
    scripts = []
    for sampled in sample:
        path = folder / f"{sampled.learner}.html"
        write_atomically(path, feedback.page_for(course, sheet, by_learner[sampled.learner], answers=True))
        scripts.append(path)
    index, form = folder / "index.html", folder / "second_marks.csv"
    write_atomically(index, _index(course, sheet, sample, by_learner))
    rows: list[dict[str, Cell]] = [
        {"learner": sampled.learner, "item": item.item, "max": item.max, "first": item.earned, "second": ""}
        for sampled in sample
        for item in by_learner[sampled.learner].items
        if item.max  # nobody marks what was withdrawn
    ]
    # A form that a second marker has begun to fill in is never written over.
    if not _is_begun(form):
        write_atomically(form, "\ufeff" + csv_text(_COLUMNS, rows))
    return WrittenSample(index, tuple(scripts), form, sample)


def _index(course: Course, sheet: Sheet, sample: Sequence[Sampled], marks: dict[str, LearnerMarks]) -> str:
    rows = "".join(
        f'<tr><th scope="row"><a href="{escape(sampled.learner, quote=True)}.html">'
        f'{escape(marks[sampled.learner].name or sampled.learner)}</a> <span class="small">{escape(sampled.learner)}</span></th>'
        f'<td class="n">{marks_of(marks[sampled.learner].final, marks[sampled.learner].max)}</td>'
        f"<td>{escape('; '.join(sampled.reasons))}</td></tr>"
        for sampled in sample
    )
    header = f'<p class="over">{escape(course.title)}</p><h1>Sample for the second marker: {escape(sheet.title)}</h1>'
    body = (
        f"<p>{len(sample)} of {len(marks)} scripts. Each page shows the learner’s own numbers, what was written, how it was "
        "read, the right answer, the mark and its reason. Put the marks that you would give the answer, hints aside, into <code>second_marks.csv</code> beside this "
        'page, column <code>second</code>.</p><table><thead><tr><th scope="col">Script</th><th scope="col" class="n">'
        f'Marks</th><th scope="col">Why it is here</th></tr></thead><tbody>{rows}</tbody></table>'
    )
    footer = "<p>This sample holds right answers. Keep it with the markers while a retake is open.</p>"
    return page(f"Sample for the second marker: {sheet.title}", header, body, footer=footer, wide=True)


@dataclass(frozen=True)
class Agreement:
    """How far two markers agree.

    Args:
        marks: answers that both marked.
        agreed: answers to which both gave the same mark.
        kappa: agreement beyond chance, from at most 1; None where it cannot be told.
        differences: one line for each answer with different marks.
    """

    marks: int
    agreed: int
    kappa: Fraction | None
    differences: tuple[str, ...]

    @property
    def advice(self) -> str:
        """What to do, after the customary bounds (from memory)."""
        if self.kappa is None or self.kappa >= Fraction(6, 10):
            return "The markers agree well enough."
        return "Mark again together." if self.kappa < Fraction(4, 10) else "Talk over the differences."


def agreement(form: Path) -> Agreement:
    """Compare the second marker's marks with the first ones.

    Args:
        form: the filled-in second_marks.csv; rows without a second mark are left out.

    Raises:
        UsageError: the file cannot be read, a mark is no number or out of reach, or nothing is filled in.
    """
    everything = read_csv(form, _REMEDY)
    if not everything or not set(_COLUMNS) <= everything[0].keys():
        raise UsageError(f"{form} is no form for a second marker: expected the columns {', '.join(_COLUMNS)}. {_REMEDY}")
    rows = [row for row in everything if row["second"].strip()]
    if not rows:
        raise UsageError(f"{form}: no second mark is filled in yet.")
    first, second, differences = [], [], []
    for row in rows:
        given, mine = _mark(form, row, "first"), _mark(form, row, "second")
        first.append(str(given))
        second.append(str(mine))
        if given != mine:
            differences.append(f"{row['learner']} {row['item']}: first {float(given):g}, second {float(mine):g}")
    agreed = len(rows) - len(differences)
    return Agreement(len(rows), agreed, kappa(first, second), tuple(differences))


def _is_begun(form: Path) -> bool:
    """Say whether a form is there that holds more than what this kit wrote into it."""
    if not form.exists():
        return False
    try:
        rows = read_csv(form, _REMEDY)
        return not rows or any(row.get("second", "").strip() for row in rows)
    except UsageError:
        return True


def _mark(form: Path, row: dict[str, str], column: str) -> Fraction:
    try:
        mark, most = Fraction(row[column].strip()), Fraction(row["max"])
    except (ValueError, KeyError, ZeroDivisionError):
        raise UsageError(
            f"{form}, {row.get('learner')} {row.get('item')}: {row.get(column)!r} is no mark; "
            f"give a number from 0 to {row.get('max')}, with a decimal point."
        ) from None
    if not 0 <= mark <= most:
        raise UsageError(f"{form}, {row['learner']} {row['item']}: {row[column]} is out of reach, 0 to {row['max']}.")
    return mark
