"""Which bodies have to meet, and a proof that they cannot where their meetings do not fit into one plane.

The half-section of a train is flat, and each body takes one connected patch of it. Two patches touch where gears mesh, where
an element joins them, and where input, output and housing reach the outside. A map of what touches what can be drawn in
the plane without crossing lines. So where the meetings cannot, no arrangement of the parts exists, and a search is in vain.
By Kuratowski's theorem it then holds five that each meet all others, or three that each meet three others, if need be by
way of further bodies (K. Kuratowski, 1930, from memory).
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from itertools import combinations

from gearkit.train.layout import Layout
from gearkit.words.terms import HOUSING, INPUT, OUTPUT

OUTSIDE = -1
# Trains of up to five sets have at most 9 corners; with 10 the proof takes some hundredths of a second.
_MOST = 10
Edge = frozenset[int]


def meetings(layout: Layout) -> set[Edge]:
    """Return all pairs of shafts that have to touch in the half-section; -1 is the outside, 0 the housing.

    Args:
        layout: a layout with one input and one output.
    """
    pairs = [(OUTSIDE, layout.shaft_of(name)) for name in (HOUSING, INPUT, OUTPUT)]
    pairs += [(layout.shaft_of(element.between[0]), layout.shaft_of(element.between[1])) for element in layout.elements]
    for pset in layout.sets:
        # Planets, pins and plates are one patch with the carrier.
        carrier = layout.shaft_of(f"{pset.name}.carrier")
        pairs += [(layout.shaft_of(f"{pset.name}.{member}"), carrier) for member in ("sun", "ring")]
    return {frozenset(pair) for pair in pairs if pair[0] != pair[1]}


def in_one_plane(edges: Iterable[Edge]) -> bool:
    """Return False where it is proved that a graph cannot be drawn in the plane without crossing lines.

    Args:
        edges: pairs of corners; with more than 10 at which three lines meet nothing is proved.

    A knot of five or of six corners is left whatever else is drawn together to a point, so a larger graph has one just where
    drawing together the ends of one of its lines leaves one (K. Wagner, 1937, from memory).
    """
    return _in_plane(frozenset(edges))


@cache
def _in_plane(edges: frozenset[Edge]) -> bool:
    kept = _bare(edges)
    corners = sorted({corner for edge in kept for corner in edge})
    if not 5 <= len(corners) <= _MOST:
        return True
    # Euler: a graph in the plane has no more lines than this.
    if len(kept) > 3 * len(corners) - 6:
        return False
    if len(corners) == 6:
        for three in combinations(corners[1:], 2):
            side = {corners[0], *three}
            if all(frozenset((a, b)) in kept for a in side for b in set(corners) - side):
                return False
    return all(_in_plane(_drawn_together(kept, edge)) for edge in sorted(kept, key=sorted))


def _bare(edges: frozenset[Edge]) -> frozenset[Edge]:
    """Leave out corners at which fewer than three lines meet; two lines that meet there become one."""
    kept = set(edges)
    while True:
        beside = _neighbours(kept)
        few = next((corner for corner in sorted(beside) if len(beside[corner]) < 3), None)
        if few is None:
            return frozenset(kept)
        kept = {edge for edge in kept if few not in edge}
        if len(beside[few]) == 2:
            kept.add(frozenset(beside[few]))


def _drawn_together(edges: frozenset[Edge], line: Edge) -> frozenset[Edge]:
    one, other = sorted(line)
    moved = (frozenset(one if corner == other else corner for corner in edge) for edge in edges)
    return frozenset(edge for edge in moved if len(edge) == 2)


def knot(edges: Iterable[Edge]) -> tuple[set[Edge], list[int]]:
    """Return a smallest part of a graph that does not fit into the plane, and its corners at which three or four lines meet.

    Args:
        edges: of a graph that does not fit.
    """
    kept = set(edges)
    for edge in sorted(kept, key=sorted):
        if not in_one_plane(kept - {edge}):
            kept.remove(edge)
    corners = sorted({corner for edge in kept for corner in edge if sum(corner in other for other in kept) > 2})
    return kept, corners


def thirds(kept: set[Edge], corners: list[int]) -> tuple[list[int], list[int]] | None:
    """Return the two threes of a knot in which each of the one meets each of the other; None where five meet each other.

    Args:
        kept: its lines.
        corners: at which more than two of them meet.
    """
    if len(corners) != 6:
        return None
    first = corners[0]
    others = [corner for corner in corners if corner != first and _linked(kept, first, corner, set(corners))]
    return [corner for corner in corners if corner not in others], others


def _linked(kept: set[Edge], start: int, end: int, corners: set[int]) -> bool:
    """Whether two corners are joined by a line that passes no third one."""
    todo, seen = [start], {start}
    while todo:
        at = todo.pop()
        for edge in kept:
            for beside in edge - {at} if at in edge else ():
                if beside == end:
                    return True
                if beside not in seen and beside not in corners:
                    seen.add(beside)
                    todo.append(beside)
    return False


def _neighbours(edges: Iterable[Edge]) -> dict[int, set[int]]:
    neighbours: dict[int, set[int]] = {}
    for start, other in edges:
        neighbours.setdefault(start, set()).add(other)
        neighbours.setdefault(other, set()).add(start)
    return neighbours
