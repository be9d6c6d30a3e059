"""Speeds of every member and terminal from any sufficient set of given ones."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations

from gearkit.solve.several.given import Fixed, Given, fixed_by
from gearkit.solve.several.motions import Motions, motions
from gearkit.solve.speeds import Speed, pinion_speeds
from gearkit.train.layout import Layout
from gearkit.words.terms import HOUSING


@dataclass(frozen=True)
class GivenSpeeds:
    """What turns how fast when some speeds are given; None marks what they do not fix.

    Args:
        motions: what the applied elements leave free.
        given: member or terminal -> speed, in the unit of all others.
        of: speed of every member, shaft, machine and terminal.
        fixed_by: the same -> {given: factor}: its speed is the sum of factor * given speed; without an entry where it is
            not fixed, and empty where it stands still whatever is given.
        planets: speed of every pinion seen from the housing, where its teeth are known.
        slip: speed of an element's first shaft less that of its second.
        conflict: given speeds that cannot all be, a smallest such set; one alone stands still.
        missing: how many more speeds are needed to fix those of all terminals.
        would_do: choices of terminals, each of which would be enough beside what is given.
    """

    motions: Motions
    given: dict[str, Fraction]
    of: dict[str, Speed]
    fixed_by: dict[str, dict[str, Fraction]]
    planets: dict[str, Speed]
    slip: dict[str, Speed]
    conflict: tuple[str, ...]
    missing: int
    would_do: tuple[tuple[str, ...], ...]

    @property
    def enough(self) -> bool:
        """The speeds of all terminals are fixed, and nothing contradicts."""
        return not self.missing and not self.conflict

    @property
    def members(self) -> dict[str, Speed]:
        """The speed of every member of every set."""
        return {member: self.of[member] for member in self.motions.terminals.layout.members}


def speeds_given(layout: Layout, engaged: Iterable[str], given: Mapping[str, Fraction | int]) -> GivenSpeeds:
    """Return all speeds that given ones fix.

    Args:
        layout: any layout.
        engaged: names of the engaged elements.
        given: member or terminal -> speed; any number of them, in any unit.

    Raises:
        UsageError: the layout has no such element, member or terminal.

    >>> from gearkit.train.catalogue import find
    >>> speeds_given(find("bevel_differential"), [], {"input": 200, "left": 190}).of["right"]
    Fraction(210, 1)
    """
    return speeds_with_motions(motions(layout, engaged), given)


def speeds_with_motions(left_free: Motions, given: Mapping[str, Fraction | int]) -> GivenSpeeds:
    """Return the same where the motions are known already.

    Args:
        left_free: what the applied elements leave free.
        given: as in `speeds_given`.
    """
    terminals = left_free.terminals
    columns, layout = terminals.columns, terminals.layout
    amounts = {terminals.known(name, "speed"): Fraction(value) for name, value in given.items()}
    fixed = _fixed(left_free, amounts)
    of = {name: Fraction(0) if at == -1 else fixed.values[at] for name, at in columns.items() if name != HOUSING}
    factors = {name: {} if columns[name] == -1 else fixed.by[columns[name]] for name in of}
    by = {name: dict(parts) for name, parts in factors.items() if parts is not None}
    if fixed.conflict:
        # What contradictory values would fix is no answer.
        of, by = dict.fromkeys(of), {}
    members = {member: of[member] for member in layout.members}
    slip = {}
    for element in layout.elements:
        first, second = (Fraction(0) if shaft == HOUSING else of[shaft] for shaft in element.between)
        slip[element.name] = None if first is None or second is None else first - second
    would_do = () if fixed.conflict or not fixed.missing else _would_do(left_free, amounts, fixed.missing)
    planets = pinion_speeds(layout, members)[0]
    return GivenSpeeds(left_free, amounts, of, by, planets, slip, fixed.conflict, fixed.missing, would_do)


def straight_ahead(left_free: Motions) -> Fraction | None:
    """Return input speed / output speed where all outputs turn alike, as in a vehicle that drives straight ahead.

    Args:
        left_free: what the applied elements leave free, with one input.

    Returns:
        None with one output, where the outputs cannot all turn alike, and where the input does not follow from them.

    >>> from gearkit.train.catalogue import find
    >>> straight_ahead(motions(find("electric_reduction"), []))
    Fraction(48, 5)
    """
    terminals = left_free.terminals
    if len(set(terminals.outputs.values())) < 2:
        return None
    (inp,) = terminals.inputs
    return speeds_with_motions(left_free, dict.fromkeys(terminals.outputs, 1)).of[inp] or None


def _fixed(left_free: Motions, amounts: Mapping[str, Fraction]) -> Fixed:
    terminals = left_free.terminals
    given = []
    for name, value in amounts.items():
        over = [0] * (terminals.size + 1)  # the last place takes what stands still with the housing
        over[terminals.columns[name]] = 1
        given.append(Given(name, over[: terminals.size], value))
    counting = sorted(set(terminals.ends.values()))
    return fixed_by(terminals.rows(left_free.engaged), terminals.size, given, counting)


def _would_do(left_free: Motions, amounts: Mapping[str, Fraction], missing: int) -> tuple[tuple[str, ...], ...]:
    """Every smallest choice of further terminals that would be enough beside what is given."""
    free = [name for name in left_free.terminals.names if name not in amounts]
    return tuple(
        rest
        for rest in combinations(free, missing)
        if not _fixed(left_free, {**amounts, **dict.fromkeys(rest, Fraction(0))}).missing
    )
