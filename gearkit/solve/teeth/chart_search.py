"""A chart for wanted ratios: which elements to apply in each range and which tooth counts to give, searched together.

Every combination of elements that drives is a candidate for every wanted ratio, so a design's error is taken from the
nearest candidate. The search over tooth counts then proves that no other chart and no other counts come nearer. Several
combinations can have one and the same ratio formula; among those the chart takes the ones with which neighbouring ranges
change fewest elements.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from gearkit.solve.enumeration import all_combinations
from gearkit.solve.mobility import assess
from gearkit.solve.one_way import one_way_clutches
from gearkit.solve.ratios import ratio_of
from gearkit.solve.teeth.boxes import Report
from gearkit.solve.teeth.gear_choices import Limits
from gearkit.solve.teeth.tooth_counts import Design, Search, Targets, search
from gearkit.text.phrases import decimal
from gearkit.train.elements import Range
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import Verdict

MOST_CANDIDATES = 400
Combination = tuple[str, ...]


@dataclass(frozen=True)
class Proposal:
    """A chart with tooth counts.

    Args:
        layout: the layout with the best tooth counts and the proposed ranges.
        search: what the search found, with its proof.
        alike: range -> other combinations with the very same ratio at any tooth counts.
    """

    layout: Layout
    search: Search
    alike: Mapping[str, tuple[Combination, ...]]


def propose(
    layout: Layout,
    wanted: Mapping[str, Fraction],
    given: Mapping[str, Combination] | None = None,
    limits: Mapping[str, Limits] | None = None,
    fixed: Iterable[str] = (),
    report: Report | None = None,
) -> Proposal:
    """Return the chart and the tooth counts that come nearest to wanted ratios.

    Args:
        layout: sets, joins and elements; its ranges do not matter. Sets without tooth counts may have any quotient.
        wanted: range -> wanted ratio.
        given: range -> elements that are to be applied in it, whatever its ratio.
        limits: set -> limits of its tooth counts; the default ones for sets not named.
        fixed: sets that keep their tooth counts.
        report: as in `tooth_counts.search`.

    Raises:
        UsageError: nothing drives, no combination turns the way that is wanted, or limits that nothing meets.
    """
    families = _families(layout)
    if not families:
        raise UsageError(f"{layout.name}: no combination of its elements drives the output. Add an element or a join.")
    kept, set_by_user = tuple(fixed), dict(given or {})
    any_of = tuple(alike[0] for alike in families)
    candidates = {name: (set_by_user[name],) if name in set_by_user else any_of for name in wanted}
    if set(kept) >= {pset.name for pset in layout.sets}:
        result = _among(layout, wanted, candidates)
    else:
        result = search(Targets(layout, wanted, limits or {}, kept, chosen_from=candidates), report=report)
    best = result.designs[0]
    of_first = {alike[0]: alike for alike in families}
    options = {name: candidates[name] if name in set_by_user else of_first[best.engaged[name]] for name in wanted}
    chosen = {**_fewest_changes(options, best.ratios), **set_by_user}
    ranges = [Range(name, chosen[name]) for name in dict.fromkeys([*wanted, *set_by_user])]
    neutral = _neutral(best.layout, chosen, best.ratios)
    if neutral is not None and "N" not in chosen:
        ranges.append(Range("N", neutral))
    alike = {name: tuple(c for c in options[name] if c != chosen[name]) for name in wanted}
    return Proposal(replace(best.layout, ranges=tuple(ranges), text="", file=""), result, alike)


def _families(layout: Layout) -> list[tuple[Combination, ...]]:
    """Combinations that drive, those with one ratio formula together; in each the ones with fewest elements only."""
    by_itself = set(one_way_clutches(layout))
    families: dict[str, list[Combination]] = {}
    for combination, mobility in all_combinations(layout):
        # Where elements say the same thing twice, how they share the torque is open; a chart does without.
        if mobility.verdict is not Verdict.RANGE or mobility.redundant or by_itself.intersection(combination):
            continue
        if mobility.generic_verdict is not Verdict.RANGE:
            continue
        formula = ratio_of(layout, combination, mobility)
        assert formula is not None
        families.setdefault(formula.formula, []).append(combination)
    if len(families) > MOST_CANDIDATES:
        raise UsageError(
            f"{layout.name}: {len(families)} different ratios can be had, more than the {MOST_CANDIDATES} among which a chart "
            "is searched. Name the elements of some ranges yourself, or take elements out."
        )
    fewest = {name: min(map(len, alike)) for name, alike in families.items()}
    return [tuple(c for c in alike if len(c) == fewest[name]) for name, alike in families.items()]


def _among(layout: Layout, wanted: Mapping[str, Fraction], candidates: Mapping[str, Sequence[Combination]]) -> Search:
    """The nearest combinations where every tooth count is given: each range by itself."""
    values = {
        combination: assess(layout, combination).ratio or Fraction(0) for some in candidates.values() for combination in some
    }
    engaged = {}
    for name, goal in wanted.items():
        same_way = [combination for combination in candidates[name] if values[combination] * goal > 0]
        if not same_way:
            way = "backward" if goal < 0 else "forward"
            raise UsageError(f"Range {name}: {decimal(goal)} is wanted, but no combination of the elements drives {way}.")
        engaged[name] = min(same_way, key=lambda combination: abs(values[combination] / goal - 1))
    ratios = {name: values[combination] for name, combination in engaged.items()}
    errors = {name: ratios[name] / goal - 1 for name, goal in wanted.items()}
    design = Design({}, {}, ratios, errors, layout, engaged)
    targets = Targets(layout, wanted, {}, chosen_from=candidates)
    return Search(targets, (design,), True, 1, 0, ())


def _fewest_changes(options: Mapping[str, tuple[Combination, ...]], ratios: Mapping[str, Fraction]) -> dict[str, Combination]:
    """One combination a range, so that neighbours along the ladder of ratios change as few elements as can be."""
    forward = sorted((name for name in options if ratios[name] > 0), key=lambda name: -ratios[name])
    best: dict[Combination, tuple[int, tuple[Combination, ...]]] = {}
    for place, name in enumerate(forward):
        reached = {}
        for own in options[name]:
            before = [(cost + len(set(last) ^ set(own)), way) for last, (cost, way) in best.items()] if place else [(0, ())]
            cost, way = min(before)
            reached[own] = (cost, (*way, own))
        best = reached
    chosen = dict(zip(forward, min(best.values())[1], strict=True)) if best else {}
    first = set(chosen[forward[0]]) if forward else set()
    for name in options:
        if name not in chosen:
            chosen[name] = min(options[name], key=lambda own: len(first ^ set(own)))
    return {name: chosen[name] for name in options}


def _neutral(layout: Layout, chosen: Mapping[str, Combination], ratios: Mapping[str, Fraction]) -> Combination | None:
    """What stays applied between first gear and reverse, where that leaves the output free."""
    forward = [name for name in chosen if ratios.get(name, 0) > 0]
    backward = [name for name in chosen if ratios.get(name, 0) < 0]
    if not forward:
        return None
    low = set(chosen[max(forward, key=lambda name: ratios[name])])
    kept = low & set(chosen[backward[0]]) if backward else set()
    for names in (kept, set()):
        combination = tuple(element.name for element in layout.elements if element.name in names)
        if assess(layout, combination).verdict is Verdict.NEUTRAL:
            return combination
    return None
