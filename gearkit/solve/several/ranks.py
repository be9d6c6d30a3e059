"""What follows from what between terminals: their relations, ranks, and smallest dependent groups.

Once every shaft that is no terminal is eliminated, the rows that are left are all the relations between terminal speeds.
A set S of terminals has ``|S| - r + rank(relations outside S)`` independent motions, r being the number of relations.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from math import gcd

from gearkit.solve.exact.linear import Row, cleared_upwards, echelon, echelon_modulo, rank
from gearkit.solve.mobility import PRIME, element_rows, generic_weights, set_rows
from gearkit.solve.several.terminals import Terminals


@dataclass(frozen=True)
class Relations:
    """The relations between terminal columns.

    Args:
        rows: whole-number coefficients over the terminal columns, in echelon form.
        columns: how many terminal columns there are.
        full_rank: rank of all equations of the train.
        surplus: equations of applied elements beyond that rank, seen from the sets' own.
        prime: 0 for whole numbers, else the modulus.
    """

    rows: tuple[Row, ...]
    columns: int
    full_rank: int
    surplus: int
    prime: int = 0
    _known: dict[frozenset[int], int] = field(default_factory=dict, compare=False, repr=False)

    @property
    def freedom(self) -> int:
        """How many terminal speeds can be chosen."""
        return self.columns - len(self.rows)

    def rank_of(self, some: Iterable[int]) -> int:
        """Return how many independent motions some terminal columns have.

        Args:
            some: columns, counted among those of terminals.
        """
        chosen = frozenset(some)
        if chosen not in self._known:
            outside = [column for column in range(self.columns) if column not in chosen]
            left = [[row[column] for column in outside] for row in self.rows]
            self._known[chosen] = len(chosen) - len(self.rows) + (self._rank(left) if outside and left else 0)
        return self._known[chosen]

    def _rank(self, rows: list[Row]) -> int:
        return len(echelon_modulo(rows, self.prime)[1]) if self.prime else rank(rows)

    def groups_with(self, among: Iterable[int], both: tuple[int, int]) -> list[frozenset[int]]:
        """Return the smallest dependent groups of columns that hold two given ones.

        Each speed of such a group follows from all the others of it, and from no fewer.

        Args:
            among: the columns to choose from.
            both: the two columns.
        """
        others = sorted(set(among) - set(both))
        groups: list[frozenset[int]] = []
        for size in range(len(others) + 1):
            for chosen in combinations(others, size):
                group = frozenset((*both, *chosen))
                if self.rank_of(group) == len(group) - 1 and all(
                    self.rank_of(group - {column}) == len(group) - 1 for column in group
                ):
                    groups.append(group)
        return groups


def relations(terminals: Terminals, engaged: Sequence[str]) -> Relations:
    """Return the relations between terminals that the sets and the applied elements leave.

    Args:
        terminals: the train.
        engaged: names of the engaged elements, in the layout's order.
    """
    own = set_rows(terminals.layout, terminals.columns)
    of_elements = element_rows(terminals.layout, terminals.columns, engaged)
    done, pivots = echelon(own + of_elements, terminals.size)
    first = terminals.first
    rows = tuple(row[first:] for row, pivot in zip(done, pivots, strict=True) if pivot >= first)
    return Relations(rows, terminals.size - first, len(pivots), rank(own) + len(of_elements) - len(pivots))


def generic_relations(terminals: Terminals, engaged: Sequence[str]) -> Relations:
    """Return the same at tooth counts without coincidences, modulo a prime.

    Args:
        terminals: the train.
        engaged: names of the engaged elements, in the layout's order.
    """
    rows = set_rows(terminals.layout, terminals.columns, generic_weights(terminals.layout))
    done, pivots = echelon_modulo(rows + element_rows(terminals.layout, terminals.columns, engaged), PRIME)
    first = terminals.first
    kept = tuple(row[first:] for row, pivot in zip(done, pivots, strict=True) if pivot >= first)
    return Relations(kept, terminals.size - first, len(pivots), 0, PRIME)


def named_relations(terminals: Terminals, ranks: Relations) -> tuple[dict[str, int], ...]:
    """Return independent relations as {terminal: whole number}, the sum over them being 0.

    Every one is a smallest dependent group; one with a single terminal says that it stands still. Terminals on one shaft
    have a relation of their own.

    Args:
        terminals: the train.
        ranks: its relations, in whole numbers.
    """
    first_on: dict[int, str] = {}
    alike: list[dict[str, int]] = []
    for name in terminals.names:
        column = terminals.place(name)
        if column in first_on:
            alike.append({first_on[column]: 1, name: -1} if ranks.rank_of((column,)) else {name: 1})
        else:
            first_on[column] = name
    named = []
    done, pivots = echelon([list(row) for row in ranks.rows], ranks.columns)
    for row in cleared_upwards(done, pivots):
        scale = gcd(*row) * (1 if next(value for value in row if value) > 0 else -1)
        named.append({first_on[column]: value // scale for column, value in enumerate(row) if value})
    return (*named, *alike)


def sufficient(terminals: Terminals, ranks: Relations) -> tuple[tuple[str, ...], ...]:
    """Return every smallest choice of terminals whose speeds fix those of all; the others' torques fix all torques.

    Args:
        terminals: the train.
        ranks: its relations.
    """
    need = ranks.freedom
    return tuple(
        chosen
        for chosen in combinations(terminals.names, need)
        if ranks.rank_of(terminals.place(name) for name in chosen) == need
    )
