"""Layouts to try what is made for any layout: the catalogue's, the published ones, and sane random ones."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

from gearkit.answers.layouts.train import Train
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.terms import PinionKind
from tests.support.random_layouts import random_layout

PUBLISHED = sorted(Path("datasets/published").glob("*.toml"))
OWN = sorted(Path("datasets/layouts").glob("*.toml"))
_LARGEST = Fraction(12)
# Places among twenty -> what stands there; the first ones early, so that a short run meets each.
_WANTED = {
    1: "one-way clutch", 2: "double pinions", 3: "two suns", 6: "one-way clutch", 8: "double pinions", 10: "one-way clutch",
    12: "double pinions", 13: "two suns", 14: "one-way clutch", 16: "double pinions", 18: "one-way clutch",
}  # fmt: skip


def known() -> list[Layout]:
    """The layouts of the catalogue and the published ones."""
    return [catalogue.read(path) for path in (*OWN, *PUBLISHED)]


def sane(count: int, seed: str = "sane") -> Iterator[Layout]:
    """Random layouts of 1 to 4 sets with ratios of a usual size.

    Of each twenty at least five have a one-way clutch, four have double pinions and two have two suns in one ring.

    Args:
        count: how many.
        seed: the same seed gives the same layouts.
    """
    seeded = random.Random(seed)
    number = 0
    for place in range(count):
        wanted = _WANTED.get(place % 20, "any")
        while True:
            number += 1
            sets = seeded.choice((2, 3, 3, 4) if wanted == "two suns" else (1, 2, 2, 3, 3, 4))
            one_way = wanted == "one-way clutch" or (wanted == "any" and seeded.random() < 0.1)
            layout = random_layout(f"{seed}/{number}", sets, one_way=one_way, two_suns=wanted == "two suns")
            if is_sane(layout) and (wanted == "any" or has(layout, wanted)):
                yield layout
                break


def has(layout: Layout, wanted: str) -> bool:
    """Whether a layout has what a quota asks for.

    Args:
        layout: the layout.
        wanted: "one-way clutch" (one that holds in a range), "double pinions" or "two suns" (in one ring on one carrier).
    """
    if wanted == "one-way clutch":
        train = Train(layout)
        return any(set(row.engaged) & set(train.one_ways) for row in train.drives)
    if wanted == "double pinions":
        return any(one.pinions is PinionKind.DOUBLE for one in layout.sets)
    shared = Counter(
        (layout.shaft_of(f"{one.name}.carrier"), layout.shaft_of(f"{one.name}.ring"), one.ring_teeth) for one in layout.sets
    )
    return any(count > 1 for count in shared.values())


def is_sane(layout: Layout) -> bool:
    """At least two ranges that drive, none of an unusual ratio, and no bevel set within the train's first set."""
    rows = Train(layout).distinct
    usual = all(1 / _LARGEST < abs(row.ratio) < _LARGEST for row in rows)
    return len(rows) >= 2 and usual and layout.sets[0].pinions is not PinionKind.BEVEL
