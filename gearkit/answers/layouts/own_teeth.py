"""Tooth counts for any layout: near its own, buildable, and with every range as it was.

A set that is given as a quotient only gets counts near it; a set for which none can be built near keeps what the layout
says, as do bevel sets, stepped planets and pairs whose pinions are given. A ring or sun that several sets share stays one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from gearkit.answers.draw_numbers.pool import Teeth, pool
from gearkit.answers.draw_numbers.seeded_random import SeededRandom, seed_of
from gearkit.solve import ratios
from gearkit.solve.mobility import assess
from gearkit.solve.one_way import in_range, one_way_clutches
from gearkit.solve.ratios import Ratio
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.terms import PinionKind

AS_GIVEN = Teeth(0, 0, 0, 0)
# How far a drawn quotient of ring and sun may be from the layout's own.
_NEAR, _NEAR_A_RATIO = Fraction(14, 100), Fraction(5, 100)
_LEAST_STEP, _LEAST_FROM_ONE = Fraction(107, 100), Fraction(3, 100)
_RATIO_ROOM = Fraction(17, 10)
_LEAST_ACROSS, _LEAST_SUN, _MOST_RING = 30, 18, 120
MOST_TRIES = 3000
MOST_CANDIDATES = 60


@lru_cache(maxsize=32)
def layout_in(text: str) -> Layout:
    """Return the layout that an item carries, read once.

    Args:
        text: text of a layout file.
    """
    return catalogue.parse(text, "layout")


@lru_cache(maxsize=64)
def with_teeth(text: str, teeth: tuple[Teeth, ...]) -> Layout:
    """Return a layout with drawn tooth counts.

    Args:
        text: text of a layout file.
        teeth: an entry for each set, `AS_GIVEN` where it keeps what the layout says.
    """
    layout = layout_in(text)
    drawn = {
        pset.name: (counts.sun, counts.ring) for pset, counts in zip(layout.sets, teeth, strict=True) if counts != AS_GIVEN
    }
    return layout.with_teeth(drawn) if drawn else layout


@lru_cache(maxsize=256)
def letters(text: str, teeth: tuple[Teeth, ...]) -> Mapping[str, Fraction]:
    """Return every tooth count of a drawn layout under its letter.

    Args:
        text: text of a layout file.
        teeth: an entry for each set.
    """
    layout = with_teeth(text, teeth)
    by_letter: dict[str, Fraction] = {}
    for pset, suffix in ((pset, ratios.symbol_suffixes(layout)[pset.name]) for pset in layout.sets):
        if pset.pinions is PinionKind.BEVEL:
            continue
        sun, ring = pset.teeth
        by_letter |= {f"S{suffix}": Fraction(sun), f"R{suffix}": Fraction(ring)}
        if pset.pinions is PinionKind.STEPPED:
            assert pset.sun_pinion_teeth is not None
            assert pset.ring_pinion_teeth is not None
            by_letter |= {f"P{suffix}": Fraction(pset.sun_pinion_teeth), f"Q{suffix}": Fraction(pset.ring_pinion_teeth)}
        elif pset.planet_teeth is not None and pset.planet_teeth.denominator == 1:
            by_letter[f"P{suffix}"] = pset.planet_teeth
    return by_letter


class Candidates:
    """The tooth counts that a seed gives, one after the other and all of them sane; the last is what the layout itself says.

    Args:
        text: text of a layout file.
        seed: any bytes.
    """

    def __init__(self, text: str, seed: bytes) -> None:
        self._drawn = _drawn(text, SeededRandom(seed_of(seed, "tooth counts")))
        self._own = tuple(AS_GIVEN for _ in layout_in(text).sets)
        self._served: dict[tuple[Teeth, ...], None] = {}
        self._ended = False

    def at(self, place: int) -> tuple[Teeth, ...] | None:
        """Return the counts at a place, counted from 0; None beyond the last.

        Args:
            place: the place.
        """
        while len(self._served) <= place and not self._ended:
            drawn = next(self._drawn, None)
            self._ended = drawn is None
            self._served[drawn or self._own] = None
        return list(self._served)[place] if place < len(self._served) else None


@lru_cache(maxsize=512)
def candidates(text: str, seed: bytes) -> Candidates:
    """Return the tooth counts that a seed gives; each is worked out when it is first asked for.

    Args:
        text: text of a layout file.
        seed: any bytes.
    """
    return Candidates(text, seed)


def _drawn(text: str, seeded: SeededRandom) -> Iterator[tuple[Teeth, ...]]:
    plan = _plan(text)
    if not any(plan.choices):
        return
    given = 0
    for _ in range(MOST_TRIES):
        teeth = _counts_that_fit(plan, seeded)
        if teeth is not None and plan.is_sane(teeth):
            yield teeth
            given += 1
            if given == MOST_CANDIDATES:
                return


def _counts_that_fit(plan: _Plan, seeded: SeededRandom) -> tuple[Teeth, ...] | None:
    drawn: list[Teeth] = []
    for place, choices in enumerate(plan.choices):
        fitting = choices
        if choices and place in plan.same_ring:
            fitting = tuple(choice for choice in fitting if choice.ring == drawn[plan.same_ring[place]].ring)
        if choices and place in plan.same_sun:
            fitting = tuple(choice for choice in fitting if choice.sun == drawn[plan.same_sun[place]].sun)
        if choices and not fitting:
            return None
        drawn.append(seeded.pick(fitting) if fitting else AS_GIVEN)
    return tuple(drawn)


@dataclass(frozen=True)
class _Plan:
    """What all draws of a layout have in common.

    Args:
        layout: the layout.
        choices: tooth counts to draw from, set by set; none where a set keeps its own.
        same_ring: place of a set -> place of the earlier one with which it shares its ring.
        same_sun: the same for the sun.
        tables: ranges that drive, with the layout's own ratio.
    """

    layout: Layout
    choices: tuple[tuple[Teeth, ...], ...]
    same_ring: Mapping[int, int]
    same_sun: Mapping[int, int]
    tables: tuple[tuple[str, Ratio], ...]

    def is_sane(self, teeth: tuple[Teeth, ...]) -> bool:
        """Whether every range does what it does with the layout's own counts, in steps of a usual size."""
        weights = {pset.name: _weights(pset, counts) for pset, counts in zip(self.layout.sets, teeth, strict=True)}
        pairs = []
        for _, table in self.tables:
            above, below = table.at(weights)
            if not above or not below:
                return False
            ratio = Fraction(above, below)
            if ratio * table.exact < 0 or not 1 / _RATIO_ROOM < ratio / table.exact < _RATIO_ROOM:
                return False
            if (ratio == 1) != (table.exact == 1) or (ratio != 1 and abs(ratio - 1) < _LEAST_FROM_ONE):
                return False
            pairs.append((table.exact, ratio))
        pairs.sort()
        for (own, ratio), (next_own, next_ratio) in pairwise(pairs):
            if own == next_own and ratio != next_ratio:
                return False
            if own != next_own:
                step, own_step = abs(next_ratio / ratio), abs(next_own / own)
                least = min(_LEAST_STEP, own_step) if own > 0 else Fraction(0)
                if next_ratio <= ratio or (own > 0 and step < least):
                    return False
        return self._alike(teeth)

    def _alike(self, teeth: tuple[Teeth, ...]) -> bool:
        text = self.layout
        drawn = {p.name: (counts.sun, counts.ring) for p, counts in zip(text.sets, teeth, strict=True) if counts != AS_GIVEN}
        layout = text.with_teeth(drawn)
        if not one_way_clutches(layout):
            # With some counts two equations say the same, and what drives by its formula does not drive at all.
            return all(assess(layout, item.engaged).verdict is assess(text, item.engaged).verdict for item in text.ranges)
        return all(_state(layout, named_range.name) == _state(text, named_range.name) for named_range in text.ranges)


