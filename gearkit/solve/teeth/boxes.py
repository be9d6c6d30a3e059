"""The search itself: boxes of quotients, halved until only designs are left that nothing can better.

A ratio depends on each set only by its quotient rho = R/S, and is a quotient of two expressions linear in every rho. So on
a box of quotients in which its denominator keeps its sign, it takes its extremes at the corners. That bounds from below the
error of every design in the box: boxes that cannot hold a better one are dropped, the others halved.

The error of a design is the largest relative deviation over the targets, ``|ratio/target - 1|``; where several
combinations of elements may serve one target, the nearest of them counts.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from typing import Any

from gearkit.solve.ratios import Ratio

_BLOCK = 1 << 14
# Floating point errs here by some 1e-13 of an error; boxes and designs nearer than this are not told apart by it.
_SLACK = 1e-9

Point = tuple[int, ...]
Report = Callable[[int, float], None]


@dataclass(frozen=True)
class Field:
    """What is searched: one axis for each group of equal sets, its values the quotients that may be had.

    Args:
        groups: the sets of each axis.
        values: the quotients of each axis, rising.
        weights: weights of every set, for one quotient (a number or an array) an axis.
        formulas: target -> ratios that may serve it.
        wanted: target -> wanted ratio.
        pairs: two axes, and as a table which pairs of their quotients may stand together.
        possible: whether a point may stand as a whole.
    """

    groups: Sequence[Sequence[str]]
    values: Sequence[Sequence[Fraction]]
    weights: Callable[[Sequence[Any]], dict[str, tuple[Any, Any]]]
    formulas: Mapping[str, Sequence[Ratio]]
    wanted: Mapping[str, Fraction]
    pairs: Sequence[tuple[int, int, Any]]
    possible: Callable[[Point], bool]


def best_points(field: Field, keep: int, most_boxes: int, report: Report | None) -> tuple[list[Point], int, bool]:
    """Return the points of the best designs, how many boxes were looked at, and whether the proof was finished.

    Args:
        field: what is searched.
        keep: how many designs are wanted.
        most_boxes: when to give up the proof.
        report: called now and then with the boxes looked at and the best error so far.
    """
    import numpy as np

    axes = [np.array([float(value) for value in values]) for values in field.values]
    best = _Best(keep)
    stack = [np.array([[(0, len(axis) - 1) for axis in axes]])]
    boxes = 0
    while stack:
        if boxes > most_boxes:
            return best.points(), boxes, False
        block = stack.pop()
        if len(block) > _BLOCK:
            stack.append(block[_BLOCK:])
            block = block[:_BLOCK]
        boxes += len(block)
        middle = block.sum(axis=2) // 2
        best.offer(_errors(field, axes, middle), middle, field.possible)
        bounds = _bounds(field, axes, block)
        open_boxes = (bounds <= best.limit + _SLACK) & (block[:, :, 0] < block[:, :, 1]).any(axis=1)
        block, bounds = block[open_boxes], bounds[open_boxes]
        if len(block):
            # The most promising boxes come last on the stack, and so are split first.
            stack.append(_split(block[np.argsort(-bounds, kind="stable")]))
        if report is not None:
            report(boxes, best.limit)
    return best.points(), boxes, True


def _errors(field: Field, axes: Sequence[Any], points: Any) -> Any:
    import numpy as np

    weights = field.weights([axis[points[:, place]] for place, axis in enumerate(axes)])
    worst = np.zeros(len(points))
    for name, formulas in field.formulas.items():
        nearest = np.full(len(points), np.inf)
        for formula in formulas:
            with np.errstate(divide="ignore", invalid="ignore"):
                top, bottom = formula.at(weights)
                error = np.abs(np.true_divide(top, bottom) / float(field.wanted[name]) - 1)
            nearest = np.minimum(nearest, np.where(np.isfinite(error), error, np.inf))
        worst = np.maximum(worst, nearest)
    for first, second, table in field.pairs:
        worst = np.where(table[points[:, first], points[:, second]], worst, np.inf)
    return worst


def _bounds(field: Field, axes: Sequence[Any], boxes: Any) -> Any:
    """What the error of every design in a box is at least."""
    import numpy as np

    lowest = np.zeros(len(boxes))
    for name, formulas in field.formulas.items():
        nearest = np.full(len(boxes), np.inf)
        for formula in formulas:
            ends = extremes(field, axes, boxes, formula)
            # A negative target changes the two ends over.
            first, last = (end / float(field.wanted[name]) for end in ends[:2])
            least, most, steady = np.fmin(first, last), np.fmax(first, last), ends[2]
            error = np.maximum(0, np.maximum(least - 1, 1 - most))
            nearest = np.minimum(nearest, np.where(steady, error, 0.0))
        lowest = np.maximum(lowest, nearest)
    for first, second, table in field.pairs:
        # How many pairs of a box can have the common gear, from sums over corners of the table.
        sums = np.pad(table.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
        (low, high), (left, right) = boxes[:, first].T, boxes[:, second].T
        inside = sums[high + 1, right + 1] - sums[low, right + 1] - sums[high + 1, left] + sums[low, left]
        lowest = np.where(inside > 0, lowest, np.inf)
    return lowest


def extremes(field: Field, axes: Sequence[Any], boxes: Any, formula: Ratio) -> tuple[Any, Any, Any]:
    """Return the least and the largest value of a ratio on each box, and where its denominator keeps its sign.

    Args:
        field: what is searched.
        axes: the values of each axis as arrays.
        boxes: first and last place on each axis, one row a box.
        formula: the ratio.
    """
    import numpy as np

    own = [place for place, group in enumerate(field.groups) if set(group) & set(formula.sets)]
    names = [n for n in formula.sets if any(n in group for group in field.groups)]
    least, most = np.full(len(boxes), np.inf), np.full(len(boxes), -np.inf)
    signs = []
    # Sets that are the same parts get corners of their own: that only widens the box.
    for corner in product((0, 1), repeat=len(names)):
        chosen = dict(zip(names, corner, strict=True))
        weights = field.weights([axis[boxes[:, place, 0]] for place, axis in enumerate(axes)])
        for place in own:
            for n in set(field.groups[place]) & set(names):
                weights[n] = (weights[n][0], axes[place][boxes[:, place, chosen[n]]])
        with np.errstate(divide="ignore", invalid="ignore"):
            top, bottom = formula.at(weights)
            value = np.true_divide(top, bottom)
        size = np.abs(bottom) > _SLACK * (1 + np.abs(top))
        signs.append(np.where(size, np.sign(bottom), 0.0) + np.zeros(len(boxes)))
        least, most = np.fmin(least, value), np.fmax(most, value)
    return least, most, np.abs(np.sum(signs, axis=0)) == len(signs)


class _Best:
    """The best designs so far, with everything that is too near to the last of them to be told apart."""

    def __init__(self, keep: int) -> None:
        self.keep = keep
        self.limit = float("inf")
        self._found: dict[tuple[int, ...], float] = {}

    def offer(self, errors: Any, points: Any, possible: Callable[[tuple[int, ...]], bool]) -> None:
        import numpy as np

        for index in np.flatnonzero((errors <= self.limit + _SLACK) & np.isfinite(errors)):
            point = tuple(int(value) for value in points[index])
            if not possible(point):
                continue
            self._found[point] = float(errors[index])
            if len(self._found) > 4 * self.keep + 1000:
                self._trim()
        self._trim()

    def _trim(self) -> None:
        ordered = sorted(self._found.items(), key=lambda item: item[1])
        if len(ordered) >= self.keep:
            self.limit = ordered[self.keep - 1][1]
        self._found = dict(item for item in ordered if item[1] <= self.limit + _SLACK)

    def points(self) -> list[tuple[int, ...]]:
        return list(self._found)


def _split(boxes: Any) -> Any:
    """Halve every box along its longest side."""
    import numpy as np

    rows = np.arange(len(boxes))
    side = (boxes[:, :, 1] - boxes[:, :, 0]).argmax(axis=1)
    middle = boxes[rows, side].sum(axis=1) // 2
    low, high = boxes.copy(), boxes.copy()
    low[rows, side, 1] = middle
    high[rows, side, 0] = middle + 1
    return np.stack([low, high], axis=1).reshape(-1, *boxes.shape[1:])
