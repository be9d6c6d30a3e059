"""Which applied elements contradict each other: the fewest that already stop what all of them stop."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import comb

from gearkit.solve.mobility import assess
from gearkit.train.layout import Layout
from gearkit.words.terms import Verdict

_MOST_TRIALS = 400


def smallest_conflict(layout: Layout, engaged: Sequence[str]) -> tuple[str, ...]:
    """Return applied elements of which none can be spared without changing the verdict that all of them give.

    With few elements applied it is the smallest such choice, else one found by leaving out element after element.

    Args:
        layout: the layout.
        engaged: names of the engaged elements.
    """
    verdict = assess(layout, engaged).verdict
    if sum(comb(len(engaged), size) for size in range(len(engaged))) <= _MOST_TRIALS:
        for size in range(len(engaged)):
            for chosen in combinations(engaged, size):
                if assess(layout, chosen).verdict is verdict:
                    return chosen
        return tuple(engaged)
    kept = list(engaged)
    for name in engaged:
        rest = [other for other in kept if other != name]
        if assess(layout, rest).verdict is verdict:
            kept = rest
    return tuple(kept)


def odd_one_out(layout: Layout, conflict: Sequence[str]) -> str:
    """Return the element whose two sides would turn unlike if only the others of a conflict were applied.

    Any of them would do; one that leaves a range behind is easiest to tell.

    Args:
        layout: the layout.
        conflict: from `smallest_conflict`, not empty.
    """

    def rank(name: str) -> tuple[bool, int]:
        rest = [other for other in conflict if other != name]
        return assess(layout, rest).verdict is not Verdict.RANGE, -list(conflict).index(name)

    return min(conflict, key=rank)
