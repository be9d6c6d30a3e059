"""Levers of a layout: the members of a set as points of a straight line, at distances by the tooth counts.

With a·w_sun + b·w_ring = (a + b)·w_carrier, put the carrier at 0, the sun at 1/a and the ring at −1/b: then speed is a
straight line over the place, whatever turns. Two sets that share two shafts turn as one lever, so they are drawn as
one. (The lever as a picture of a planetary set: H. Benford and M. Leising, SAE 810102, 1981; citation seen, paper not.)
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations

from gearkit.draw.core.state import member_list
from gearkit.train.layout import Layout
from gearkit.words.terms import HOUSING, MEMBERS


@dataclass(frozen=True)
class Lever:
    """One straight line of nodes.

    Args:
        sets: names of the sets on it; empty for a shaft that carries no member of a set.
        nodes: shaft number -> place, 0 at one end and 1 at the other.
        solid: whether all its members turn as one, so that places mean nothing.
    """

    sets: tuple[str, ...]
    nodes: Mapping[int, Fraction]
    solid: bool = False

    def turned_over(self) -> Lever:
        """Return the lever with its ends changed over."""
        return Lever(self.sets, {shaft: 1 - place for shaft, place in self.nodes.items()}, self.solid)

    def members(self, layout: Layout, shaft: int) -> tuple[str, ...]:
        """Return this lever's own members on a shaft; input and output too.

        Args:
            layout: the layout.
            shaft: number of a shaft on this lever.
        """
        own = [name for name in member_list(layout, shaft) if name.partition(".")[0] in self.sets]
        ends = [name for name in (*layout.further_shafts, HOUSING) if name in layout.shafts[shaft]]
        return (*own, *ends)

    def kind(self, layout: Layout, shaft: int) -> str:
        """Return "sun", "carrier" or "ring" where only members of one kind are on a shaft, else "shaft".

        Args:
            layout: the layout.
            shaft: number of a shaft on this lever.
        """
        kinds = {name.partition(".")[2] for name in self.members(layout, shaft) if "." in name}
        return kinds.pop() if len(kinds) == 1 else "shaft"


def levers(layout: Layout) -> tuple[Lever, ...]:
    """Return the levers of a layout, equivalent ones merged; shafts without a set's member follow as single nodes.

    Args:
        layout: any layout.
    """
    lines = [_line_of(layout, index) for index in range(len(layout.sets))]
    merged = True
    while merged:
        merged = False
        for first, second in combinations(lines, 2):
            both = _merge(first, second)
            if both is not None:
                lines[lines.index(first)] = both
                lines.remove(second)
                merged = True
                break
    scaled = [_scaled(line) for line in lines]
    on_levers = {shaft for lever in scaled for shaft in lever.nodes}
    # The input of many layouts reaches the sets only through clutches: it is then a node of its own.
    for number, shaft in enumerate(layout.shafts):
        if number not in on_levers and HOUSING not in shaft:
            scaled.append(Lever((), {number: Fraction(0)}, True))
    return tuple(scaled)


def shared_shafts(drawn: tuple[Lever, ...]) -> dict[int, list[int]]:
    """Return the shafts that are nodes of several levers, with those levers' numbers.

    Args:
        drawn: levers of one layout.
    """
    places: dict[int, list[int]] = {}
    for index, lever in enumerate(drawn):
        for shaft in lever.nodes:
            places.setdefault(shaft, []).append(index)
    return {shaft: indices for shaft, indices in places.items() if len(indices) > 1}


def _line_of(layout: Layout, index: int) -> Lever:
    pset = layout.sets[index]
    sun, ring = pset.weights
    places = {"sun": Fraction(1, sun), "carrier": Fraction(0), "ring": Fraction(-1, ring)}
    nodes = {layout.shaft_of(f"{pset.name}.{member}"): places[member] for member in MEMBERS}
    # Two members on one shaft lock the set: its third member turns with them.
    return Lever((pset.name,), nodes, solid=len(nodes) < 3)


def _merge(first: Lever, second: Lever) -> Lever | None:
    if first.solid or second.solid:
        return None
    shared = sorted(set(first.nodes) & set(second.nodes))
    if len(shared) < 2:
        return None
    a, b = shared[:2]
    if second.nodes[a] == second.nodes[b] or first.nodes[a] == first.nodes[b]:
        return None
    stretch = (first.nodes[a] - first.nodes[b]) / (second.nodes[a] - second.nodes[b])
    moved = {shaft: first.nodes[a] + stretch * (place - second.nodes[a]) for shaft, place in second.nodes.items()}
    # A third shared shaft at two different places would lock both sets: such sets stay apart.
    if any(moved[shaft] != first.nodes[shaft] for shaft in shared):
        return None
    return Lever(first.sets + second.sets, {**moved, **first.nodes})


def _scaled(lever: Lever) -> Lever:
    low, high = min(lever.nodes.values()), max(lever.nodes.values())
    if lever.solid or low == high:
        count = max(1, len(lever.nodes) - 1)
        return Lever(lever.sets, {shaft: Fraction(i, count) for i, shaft in enumerate(lever.nodes)}, True)
    return Lever(lever.sets, {shaft: (place - low) / (high - low) for shaft, place in lever.nodes.items()})
