"""Results of a lesson's working as tables: names and formulas on the left, values with their units beside them.

Fractions stay exact and carry their decimal. All is said in plain text too, for where a notebook shows no HTML.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from html import escape

from gearkit.text.markdown import inline
from gearkit.text.phrases import MINUS, decimal, localized
from gearkit.words.errors import UsageError
from gearkit.words.say import said

Value = int | float | Fraction | str
# JupyterLab sets every column flush right in alternate shades, which suits figures and not the sentences beside them.
_TABLE = "border-collapse:collapse;margin:4px 0;font-size:14px;line-height:1.4;math-style:normal"
_CELL = "text-align:left;vertical-align:baseline;padding:5px min(18px, 2vw) 5px 0;border-bottom:1px solid #8886"
_NUMBER = re.compile(r"(?<![\w.])\d+\.\d+(?![\w.])")
_HEAD = f"{_CELL};font-weight:600"


@dataclass(frozen=True)
class Cell:
    """One value of a table.

    Args:
        value: a number, or words in which formulas stand between dollar signs.
        unit: the unit of a number, or "".
        places: places after the point at most.
    """

    value: Value
    unit: str = ""
    places: int = 3

    def __str__(self) -> str:
        behind = f" {self.unit}" if self.unit else ""
        if isinstance(self.value, str):
            return f"{_words(self.value)}{behind}"
        whole = not isinstance(self.value, float) and self.value == int(self.value)
        if isinstance(self.value, Fraction) and not whole and self.value.denominator < LARGEST_DENOMINATOR:
            return f"{self.value} = {decimal(self.value, self.places)}{behind}".replace("-", MINUS)
        return f"{decimal(self.value, self.places)}{behind}"

    def html(self) -> str:
        """Return the value as HTML."""
        return inline(_words(self.value)) if isinstance(self.value, str) else escape(str(self)).replace(" ", "\u00a0")


LARGEST_DENOMINATOR = 1000


def _words(text: str) -> str:
    """Words of the kit in the reader's language, and numbers that a lesson wrote out itself with the decimal mark of it."""
    return said(text) if "$" in text else _NUMBER.sub(lambda number: localized(number[0]), said(text))


class Results:
    """A table of results.

    Args:
        rows: the cells of each row; the first names it.
        head: headings of the columns; none when empty.
    """

    def __init__(self, rows: Sequence[Sequence[Cell]], head: Sequence[str] = ()) -> None:
        self.rows = tuple(tuple(row) for row in rows)
        self.head = tuple(head)

    def __repr__(self) -> str:
        lines = [" | ".join(self.head)] if self.head else []
        return "\n".join([*lines, *(" | ".join(map(str, row)) for row in self.rows)])

    def _repr_html_(self) -> str:
        # A heading without a word is none.
        head = "".join(
            f'<th scope="col" style="{_HEAD}">{inline(word)}</th>' if word else f'<td style="{_HEAD}"></td>'
            for word in self.head
        )
        body = "".join(
            f'<tr><th scope="row" style="{_CELL};font-weight:normal">{row[0].html()}</th>'
            + "".join(f'<td style="{_CELL}">{cell.html()}</td>' for cell in row[1:])
            + "</tr>"
            for row in self.rows
        )
        return f'<table style="{_TABLE}">{f"<thead><tr>{head}</tr></thead>" if head else ""}<tbody>{body}</tbody></table>'


def results(lines: Sequence[tuple[object, ...]]) -> Results:
    """Return a table of what was worked out.

    Args:
        lines: for each result: what it is, its value, and where it has them its unit and the places after the point.

    Raises:
        UsageError: a line with fewer or more in it.
    """
    for line in lines:
        if not (isinstance(line, tuple) and 2 <= len(line) <= 4 and isinstance(line[0], str)):
            raise UsageError(
                f'A result is written ("what it is", value, "unit", places), the last two if wanted; not {line!r}.'
            )
    return Results([(Cell(str(line[0])), Cell(*line[1:])) for line in lines])  # type: ignore[arg-type]  # how many cells a line has is seen when it is set


def table(head: Sequence[str], rows: Sequence[Sequence[Value]], places: int) -> Results:
    """Return a table with headings.

    Args:
        head: headings of the columns.
        rows: the values of each row, as many as there are headings.
        places: places after the point at most.

    Raises:
        UsageError: a row with fewer or more values than headings.
    """
    for row in rows:
        if len(row) != len(head):
            raise UsageError(
                f"The table has {len(head)} columns ({', '.join(head)}), this row {len(row)} values: {list(row)!r}."
            )
    return Results([[Cell(value, places=places) for value in row] for row in rows], head)
