"""Random layouts with machines and several outputs, repeatable from a source of chance."""

from __future__ import annotations

import random
from fractions import Fraction

from gearkit.train.drivers import Machine
from gearkit.train.elements import Element
from gearkit.train.layout import Layout, Source
from gearkit.words.errors import LayoutError
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, ElementKind, SourceKind
from tests.support.random_layouts import random_set

_SOURCE = Source(SourceKind.OWN, "drawn at random for a test")


def random_train(seeded: random.Random) -> tuple[Layout, tuple[str, ...]]:
    """Return a layout of 1 to 4 sets with two or three drivers or several outputs, and some of its elements.

    Args:
        dice: the source of chance.
    """
    while True:
        made = _attempt(seeded)
        if made is not None:
            return made


def _attempt(seeded: random.Random) -> tuple[Layout, tuple[str, ...]] | None:
    sets = tuple(random_set(seeded, f"P{number + 1}") for number in range(seeded.randint(1, 4)))
    members = [f"{pset.name}.{member}" for pset in sets for member in MEMBERS]
    outputs = tuple(f"out{number}" for number in range(seeded.choice((1, 1, 2, 2, 3))))
    machines = tuple(Machine(f"M{number}", seeded.choice(members)) for number in range(seeded.choice((0, 1, 2, 2, 3))))
    if len(outputs) + len(machines) < 2:
        return None
    joins = [(INPUT, seeded.choice(members)), *((name, seeded.choice(members)) for name in outputs)]
    # Every set leaves two freedoms, and a join or an applied element takes one: one to four are to be left.
    for _ in range(2 * len(sets) - seeded.choice((2, 3, 3, 4, 4))):
        first, second = seeded.sample(members, 2)
        joins.append((first, second))
    if seeded.random() < 0.1:
        joins.append((HOUSING, seeded.choice(members)))
    elements = []
    for number in range(seeded.randint(0, 2)):
        if seeded.random() < 0.5:
            elements.append(Element(f"B{number}", ElementKind.BRAKE, (seeded.choice(members), HOUSING)))
        else:
            first, second = seeded.sample([*members, INPUT], 2)
            elements.append(Element(f"K{number}", ElementKind.CLUTCH, (first, second)))
    try:
        layout = Layout("random train", sets, tuple(joins), tuple(elements), (), _SOURCE, None, "", "", outputs, machines)
    except LayoutError:
        return None
    return layout, tuple(element.name for element in elements if seeded.random() < 0.5)


def some_number(seeded: random.Random, most: int = 3000) -> Fraction:
    """Return a whole number that is not 0.

    Args:
        dice: the source of chance.
        most: its largest size.
    """
    return Fraction(seeded.choice((-1, 1)) * seeded.randint(1, most))
