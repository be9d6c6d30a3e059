"""The speed of a member as a sum over driving terminals, each factor a formula in the tooth counts.

Merging what the joins and the applied elements join leaves one speed equation per working set, linear in that set's own
weights. For each product of weights one fraction-free elimination (Bareiss), inner shafts first and the driving ones last,
leaves in its last row all minors that Cramer's rule asks for: the denominator under the member, minus a numerator under
each driving terminal. So ``n = (N1*n1 + N2*n2 + ...)/D`` with one D, and every table is linear in each set's weights.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations

from gearkit.solve.exact.common_factor import Table, divided, factor_of
from gearkit.solve.exact.cramer import Equation, merged, probed, speed_equation
from gearkit.solve.exact.formula import Quotient, cancelled
from gearkit.solve.exact.linear import determinant
from gearkit.solve.ratios import products_of, tooth_symbols
from gearkit.solve.several.terminals import Terminals
from gearkit.words.terms import HOUSING

NOTHING = Quotient((), (((), 1),))
ALL = Quotient((((), 1),), (((), 1),))


@dataclass(frozen=True)
class Relation:
    """The speed of a member as a sum of formula times driving speed.

    Args:
        member: whose speed it is.
        factors: driving terminal or member -> its factor in tooth symbols.
    """

    member: str
    factors: dict[str, Quotient]

    def text(self, letter: str = "n") -> str:
        """Return the relation as a line: "n(M1) = (1 + R1/S1)·n(input) − R1/S1·n(output)".

        Args:
            letter: what stands for the quantity.
        """
        return f"{letter}({self.member}) = {sum_text({name: factor.text() for name, factor in self.factors.items()}, letter)}"


def sum_text(factors: Mapping[str, str], letter: str) -> str:
    """Return a sum of factors times quantities, with true signs; "0" where every factor is 0.

    Args:
        factors: name -> factor as text, in Python's notation or as a number.
        letter: what stands for the quantity.

    >>> sum_text({"input": "18/5", "output": "-13/5"}, "n")
    '18/5·n(input) − 13/5·n(output)'
    """
    parts: list[str] = []
    for name, factor in factors.items():
        if factor == "0":
            continue
        negative = factor.startswith("-") and " " not in factor
        size = factor[1:] if negative else factor
        size = f"({size})" if " " in size else size
        term = f"{letter}({name})" if size == "1" else f"{size.replace('*', '·')}·{letter}({name})"
        sign = "−" if negative else "+"
        parts += [sign, term] if parts else ["−" + term if negative else term]
    return " ".join(parts) or "0"


def relation(terminals: Terminals, engaged: Sequence[str], member: str, driving: Mapping[str, Fraction]) -> Relation | None:
    """Return a member's speed over driving ones, in tooth symbols; None where no formula stands for it.

    Args:
        terminals: the train.
        engaged: names of the engaged elements.
        member: the member or terminal.
        driving: members or terminals that fix it -> their factor at the layout's own tooth counts; a formula that gives
            another value there belongs to other tooth counts than these, and is not returned.
    """
    layout = terminals.layout
    groups, working = merged(layout, engaged)
    shaft = {name: groups.name_of(terminals.shaft_of.get(name, name)) for name in (member, *driving)}
    ground, out = groups.name_of(HOUSING), shaft[member]
    if out == ground:
        return Relation(member, dict.fromkeys(driving, NOTHING))
    for name, factor in driving.items():
        if shaft[name] == out:
            return Relation(member, {other: ALL if other == name else NOTHING for other in driving}) if factor == 1 else None
    moving = [name for name in driving if shaft[name] != ground]
    known = [shaft[name] for name in moving]
    equations = [speed_equation(pset, groups, ground) for pset in working]
    for size in range(1, len(working) + 1):
        for chosen in combinations(range(len(working)), size):
            rows = [equations[k] for k in chosen]
            unknowns = sorted({name for row in rows for name in row} - set(known))
            if out not in unknowns or len(unknowns) != size or not determinant(probed(rows, unknowns)):
                continue
            bottom, tops, left = _without_common(*_tables(rows, unknowns, out, known), size)
            symbols = tuple(tooth_symbols(layout)[working[chosen[k]].name] for k in left)
            weights = [working[chosen[k]].weights for k in left]
            if not _fits(bottom, dict(zip(moving, tops, strict=True)), driving, weights):
                return None
            below = products_of(bottom, symbols)
            quotients = {
                name: cancelled(products_of(top, symbols), below) if top else NOTHING
                for name, top in zip(moving, tops, strict=True)
            }
            return Relation(member, {name: quotients.get(name, NOTHING) for name in driving})
    return None


def _fits(
    bottom: Table, tops: Mapping[str, Table], driving: Mapping[str, Fraction], weights: Sequence[tuple[int, int]]
) -> bool:
    under = _at(bottom, weights)
    return bool(under) and all(Fraction(_at(top, weights), under) == driving[name] for name, top in tops.items())


def _at(table: Table, weights: Sequence[tuple[int, int]]) -> int:
    total = 0
    for mask, coefficient in table.items():
        for place, (sun, ring) in enumerate(weights):
            coefficient *= ring if mask >> place & 1 else sun
        total += coefficient
    return total


def _tables(rows: Sequence[Equation], unknowns: Sequence[str], out: str, known: Sequence[str]) -> tuple[Table, list[Table]]:
    size = len(rows)
    order = [*(name for name in unknowns if name != out), out, *known]
    bottom: Table = {}
    tops: list[Table] = [{} for _ in known]
    for mask in range(1 << size):
        last = _minors([[row.get(name, (0, 0))[mask >> k & 1] for name in order] for k, row in enumerate(rows)])
        if last[0]:
            bottom[mask] = last[0]
        for table, value in zip(tops, last[1:], strict=True):
            if value:
                table[mask] = -value
    return bottom, tops


def _minors(work: list[list[int]]) -> list[int]:
    """The minors of the first n - 1 columns with each of the others, by Bareiss's elimination; all 0 where those columns
    depend on each other."""
    size, sign, previous = len(work), 1, 1
    for k in range(size - 1):
        swap = next((i for i in range(k, size) if work[i][k]), None)
        if swap is None:
            return [0] * (len(work[0]) - size + 1)
        if swap != k:
            work[k], work[swap] = work[swap], work[k]
            sign = -sign
        head, pivot = work[k], work[k][k]
        for row in work[k + 1 :]:
            factor = row[k]
            for j in range(k + 1, len(row)):
                row[j] = (row[j] * pivot - factor * head[j]) // previous
        previous = pivot
    return [sign * value for value in work[-1][size - 1 :]]


def _without_common(bottom: Table, tops: list[Table], size: int) -> tuple[Table, list[Table], tuple[int, ...]]:
    """All tables without what they share, and which of the sets are left; an empty table is 0 and shares everything."""
    left, tables, group_size = tuple(range(size)), [bottom, *tops], 1
    while group_size <= len(left):
        for group in combinations(range(len(left)), group_size):
            inside = sum(1 << place for place in group)
            factors = [factor_of(table, inside) for table in tables if table]
            if factors[0] is None or any(factor != factors[0] for factor in factors[1:]):
                continue
            common = factors[0]
            tables = [divided(table, common, inside, len(left)) if table else table for table in tables]
            left = tuple(number for place, number in enumerate(left) if place not in group)
            break
        else:
            group_size += 1
    return tables[0], tables[1:], left
