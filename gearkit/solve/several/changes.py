"""Changes between the ranges of a layout with machines: at what speeds nothing slips.

A change from one range to another goes without slip where the elements of both can be applied at once. What they leave
together is that state: one speed ratio, several, or only standstill.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations

from gearkit.solve.several.motions import motions
from gearkit.solve.several.ranges import driving_choice
from gearkit.solve.several.speeds_given import speeds_with_motions
from gearkit.train.layout import Layout


@dataclass(frozen=True)
class Change:
    """A change between two ranges.

    Args:
        first: one range.
        second: the other.
        applied: elements that only the second applies.
        released: elements that only the first applies.
        synchronous: it can be made without slip while something turns.
        speed_ratio: output speed / input speed of that state, where there is one and the input turns.
        machine_speeds: machine -> speed for each turn of the input, as above.
    """

    first: str
    second: str
    applied: tuple[str, ...]
    released: tuple[str, ...]
    synchronous: bool
    speed_ratio: Fraction | None
    machine_speeds: dict[str, Fraction]


def changes(layout: Layout) -> tuple[Change, ...]:
    """Return every change between two ranges of a layout.

    Args:
        layout: any layout.
    """
    made = []
    for first, second in combinations(layout.ranges, 2):
        both = motions(layout, {*first.engaged, *second.engaged})
        terminals = both.terminals
        (inp,) = terminals.inputs
        applied = tuple(name for name in second.engaged if name not in first.engaged)
        released = tuple(name for name in first.engaged if name not in second.engaged)
        ratio, speeds = None, dict[str, Fraction]()
        if both.speeds_to_give == 1 and driving_choice(both) == (inp,):
            at = speeds_with_motions(both, {inp: 1}).of
            out = {at[name] for name in terminals.outputs}
            ratio = out.pop() if len(out) == 1 else None
            speeds = {name: value for name in terminals.machines if (value := at[name]) is not None}
        made.append(Change(first.name, second.name, applied, released, both.speeds_to_give > 0, ratio, speeds))
    return tuple(made)
