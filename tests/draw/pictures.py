"""Checks that every picture must pass, and random layouts to draw."""

from __future__ import annotations

import random
from dataclasses import replace
from xml.etree import ElementTree

from gearkit.draw.core.measure import Box
from gearkit.draw.core.svg import Picture
from gearkit.draw.stick.stick_nets import seats_of
from gearkit.text.places import datasets
from gearkit.train.catalogue import find
from gearkit.train.elements import Element, Range
from gearkit.train.layout import Layout, Source
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import LayoutError
from gearkit.words.terms import MEMBERS, ElementKind, PinionKind, SourceKind
from tests.support.random_layouts import random_layout

SVG = "{http://www.w3.org/2000/svg}"


def check_picture(drawn: Picture) -> ElementTree.Element:
    """Assert what holds of every picture and return its parsed SVG."""
    text = drawn.svg()
    assert text == drawn.svg()
    root = ElementTree.fromstring(text)
    assert root.get("role") == "img"
    title, description = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert description is not None
    assert title.text == drawn.title
    assert description.text == drawn.description
    assert len(drawn.description.split()) >= 8
    assert root.get("aria-labelledby") == title.get("id")
    assert root.get("aria-describedby") == description.get("id")
    check_labels(drawn)
    return root


def check_labels(drawn: Picture) -> None:
    """Assert that no label leaves the page and no two labels overlap."""
    page = Box(0, 0, drawn.width, drawn.height)
    labels = drawn.texts()
    for label in labels:
        assert page.holds(label.box), f"{label.text!r} leaves the page: {label.box}"
    for index, first in enumerate(labels):
        for second in labels[:index]:
            assert not first.box.overlaps(second.box, -1.0), f"{first.text!r} over {second.text!r}"


def catalogue_layouts() -> list[Layout]:
    """Return every transmission of the catalogue."""
    return [find(path.stem) for path in sorted(datasets().joinpath("layouts").glob("*.toml"))]


def many_layouts() -> list[Layout]:
    """Return random layouts: 24 of 1 to 8 sets that work as transmissions, 16 that are merely valid."""
    sound = [replace(random_layout(seed, 1 + seed % 8, one_way=True), name=f"Sound {seed}") for seed in range(24)]
    return [*sound, *(wild_layout(seed) for seed in range(16))]


def two_in_one_layouts() -> list[Layout]:
    """Return random layouts in which a single and a double set have one carrier and one ring, beside other sets."""
    found: list[Layout] = []
    seed = 0
    while len(found) < 12:
        seed += 1
        draw = random.Random(f"two in one {seed}")
        try:
            layout = replace(_wild_layout(draw, seed, 4, pair=True), name=f"Two in one {len(found) + 1}")
        except LayoutError:
            continue
        if any(len(seat) == 2 for seat in seats_of(layout)):
            found.append(layout)
    return found


def wild_layout(seed: int, most_sets: int = 8) -> Layout:
    """Return a layout that is only just valid: anything joined to anything, up to 16 elements, solid and idle sets.

    Args:
        seed: the same seed gives the same layout.
        most_sets: upper limit of sets.
    """
    draw = random.Random(seed)
    while True:
        try:
            return _wild_layout(draw, seed, most_sets)
        except LayoutError:
            continue


def _wild_layout(draw: random.Random, seed: int, most_sets: int, *, pair: bool = False) -> Layout:
    sets = tuple(_wild_set(draw, f"P{index + 1}") for index in range(draw.randint(1, most_sets)))
    if pair:
        kinds = [PinionKind.SINGLE, PinionKind.DOUBLE]
        draw.shuffle(kinds)
        sets = (*sets[:-1], PlanetarySet("P8", kinds[0], 36, 84), *sets[-1:], PlanetarySet("P9", kinds[1], 30, 84))
    members = [f"{pset.name}.{member}" for pset in sets for member in MEMBERS]
    draw.shuffle(members)
    joins = [tuple(sorted(draw.sample(members, 2))) for _ in range(draw.randint(0, len(sets) if pair else 2 * len(sets) - 1))]
    if pair:
        joins += [("P8.carrier", "P9.carrier"), ("P8.ring", "P9.ring")]
    if draw.random() < 0.8 or pair:
        joins.append(("input", members[0]))
    joins.append(("output", members[-1]))
    if draw.random() < 0.2:
        joins.append(("housing", members[1]))
    elements = []
    for index in range(draw.randint(1, min(16, 2 * len(sets) + 1))):
        kind = draw.choice([ElementKind.BRAKE, ElementKind.CLUTCH, ElementKind.CLUTCH, ElementKind.ONE_WAY_CLUTCH])
        first = draw.choice([*members, "input"])
        second = "housing" if kind is ElementKind.BRAKE else draw.choice([*members, "input", "output"])
        if kind is ElementKind.ONE_WAY_CLUTCH and draw.random() < 0.7:
            second = "housing"
        elements.append(Element("ABCDEFGHJKLMNOPQ"[index], kind, (first, second)))
    names = [element.name for element in elements]
    ranges = tuple(
        Range(str(number), tuple(sorted(draw.sample(names, min(len(names), draw.randint(1, 3)))))) for number in (1, 2)
    )
    source = Source(SourceKind.OWN, "drawn at random for a test")
    return Layout(f"Wild {seed}", sets, tuple(joins), tuple(elements), ranges, source)


def _wild_set(draw: random.Random, name: str) -> PlanetarySet:
    sun, room = draw.randint(20, 60), draw.randint(20, 60)
    match draw.choice([PinionKind.SINGLE] * 5 + [PinionKind.DOUBLE, PinionKind.STEPPED, PinionKind.BEVEL]):
        case PinionKind.STEPPED:
            return PlanetarySet(name, PinionKind.STEPPED, sun, sun + room, sun_pinion_teeth=20, ring_pinion_teeth=17)
        case PinionKind.BEVEL:
            return PlanetarySet(name, PinionKind.BEVEL)
        case kind:
            return PlanetarySet(name, kind, sun, sun + room, planets=draw.choice([None, 3, 4]))
