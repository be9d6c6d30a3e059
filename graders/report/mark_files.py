"""The mark sheet as files for other programs: a well-quoted CSV that no spreadsheet can run, and JSON.

A cell that a spreadsheet would take for a formula gets an apostrophe in front, as is common practice (no source);
``unguarded`` takes exactly that apostrophe away again, so nothing is lost on the way back.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from gearkit.text.files import write_atomically
from gearkit.words.errors import UsageError
from graders.book.record import LearnerMarks, MarkSheet
from graders.course.roster import Roster

FIRST_COLUMNS = ("learner", "name", "group", "handed_in", "attempt", "hint_cost", "score", "penalty", "final", "max")
LAST_COLUMN = "flags"
_RISKY = re.compile(r"^'*[=+\-@\t\r\n]")

Cell = str | float | int


def guarded(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula."""
    return "'" + text if _RISKY.match(text) else text


def unguarded(text: str) -> str:
    """Return the text that was guarded."""
    return text[1:] if text.startswith("'") and _RISKY.match(text) else text


def csv_text(columns: Sequence[str], rows: Sequence[Mapping[str, Cell]]) -> str:
    """Return rows as CSV: every text quoted and guarded, numbers bare, lines ended as RFC 4180 has it.

    Args:
        columns: names of the columns, in order.
        rows: one mapping for each line; a column that is missing stays empty.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow([guarded(column) for column in columns])
    for row in rows:
        cells = (row.get(column, "") for column in columns)
        writer.writerow([guarded(cell) if isinstance(cell, str) else cell for cell in cells])
    return out.getvalue()


def read_csv(path: Path, remedy: str = "Write it again: graders export") -> list[dict[str, str]]:
    """Read back a file that `csv_text` made, as texts by column.

    Args:
        path: the CSV file.
        remedy: what to do where it cannot be read.

    Raises:
        UsageError: there is no such file, or it is not a CSV file in UTF-8.
    """
    try:
        # Not read_text: that would turn the line ends inside a cell into others.
        text = path.read_bytes().decode("utf-8-sig")
        rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    except (OSError, UnicodeDecodeError, csv.Error) as fault:
        why = fault.strerror if isinstance(fault, OSError) else str(fault)
        raise UsageError(f"{path} cannot be read: {why}. {remedy}") from None
    if not rows:
        raise UsageError(f"{path} is empty; expected a first line with the names of the columns. {remedy}")
    head = [unguarded(cell) for cell in rows[0]]
    uneven = next((line for line, row in enumerate(rows, start=1) if len(row) != len(head)), 0)
    if uneven:
        raise UsageError(
            f"{path}, row {uneven}: {len(rows[uneven - 1])} cells, expected {len(head)}: {', '.join(head)}. {remedy}"
        )
    return [dict(zip(head, (unguarded(cell) for cell in row), strict=True)) for row in rows[1:]]


def item_names(sheet: MarkSheet) -> tuple[str, ...]:
    """Return the items of a mark sheet, in its order."""
    return tuple(dict.fromkeys(mark.item for learner in sheet.learners for mark in learner.items))


def mark_rows(sheet: MarkSheet, roster: Roster) -> tuple[tuple[str, ...], list[dict[str, Cell]]]:
    """Return the columns and the rows of a mark sheet, those who handed in nothing at the end.

    Args:
        sheet: the mark sheet.
        roster: the class list, for names of those who handed in nothing.
    """
    items = item_names(sheet)
    rows = [_row(learner) for learner in sheet.learners]
    for identity in sheet.absent:
        known = roster.find(identity)
        rows.append(
            {"learner": identity, "name": known.name if known else "", "group": known.group if known else "",
             LAST_COLUMN: "not handed in"}
        )  # fmt: skip
    return (*FIRST_COLUMNS, *items, LAST_COLUMN), rows


def _row(learner: LearnerMarks) -> dict[str, Cell]:
    row: dict[str, Cell] = {
        "learner": learner.learner,
        "name": learner.name,
        "group": learner.group,
        "handed_in": learner.handed_in,
        "attempt": learner.attempt,
        "hint_cost": round(sum(mark.hint_cost for mark in learner.items), 6),
        "score": learner.score,
        "penalty": learner.penalty,
        "final": learner.final,
        "max": learner.max,
        LAST_COLUMN: " | ".join(learner.flags),
    }
    row.update((mark.item, mark.score) for mark in learner.items)
    return row


def write_csv(sheet: MarkSheet, roster: Roster, path: Path) -> None:
    """Write a mark sheet as CSV, atomically, with the mark that tells spreadsheets it is UTF-8.

    Args:
        sheet: the mark sheet.
        roster: the class list.
        path: the file.
    """
    columns, rows = mark_rows(sheet, roster)
    write_atomically(path, "\ufeff" + csv_text(columns, rows))


def write_json(sheet: MarkSheet, path: Path) -> None:
    """Write a mark sheet as JSON, atomically.

    Args:
        sheet: the mark sheet.
        path: the file.
    """
    write_atomically(path, json.dumps(sheet.to_json(), ensure_ascii=False, indent=1) + "\n")
