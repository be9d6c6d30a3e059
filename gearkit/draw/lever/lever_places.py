"""Where the levers of a layout stand: their order from left to right and the height of every node.

Levers that share a shaft should be neighbours, and the shared nodes level. A lever may be moved and stretched as a whole, but
never turned over: ring at the top, sun at the foot, as in all pictures. The proportions between its nodes never change.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations

from gearkit.draw.lever.lever_geometry import Lever, shared_shafts

EXHAUSTIVE = 6
Heights = dict[int, float]


@dataclass(frozen=True)
class Standing:
    """A lever in its place.

    Args:
        lever: the lever.
        heights: shaft -> height, about 0 (low) to 1 (high), as drawn.
    """

    lever: Lever
    heights: Mapping[int, float]


def stand(drawn: Sequence[Lever], first: int | None, last: int | None) -> list[Standing]:
    """Return the levers from left to right with the heights of their nodes, scaled to 0 … 1 over all.

    Args:
        drawn: the levers of one layout.
        first: shaft that should be at the left (the input's).
        last: shaft that should be at the right (the output's).
    """
    known: Heights = {}
    placed: list[Standing] = []
    for index in _order(drawn, first, last):
        heights = _fitted(drawn[index], known)
        placed.append(Standing(drawn[index], heights))
        known.update(heights)
    values = [height for standing in placed for height in standing.heights.values()]
    low, high = min(values), max(values)
    span = high - low or 1.0
    return [
        Standing(standing.lever, {shaft: (height - low) / span for shaft, height in standing.heights.items()})
        for standing in placed
    ]


def spread(values: Sequence[float], gap: float) -> list[float]:
    """Return the values moved apart as little as needed, in the same order.

    Args:
        values: any order.
        gap: least distance wanted between neighbours.
    """
    order = sorted(range(len(values)), key=lambda index: values[index])
    # Neighbours too close are pooled into one run, which keeps its middle.
    runs: list[list[int]] = []
    middles: list[float] = []
    for index in order:
        runs.append([index])
        middles.append(values[index])
        while len(runs) > 1:
            need = gap * (len(runs[-1]) + len(runs[-2])) / 2
            if middles[-1] - middles[-2] >= need - 1e-9:
                break
            run = runs.pop()
            middles.pop()
            runs[-1] += run
            middles[-1] = sum(
                values[each] - gap * (place - (len(runs[-1]) - 1) / 2) for place, each in enumerate(runs[-1])
            ) / len(runs[-1])
    result = [0.0] * len(values)
    for run, middle in zip(runs, middles, strict=True):
        for place, index in enumerate(run):
            result[index] = middle + gap * (place - (len(run) - 1) / 2)
    return result


def _order(drawn: Sequence[Lever], first: int | None, last: int | None) -> tuple[int, ...]:
    links = list(shared_shafts(tuple(drawn)).values())
    count = len(drawn)

    def cost(order: Sequence[int]) -> float:
        at = {index: place for place, index in enumerate(order)}
        total = 0.0
        for levers in links:
            seats = sorted(at[index] for index in levers)
            total += sum(2.0 * (b - a) - 1.5 for a, b in pairwise(seats))
        for shaft, seat in ((first, 0), (last, count - 1)):
            seats = [at[index] for index, lever in enumerate(drawn) if shaft in lever.nodes]
            if seats:
                total += 0.3 * min(abs(place - seat) for place in seats)
        return total + 0.02 * sum(a > b for place, a in enumerate(order) for b in order[place + 1 :])

    if count <= EXHAUSTIVE:
        return min(permutations(range(count)), key=cost)
    best = list(range(count))
    while True:
        trials = [_moved(best, a, b) for a in range(count) for b in range(count) if a != b]
        choice = min(trials, key=cost)
        if cost(choice) >= cost(best) - 1e-9:
            return tuple(best)
        best = choice


def _moved(order: list[int], source: int, target: int) -> list[int]:
    rest = [item for place, item in enumerate(order) if place != source]
    return [*rest[:target], order[source], *rest[target:]]


def _fitted(lever: Lever, known: Heights) -> Heights:
    links = [shaft for shaft in lever.nodes if shaft in known]
    if lever.solid and len(lever.nodes) == 1:
        shaft = next(iter(lever.nodes))
        return {shaft: known.get(shaft, 1.0)}
    trials: list[Heights] = []
    # Every lever stands the same way up, the ring's end of its set at the top: none is turned over to straighten a link.
    places = {shaft: 1 - float(place) for shaft, place in lever.nodes.items()}
    trials.append(places)
    trials += [{s: p - places[link] + known[link] for s, p in places.items()} for link in links]
    for a in links:
        for b in links:
            if places[a] < places[b] and known[a] < known[b]:
                by = (known[b] - known[a]) / (places[b] - places[a])
                trials.append({s: known[a] + by * (p - places[a]) for s, p in places.items()})

    def cost(heights: Heights) -> float:
        low, high = min(heights.values()), max(heights.values())
        apart = sum(abs(heights[shaft] - known[shaft]) for shaft in links)
        outside = max(0.0, high - 1) + max(0.0, -low)
        return apart + 0.7 * outside + 0.25 * abs(math.log(max(high - low, 1e-6)))

    return min(trials, key=cost)
