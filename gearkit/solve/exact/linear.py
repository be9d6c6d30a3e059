"""Exact elimination of small whole-number systems; the only linear algebra in the kit.

Fraction-free: rows stay whole numbers, reduced by their common divisor, so nothing is ever rounded and a zero is a zero.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import gcd, lcm

Row = list[int]


def echelon(rows: Sequence[Sequence[int]], columns: int) -> tuple[list[Row], list[int]]:
    """Bring a homogeneous system to row echelon form.

    Args:
        rows: whole-number coefficients, one row an equation.
        columns: how many leading columns may hold a pivot.

    Returns:
        The non-zero rows, and the pivot column of each.
    """
    pending = [list(row) for row in rows]
    done: list[Row] = []
    pivots: list[int] = []
    for column in range(columns):
        choice = min((row for row in pending if row[column]), key=lambda row: abs(row[column]), default=None)
        if choice is None:
            continue
        pending = [row if row is not choice else [] for row in pending]
        pending = [cleared(row, choice, column) if row and row[column] else row for row in pending if row]
        done.append(choice)
        pivots.append(column)
    return done, pivots


def cleared(row: Row, pivot_row: Row, column: int) -> Row:
    """Return a row less so much of another that a column is empty, in the smallest whole numbers.

    Args:
        row: the row.
        pivot_row: the other; its number in that column is not 0.
        column: which is to be empty.
    """
    head, pivot = row[column], pivot_row[column]
    common = gcd(head, pivot)
    own, other = pivot // common, head // common
    result = [own * a - other * b for a, b in zip(row, pivot_row, strict=True)]
    divisor = gcd(*result)
    return [value // divisor for value in result] if divisor > 1 else result


def rank(rows: Sequence[Sequence[int]]) -> int:
    """Return the rank of a whole-number matrix."""
    return len(echelon(rows, len(rows[0]))[1]) if rows else 0


def echelon_modulo(rows: Sequence[Sequence[int]], prime: int) -> tuple[list[Row], list[int]]:
    """Bring a homogeneous system to row echelon form in whole numbers modulo a prime.

    Args:
        rows: whole-number coefficients, one row an equation.
        prime: the modulus.

    Returns:
        The non-zero rows, and the pivot column of each.
    """
    pending = [[value % prime for value in row] for row in rows]
    done: list[Row] = []
    pivots: list[int] = []
    for column in range(len(rows[0]) if rows else 0):
        choice = next((row for row in pending if row[column]), None)
        if choice is None:
            continue
        touched = [row for row in pending if row[column] and row is not choice]
        if touched:
            inverse = pow(choice[column], -1, prime)
            for row in touched:
                factor = row[column] * inverse
                row[column:] = [(a - factor * b) % prime for a, b in zip(row[column:], choice[column:], strict=True)]
        pending = [row for row in pending if row is not choice]
        done.append(choice)
        pivots.append(column)
    return done, pivots


def determinant(rows: Sequence[Sequence[int]]) -> int:
    """Return the determinant of a square whole-number matrix (Bareiss, Math. Comp. 22, 1968; from memory)."""
    work = [list(row) for row in rows]
    size, sign, previous = len(work), 1, 1
    for k in range(size - 1):
        if work[k][k] == 0:
            swap = next((i for i in range(k + 1, size) if work[i][k]), None)
            if swap is None:
                return 0
            work[k], work[swap] = work[swap], work[k]
            sign = -sign
        for i in range(k + 1, size):
            for j in range(k + 1, size):
                work[i][j] = (work[i][j] * work[k][k] - work[i][k] * work[k][j]) // previous
        previous = work[k][k]
    return sign * work[-1][-1] if size else 1


def solve(rows: Sequence[Sequence[int | Fraction]], sides: Sequence[int | Fraction]) -> list[Fraction | None] | None:
    """Solve a system exactly, telling which unknowns it fixes.

    Args:
        rows: coefficients, one row an equation.
        sides: right-hand sides.

    Returns:
        The value of each unknown, None for one that is not fixed; or None for the whole when the equations contradict
        each other.
    """
    columns = len(rows[0]) if rows else 0
    done, pivots = echelon([whole([*row, side]) for row, side in zip(rows, sides, strict=True)], columns + 1)
    if pivots and pivots[-1] == columns:
        return None
    return _fixed_only(done, pivots, columns) if len(pivots) < columns else _all_fixed(done, columns)


def _all_fixed(done: list[Row], columns: int) -> list[Fraction | None]:
    """The unknowns from the last to the first, in whole numbers over one common denominator."""
    tops, below = [0] * columns, 1
    for pivot in range(columns - 1, -1, -1):
        row = done[pivot]
        top = row[columns] * below - sum(row[column] * tops[column] for column in range(pivot + 1, columns))
        common = gcd(top, row[pivot])
        scale = row[pivot] // common
        if scale != 1:
            tops, below = [scale * known for known in tops], below * scale
        tops[pivot] = top // common
    return [Fraction(top, below) for top in tops]


def _fixed_only(done: list[Row], pivots: list[int], columns: int) -> list[Fraction | None]:
    # Clearing upwards shows which rows hold one unknown alone.
    rows = cleared_upwards(done, pivots)
    values: list[Fraction | None] = [None] * columns
    for row, pivot in zip(rows, pivots, strict=True):
        if not any(row[column] for column in range(columns) if column != pivot):
            values[pivot] = Fraction(row[columns], row[pivot])
    return values


def cleared_upwards(done: Sequence[Row], pivots: Sequence[int]) -> list[Row]:
    """Return an echelon form in which each pivot stands alone in its column.

    Args:
        done: rows in echelon form.
        pivots: their pivot columns.
    """
    rows = [list(row) for row in done]
    for k in range(len(rows) - 1, -1, -1):
        for above in range(k):
            if rows[above][pivots[k]]:
                rows[above] = cleared(rows[above], rows[k], pivots[k])
    return rows


def whole(row: Sequence[int | Fraction]) -> Row:
    """Return a row times the smallest number that makes it whole."""
    scale = lcm(*[value.denominator for value in row])
    return [value.numerator * (scale // value.denominator) for value in row]
