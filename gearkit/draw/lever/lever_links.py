"""Which links between levers are needed, and how each runs: straight to the neighbour, or along a rail below."""

from __future__ import annotations

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from itertools import pairwise


@dataclass(frozen=True)
class Hop:
    """One link of a shaft from a lever to the next one that has it.

    Args:
        shaft: the shared shaft.
        first: number of the lever it leaves, from the left.
        second: number of the lever it reaches.
        rail: which rail below the levers it takes; None between neighbours.
    """

    shaft: int
    first: int
    second: int
    rail: int | None


@dataclass(frozen=True)
class Routes:
    """All links of a lever diagram.

    Args:
        hops: the links.
        verticals: how many of them run up or down in the strip before each lever.
    """

    hops: tuple[Hop, ...]
    verticals: tuple[int, ...]


def routes(levers: Sequence[AbstractSet[int]]) -> Routes:
    """Return the links that join levers with common shafts, from left to right.

    Args:
        levers: the shafts on each lever.
    """
    hops: list[Hop] = []
    verticals = [0] * len(levers)
    taken: list[list[tuple[int, int]]] = []
    for shaft in sorted({shaft for lever in levers for shaft in lever}):
        seats = [index for index, lever in enumerate(levers) if shaft in lever]
        for first, second in pairwise(seats):
            verticals[second] += 1
            if second == first + 1:
                hops.append(Hop(shaft, first, second, None))
                continue
            verticals[first + 1] += 1
            hops.append(Hop(shaft, first, second, _free_rail(taken, first, second)))
    return Routes(tuple(hops), tuple(verticals))


def _free_rail(taken: list[list[tuple[int, int]]], first: int, second: int) -> int:
    for number, rail in enumerate(taken):
        if all(second < a or b < first for a, b in rail):
            rail.append((first, second))
            return number
    taken.append([(first, second)])
    return len(taken) - 1
