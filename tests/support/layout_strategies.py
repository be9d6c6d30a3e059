"""Hypothesis strategies for parts and whole layouts: anything that a layout file may hold."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from hypothesis import strategies as st

from gearkit.train.elements import Element, Range
from gearkit.train.layout import Layout, Source
from gearkit.train.planetary_set import PlanetarySet
from gearkit.train.shafts import ShaftGroups
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT, ElementKind, FreeDirection, PinionKind, SourceKind

WORDS = st.text(st.characters(codec="utf-8"), min_size=1, max_size=20).filter(str.strip)
COUNTS = st.integers(min_value=1, max_value=400)
QUOTIENTS = st.fractions(min_value=Fraction(101, 100), max_value=30, max_denominator=10**6)
EFFICIENCIES = st.none() | st.fractions(min_value=Fraction(1, 2), max_value=1, max_denominator=1000)


@st.composite
def planetary_sets(draw: st.DrawFn, name: str = "P1") -> PlanetarySet:
    """Draw one set of any kind, with tooth counts or with a quotient only."""
    kind = draw(st.sampled_from(list(PinionKind)))
    planets = draw(st.none() | st.integers(1, 8))
    efficiency = draw(EFFICIENCIES)
    if kind is PinionKind.BEVEL:
        teeth = draw(st.none() | COUNTS)
        quotient = draw(st.none() | st.just(Fraction(1)))
        return PlanetarySet(name, kind, teeth, teeth, quotient, planets, basic_efficiency=efficiency)
    if kind is not PinionKind.STEPPED and draw(st.booleans()):
        return PlanetarySet(name, kind, ring_to_sun=draw(QUOTIENTS), planets=planets, basic_efficiency=efficiency)
    sun = draw(COUNTS)
    ring = sun + draw(COUNTS)
    pinions: tuple[int | None, int | None] = (None, None)
    if kind is PinionKind.STEPPED or (kind is PinionKind.DOUBLE and draw(st.booleans())):
        pinions = draw(COUNTS), draw(COUNTS)
    return PlanetarySet(name, kind, sun, ring, None, planets, *pinions, efficiency)


@st.composite
def layouts(draw: st.DrawFn, most_sets: int = 4, most_elements: int = 6) -> Layout:
    """Draw a layout that passes every check; it need not make a sensible transmission.

    Args:
        draw: hypothesis's own.
        most_sets: at most so many sets.
        most_elements: at most so many elements.
    """
    names = draw(st.lists(st.from_regex(r"[A-Za-z][A-Za-z0-9_-]{0,5}", fullmatch=True), min_size=1, max_size=most_sets, unique=True).filter(lambda found: not {INPUT, OUTPUT, HOUSING} & set(found)))  # fmt: skip
    sets = tuple(draw(planetary_sets(name)) for name in names)
    members = [f"{name}.{member}" for name in names for member in MEMBERS]
    groups = ShaftGroups((HOUSING, INPUT, OUTPUT, *members))
    joins = draw(_joins(groups, [*members, INPUT, OUTPUT, HOUSING]))
    elements = draw(_elements(groups, [*members, INPUT, OUTPUT, HOUSING], most_elements))
    engaged = st.lists(st.sampled_from([e.name for e in elements]), unique=True) if elements else st.just([])
    ranges = [
        Range(name, tuple(draw(engaged)), draw(st.sampled_from(["", "2.346", "-1.00", "3"])))
        for name in draw(st.lists(st.from_regex(r"[A-Za-z0-9]{1,3}", fullmatch=True), max_size=5, unique=True))
    ]
    source = Source(draw(st.sampled_from(list(SourceKind))), draw(WORDS), draw(st.just("") | WORDS))
    placement: dict[str, Any] | None = draw(st.none() | st.dictionaries(WORDS, st.integers() | WORDS | st.booleans(), max_size=3))  # fmt: skip
    return Layout(draw(WORDS), sets, joins, elements, tuple(ranges), source, placement or None)


@st.composite
def _joins(draw: st.DrawFn, groups: ShaftGroups, shafts: list[str]) -> tuple[tuple[str, ...], ...]:
    joins = []
    for first, second in draw(st.lists(st.tuples(st.sampled_from(shafts), st.sampled_from(shafts)), max_size=5)):
        trial = groups.copy()
        trial.join(first, second)
        # Input and output may be one shaft, but neither may stand still for good.
        if first != second and trial.name_of(HOUSING) not in (trial.name_of(INPUT), trial.name_of(OUTPUT)):
            groups.join(first, second)
            joins.append((first, second))
    return tuple(joins)


@st.composite
def _elements(draw: st.DrawFn, groups: ShaftGroups, shafts: list[str], most: int) -> tuple[Element, ...]:
    elements: list[Element] = []
    for first, second in draw(st.lists(st.tuples(st.sampled_from(shafts), st.sampled_from(shafts)), max_size=most)):
        if groups.name_of(first) == groups.name_of(second):
            continue
        grounded = groups.name_of(HOUSING) in (groups.name_of(first), groups.name_of(second))
        solid = ElementKind.BRAKE if grounded else ElementKind.CLUTCH
        kind = draw(st.sampled_from([solid, ElementKind.ONE_WAY_CLUTCH]))
        way = draw(st.sampled_from(list(FreeDirection))) if kind is ElementKind.ONE_WAY_CLUTCH else FreeDirection.FORWARD
        elements.append(Element(chr(ord("A") + len(elements)), kind, (first, second), way))
    return tuple(elements)