def _state(layout: Layout, name: str) -> tuple[object, ...]:
    state = in_range(layout, name)
    return state.verdict, state.holding, tuple(clutch.state for clutch in state.clutches)


def _weights(pset: PlanetarySet, teeth: Teeth) -> tuple[int, int]:
    if teeth == AS_GIVEN:
        return pset.weights
    return (-teeth.sun if pset.pinions is PinionKind.DOUBLE else teeth.sun), teeth.ring


@lru_cache(maxsize=32)
def _plan(text: str) -> _Plan:
    layout = layout_in(text)
    tables, free = [], True
    for named_range in layout.ranges:
        state = assess(layout, named_range.engaged)
        # A verdict that holds at these very counts only allows no others.
        free = free and state.verdict is state.generic_verdict
        table = ratios.ratio(layout, named_range.engaged)
        if table is not None:
            tables.append((named_range.name, table))
    choices = tuple(_choices(pset) if free else () for pset in layout.sets)
    return _Plan(layout, choices, _shared(layout, choices, "ring"), _shared(layout, choices, "sun"), tuple(tables))


def _shared(layout: Layout, choices: tuple[tuple[Teeth, ...], ...], member: str) -> dict[int, int]:
    """Sets on one carrier whose rings (or suns) are one part: the planets of both mesh with it."""
    groups, places = layout.groups, dict[int, int]()
    for place, pset in enumerate(layout.sets):
        for earlier, other in enumerate(layout.sets[:place]):
            alike = all(
                groups.name_of(f"{pset.name}.{part}") == groups.name_of(f"{other.name}.{part}") for part in ("carrier", member)
            )
            counts = [getattr(set_, f"{member}_teeth") for set_ in (pset, other)]
            if alike and counts[0] == counts[1] and choices[earlier]:
                places.setdefault(place, earlier)
    return places


def _choices(pset: PlanetarySet) -> tuple[Teeth, ...]:
    if pset.pinions is PinionKind.SINGLE:
        near = _NEAR if pset.sun_teeth is not None else _NEAR_A_RATIO
        return _near(pset.quotient, near)
    if pset.pinions is PinionKind.DOUBLE and pset.sun_pinion_teeth is None and pset.sun_teeth and pset.ring_teeth:
        return _pairs_near(pset.sun_teeth, pset.ring_teeth)
    return ()


@lru_cache(maxsize=128)
def _near(quotient: Fraction, near: Fraction) -> tuple[Teeth, ...]:
    return tuple(teeth for teeth in pool() if abs(teeth.ring - quotient * teeth.sun) <= near * quotient * teeth.sun)


@lru_cache(maxsize=128)
def _pairs_near(sun: int, ring: int) -> tuple[Teeth, ...]:
    """Pairs that can be spaced equally ((R - S)/N whole, common practice, no source), three or four of them."""
    choices = []
    for own_sun in range(max(_LEAST_SUN, sun - 5), sun + 6):
        for own_ring in range(ring - 10, min(_MOST_RING, ring + 10) + 1):
            across = own_ring - own_sun
            pairs = next((number for number in (3, 4) if across % number == 0), 0)
            if pairs and across >= _LEAST_ACROSS:
                choices.append(Teeth(own_sun, 0, own_ring, pairs))
    return tuple(choices)
