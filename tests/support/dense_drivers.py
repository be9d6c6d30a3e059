"""An independent, plain solver in floating point for any number of terminals, to hold the exact one against.

Nothing of the kit's solver is used: every member, shaft and terminal has its own unknown, joins and applied elements their
own equations; what turns is told by singular values, torques by the principle of virtual work.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import Any

import numpy as np

from gearkit.train.layout import Layout
from tests.support.dense import set_equation

ZERO = 1e-9


class DenseTrain:
    """The motions that some applied elements leave.

    Args:
        layout: any layout.
        engaged: names of applied elements.
    """

    def __init__(self, layout: Layout, engaged: Sequence[str]) -> None:
        self.terminals = ["input", *layout.output_names, *(machine.name for machine in layout.machines)]
        names = [*(f"{p.name}.{m}" for p in layout.sets for m in ("sun", "carrier", "ring")), "housing", *self.terminals]
        self.place = {name: number for number, name in enumerate(names)}
        rows: list[Any] = []

        def row(entries: dict[str, float]) -> None:
            line = np.zeros(len(names))
            for name, value in entries.items():
                line[self.place[name]] += value
            rows.append(line)

        for pset in layout.sets:
            row({f"{pset.name}.{member}": value for member, value in set_equation(pset).items()})
        for join in layout.joins:
            for member in join[1:]:
                row({join[0]: 1.0, member: -1.0})
        for name in engaged:
            first, second = layout.element_named(name).between
            row({first: 1.0, second: -1.0})
        for machine in layout.machines:
            row({machine.name: 1.0, machine.shaft: -1.0})
        row({"housing": 1.0})
        _, sizes, vectors = np.linalg.svd(np.array(rows))
        self.motions = vectors[int((sizes > ZERO).sum()) :].T

    def rank(self, names: Sequence[str]) -> int:
        """How many independent motions some parts have."""
        block = self.motions[[self.place[name] for name in names]]
        return int((np.linalg.svd(block, compute_uv=False) > ZERO).sum()) if block.size else 0

    def speeds(self, given: dict[str, float]) -> dict[str, float]:
        """The speeds of all parts from enough given ones."""
        block = self.motions[[self.place[name] for name in given]]
        amounts = np.linalg.lstsq(block, np.array(list(given.values())), rcond=None)[0]
        return {name: float(self.motions[at] @ amounts) for name, at in self.place.items()}

    def torques(self, given: dict[str, float]) -> dict[str, float]:
        """The torques at all terminals from enough given ones: together they do no work in any motion."""
        rest = [name for name in self.terminals if name not in given]
        motions = {name: self.motions[self.place[name]] for name in self.terminals}
        against = -sum((value * motions[name] for name, value in given.items()), np.zeros(self.motions.shape[1]))
        if not rest:
            return dict(given)
        found = np.linalg.lstsq(np.array([motions[name] for name in rest]).T, against, rcond=None)[0]
        return {**given, **dict(zip(rest, (float(value) for value in found), strict=True))}

    def verdict_on(self, output: str, layout: Layout) -> str:
        """The verdict on one output, told again from ranks of sets of parts alone."""
        moved_in, moved_out = self.rank(["input"]), self.rank([output])
        if not moved_in or not moved_out:
            return {(0, 0): "tie-up", (0, 1): "input locked", (1, 0): "output locked"}[moved_in, moved_out]
        if self.rank(["input", output]) == 1:
            return "range"
        outputs = list(layout.output_names)
        deciding = [
            machine.name
            for machine in layout.machines
            if self.rank([*outputs, machine.name]) > self.rank(outputs) and self.rank(["input", machine.name]) > 1
        ]
        kinds = set()
        others = [*deciding, *(name for name in outputs if name != output)]
        for size in range(1, len(others) + 1):
            for chosen in combinations(others, size):
                group = ["input", output, *chosen]
                whole = self.rank(group)
                if whole == len(group) - 1 and all(self.rank([n for n in group if n != one]) == whole for one in group):
                    kinds.add((any(n in deciding for n in chosen), any(n in outputs for n in chosen)))
        if (True, False) in kinds:
            return "power split"
        if (False, True) in kinds:
            return "splits torque"
        return "both" if kinds else "neutral"
