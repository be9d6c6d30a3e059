"""Tooth counts for target ratios, with a proof that none are better.

A ratio depends on each set only by its quotient rho = R/S, and is a quotient of two expressions linear in every rho. So on
a box of quotients in which its denominator keeps its sign, it takes its extremes at the corners. That bounds from below the
error of every design in the box: boxes that cannot hold a better one are dropped, the others split, until single designs
are left. What was dropped was too far off, so the best design found is the best there is; it is worked out again exactly.

The error of a design is the largest relative deviation over the targets, ``|ratio/target - 1|``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations, product
from math import prod
from typing import Any

from gearkit.solve.one_way import in_range
from gearkit.solve.ratios import Ratio, ratio
from gearkit.solve.teeth.common_gears import common_gears
from gearkit.solve.teeth.gear_choices import SEARCHED, GearChoice, Limits, choices
from gearkit.solve.teeth.wishes import direct_drive_wishes, wrong_signs
from gearkit.text.phrases import listed
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError

MOST_BOXES = 50_000_000
MOST_KEPT = 100
_BLOCK = 1 << 14
# Floating point errs here by some 1e-13 of an error; boxes and designs nearer than this are not told apart by it.
_SLACK = 1e-9

Report = Callable[[int, float], None]


@dataclass(frozen=True)
class Targets:
    """What is wanted of a layout.

    Args:
        layout: its joins, elements and ranges; its tooth counts stay where they are not searched.
        ratios: range -> wanted ratio.
        limits: set -> limits; sets not named have the default ones.
        fixed: sets that keep the layout's tooth counts.
        same: groups of sets that are to be the same parts.

    Raises:
        UsageError: no target, an unknown range or set, a target of 0, or parts that cannot be the same.
    """

    layout: Layout
    ratios: Mapping[str, Fraction]
    limits: Mapping[str, Limits]
    fixed: tuple[str, ...] = ()
    same: tuple[tuple[str, ...], ...] = ()

    def __post_init__(self) -> None:
        if not self.ratios:
            raise UsageError("No targets: give at least one range with its ratio.")
        for name, wanted in self.ratios.items():
            self.layout.range_named(name)
            if wanted == 0:
                raise UsageError(f"Target {name}: 0; a ratio is never 0.")
        for name in (*self.limits, *self.fixed, *(name for group in self.same for name in group)):
            self.layout.set_named(name)
        for group in self.same:
            if len({self.layout.set_named(name).pinions for name in group}) > 1 or set(group) & set(self.fixed):
                raise UsageError(f"{listed(group)} cannot be the same parts: of different kind, or one of them fixed.")


@dataclass(frozen=True)
class Design:
    """Tooth counts with what they give.

    Args:
        teeth: set -> its tooth counts.
        alike: set -> other tooth counts with the same quotient, which give the very same ratios.
        ratios: range -> ratio.
        errors: range -> ratio / target - 1.
        layout: the layout with these tooth counts.
    """

    teeth: dict[str, GearChoice]
    alike: dict[str, tuple[GearChoice, ...]]
    ratios: dict[str, Fraction]
    errors: dict[str, Fraction]
    layout: Layout

    @property
    def worst(self) -> Fraction:
        """The largest relative deviation from a target."""
        return max(abs(error) for error in self.errors.values())


@dataclass(frozen=True)
class Search:
    """What a search found.

    Args:
        targets: what was wanted.
        designs: the best designs, best first.
        proved: no other design within the limits is better than the first (nor than the last of those listed).
        combinations: how many combinations of quotients the limits allow.
        boxes: how many boxes were looked at.
        free: sets on which no target depends; they keep the layout's tooth counts.
    """

    targets: Targets
    designs: tuple[Design, ...]
    proved: bool
    combinations: int
    boxes: int
    free: tuple[str, ...]


def search(targets: Targets, keep: int = 1, most_boxes: int = MOST_BOXES, report: Report | None = None) -> Search:
    """Return the tooth counts that come nearest to the targets, and whether that is proved.

    Args:
        targets: what is wanted.
        keep: how many of the best designs to return, 1 to 100.
        most_boxes: when to give up the proof.
        report: called now and then with the boxes looked at and the best error so far.

    Raises:
        UsageError: a target range that is no range, no set left to search, or limits that nothing meets.
    """
    if not 1 <= keep <= MOST_KEPT:
        raise UsageError(f"Keep {keep} designs: give a number from 1 to {MOST_KEPT}.")
    problem = _Problem(targets)
    points, boxes, proved = problem.best(keep, most_boxes, report)
    designs = sorted((problem.design(point) for point in points), key=lambda design: design.worst)
    if not designs:
        raise UsageError("No design: at no tooth counts within the limits do all target ranges have a ratio.")
    wrong_signs(designs[0].ratios, targets.ratios)
    number = prod(len(values) for values in problem.values)
    return Search(targets, tuple(designs[:keep]), proved, number, boxes, problem.free)


class _Problem:
    """The search in numbers: one axis a group of equal sets, its values the quotients that may be had."""

    def __init__(self, targets: Targets) -> None:
        self.targets = targets
        self.formulas = {name: _formula(targets.layout, name) for name in targets.ratios}
        used = {name for found in self.formulas.values() for name in found.sets}
        searched = [
            p.name
            for p in targets.layout.sets
            if p.name in used and p.name not in targets.fixed and p.pinions in SEARCHED
        ]
        direct_drive_wishes(self.formulas, targets.ratios)
        self.free = tuple(p.name for p in targets.layout.sets if p.name not in used)
        if not searched:
            raise UsageError("No set to search: the targets depend on none whose tooth counts may change.")
        self.groups = _groups(searched, targets.same)
        self.common = common_gears(targets.layout)
        self.choices = [self._choices(group) for group in self.groups]
        self.values = [list(found) for found in self.choices]
        self._pairs = self._common_pairs()

    def _choices(self, group: Sequence[str]) -> dict[Fraction, tuple[GearChoice, ...]]:
        found = [self._own_choices(name) for name in group]
        # Parts that are the same must meet the limits of every set they serve.
        shared = {q: tuple(c for c in found[0][q] if all(c in other.get(q, ()) for other in found)) for q in found[0]}
        kept = {quotient: alike for quotient, alike in shared.items() if alike}
        if not kept:
            raise UsageError(f"No tooth counts meet the limits of {listed(group)} together; widen them.")
        return kept

    def _own_choices(self, name: str) -> dict[Fraction, tuple[GearChoice, ...]]:
        """What one set may have; a gear that it has in common with a set that stays, stays too."""
        layout = self.targets.layout
        try:
            found = choices(layout.set_named(name).pinions, self.targets.limits.get(name, Limits()))
        except UsageError as fault:
            raise UsageError(f"{name}: {fault}") from None
        searched = {member for group in self.groups for member in group}
        for gear in self.common:
            kept = [layout.set_named(other) for other in gear.sets if other not in searched] if name in gear.sets else []
            for other in kept:
                teeth = other.sun_teeth if gear.member == "sun" else other.ring_teeth
                found = {q: same for q, some in found.items() if (same := tuple(c for c in some if gear.teeth(c) == teeth))}
                if not found:
                    raise UsageError(f"{name}: its {gear.member} is the {gear.member} of {other.name}, which stays at {teeth} teeth, "
                                     f"and no such set meets its limits; widen them, or let {other.name} be searched.")
        return found

    def _common_pairs(self) -> list[tuple[int, int, Any]]:
        """For two axes whose sets have a gear in common: which pairs of quotients can have it, as a table."""
        import numpy as np

        axis_of = {name: place for place, group in enumerate(self.groups) for name in group}
        found = []
        for gear in self.common:
            places = sorted({axis_of[name] for name in gear.sets if name in axis_of})
            for first, second in combinations(places, 2):
                keys = [[{gear.key(c) for c in self.choices[place][q]} for q in self.values[place]] for place in (first, second)]
                table = np.array([[not one.isdisjoint(other) for other in keys[1]] for one in keys[0]])
                if not table.any():
                    raise UsageError(f"{listed(gear.sets)} have one {gear.member}, and no number of its teeth and of planets meets "
                                     "the limits of all of them; widen the limits.")
                found.append((first, second, table))
        return found

    def _options(self, point: Sequence[int]) -> dict[str, tuple[GearChoice, ...]] | None:
        """What each set may have at a point, with gears that sets have in common alike; None where that cannot be."""
        options = {
            name: found[values[index]]
            for group, found, values, index in zip(self.groups, self.choices, self.values, point, strict=True)
            for name in group
        }
        for gear in self.common:
            names = [name for name in gear.sets if name in options]
            keys = set.intersection(*({gear.key(c) for c in options[name]} for name in names)) if names else set()
            if names and not keys:
                return None
            if len(names) > 1:
                # The smallest gear that serves all of them; what else would do for one set alone is no choice here.
                key = min(keys)
                options.update({name: tuple(c for c in options[name] if gear.key(c) == key) for name in names})
        return options

    def weights(self, quotients: Sequence[Any]) -> dict[str, tuple[Any, Any]]:
        """Weights of every set, for the quotients of the groups; only their proportion matters."""
        known: dict[str, tuple[Any, Any]] = {p.name: p.weights for p in self.targets.layout.sets}
        for group, quotient in zip(self.groups, quotients, strict=True):
            for name in group:
                sign = 1 if self.targets.layout.set_named(name).weights[0] > 0 else -1
                known[name] = (sign, quotient)
        return known

    def design(self, point: tuple[int, ...]) -> Design:
        quotients = [values[index] for values, index in zip(self.values, point, strict=True)]
        options = self._options(point)
        assert options is not None, "only points at which common gears are alike are kept"
        teeth = {p.name: options[p.name][0] for p in self.targets.layout.sets if p.name in options}
        alike = {name: options[name][1:] for name in teeth}
        weights = self.weights(quotients)
        ratios = {}
        for name, formula in self.formulas.items():
            top, bottom = formula.at(weights)
            ratios[name] = Fraction(top) / Fraction(bottom)
        errors = {name: ratios[name] / wanted - 1 for name, wanted in self.targets.ratios.items()}
        return Design(teeth, alike, ratios, errors, _rebuilt(self.targets.layout, teeth))

    def best(self, keep: int, most_boxes: int, report: Report | None) -> tuple[list[tuple[int, ...]], int, bool]:
        """The points of the best designs, how many boxes were looked at, and whether the proof was finished."""
        import numpy as np

        axes = [np.array([float(value) for value in values]) for values in self.values]
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
            best.offer(self._errors(axes, middle), middle, lambda point: self._options(point) is not None)
            bounds = self._bounds(axes, block)
            open_boxes = (bounds <= best.limit + _SLACK) & (block[:, :, 0] < block[:, :, 1]).any(axis=1)
            block, bounds = block[open_boxes], bounds[open_boxes]
            if len(block):
                # The most promising boxes come last on the stack, and so are split first.
                stack.append(_split(block[np.argsort(-bounds, kind="stable")]))
            if report is not None:
                report(boxes, best.limit)
        return best.points(), boxes, True

    def _errors(self, axes: Sequence[Any], points: Any) -> Any:
        import numpy as np

        weights = self.weights([axis[points[:, place]] for place, axis in enumerate(axes)])
        worst = np.zeros(len(points))
        for name, formula in self.formulas.items():
            with np.errstate(divide="ignore", invalid="ignore"):
                top, bottom = formula.at(weights)
                error = np.abs(top / bottom / float(self.targets.ratios[name]) - 1)
            worst = np.maximum(worst, np.where(np.isfinite(error), error, np.inf))
        for first, second, table in self._pairs:
            worst = np.where(table[points[:, first], points[:, second]], worst, np.inf)
        return worst

    def _bounds(self, axes: Sequence[Any], boxes: Any) -> Any:
        """What the error of every design in a box is at least."""
        import numpy as np

        lowest = np.zeros(len(boxes))
        for name, formula in self.formulas.items():
            own = [place for place, group in enumerate(self.groups) if set(group) & set(formula.sets)]
            names = [n for n in formula.sets if any(n in group for group in self.groups)]
            least, most = np.full(len(boxes), np.inf), np.full(len(boxes), -np.inf)
            signs = []
            # Sets that are the same parts get corners of their own: that only widens the box.
            for corner in product((0, 1), repeat=len(names)):
                chosen = dict(zip(names, corner, strict=True))
                weights = self.weights([axis[boxes[:, place, 0]] for place, axis in enumerate(axes)])
                for place in own:
                    for n in set(self.groups[place]) & set(names):
                        weights[n] = (weights[n][0], axes[place][boxes[:, place, chosen[n]]])
                with np.errstate(divide="ignore", invalid="ignore"):
                    top, bottom = formula.at(weights)
                    value = top / bottom / float(self.targets.ratios[name])
                size = np.abs(bottom) > _SLACK * (1 + np.abs(top))
                signs.append(np.where(size, np.sign(bottom), 0.0) + np.zeros(len(boxes)))
                least, most = np.fmin(least, value), np.fmax(most, value)
            steady = np.abs(np.sum(signs, axis=0)) == len(signs)
            error = np.maximum(0, np.maximum(least - 1, 1 - most))
            lowest = np.maximum(lowest, np.where(steady, error, 0.0))
        for first, second, table in self._pairs:
            # How many pairs of a box can have the common gear, from sums over corners of the table.
            sums = np.pad(table.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
            (low, high), (left, right) = boxes[:, first].T, boxes[:, second].T
            inside = sums[high + 1, right + 1] - sums[low, right + 1] - sums[high + 1, left] + sums[low, left]
            lowest = np.where(inside > 0, lowest, np.inf)
        return lowest


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


def _formula(layout: Layout, range_name: str) -> Ratio:
    found = ratio(layout, in_range(layout, range_name).engaged)
    if found is None:
        raise UsageError(f"Target {range_name}: the layout has no ratio there. Choose ranges that drive.")
    return found


def _groups(searched: Sequence[str], same: Sequence[Sequence[str]]) -> list[list[str]]:
    """Sets that are the same parts, together; each set in one group."""
    groups: list[set[str]] = [{name} for name in searched]
    for alike in same:
        joined = [group for group in groups if group & set(alike)]
        groups = [group for group in groups if group not in joined] + ([set().union(*joined)] if joined else [])
    return sorted(([n for n in searched if n in group] for group in groups), key=lambda g: searched.index(g[0]))


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


def _rebuilt(layout: Layout, teeth: Mapping[str, GearChoice]) -> Layout:
    sets = tuple(teeth[p.name].built_into(p) if p.name in teeth else p for p in layout.sets)
    ranges = tuple(replace(item, published_ratio="") for item in layout.ranges)
    return replace(layout, sets=sets, ranges=ranges, text="", file="")
