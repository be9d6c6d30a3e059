"""Marks of a whole course as one quoted CSV: a line for each learner, four columns for each sheet."""

from __future__ import annotations

from pathlib import Path

from gearkit.text.files import write_atomically
from graders.book.record import LearnerMarks
from graders.report.exports.data import ExportData
from graders.report.mark_files import Cell, csv_text

SHEET_FIELDS = ("score", "penalty", "final", "max")


def write(data: ExportData, path: Path) -> None:
    """Write the table, atomically, with the mark that tells spreadsheets it is UTF-8.

    Args:
        data: the course.
        path: the file, usually ending in .csv.
    """
    write_atomically(path, "\ufeff" + csv_text(columns(data), rows(data)))


def columns(data: ExportData) -> tuple[str, ...]:
    """Return the columns: learner, name, group, four for each sheet, and the sums."""
    each = tuple(f"{sheet.name} {field}" for sheet in data.sheets for field in SHEET_FIELDS)
    return ("learner", "name", "group", *each, "final", "max")


def rows(data: ExportData) -> list[dict[str, Cell]]:
    """Return a row for each learner: the class list's order, then those that it does not know.

    The sum holds what counts after retakes; a sheet that was not handed in stays empty and counts 0.
    """
    marked = {sheet.name: {marked_.learner: marked_ for marked_ in sheet.marks.learners} for sheet in data.sheets}
    table: list[dict[str, Cell]] = []
    for counted in data.counted.rows:
        learner = counted.learner
        row: dict[str, Cell] = {"learner": learner.id, "name": learner.name, "group": learner.group}
        for sheet in data.sheets:
            if learner.id in marked[sheet.name]:
                row.update(_sheet_cells(sheet.name, marked[sheet.name][learner.id]))
        table.append({**row, "final": counted.total, "max": counted.full})
    return table


def _sheet_cells(sheet: str, learner: LearnerMarks) -> dict[str, Cell]:
    values = (learner.score, learner.penalty, learner.final, learner.max)
    return {f"{sheet} {field}": value for field, value in zip(SHEET_FIELDS, values, strict=True)}
