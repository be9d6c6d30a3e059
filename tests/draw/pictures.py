"""Checks that every picture must pass, and random layouts to draw."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from functools import cache
from itertools import pairwise
from xml.etree import ElementTree

from gearkit.draw.core.measure import Box
from gearkit.draw.core.svg import Circle, Path, Picture, Text
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


@cache
def many_layouts() -> tuple[Layout, ...]:
    """Return random layouts: 24 of 1 to 8 sets that work as transmissions, 16 that are merely valid.

    Drawn once: six files ask for them when tests are collected, which every process of the tests does.
    """
    sound = [replace(random_layout(seed, 1 + seed % 8, one_way=True), name=f"Sound {seed}") for seed in range(24)]
    return (*sound, *(wild_layout(seed) for seed in range(16)))


@cache
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


def chain(count: int, drive: str = "sun", out: str = "carrier", shuffled: int | None = None) -> Layout:
    """Return sets in a chain: each one's output member drives the next; a brake on every third member, a clutch in the first set.

    Args:
        count: how many sets.
        drive: the member by which each set is driven: "sun", "carrier" or "ring".
        out: the member that drives the next set, the last one the output.
        shuffled: a seed by which the file lists the sets in another order than the chain's; None for the chain's own.
    """
    [held] = set(MEMBERS) - {drive, out}
    numbers = list(range(1, count + 1))
    if shuffled is not None:
        random.Random(shuffled).shuffle(numbers)
    sets = tuple(PlanetarySet(f"P{number}", PinionKind.SINGLE, 30, 66) for number in range(1, count + 1))
    joins = [("input", f"P{numbers[0]}.{drive}"), ("output", f"P{numbers[-1]}.{out}")]
    joins += [(f"P{number}.{out}", f"P{after}.{drive}") for number, after in pairwise(numbers)]
    names = "ABCDEFGHJKLMNOPQRSTUVWXYZ"
    brakes = [Element(names[at], ElementKind.BRAKE, (f"P{number}.{held}", "housing")) for at, number in enumerate(numbers)]
    clutch = Element(names[count], ElementKind.CLUTCH, (f"P{numbers[0]}.{drive}", f"P{numbers[0]}.{out}"))
    ranges = (Range("1", tuple(names[:count])),)
    source = Source(SourceKind.OWN, "sets in a chain, for a test")
    return Layout(f"Chain of {count} by {drive} and {out}", sets, tuple(joins), (*brakes, clutch), ranges, source)


def struck_labels(drawn: Picture) -> list[str]:
    """Return what is wrong where a line, an arrow or a dot runs through or touches a label that should stand free.

    Args:
        drawn: any picture.
    """
    shapes = list(drawn.walk())
    found = []
    for place, label in enumerate(shapes):
        if not isinstance(label, Text) or label.overlay or not label.text.strip():
            continue
        # What the eye takes for the word: from the top of its capitals to a little below its base line. Left of a minus
        # sign more is kept free, lest a line and the sign be taken for one.
        full = label.box
        before = 4.0 if label.text.startswith("\u2212") else 0.0
        word = Box(full.left - before, label.y - 0.70 * label.size, full.right, label.y + 0.12 * label.size)
        # What lies under a cleared patch that holds the word does not show.
        cleared = max((at for at in range(place) if _clears(shapes[at], word)), default=-1)
        for shape in shapes[cleared + 1 :]:
            if _touches(shape, word):
                found.append(f"{label.text!r} at {label.x:.0f}, {label.y:.0f} touched by {shape}"[:240])
                break
    return found


def _clears(shape: Path | Circle | Text, word: Box) -> bool:
    if not isinstance(shape, Path) or shape.look.fill != "paper" or shape.look.stroke is not None or len(shape.steps) != 5:
        return False
    xs = [numbers[0] for _, numbers in shape.steps if numbers]
    ys = [numbers[1] for _, numbers in shape.steps if numbers]
    return Box(min(xs), min(ys), max(xs), max(ys)).holds(word)


def _touches(shape: Path | Circle | Text, word: Box) -> bool:
    if isinstance(shape, Text) or (shape.look.stroke in (None, "paper") and shape.look.fill in (None, "paper", "wash")):
        return False
    if isinstance(shape, Circle):
        (x, y), reach = shape.centre, shape.radius + shape.look.width / 2
        across = max(word.left - x, 0, x - word.right), max(word.top - y, 0, y - word.bottom)
        inside = (
            max(abs(corner_x - x) for corner_x in (word.left, word.right)),
            max(abs(at - y) for at in (word.top, word.bottom)),
        )
        # A word wholly inside a circle is not struck by its line.
        return math.hypot(*across) < reach and (
            shape.look.fill not in (None, "paper", "wash") or math.hypot(*inside) > shape.radius
        )
    near = word.grown(shape.look.width / 2 - 0.3) if shape.look.stroke not in (None, "paper") else word
    points: list[tuple[float, float]] = []
    start = (0.0, 0.0)
    for step, numbers in shape.steps:
        ends = [(numbers[k], numbers[k + 1]) for k in range(0, len(numbers), 2)]
        if step == "M":
            start = ends[0]
            points = [start]
            continue
        line = [points[-1], start] if step == "Z" else [points[-1], *_bent(points[-1], ends)]
        if any(_through(a, b, near) for a, b in pairwise(line)):
            return True
        points += line[1:]
    return False


def _bent(first: tuple[float, float], ends: list[tuple[float, float]]) -> list[tuple[float, float]]:
    if len(ends) == 1:
        return ends
    corners = [first, *ends]
    return [
        tuple(sum(weight * corner[axis] for weight, corner in zip(weights, corners, strict=True)) for axis in (0, 1))
        for t in (0.25, 0.5, 0.75, 1.0)
        for weights in [((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)]
    ]


def _through(first: tuple[float, float], last: tuple[float, float], box: Box) -> bool:
    """Whether a straight line has a point inside a box."""
    low, high = 0.0, 1.0
    for start, end, least, most in ((first[0], last[0], box.left, box.right), (first[1], last[1], box.top, box.bottom)):
        if abs(end - start) < 1e-9:
            if not least < start < most:
                return False
            continue
        a, b = (least - start) / (end - start), (most - start) / (end - start)
        low, high = max(low, min(a, b)), min(high, max(a, b))
    return low < high
