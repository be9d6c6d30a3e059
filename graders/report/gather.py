"""Collects what pages and reports need from a course: marks, class list, words of items and mistakes, pictures."""

from __future__ import annotations

import datetime as dt
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from gearkit.answers import mistakes
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.judge import marking
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.mistakes import Mistake
from gearkit.answers.read.split import split_answer, with_commas_settled
from gearkit.train.data_file import read_document
from gearkit.words.errors import GearkitError, UsageError
from graders.book import record
from graders.book.record import MarkSheet
from graders.course import roster as class_list
from graders.course.course import Course
from graders.course.roster import Roster
from graders.mark.decide import decisions
from graders.report.figures import fairness, ideas, predictions, similarity
from graders.report.figures.class_data import ReportData
from graders.report.figures.similarity import Similarity
from graders.report.pages.item_words import of_items
from graders.sheets.drawn import variants_for
from graders.sheets.sheets import Sheet

_LARGEST_CLASS_COMPARED = 400


def class_of(course: Course) -> Roster:
    """Return the course's class list, empty where it has none."""
    return class_list.read(course.roster_file) if course.roster_file.exists() else Roster(())


def _sheet_data(course: Course, name: str) -> dict[str, Any]:
    try:
        return read_document(course.sheet_file(name), "The sheet")
    except (OSError, UsageError):
        return {}


def is_practice(course: Course, name: str) -> bool:
    """Say whether a sheet is for practice, so that its marks count nowhere.

    Args:
        course: the course.
        name: name of the sheet.
    """
    return bool(_sheet_data(course, name).get("kind") == "practice")


def sheet_words(course: Course, name: str) -> tuple[str, str]:
    """Return a sheet's title and due time (ISO 8601 or "") as far as its file has them.

    Args:
        course: the course.
        name: name of the sheet.
    """
    data = _sheet_data(course, name)
    due = data.get("due", "")
    return str(data.get("title") or name), due.isoformat() if isinstance(due, dt.datetime) else str(due)


def marks_of_sheet(course: Course, sheet: Sheet) -> MarkSheet:
    """Return the mark sheet of a sheet.

    Args:
        course: the course.
        sheet: the sheet.

    Raises:
        UsageError: it has not been marked.
    """
    return record.read(course.marks_file(sheet.name))


def mistake_words(codes: Iterable[str]) -> dict[str, tuple[str, str]]:
    """Return name and general sentence of each mistake; a code that the bank has lost stands for itself."""
    words: dict[str, tuple[str, str]] = {}
    for code in codes:
        known = _mistake(code)
        words[code] = (known.name, known.sentence) if known else (code, "")
    return words


def _mistake(code: str) -> Mistake | None:
    try:
        return mistakes.mistake(code)
    except UsageError:
        return None


def codes_in(marks: MarkSheet) -> tuple[str, ...]:
    """Return the codes of all mistakes in a mark sheet."""
    return tuple(dict.fromkeys(code for learner in marks.learners for mark in learner.items for code in mark.mistakes))


def report_data(course: Course, sheet: Sheet) -> ReportData:
    """Return what the class report of a sheet is made of.

    Args:
        course: the course.
        sheet: the sheet, which must have been marked.
    """
    marks = marks_of_sheet(course, sheet)
    changed = dt.datetime.fromtimestamp(course.marks_file(sheet.name).stat().st_mtime, tz=course.zone)
    return ReportData(
        course=course.title,
        sheet=sheet.title,
        marks=marks,
        roster=class_of(course),
        words=of_items(entry.item for entry in sheet.items),
        mistakes=mistake_words(codes_in(marks)),
        similarity=alike(course, sheet, marks),
        earlier=_earlier(course, sheet),
        marked_on=f"{changed.day} {changed:%B %Y, %H:%M}",
        predictions=predictions.gather(course, sheet.name),
        fairness=fairness.of_sheet(course, sheet, marks),
        ideas=ideas.of_class(course, sheet, marks),
    )


