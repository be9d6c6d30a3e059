"""Layouts to try what is made for any layout: the catalogue's, the published ones, and sane random ones."""

from __future__ import annotations

import random
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


def known() -> list[Layout]:
    """The layouts of the catalogue and the published ones."""
    return [catalogue.read(path) for path in (*OWN, *PUBLISHED)]


def sane(count: int, seed: str = "sane") -> Iterator[Layout]:
    """Random layouts of 1 to 4 sets with ratios of a usual size, a quarter with one-way clutches.

    Args:
        count: how many.
        seed: the same seed gives the same layouts.
    """
    seeded = random.Random(seed)
    found = 0
    for number in range(100 * count):
        layout = random_layout(f"{seed}/{number}", seeded.choice((1, 2, 2, 3, 3, 4)), one_way=seeded.random() < 0.3)
        if is_sane(layout):
            yield layout
            found += 1
            if found == count:
                return


def is_sane(layout: Layout) -> bool:
    """At least two ranges that drive, none of an unusual ratio, and no bevel set within the train's first set."""
    rows = Train(layout).distinct
    usual = all(1 / _LARGEST < abs(row.ratio) < _LARGEST for row in rows)
    return len(rows) >= 2 and usual and layout.sets[0].pinions is not PinionKind.BEVEL
