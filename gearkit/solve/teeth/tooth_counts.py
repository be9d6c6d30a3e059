"""Tooth counts for target ratios, with a proof that none are better.

What may be chosen for each set is searched as a whole (`boxes` says how, and why what it finds is the best there is);
the best designs are worked out again exactly.

The error of a design is the largest relative deviation over the targets, ``|ratio/target - 1|``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import combinations
from math import prod
from typing import Any

from gearkit.solve.one_way import in_range
from gearkit.solve.ratios import Ratio, ratio
from gearkit.solve.teeth.boxes import Field, Point, Report, best_points
from gearkit.solve.teeth.common_gears import common_gears
from gearkit.solve.teeth.gear_choices import SEARCHED, GearChoice, Limits, choices
from gearkit.solve.teeth.wishes import direct_drive_wishes, wrong_signs
from gearkit.text.phrases import listed
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError

MOST_BOXES = 50_000_000
MOST_KEPT = 100


@dataclass(frozen=True)
class Targets:
    """What is wanted of a layout.

    Args:
        layout: its joins, elements and ranges; its tooth counts stay where they are not searched.
        ratios: range -> wanted ratio.
        limits: set -> limits; sets not named have the default ones.
        fixed: sets that keep the layout's tooth counts.
        same: groups of sets that are to be the same parts.
        chosen_from: target -> combinations of elements, of which the search may choose; its name need be no range then.

    Raises:
        UsageError: no target, an unknown range or set, a target of 0, or parts that cannot be the same.
    """

    layout: Layout
    ratios: Mapping[str, Fraction]
    limits: Mapping[str, Limits]
    fixed: tuple[str, ...] = ()
    same: tuple[tuple[str, ...], ...] = ()
    chosen_from: Mapping[str, Sequence[tuple[str, ...]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if not self.ratios:
            raise UsageError("No targets: give at least one range with its ratio.")
        for name, wanted in self.ratios.items():
            if name not in self.chosen_from:
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
        engaged: range -> the elements applied in it.
    """

    teeth: dict[str, GearChoice]
    alike: dict[str, tuple[GearChoice, ...]]
    ratios: dict[str, Fraction]
    errors: dict[str, Fraction]
    layout: Layout
    engaged: dict[str, tuple[str, ...]]

    @property
    def worst(self) -> Fraction:
        """The largest relative deviation from a target."""
        return max(abs(error) for error in self.errors.values())

    @property
    def total(self) -> Fraction:
        """The sum of all relative deviations; the smaller one is better where the largest are alike."""
        return sum((abs(error) for error in self.errors.values()), Fraction(0))


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
    points, boxes, proved = best_points(problem.field(), keep, most_boxes, report)
    designs = sorted((problem.design(point) for point in points), key=lambda design: (design.worst, design.total))
    if not designs:
        raise UsageError("No design: at no tooth counts within the limits do all target ranges have a ratio.")
    wrong_signs(designs[0].ratios, targets.ratios)
    number = prod(len(values) for values in problem.values)
    return Search(targets, tuple(designs[:keep]), proved, number, boxes, problem.free)