def _earlier(course: Course, sheet: Sheet) -> tuple[tuple[str, MarkSheet], ...]:
    """Return the course's other marked sheets that come before this one in the term, in their order."""
    here = _when(course, sheet.name)
    sheets: list[tuple[str, str, str]] = []
    for path in sorted((course.folder / "sheets").glob("*.toml")):
        then = _when(course, path.stem)
        if path.stem != sheet.name and then and then < here and course.marks_file(path.stem).exists():
            sheets.append((then, path.stem, sheet_words(course, path.stem)[0]))
    return tuple((title, record.read(course.marks_file(name))) for _, name, title in sorted(sheets))


def _when(course: Course, name: str) -> str:
    """The place of a sheet in the term: its due time, or where it has none the time at which its first copy went out."""
    due = sheet_words(course, name)[1]
    copies = [] if due else [path.stat().st_mtime for path in course.folder.glob(f"handed_out/*/{name}/{name}.ipynb")]
    return dt.datetime.fromtimestamp(min(copies), tz=course.zone).replace(tzinfo=None).isoformat() if copies else due


def alike(course: Course, sheet: Sheet, marks: MarkSheet) -> tuple[Similarity, ...]:
    """Return the pairs of submissions worth a conversation; none for a class too large to compare.

    Args:
        course: the course.
        sheet: the sheet.
        marks: its mark sheet.
    """
    if len(marks.learners) > _LARGEST_CLASS_COMPARED:
        return ()
    countable = {entry.item.id: entry.item for entry in sheet.items if entry.item.kind.traits.telling}
    fits = _Fits(course, sheet, marks)
    return similarity.find(marks, fits.learners, countable)


class _Fits:
    """Says for whose numbers an answer is right, looking first at values that come near."""

    _NEAR = Fraction(1, 50)

    def __init__(self, course: Course, sheet: Sheet, marks: MarkSheet) -> None:
        self._course, self._sheet = course, sheet
        self._withdrawn = decisions.withdrawn(course, sheet.name)
        self._people = [(learner.learner, learner.attempt) for learner in marks.learners]
        self._tables: dict[str, list[tuple[Fraction, str, Variant]]] = {}

    def _table(self, item: str) -> list[tuple[Fraction, str, Variant]]:
        if item not in self._tables:
            rows = []
            for learner, attempt in self._people:
                (variant,) = variants_for(self._course, self._sheet, learner, attempt, self._withdrawn, only=item)
                checker = variant.key.checkers[variant.parts[0].name]
                if isinstance(checker, NumberChecker):
                    rows.append((abs(checker.value), learner, variant))
            self._tables[item] = sorted(rows, key=lambda row: row[:2])
        return self._tables[item]

    def learners(self, item: str, given: Mapping[str, str]) -> list[str]:
        """Return the learners for whose numbers an answer is right; none where everybody has the same numbers."""
        table = self._table(item)
        if not table or table[0][0] == table[-1][0]:
            return []
        comma = self._sheet.rules.comma
        size = _size(table[0][2], given, comma)
        if size is None:
            return []
        low = bisect_left(table, size * (1 - self._NEAR), key=lambda row: row[0])
        high = bisect_right(table, size * (1 + self._NEAR), key=lambda row: row[0])
        return [
            learner
            for _, learner, variant in table[low:high]
            if marking.mark(variant, given, strict=True, comma=comma).verdict == "right"
        ]


def _size(variant: Variant, given: Mapping[str, str], comma: str) -> Fraction | None:
    """The size of what was written for an item's first part, in the item's unit, as the marker reads it; None where it is no number.

    Letters are not read: a formula gives everybody their own number, so it is nobody's.
    """
    part = variant.parts[0]
    checker = variant.key.checkers[part.name]
    texts, faults = split_answer(variant.parts, given)
    if not isinstance(checker, NumberChecker) or part.name in faults:
        return None
    try:
        reading = replace(checker, letters=None).read(with_commas_settled(part, texts[part.name], comma))
    except GearkitError:
        return None
    size: Fraction = reading.content.in_item_unit
    return abs(size)
