"""The search itself: boxes of quotients, halved until only designs are left that nothing can better.

A ratio depends on each set only by its quotient rho = R/S, and is a quotient of two expressions linear in every rho. So on
a box of quotients in which its denominator keeps its sign, it takes its extremes at the corners. That bounds from below the
error of every design in the box: boxes that cannot hold a better one are dropped, the others halved.

The error of a design is the largest relative deviation over the targets, ``|ratio/target - 1|``; where several
combinations of elements may serve one target, the nearest of them counts. Often some of the sets alone decide the largest
deviation, and the others could be anything; so among designs with the same one, the smaller sum of all deviations is better.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import product
from typing import Any

from gearkit.solve.ratios import Ratio

_BLOCK = 1 << 14
_TRIALS = 4000
# Floating point errs here by some 1e-13 of an error; boxes and designs nearer than this are not told apart by it.
_SLACK = 1e-9
# Largest deviations that differ by less than this come from the same corner of the same ratio.
_SAME = 1e-12

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
    whole = np.array([[(0, len(axis) - 1) for axis in axes]])
    if any(len(formulas) > 1 for formulas in field.formulas.values()):
        field = _without_hopeless(field, axes, whole, best)
    stack = [whole]
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
        open_boxes = best.may_be_beaten(*bounds) & (block[:, :, 0] < block[:, :, 1]).any(axis=1)
        block, lowest, sums = block[open_boxes], bounds[0][open_boxes], bounds[1][open_boxes]
        if len(block):
            # The most promising boxes come last on the stack, and so are split first.
            stack.append(_split(block[np.lexsort((-sums, -lowest))]))
        if report is not None:
            report(boxes, best.limit)
    return best.points(), boxes, True


def _without_hopeless(field: Field, axes: Sequence[Any], whole: Any, best: _Best) -> Field:
    """Leave out what can serve a target nowhere as well as designs met by chance serve all of them."""
    import numpy as np

    seeded = np.random.default_rng(1)
    points = np.stack([seeded.integers(0, len(axis), _TRIALS) for axis in axes], axis=1)
    best.offer(_errors(field, axes, points), points, field.possible)
    kept = {}
    for name, formulas in field.formulas.items():
        bounds = [_bounds(replace(field, formulas={name: [formula]}, pairs=()), axes, whole)[0][0] for formula in formulas]
        kept[name] = [formula for formula, bound in zip(formulas, bounds, strict=True) if bound <= best.limit + _SLACK]
    return replace(field, formulas=kept)


def _errors(field: Field, axes: Sequence[Any], points: Any) -> tuple[Any, Any]:
    """The largest deviation at each point, and the sum of all."""
    import numpy as np

    weights = field.weights([axis[points[:, place]] for place, axis in enumerate(axes)])
    worst, total = np.zeros(len(points)), np.zeros(len(points))
    known: dict[int, Any] = {}
    for name, formulas in field.formulas.items():
        nearest = np.full(len(points), np.inf)
        for formula in formulas:
            # Several targets may choose among the same ratios; each is worked out once.
            if id(formula) not in known:
                with np.errstate(divide="ignore", invalid="ignore"):
                    known[id(formula)] = np.true_divide(*formula.at(weights))
            error = np.abs(known[id(formula)] / float(field.wanted[name]) - 1)
            nearest = np.fmin(nearest, error)
        worst, total = np.maximum(worst, nearest), total + nearest
    for first, second, table in field.pairs:
        worst = np.where(table[points[:, first], points[:, second]], worst, np.inf)
    return worst, total


def _bounds(field: Field, axes: Sequence[Any], boxes: Any) -> tuple[Any, Any]:
    """What the largest deviation of every design in a box is at least, and the sum of all."""
    import numpy as np

    lowest, total = np.zeros(len(boxes)), np.zeros(len(boxes))
    known: dict[int, tuple[Any, Any, Any]] = {}
    for name, formulas in field.formulas.items():
        nearest = np.full(len(boxes), np.inf)
        for formula in formulas:
            if id(formula) not in known:
                known[id(formula)] = extremes(field, axes, boxes, formula)
            ends = known[id(formula)]
            # A negative target changes the two ends over.
            first, last = (end / float(field.wanted[name]) for end in ends[:2])
            least, most, steady = np.fmin(first, last), np.fmax(first, last), ends[2]
            error = np.maximum(0, np.maximum(least - 1, 1 - most))
            nearest = np.minimum(nearest, np.where(steady, error, 0.0))
        lowest, total = np.maximum(lowest, nearest), total + nearest
    for first, second, table in field.pairs:
        # How many pairs of a box can have the common gear, from sums over corners of the table.
        sums = np.pad(table.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
        (low, high), (left, right) = boxes[:, first].T, boxes[:, second].T
        inside = sums[high + 1, right + 1] - sums[low, right + 1] - sums[high + 1, left] + sums[low, left]
        lowest = np.where(inside > 0, lowest, np.inf)
    return lowest, total


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
        self.limit = self.limit_sum = float("inf")
        self._best: dict[Point, tuple[float, float]] = {}

    def may_be_beaten(self, lowest: Any, sums: Any) -> Any:
        """Where designs with such deviations at least may be better than the last of the best, or as good."""
        return (lowest <= self.limit + _SLACK) & ~((lowest >= self.limit - _SAME) & (sums > self.limit_sum + _SLACK))

    def offer(self, deviations: tuple[Any, Any], points: Any, possible: Callable[[Point], bool]) -> None:
        import numpy as np

        errors, sums = deviations
        wanted = np.flatnonzero(self.may_be_beaten(errors, sums) & np.isfinite(errors))
        for index in wanted[np.lexsort((sums[wanted], errors[wanted]))]:
            if not self.may_be_beaten(errors[index], sums[index]):
                continue
            point = tuple(int(value) for value in points[index])
            if not possible(point):
                continue
            self._best[point] = float(errors[index]), float(sums[index])
            if len(self._best) > 4 * self.keep + 1000 or len(self._best) <= self.keep:
                self._trim()
        self._trim()

    def _trim(self) -> None:
        ordered = sorted(self._best.items(), key=lambda item: item[1])
        if len(ordered) >= self.keep:
            self.limit = ordered[self.keep - 1][1][0]
            level = sorted(total for error, total in self._best.values() if error <= self.limit + _SAME)
            self.limit_sum = level[self.keep - 1]
        self._best = dict(item for item in ordered if self.may_be_beaten(*item[1]))

    def points(self) -> list[Point]:
        return list(self._best)


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
