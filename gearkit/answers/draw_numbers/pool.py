"""Tooth counts to draw from: sets that can be put together, and layouts whose ratios make sense.

A set of the pool has R = S + 2P, room between the planets' tips, and a planet count that divides S + R. A drawn layout
keeps its joins and elements; its ratios have to fall in steps of a usual size.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from gearkit.answers.comparison.exact import PI, sine
from gearkit.answers.comparison.formulas import pairs_of
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.read.expression import Pair
from gearkit.solve import ratios
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError

# Half a module more than touching tips need, so that no draw sits on the edge.
_TIP_ROOM = Fraction(5, 2)
_STEP = (Fraction(108, 100), Fraction(22, 10))
_FIRST = (Fraction(2), Fraction(6))
_REVERSE = (Fraction(-9, 2), Fraction(-3, 2))
MOST_TRIES = 20_000


@dataclass(frozen=True)
class Teeth:
    """Tooth counts of one planetary set and its number of planets."""

    sun: int
    planet: int
    ring: int
    planets: int


@lru_cache(maxsize=256)
def _whole(count: int) -> Fraction:
    """Return a count as a number; all sets share the few that there are."""
    return Fraction(count)


@lru_cache(maxsize=8192)
def lettered(teeth: Teeth, suffix: str = "") -> tuple[Mapping[str, Fraction], Mapping[str, Pair]]:
    """Return the counts of a set under their letters, as numbers and as pairs for formulas.

    Args:
        teeth: the set.
        suffix: its number, or "" where there is one only.
    """
    letters = zip("SPRN", (teeth.sun, teeth.planet, teeth.ring, teeth.planets), strict=True)
    values = {letter + suffix: _whole(count) for letter, count in letters}
    return values, pairs_of(values)


@lru_cache(maxsize=1)
def pool() -> tuple[Teeth, ...]:
    """Return every set that can be drawn."""
    sets = []
    for planets in (3, 4, 5):
        chord = sine(PI / planets)
        for sun in range(20, 61):
            for planet in range(14, 37):
                ring = sun + 2 * planet
                fits = (sun + ring) % planets == 0 and (sun + planet) * chord > planet + _TIP_ROOM
                if ring <= 110 and fits:
                    sets.append(Teeth(sun, planet, ring, planets))
    return tuple(sorted(sets, key=lambda teeth: (teeth.sun, teeth.planet, teeth.planets)))


@lru_cache(maxsize=1)
def layout_pool() -> tuple[Teeth, ...]:
    """Return the sets that a layout draw uses: planets without undercut, rings of a common size."""
    return tuple(teeth for teeth in pool() if teeth.planet >= 17 and teeth.sun >= 24 and teeth.ring <= 99)


@lru_cache(maxsize=128)
def layout_named(name: str) -> Layout:
    """Return a catalogue layout, read once.

    Args:
        name: such as "Q36", or "Q36+2" for the same with its elements' letters exchanged in the second way.
    """
    plain, _, letters = name.partition("+")
    layout = catalogue.find(plain)
    return _with_other_letters(layout, int(letters)) if letters else layout


def with_letters(name: str, values: Mapping[str, Fraction]) -> str:
    """Return the name of a layout with the letters of its elements exchanged as was drawn.

    Args:
        name: the catalogue layout, or "".
        values: the drawn numbers; "letters" says in which way, 0 for not at all.
    """
    letters = int(values.get("letters", 0))
    return f"{name}+{letters}" if name and letters else name


def plain_name(name: str) -> str:
    """Return the name of a layout as it is in the catalogue.

    Args:
        name: such as "Q36+2".
    """
    return name.partition("+")[0]


def _with_other_letters(layout: Layout, number: int) -> Layout:
    """The same layout, its elements' letters exchanged: whoever copies the letters of another copies wrong ones."""
    names = [element.name for element in layout.elements]
    # Every letter comes to stand for every element equally often: a shuffle, then turned round by one place after another.
    row, turn = divmod(number, len(names))
    mixed = SeededRandom(f"letters {row}".encode()).shuffled(names)
    letter = dict(zip(names, mixed[turn:] + mixed[:turn], strict=True))
    elements = sorted(
        (replace(element, name=letter[element.name]) for element in layout.elements), key=lambda element_: element_.name
    )
    ranges = [
        replace(named_range, engaged=tuple(sorted(letter[name] for name in named_range.engaged)))
        for named_range in layout.ranges
    ]
    return replace(layout, elements=tuple(elements), ranges=tuple(ranges), text="")