class _Problem:
    """The search in numbers: one axis a group of equal sets, its values the quotients that may be had."""

    def __init__(self, targets: Targets) -> None:
        self.targets = targets
        known: dict[tuple[str, ...], Ratio | None] = {}
        self.formulas = {name: _formulas(targets, name, known) for name in targets.ratios}
        used = {
            name for by_combination in self.formulas.values() for formula in by_combination.values() for name in formula.sets
        }
        searched = [
            p.name for p in targets.layout.sets if p.name in used and p.name not in targets.fixed and p.pinions in SEARCHED
        ]
        own = {
            name: by_combination[combination]
            for name, by_combination in self.formulas.items()
            if name not in targets.chosen_from
            for combination in by_combination
        }
        direct_drive_wishes(own, targets.ratios)
        self.free = tuple(p.name for p in targets.layout.sets if p.name not in used)
        if not searched:
            raise UsageError("No set to search: the targets depend on none whose tooth counts may change.")
        self.groups = _groups(searched, targets.same)
        self.common = common_gears(targets.layout)
        self.choices = [self._choices(group) for group in self.groups]
        self.values = [list(choice) for choice in self.choices]
        self._pairs = self._common_pairs()

    def _choices(self, group: Sequence[str]) -> dict[Fraction, tuple[GearChoice, ...]]:
        own = [self._own_choices(name) for name in group]
        # Parts that are the same must meet the limits of every set they serve.
        shared = {q: tuple(c for c in own[0][q] if all(c in other.get(q, ()) for other in own)) for q in own[0]}
        kept = {quotient: alike for quotient, alike in shared.items() if alike}
        if not kept:
            raise UsageError(f"No tooth counts meet the limits of {listed(group)} together; widen them.")
        return kept

    def _own_choices(self, name: str) -> dict[Fraction, tuple[GearChoice, ...]]:
        """What one set may have; a gear that it has in common with a set that stays, stays too."""
        layout = self.targets.layout
        try:
            by_quotient = choices(layout.set_named(name).pinions, self.targets.limits.get(name, Limits()))
        except UsageError as fault:
            raise UsageError(f"{name}: {fault}") from None
        searched = {member for group in self.groups for member in group}
        for gear in self.common:
            kept = [layout.set_named(other) for other in gear.sets if other not in searched] if name in gear.sets else []
            for other in kept:
                teeth = other.sun_teeth if gear.member == "sun" else other.ring_teeth
                by_quotient = {
                    q: same for q, some in by_quotient.items() if (same := tuple(c for c in some if gear.teeth(c) == teeth))
                }
                if not by_quotient:
                    raise UsageError(
                        f"{name}: its {gear.member} is the {gear.member} of {other.name}, which stays at {teeth} teeth, "
                        f"and no such set meets its limits; widen them, or let {other.name} be searched."
                    )
        return by_quotient

    def _common_pairs(self) -> list[tuple[int, int, Any]]:
        """For two axes whose sets have a gear in common: which pairs of quotients can have it, as a table."""
        import numpy as np

        axis_of = {name: place for place, group in enumerate(self.groups) for name in group}
        pairs = []
        for gear in self.common:
            places = sorted({axis_of[name] for name in gear.sets if name in axis_of})
            for first, second in combinations(places, 2):
                keys = [
                    [{gear.key(c) for c in self.choices[place][q]} for q in self.values[place]] for place in (first, second)
                ]
                table = np.array([[not keys_of_first.isdisjoint(other) for other in keys[1]] for keys_of_first in keys[0]])
                if not table.any():
                    raise UsageError(
                        f"{listed(gear.sets)} have one {gear.member}, and no number of its teeth and of planets meets "
                        "the limits of all of them; widen the limits."
                    )
                pairs.append((first, second, table))
        return pairs

    def _options(self, point: Sequence[int]) -> dict[str, tuple[GearChoice, ...]] | None:
        """What each set may have at a point, with gears that sets have in common alike; None where that cannot be."""
        options = {
            name: by_quotient[values[index]]
            for group, by_quotient, values, index in zip(self.groups, self.choices, self.values, point, strict=True)
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

    def field(self) -> Field:
        """What is searched, for `boxes`."""
        formulas = {name: list(by_combination.values()) for name, by_combination in self.formulas.items()}
        return Field(
            self.groups,
            self.values,
            self.weights,
            formulas,
            self.targets.ratios,
            self._pairs,
            lambda point: self._options(point) is not None,
        )

    def design(self, point: Point) -> Design:
        quotients = [values[index] for values, index in zip(self.values, point, strict=True)]
        options = self._options(point)
        assert options is not None, "only points at which common gears are alike are kept"
        teeth = {p.name: options[p.name][0] for p in self.targets.layout.sets if p.name in options}
        alike = {name: options[name][1:] for name in teeth}
        weights = self.weights(quotients)
        ratios, engaged = {}, {}
        for name, by_combination in self.formulas.items():
            values = {
                combination: Fraction(top) / Fraction(bottom)
                for combination, (top, bottom) in ((a, formula.at(weights)) for a, formula in by_combination.items())
                if bottom
            }
            engaged[name] = min(values, key=lambda combination: abs(values[combination] / self.targets.ratios[name] - 1))
            ratios[name] = values[engaged[name]]
        errors = {name: ratios[name] / wanted - 1 for name, wanted in self.targets.ratios.items()}
        return Design(teeth, alike, ratios, errors, _rebuilt(self.targets.layout, teeth), engaged)


def _formulas(targets: Targets, name: str, known: dict[tuple[str, ...], Ratio | None]) -> dict[tuple[str, ...], Ratio]:
    """The combinations of elements that may serve a target, with their ratios."""
    chosen = targets.chosen_from.get(name)
    combinations_ = [in_range(targets.layout, name).engaged] if chosen is None else chosen
    for combination in combinations_:
        if combination not in known:
            known[combination] = ratio(targets.layout, combination)
    ratios = {combination: formula for combination in combinations_ if (formula := known[combination]) is not None}
    if not ratios:
        raise UsageError(f"Target {name}: the layout has no ratio there. Choose ranges that drive.")
    return ratios


def _groups(searched: Sequence[str], same: Sequence[Sequence[str]]) -> list[list[str]]:
    """Sets that are the same parts, together; each set in one group."""
    groups: list[set[str]] = [{name} for name in searched]
    for alike in same:
        joined = [group for group in groups if group & set(alike)]
        groups = [group for group in groups if group not in joined] + ([set().union(*joined)] if joined else [])
    return sorted(([n for n in searched if n in group] for group in groups), key=lambda g: searched.index(g[0]))


def _rebuilt(layout: Layout, teeth: Mapping[str, GearChoice]) -> Layout:
    sets = tuple(teeth[p.name].built_into(p) if p.name in teeth else p for p in layout.sets)
    ranges = tuple(replace(item, published_ratio="") for item in layout.ranges)
    return replace(layout, sets=sets, ranges=ranges, text="", file="")
