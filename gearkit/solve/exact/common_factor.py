"""Common factors of the two tables of a ratio.

A table {which sets give their ring weight, as bits: coefficient} is linear in every set's weights, so a factor of it has
some of the sets for itself: on a group of sets the table splits into factor times rest exactly when, written as a matrix
(group against rest), it has rank 1. A factor that numerator and denominator share cancels, and its sets play no part.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations
from math import gcd

Table = dict[int, int]


def without_common_factor(
    numerator: Mapping[int, int], denominator: Mapping[int, int], sets: int
) -> tuple[Table, Table, tuple[int, ...]]:
    """Return both tables without what they share, over the sets that are left.

    Args:
        numerator: {bits over the sets: coefficient}.
        denominator: the same; not empty.
        sets: how many sets the bits stand for.

    Returns:
        Numerator, denominator, and which of the sets are left.
    """
    top, bottom, left = dict(numerator), dict(denominator), tuple(range(sets))
    size = 1
    while size <= len(left):
        for group in combinations(range(len(left)), size):
            inside = sum(1 << place for place in group)
            first, second = factor_of(top, inside), factor_of(bottom, inside)
            if first is None or first != second:
                continue
            top, bottom = (divided(table, first, inside, len(left)) for table in (top, bottom))
            left = tuple(number for place, number in enumerate(left) if place not in group)
            break
        else:
            size += 1
    return top, bottom, left


def factor_of(table: Mapping[int, int], inside: int) -> Table | None:
    """Return the table's factor in the sets inside, without a common number; None where it does not split.

    Args:
        table: {bits over the sets: coefficient}.
        inside: the bits of the sets.
    """
    rows: dict[int, Table] = {}
    for mask, value in table.items():
        rows.setdefault(mask & inside, {})[mask & ~inside] = value
    if not rows:
        return None
    reference = rows[min(rows)]
    place = min(reference)
    divisor = gcd(*(row.get(place, 0) for row in rows.values()))
    factor = {}
    for part, row in rows.items():
        head = row.get(place, 0)
        if row.keys() != reference.keys() or any(row[key] * reference[place] != reference[key] * head for key in row):
            return None
        factor[part] = head // divisor
    if factor[min(factor)] < 0:
        factor = {part: -value for part, value in factor.items()}
    return factor


def divided(table: Mapping[int, int], factor: Mapping[int, int], inside: int, places: int) -> Table:
    """Return a table without a factor of it.

    Args:
        table: {bits over the sets: coefficient}.
        factor: from `factor_of`.
        inside: the bits of its sets.
        places: how many sets the bits stand for.
    """
    part, value = next(iter(factor.items()))
    rest = [place for place in range(places) if not inside >> place & 1]
    quotient = {}
    for mask, coefficient in table.items():
        if mask & inside == part:
            key = sum(1 << new for new, old in enumerate(rest) if mask >> old & 1)
            quotient[key] = coefficient // value
    return quotient