@lru_cache(maxsize=32)
def _range_tables(name: str) -> tuple[tuple[ratios.Ratio, ...], ratios.Ratio]:
    """Return the ratio tables of the forward ranges in order, and of reverse."""
    layout = layout_named(name)
    forward, reverse = [], None
    for item in layout.ranges:
        formula = ratios.ratio(layout, item.engaged)
        if formula is not None and item.name == "R":
            reverse = formula
        elif formula is not None and item.name.isdigit():
            forward.append(formula)
    if reverse is None or len(forward) < 2:
        raise UsageError(f"Layout {name} has no reverse or too few forward ranges to draw tooth counts for.")
    return tuple(forward), reverse


def sane_teeth(name: str, seeded: SeededRandom) -> tuple[Teeth, ...]:
    """Return drawn tooth counts with which a layout is a sensible transmission.

    Args:
        name: a catalogue layout, such as "Q36".
        seeded: where the draw comes from.

    Raises:
        UsageError: no sensible counts were found.
    """
    number, choices = len(layout_named(name).sets), layout_pool()
    for _ in range(MOST_TRIES):
        drawn = tuple([seeded.pick(choices) for _ in range(number)])
        if _is_sane(name, weights(name, drawn)):
            return drawn
    raise UsageError(f"Layout {name}: no sensible tooth counts in {MOST_TRIES} draws.")


def weights(name: str, teeth: tuple[Teeth, ...]) -> dict[str, tuple[int, int]]:
    """Return what the ratio tables of a layout of single-pinion sets are worked out with: sun and ring teeth by set.

    Args:
        name: the layout.
        teeth: one entry per set.
    """
    return {pset.name: (counts.sun, counts.ring) for pset, counts in zip(layout_named(name).sets, teeth, strict=True)}


def _is_sane(name: str, weights: dict[str, tuple[int, int]]) -> bool:
    forward, reverse = _range_tables(name)
    # Reverse and first depend on the fewest sets and rule out most draws, so they come first.
    if not _between(_ratio_at(reverse, weights), _REVERSE):
        return False
    lower = _ratio_at(forward[0], weights)
    if not _between(lower, _FIRST):
        return False
    for table in forward[1:]:
        higher = _ratio_at(table, weights)
        if higher[0] <= 0 or not _between((lower[0] * higher[1], lower[1] * higher[0]), _STEP):
            return False
        lower = higher
    return True


def _ratio_at(table: ratios.Ratio, weights: dict[str, tuple[int, int]]) -> tuple[int, int]:
    """Return a ratio as whole numbers (above, below), below positive; (0, 1) where there is none."""
    over, under = table.at(weights)
    if under == 0:
        return 0, 1
    return (over, under) if under > 0 else (-over, -under)


def _between(ratio: tuple[int, int], limits: tuple[Fraction, Fraction]) -> bool:
    (above, below), (low, high) = ratio, limits
    return low.numerator * below <= above * low.denominator and above * high.denominator <= high.numerator * below


def with_teeth(name: str, teeth: tuple[Teeth, ...]) -> Layout:
    """Return a catalogue layout with drawn tooth counts.

    Args:
        name: the layout.
        teeth: one entry per set.
    """
    return layout_named(name).with_teeth(weights(name, teeth))
