"""Random transmission layouts, repeatable from a seed, for tests that claim something of every layout.

They are drawn at large: sets of all four kinds, shafts joined at random, an input that stands alone or sits on a member,
now and then a member joined to the housing for good. At least one combination of elements gives a range.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import combinations

from hypothesis import strategies as st

from gearkit.solve.mobility import assess
from gearkit.train.elements import Element, Range
from gearkit.train.layout import Layout, Source
from gearkit.train.planetary_set import PlanetarySet
from gearkit.train.shafts import ShaftGroups
from gearkit.words.terms import (
    HOUSING,
    INPUT,
    MEMBERS,
    OUTPUT,
    ElementKind,
    FreeDirection,
    PinionKind,
    SourceKind,
    Verdict,
)

_KINDS = (PinionKind.SINGLE,) * 7 + (PinionKind.DOUBLE,) * 2 + (PinionKind.STEPPED, PinionKind.BEVEL)
_SOURCE = Source(SourceKind.OWN, "drawn at random for a test")
_MOST_RANGES = 8
_MOST_ALIKE = 2
_ONE_CARRIER_ONE_RING = (("P1.carrier", "P2.carrier"), ("P1.ring", "P2.ring"))


def random_layout(
    seed: int | str, sets: int | None = None, one_way: bool = False, single_only: bool = False, two_suns: bool = False
) -> Layout:
    """Return the layout of a seed.

    Args:
        seed: the same seed gives the same layout.
        sets: number of sets, 1 to 8; drawn from 1 to 5 when left out.
        one_way: let some elements be one-way clutches.
        single_only: simple sets with known tooth counts only.
        two_suns: let the first two sets be two suns in one ring on one carrier.
    """
    draw = random.Random(f"layout {seed} {sets} {one_way} {single_only}")
    while True:
        found = _attempt(draw, sets or draw.choice((1, 2, 2, 3, 3, 4, 4, 5)), one_way, single_only, two_suns)
        if found is not None:
            return found


def random_layouts(count: int, seed: int | str = 0, one_way: bool = False) -> Iterator[Layout]:
    """Yield layouts of 1 to 5 sets.

    Args:
        count: how many.
        seed: the same seed gives the same layouts.
        one_way: let some elements be one-way clutches.
    """
    for number in range(count):
        yield random_layout(f"{seed}/{number}", one_way=one_way)


def one_way_layout(seed: int | str, sets: int | None = None) -> Layout:
    """Return the layout of a seed in which about half of the elements are one-way clutches; its ranges list them all the
    same, so that some of them rely on a clutch that blocks or lets go.

    Args:
        seed: the same seed gives the same layout.
        sets: number of sets, 1 to 8; drawn from 1 to 5 when left out.
    """
    base = random_layout(seed, sets, one_way=True)
    draw = random.Random(f"one-way clutches {seed}")

    def changed(element: Element) -> Element:
        if draw.random() > 0.35:
            return element
        return replace(element, kind=ElementKind.ONE_WAY_CLUTCH, free_direction=draw.choice(tuple(FreeDirection)))

    return replace(base, elements=tuple(changed(element) for element in base.elements))


def layouts(one_way: bool = False, single_only: bool = False, most_sets: int = 4) -> st.SearchStrategy[Layout]:
    """Return a Hypothesis strategy for layouts; it shrinks to few sets.

    Args:
        one_way: let some elements be one-way clutches.
        single_only: simple sets with known tooth counts only.
        most_sets: largest number of sets.
    """
    return st.builds(
        lambda sets, seed: random_layout(seed, sets, one_way, single_only),
        st.integers(1, most_sets),
        st.integers(0, 10_000),
    )


def random_set(draw: random.Random, name: str, single_only: bool = False) -> PlanetarySet:
    """Return a set whose gears could be made.

    Args:
        draw: the source of chance.
        name: the set's name.
        single_only: a simple set with known tooth counts.
    """
    kind = PinionKind.SINGLE if single_only else draw.choice(_KINDS)
    sun, pinion = draw.randrange(20, 61), draw.randrange(14, 37)
    match kind:
        case PinionKind.SINGLE if not single_only and draw.random() < 0.1:
            return PlanetarySet(name, kind, ring_to_sun=Fraction(sun + 2 * pinion, sun))
        case PinionKind.SINGLE:
            return PlanetarySet(name, kind, sun, sun + 2 * pinion, planets=draw.choice((None, 3, 4)))
        case PinionKind.DOUBLE:
            return PlanetarySet(name, kind, sun, sun + draw.randrange(30, 70))
        case PinionKind.STEPPED:
            other = draw.randrange(14, 37)
            return PlanetarySet(name, kind, sun, sun + pinion + other, sun_pinion_teeth=pinion, ring_pinion_teeth=other)
        case PinionKind.BEVEL:
            return PlanetarySet(name, kind)
    raise AssertionError(kind)


def _attempt(draw: random.Random, count: int, one_way: bool, single_only: bool, two_suns: bool) -> Layout | None:
    sets = tuple(random_set(draw, f"P{number + 1}", single_only) for number in range(count))
    if two_suns:
        # The small sun works through a pair of pinions; all gears have one module.
        small, large, ring = draw.randrange(24, 35), draw.randrange(40, 50), 2 * draw.randrange(40, 50)
        pair = (
            PlanetarySet("P1", PinionKind.DOUBLE, small, ring),
            PlanetarySet("P2", PinionKind.SINGLE, large + large % 2, ring),
        )
        sets = (*pair, *sets[2:])
    groups, joins = _joined(draw, sets, _ONE_CARRIER_ONE_RING if two_suns else ())
    elements = _elements(draw, sets, groups, one_way)
    if not elements:
        return None
    bare = Layout("random layout", sets, joins, elements, (), _SOURCE)
    ranges = _ranges(draw, bare)
    if not ranges:
        return None
    return Layout("random layout", sets, joins, elements, ranges, _SOURCE)


def _joined(
    draw: random.Random, sets: tuple[PlanetarySet, ...], already: tuple[tuple[str, str], ...] = ()
) -> tuple[ShaftGroups, tuple[tuple[str, ...], ...]]:
    """Join shafts until 2 to 4 freedoms are left (fewer for a single set)."""
    members = [f"{pset.name}.{member}" for pset in sets for member in MEMBERS]
    groups = ShaftGroups((HOUSING, INPUT, OUTPUT, *members))
    joins: list[tuple[str, ...]] = []

    def join(first: str, second: str) -> None:
        # A set with two members on one shaft turns as a block and teaches nothing.
        both = [m for m in members if groups.name_of(m) in (groups.name_of(first), groups.name_of(second))]
        ends = {groups.name_of(end) for end in (HOUSING, INPUT, OUTPUT)}
        if groups.name_of(first) in ends and groups.name_of(second) in ends:
            return
        if len({m.split(".")[0] for m in both}) == len(both) and groups.join(first, second):
            joins.append((first, second))

    for pair in already:
        join(*pair)
    join(OUTPUT, draw.choice(members))
    if draw.random() < 0.6:
        join(INPUT, draw.choice(members))
    if draw.random() < 0.1:
        join(HOUSING, draw.choice(members))
    wanted = draw.choice((2, 2, 3, 3, 4))
    for _ in range(40):
        turning = len({groups.name_of(m) for m in (*members, INPUT, OUTPUT)} - {groups.name_of(HOUSING)})
        if turning - len(sets) <= wanted:
            break
        join(*draw.sample(members, 2))
    return groups, tuple(joins)


def _elements(draw: random.Random, sets: tuple[PlanetarySet, ...], groups: ShaftGroups, one_way: bool) -> tuple[Element, ...]:
    members = [f"{pset.name}.{member}" for pset in sets for member in MEMBERS]
    shafts = sorted({groups.name_of(m) for m in (*members, INPUT, OUTPUT)} - {groups.name_of(HOUSING)})
    held = [(shaft, HOUSING) for shaft in shafts if shaft != groups.name_of(OUTPUT)]
    joined = list(combinations(shafts, 2))
    brakes = min(draw.randrange(0, 4), len(held))
    clutches = min(draw.randrange(1, 4), len(joined))
    elements: list[Element] = []
    for between in draw.sample(held, brakes) + draw.sample(joined, clutches):
        name = "ABCDEFGHJKLMNPQR"[len(elements)]
        if one_way and draw.random() < 0.3:
            free = draw.choice(tuple(FreeDirection))
            elements.append(Element(name, ElementKind.ONE_WAY_CLUTCH, between, free))
        else:
            kind = ElementKind.BRAKE if HOUSING in between else ElementKind.CLUTCH
            elements.append(Element(name, kind, between))
    return tuple(elements)


def _ranges(draw: random.Random, layout: Layout) -> tuple[Range, ...]:
    names = [element.name for element in layout.elements]
    combos = [c for size in range(min(5, len(names)) + 1) for c in combinations(names, size)]
    draw.shuffle(combos)
    found: list[Range] = []
    seen: Counter[Fraction] = Counter()
    for engaged in combos:
        mobility = assess(layout, engaged)
        # A ratio of 50 or more comes from a near-coincidence of tooth counts and is no use to anybody.
        if mobility.ratio is None or mobility.redundant or not Fraction(1, 50) < abs(mobility.ratio) < 50:
            continue
        seen[mobility.ratio] += 1
        if seen[mobility.ratio] <= _MOST_ALIKE and len(found) < _MOST_RANGES:
            found.append(Range(str(len(found) + 1), engaged))
    if set(seen) <= {Fraction(1)}:
        return ()
    neutral = next((c for c in sorted(combos, key=lambda c: (len(c), c)) if assess(layout, c).verdict is Verdict.NEUTRAL), None)
    return (*found, *([Range("N", neutral)] if neutral is not None else []))
