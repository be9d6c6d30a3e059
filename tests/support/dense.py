"""An independent, plain solver in floating point, to hold the exact one against.

Nothing of the kit's solver is used: every member, input, output and housing has its own unknown speed, every join and
every applied element its own equation; what turns is told by singular values. Torques come from the transposed system.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np

from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet

Array = Any
ZERO = 1e-9


@dataclass(frozen=True)
class DenseState:
    """What a combination of applied elements does, in floating point.

    Args:
        verdict: as the kit names it.
        ratio: input speed / output speed, None where the verdict is not range.
        freedom: number of independent motions.
    """

    verdict: str
    ratio: float | None
    freedom: int


def names(layout: Layout) -> list[str]:
    """Return every part that has a speed of its own."""
    return [f"{p.name}.{m}" for p in layout.sets for m in ("sun", "carrier", "ring")] + ["input", "output", "housing"]


def set_equation(pset: PlanetarySet, ring_factor: float = 1.0) -> dict[str, float]:
    """Return a set's speed equation from its tooth counts, scaled to the size of 1."""
    ring_to_sun = float(pset.quotient)
    match pset.pinions.value:
        case "double":
            ring_to_sun = -ring_to_sun
        case "stepped":
            assert pset.sun_pinion_teeth
            assert pset.ring_pinion_teeth
            ring_to_sun *= pset.sun_pinion_teeth / pset.ring_pinion_teeth
    ring_to_sun *= ring_factor
    return {"sun": 1.0, "ring": ring_to_sun, "carrier": -1.0 - ring_to_sun}


def matrix(layout: Layout, engaged: Iterable[str], ring_factors: Mapping[str, float] | None = None) -> Array:
    """Return all equations: one row a set, a join, an applied element, and the housing at rest."""
    place = {name: number for number, name in enumerate(names(layout))}
    rows = []

    def row(entries: Mapping[str, float]) -> None:
        line = np.zeros(len(place))
        for name, value in entries.items():
            line[place[name]] += value
        rows.append(line)

    for pset in layout.sets:
        equation = set_equation(pset, (ring_factors or {}).get(pset.name, 1.0))
        row({f"{pset.name}.{member}": value for member, value in equation.items()})
    for join in layout.joins:
        for member in join[1:]:
            row({join[0]: 1.0, member: -1.0})
    by_name = {element.name: element for element in layout.elements}
    for name in engaged:
        first, second = by_name[name].between
        row({first: 1.0, second: -1.0})
    row({"housing": 1.0})
    return np.array(rows)


def state(layout: Layout, engaged: Iterable[str]) -> DenseState:
    """Return verdict, ratio and freedom from the motions that the equations leave."""
    equations = matrix(layout, engaged)
    _, sizes, vectors = np.linalg.svd(equations)
    rank = int((sizes > ZERO).sum())
    motions = vectors[rank:]
    ends = motions[:, [-3, -2]]  # input and output
    spread = np.linalg.svd(ends, compute_uv=False) if len(ends) else np.zeros(0)
    independent = int((spread > ZERO).sum())
    if independent == 0:
        return DenseState("tie-up", None, len(motions))
    if independent == 2:
        return DenseState("neutral", None, len(motions))
    moved_in, moved_out = np.linalg.norm(ends, axis=0)
    if moved_in <= ZERO:
        return DenseState("input locked", None, len(motions))
    if moved_out <= ZERO:
        return DenseState("output locked", None, len(motions))
    motion = motions[np.abs(ends[:, 1]).argmax()]
    return DenseState("range", float(motion[-3] / motion[-2]), len(motions))


def speeds(layout: Layout, engaged: Iterable[str]) -> dict[str, float]:
    """Return the speeds at input speed 1; of motions that nothing fixes, the smallest."""
    equations = matrix(layout, engaged)
    drive = np.zeros((1, equations.shape[1]))
    drive[0, -3] = 1.0
    right = np.zeros(len(equations) + 1)
    right[-1] = 1.0
    found = np.linalg.lstsq(np.vstack([equations, drive]), right, rcond=None)[0]
    return dict(zip(names(layout), found.tolist(), strict=True))


def undetermined(layout: Layout, engaged: Iterable[str]) -> bool:
    """Return whether sets, joins and elements say anything twice, so that balance does not fix every torque."""
    equations = matrix(layout, engaged)
    return bool(np.linalg.matrix_rank(equations, tol=ZERO) < len(equations))


@dataclass(frozen=True)
class DenseTorques:
    """Torques in floating point.

    Args:
        members: torque on every member.
        output: torque on the output.
        rolling: set -> power from sun to ring seen from the carrier.
    """

    members: dict[str, float]
    output: float
    rolling: dict[str, float]


def balances(
    layout: Layout, engaged: Iterable[str], input_torque: float, efficiencies: Mapping[str, float]
) -> list[DenseTorques]:
    """Return every state of balance in which power goes from the pushing end to the other, trying all signs."""
    engaged = list(engaged)
    turning = speeds(layout, engaged)
    found: list[DenseTorques] = []
    seen = {p.name: turning[f"{p.name}.sun"] - turning[f"{p.name}.carrier"] for p in layout.sets}
    for signs in product((1, -1), repeat=len(layout.sets)):
        # Where nothing rolls nothing is lost, and the teeth share as they would without friction.
        factors = {
            p.name: efficiencies[p.name] ** sign if abs(seen[p.name]) > ZERO else 1.0
            for p, sign in zip(layout.sets, signs, strict=True)
        }
        torques = _balance(layout, engaged, input_torque, factors, turning)
        if torques is None or torques.output * turning["output"] * input_torque >= 0:
            continue
        fits = all(torques.rolling[p.name] * sign > -ZERO for p, sign in zip(layout.sets, signs, strict=True))
        if fits and not any(np.isclose(torques.output, known.output, rtol=1e-7) for known in found):
            found.append(torques)
    return found


def _balance(
    layout: Layout,
    engaged: list[str],
    input_torque: float,
    factors: Mapping[str, float],
    turning: Mapping[str, float],
) -> DenseTorques | None:
    equations = matrix(layout, engaged, factors)
    place = {name: number for number, name in enumerate(names(layout))}
    # What acts on each part adds to zero: shares of the sets, joins and elements, the input and the output torque.
    output = np.zeros((1, len(place)))
    output[0, place["output"]] = -1.0
    unknowns = np.vstack([equations, output]).T
    outside = np.zeros(len(place))
    outside[place["input"]] = input_torque
    values = np.linalg.lstsq(unknowns, outside, rcond=None)[0]
    if not np.allclose(unknowns @ values, outside, atol=1e-8):
        return None
    members, rolling = {}, {}
    for number, pset in enumerate(layout.sets):
        for member, share in set_equation(pset, factors[pset.name]).items():
            members[f"{pset.name}.{member}"] = float(share * values[number])
        seen = turning[f"{pset.name}.sun"] - turning[f"{pset.name}.carrier"]
        rolling[pset.name] = float(values[number] * seen)
    return DenseTorques(members, float(values[-1]), rolling)
