"""The ranges of a layout with any number of terminals: what each does, and its formulas.

Nobody applies a one-way clutch, and with several drivers none holds or lets go by the range alone. So here a clutch that
a range lists holds, any other is open; whoever knows the speeds sees by them what would have to turn the wrong way.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations

from gearkit.solve.loads.balance import push_sense
from gearkit.solve.one_way import one_way_clutches
from gearkit.solve.several.motions import Motions, motions
from gearkit.solve.several.relation import Relation, relation
from gearkit.solve.several.speeds_given import GivenSpeeds, speeds_with_motions
from gearkit.solve.several.torques_given import GivenTorques
from gearkit.text.phrases import listed
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import say, say_n
from gearkit.words.terms import FreeDirection, TrainVerdict

MOST_LISTED = 12


@dataclass(frozen=True)
class RangeMotions:
    """One range, or one combination of elements.

    Args:
        name: the range's name; empty for a combination without one.
        engaged: the elements that it lists.
        motions: what they leave free.
    """

    name: str
    engaged: tuple[str, ...]
    motions: Motions

    @property
    def note(self) -> str | None:
        """What must be known beside the verdict; None where nothing must."""
        left_free = self.motions
        if left_free.verdict is TrainVerdict.RANGE and not left_free.shares_fixed:
            return say("how torque is shared is not fixed by the train: grip or control decides")
        return None


def ranges(layout: Layout) -> tuple[RangeMotions, ...]:
    """Return every range of a layout.

    Args:
        layout: any layout.
    """
    return tuple(RangeMotions(item.name, item.engaged, motions(layout, item.engaged)) for item in layout.ranges)


def every_combination(layout: Layout) -> Iterator[RangeMotions]:
    """Yield every combination of elements, smallest first.

    Args:
        layout: any layout.

    Raises:
        UsageError: more elements than can be listed.
    """
    names = [element.name for element in layout.elements]
    if len(names) > MOST_LISTED:
        raise UsageError(
            f"{layout.name}: {len(names)} elements have {2 ** len(names)} combinations; with machines or several outputs "
            f"up to {MOST_LISTED} elements are listed. Ask for its ranges, or name more of them in the file."
        )
    named = {frozenset(item.engaged): item.name for item in layout.ranges}
    for size in range(len(names) + 1):
        for chosen in combinations(names, size):
            yield RangeMotions(named.get(frozenset(chosen), ""), chosen, motions(layout, chosen))


def driving_choice(left_free: Motions) -> tuple[str, ...]:
    """Return the terminals by whose speeds a range is best described: the input, then machines, as far as they suffice.

    Args:
        left_free: what the range leaves free.
    """
    terminals = left_free.terminals

    def worth(choice: tuple[str, ...]) -> tuple[int, int]:
        return sum(name in terminals.inputs for name in choice), sum(name in terminals.machines for name in choice)

    best = max(left_free.choices, key=worth, default=())
    order = [*terminals.inputs, *terminals.machines, *terminals.outputs]
    return tuple(sorted(best, key=order.index))


def formulas(left_free: Motions, driving: tuple[str, ...] | None = None) -> dict[str, Relation]:
    """Return the speed of every other terminal over driving ones, in tooth symbols, where formulas stand for it.

    Args:
        left_free: what a range leaves free.
        driving: terminals whose speeds fix all; the best choice when left out.
    """
    chosen = driving_choice(left_free) if driving is None else driving
    known = speeds_with_motions(left_free, dict.fromkeys(chosen, Fraction(1)))
    made = {}
    for name in left_free.terminals.names:
        if name not in chosen and name in known.fixed_by:
            factors = {terminal: known.fixed_by[name].get(terminal, Fraction(0)) for terminal in chosen}
            formula = relation(left_free.terminals, left_free.engaged, name, factors)
            if formula is not None:
                made[name] = formula
    return made


def one_way_note(speeds: GivenSpeeds) -> str | None:
    """Return which open one-way clutches the speeds would turn in their blocked direction; None where none.

    Args:
        speeds: all speeds of a state.
    """
    terminals = speeds.motions.terminals
    wrong = []
    for name, free in one_way_clutches(terminals.layout).items():
        slip = speeds.slip[name]
        if name in speeds.motions.engaged or not slip:
            continue
        # Its first part may turn in the free direction, seen from its second: that is the sense of the slip.
        if slip * (1 if free is FreeDirection.FORWARD else -1) < 0:
            wrong.append(name)
    if not wrong:
        return None
    return say_n(
        "{wrong} would have to turn in the blocked direction, so it holds: list it in the range",
        "{wrong} would have to turn in the blocked direction, so they hold: list it in the range",
        len(wrong),
        wrong=listed(wrong),
    )


def letting_go(torques: GivenTorques) -> str | None:
    """Return which one-way clutches that are taken to hold would have to push in their free direction; None where none.

    Args:
        torques: torques of a state.
    """
    terminals = torques.motions.terminals
    wrong = []
    for name in one_way_clutches(terminals.layout):
        torque = torques.elements.get(name)
        if torque and torque * push_sense(terminals.layout.element_named(name), terminals.columns) < 0:
            wrong.append(name)
    if not wrong:
        return None
    return say_n(
        "{wrong} would have to push in the free direction, so it lets go",
        "{wrong} would have to push in the free direction, so they let go",
        len(wrong),
        wrong=listed(wrong),
    )
