"""Torques in balance at any number of terminals: the speed equations transposed, for given losses.

Unknown are one torque a set, one an applied element and one a terminal; every shaft gives an equation. As in
`gearkit.solve.loads.balance` a set's torques stand as ``T_sun : T_ring : T_carrier = a : b' : -(a + b')`` with
``b' = b*eta**w``. A given torque is one equation more, and so is a battery at rest: the machines' electrical powers, each
``torque * speed * eta**-w`` with w = +1 for a machine that drives, add to zero.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from gearkit.solve.exact.linear import solve
from gearkit.solve.loads.balance import sides_of
from gearkit.solve.several.given import Fixed, Given, fixed_by
from gearkit.solve.several.terminals import Terminals
from gearkit.words.errors import UsageError
from gearkit.words.terms import MEMBERS

Torque = Fraction | None
BATTERY = "battery at rest"


@dataclass(frozen=True)
class Balance:
    """Torques in balance; None marks one that balance alone does not fix.

    Args:
        members: torque on every member of every set.
        elements: torque of every applied element on its turning part.
        terminals: torque from outside at every terminal.
    """

    members: dict[str, Torque]
    elements: dict[str, Torque]
    terminals: dict[str, Torque]

    @property
    def complete(self) -> bool:
        """Balance fixes every torque."""
        return None not in (*self.members.values(), *self.elements.values(), *self.terminals.values())


@dataclass(frozen=True)
class Question:
    """What is given of the torques of a train.

    Args:
        terminals: the train.
        engaged: names of the engaged elements, in the layout's order.
        given: terminal, or member of a set -> torque on it.
        at_rest: {machine: speed} where the machines' powers add to zero; empty where that is not asked.
    """

    terminals: Terminals
    engaged: tuple[str, ...]
    given: Mapping[str, Fraction]
    at_rest: Mapping[str, Fraction]

    @property
    def sets(self) -> int:
        """How many unknowns belong to sets; those of elements and terminals follow."""
        return len(self.terminals.layout.sets)

    @property
    def unknowns(self) -> int:
        """How many unknowns there are."""
        return self.sets + len(self.engaged) + len(self.terminals.names)

    @property
    def first_terminal(self) -> int:
        """The place of the first terminal's torque."""
        return self.sets + len(self.engaged)

    def shares(self, ring_factors: Mapping[str, Fraction]) -> list[dict[str, Fraction | int]]:
        """Return what each set's unknown puts on its members.

        Args:
            ring_factors: set -> eta**w; 1 where left out.
        """
        shares: list[dict[str, Fraction | int]] = []
        for pset in self.terminals.layout.sets:
            sun, ring = pset.weights
            rolled = ring * ring_factors.get(pset.name, 1)
            shares.append({"sun": sun, "carrier": -(sun + rolled), "ring": rolled})
        return shares

    def balance_rows(self, shares: Sequence[Mapping[str, Fraction | int]]) -> list[list[Fraction | int]]:
        """Return the balance of every shaft.

        Args:
            shares: from `shares`.
        """
        terminals = self.terminals
        columns, layout = terminals.columns, terminals.layout
        rows: list[list[Fraction | int]] = [[0] * self.unknowns for _ in range(terminals.size + 1)]  # the housing's is last
        for number, (pset, share) in enumerate(zip(layout.sets, shares, strict=True)):
            for member, part in share.items():
                rows[columns[f"{pset.name}.{member}"]][number] -= part
        for number, name in enumerate(self.engaged, start=self.sets):
            turning, other = sides_of(layout.element_named(name), columns)
            rows[columns[turning]][number] += 1
            rows[columns[other]][number] -= 1
        for number, name in enumerate(terminals.names, start=self.first_terminal):
            rows[terminals.ends[name]][number] += 1
        return rows[: terminals.size]

    def over(self, name: str, shares: Sequence[Mapping[str, Fraction | int]]) -> list[Fraction | int]:
        """Return the torque on a terminal or member as coefficients over the unknowns.

        Args:
            name: the terminal or member.
            shares: from `shares`.

        Raises:
            UsageError: no such terminal or member of a set.
        """
        row: list[Fraction | int] = [0] * self.unknowns
        if name in self.terminals.names:
            row[self.first_terminal + self.terminals.names.index(name)] = 1
            return row
        if name not in self.terminals.layout.members:
            known = (*self.terminals.names, *self.terminals.layout.members)
            raise UsageError(
                f"{self.terminals.layout.name}: torque given for {name[:40]!r}; it can be given for: {', '.join(known)}."
            )
        set_name, _, member = name.partition(".")
        number = [pset.name for pset in self.terminals.layout.sets].index(set_name)
        row[number] = shares[number][member]
        return row

    def battery_row(self, machine_factors: Mapping[str, Fraction]) -> list[Fraction | int]:
        """Return the machines' electrical power as coefficients over the unknowns.

        Args:
            machine_factors: machine -> electrical power / shaft power; 1 where left out.
        """
        row: list[Fraction | int] = [0] * self.unknowns
        for name, speed in self.at_rest.items():
            row[self.first_terminal + self.terminals.names.index(name)] = speed * machine_factors.get(name, 1)
        return row

    @cached_property
    def lossless_shares(self) -> Fixed:
        """What the given torques fix at the terminals, and by which shares; without losses."""
        shares = self.shares({})
        given = [Given(name, self.over(name, shares), value) for name, value in self.given.items()]
        if self.at_rest:
            given.append(Given(BATTERY, self.battery_row({}), Fraction(0)))
        return fixed_by(self.balance_rows(shares), self.unknowns, given, range(self.first_terminal, self.unknowns))

    def balance(
        self, ring_factors: Mapping[str, Fraction] | None = None, machine_factors: Mapping[str, Fraction] | None = None
    ) -> Balance | None:
        """Return the torques in balance, None where none are.

        Args:
            ring_factors: set -> eta**w; 1 where left out.
            machine_factors: machine -> electrical power / shaft power; 1 where left out.
        """
        shares = self.shares(ring_factors or {})
        rows = self.balance_rows(shares)
        sides: list[Fraction | int] = [0] * len(rows)
        for name, torque in self.given.items():
            rows.append(self.over(name, shares))
            sides.append(torque)
        if self.at_rest:
            rows.append(self.battery_row(machine_factors or {}))
            sides.append(0)
        values = solve(rows, sides)
        if values is None:
            return None
        members: dict[str, Torque] = {}
        for pset, share, value in zip(self.terminals.layout.sets, shares, values, strict=False):
            for member in MEMBERS:
                # A carrier whose share is 0 carries nothing, however large the unknown is.
                known = Fraction(0) if not share[member] else None if value is None else share[member] * value
                members[f"{pset.name}.{member}"] = known
        return Balance(
            members,
            dict(zip(self.engaged, values[self.sets : self.first_terminal], strict=True)),
            dict(zip(self.terminals.names, values[self.first_terminal :], strict=True)),
        )
