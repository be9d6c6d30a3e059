"""What one-way clutches do, found by trying every way in which they can hold, rest and run free; in floating point.

An independent judgement to hold the kit's against: nothing of the kit's solver is used. A clutch holds (loaded), rests
(both sides at one speed, no load) or runs free. What stands: every loaded clutch has its torque in the sense that it can
hold, and no other turns in its blocked direction.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np

from gearkit.train.layout import Layout
from tests.support import dense

Array = Any
ZERO = 1e-8
# An output speed that no drawn train has for a ratio, to tell an output that can only stand from one that may turn.
CREEP = 1e-4


@dataclass(frozen=True)
class Found:
    """A judgement in floating point.

    Args:
        verdict: as the kit names it.
        ratio: input speed / output speed, None where the verdict is not range.
        loaded: one choice of loaded clutches in a range.
    """

    verdict: str
    ratio: float | None
    loaded: tuple[str, ...]


def judged(layout: Layout, asked: Iterable[str]) -> Found:
    """Return what elements do in drive.

    Args:
        layout: the layout.
        asked: names of elements; one-way clutches among them are left out, for nobody applies them.
    """
    senses = {e.name: 1 if e.free_direction == "forward" else -1 for e in layout.elements if e.kind == "one-way clutch"}
    applied = [name for name in asked if name not in senses]
    if not can_move(layout, applied, senses, {"input": 1.0}):
        rolls = any(can_move(layout, applied, senses, {"input": 0.0, "output": way}) for way in (1.0, -1.0))
        return Found("input locked" if rolls else "tie-up", None, ())
    standing = [(held, ratio) for held in subsets(list(senses)) if (ratio := stands(layout, applied, held, senses))]
    if standing:
        held, ratio = standing[0]
        assert all(abs(other - ratio) < 1e-6 * abs(ratio) for _, other in standing), "physics leaves one answer"
        return Found("range", ratio, held)
    if not any(can_move(layout, applied, senses, {"input": 1.0, "output": creep}) for creep in (CREEP, -CREEP)):
        return Found("output locked", None, ())
    return Found("neutral", None, ())


def brakes(layout: Layout, asked: Iterable[str]) -> bool:
    """Return whether elements hold the output to the input in coast, with the output pushed one way or the other.

    Args:
        layout: the layout.
        asked: names of elements; one-way clutches among them are left out.
    """
    senses = {e.name: 1 if e.free_direction == "forward" else -1 for e in layout.elements if e.kind == "one-way clutch"}
    applied = [name for name in asked if name not in senses]
    return any(stands(layout, applied, held, senses, torque=-1.0) is not None for held in subsets(list(senses)))


def subsets(names: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """Yield every choice of names, smallest first."""
    return (chosen for size in range(len(names) + 1) for chosen in combinations(names, size))


def stands(
    layout: Layout, applied: Sequence[str], held: Sequence[str], senses: Mapping[str, int], torque: float = 1.0
) -> float | None:
    """Return the ratio with these clutches loaded by an input torque, or None where that does not stand."""
    state = dense.state(layout, [*applied, *held])
    if state.ratio is None:
        return None
    if not can_move(layout, [*applied, *held], {n: s for n, s in senses.items() if n not in held}, {"input": 1.0}):
        return None
    torques = loads(layout, applied, held)
    if torques is None or any(torque * torques[name] * senses[name] <= ZERO for name in held):
        return None
    return state.ratio


def can_move(layout: Layout, joined: Sequence[str], senses: Mapping[str, int], given: Mapping[str, float]) -> bool:
    """Return whether some motion has the speeds given and no clutch of ``senses`` turning in its blocked direction.

    If there is one, there is one where some clutches rest and all other slips are settled; so all choices are tried.
    """
    place = {name: number for number, name in enumerate(dense.names(layout))}
    for resting in subsets(list(senses)):
        equations = dense.matrix(layout, [*joined, *resting])
        drive = np.zeros((len(given), equations.shape[1]))
        for number, shaft in enumerate(given):
            drive[number, place[shaft]] = 1.0
        rows = np.vstack([equations, drive])
        right = np.concatenate([np.zeros(len(equations)), list(given.values())])
        speeds = np.linalg.lstsq(rows, right, rcond=None)[0]
        if not np.allclose(rows @ speeds, right, atol=ZERO):
            continue
        _, sizes, vectors = np.linalg.svd(rows)
        loose = vectors[int((sizes > ZERO).sum()) :]
        slips = [slip_row(layout, name, place) * senses[name] for name in senses if name not in resting]
        if all(np.abs(loose @ slip).max(initial=0.0) < ZERO and slip @ speeds > -ZERO for slip in slips):
            return True
    return False


def slip_row(layout: Layout, name: str, place: Mapping[str, int]) -> Array:
    """Return the row whose product with all speeds is a clutch's slip, first part less second."""
    row = np.zeros(len(place))
    first, second = layout.element_named(name).between
    row[place[first]] += 1.0
    row[place[second]] -= 1.0
    return row


def loads(layout: Layout, applied: Sequence[str], held: Sequence[str]) -> dict[str, float] | None:
    """Return the torque of each held clutch on its first part at input torque 1, None where balance does not fix it."""
    place = {name: number for number, name in enumerate(dense.names(layout))}
    # Held clutches come last but the output's own torque: rows of forces on every part.
    equations = dense.matrix(layout, applied)
    clutches = np.array([slip_row(layout, name, place) for name in held]).reshape(len(held), len(place))
    output = np.zeros((1, len(place)))
    output[0, place["output"]] = 1.0
    forces = np.vstack([equations, clutches, output]).T
    outside = np.zeros(len(place))
    outside[place["input"]] = 1.0
    values = np.linalg.lstsq(forces, -outside, rcond=None)[0]
    if not np.allclose(forces @ values, -outside, atol=ZERO):
        return None
    _, sizes, vectors = np.linalg.svd(forces)
    loose = vectors[int((sizes > ZERO).sum()) :]
    places = range(len(equations), len(equations) + len(held))
    if any(np.abs(loose[:, number]).max(initial=0.0) > ZERO for number in places):
        return None
    return {name: float(values[number]) for name, number in zip(held, places, strict=True)}
