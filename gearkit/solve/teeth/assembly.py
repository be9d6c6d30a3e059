"""Will one planetary set go together: coaxial, pinions equally spaced, neighbouring pinions clear of each other.

Conditions for spur gears without profile shift, S and R teeth on sun and ring, P on each of N pinions:
R = S + 2P; (S + R)/N whole; P + 2 < (S + P)*sin(180°/N), tips clear of each other (Elements of Metric Gear Technology,
section 13.3.1, equations 13-5, 13-7 and 13-9; looked up).

For pairs of equal pinions between sun and ring: (R - S)/N whole (common practice, no source); the rest is plain geometry
of the pitch circles: 4*P >= R - S, the pair reaches; 2*P < R - S - 4, neither pinion touches both sun and ring.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import acos, cos, pi, sin, sqrt

# The sine of 180°/N is rational only here (Niven's theorem, from memory); elsewhere the two sides are never equal.
_EXACT_SINES = {2: Fraction(1), 6: Fraction(1, 2)}


@dataclass(frozen=True)
class Assembly:
    """Which conditions of assembly a single-pinion set meets.

    Args:
        coaxial: sun and ring have the same axis.
        equal_spacing: the pinions can sit at equal angles.
        neighbours: the tips of neighbouring pinions do not touch.
    """

    coaxial: bool
    equal_spacing: bool
    neighbours: bool


@dataclass(frozen=True)
class PairsAssembly:
    """Which conditions of assembly a set with pairs of equal pinions meets.

    Args:
        reaches: the two pinions of a pair together reach from sun to ring.
        room: neither pinion touches sun and ring at once.
        equal_spacing: the pairs can sit at equal angles.
        neighbours: the tips of pinions of neighbouring pairs do not touch.
    """

    reaches: bool
    room: bool
    equal_spacing: bool
    neighbours: bool


def pairs_assembly(sun: int, pinion: int, ring: int, pairs: int) -> PairsAssembly:
    """Return which conditions of assembly a set with pairs of equal pinions meets.

    Args:
        sun: tooth count of the sun.
        pinion: tooth count of each pinion.
        ring: tooth count of the ring.
        pairs: number of pinion pairs, 2 or more.
    """
    across = ring - sun
    reaches = 4 * pinion >= across
    return PairsAssembly(
        reaches=reaches,
        room=2 * pinion < across - 4,
        equal_spacing=across % pairs == 0,
        neighbours=reaches and _pairs_gap(sun, pinion, ring, pairs) > 0,
    )


def _pairs_gap(sun: int, pinion: int, ring: int, pairs: int) -> float:
    """Return the least gap between the tips of pinions of neighbouring pairs, in modules."""
    near, far = (sun + pinion) / 2, (ring - pinion) / 2
    bend = acos(min(1.0, max(-1.0, (near**2 + far**2 - pinion**2) / (2 * near * far))))
    sine = _EXACT_SINES.get(pairs, sin(pi / pairs))
    # Inner beside inner, outer beside outer, and the outer pinion of one pair beside the inner one of the next.
    across = sqrt(near**2 + far**2 - 2 * near * far * cos(2 * pi / pairs - bend))
    return min(2 * near * float(sine), 2 * far * float(sine), across) - (pinion + 2)


def assembly(sun: int, pinion: int, ring: int, planets: int) -> Assembly:
    """Return which conditions of assembly a single-pinion set meets.

    Args:
        sun: tooth count of the sun.
        pinion: tooth count of each pinion.
        ring: tooth count of the ring.
        planets: number of pinions, 2 or more.

    >>> assembly(16, 16, 48, 4)
    Assembly(coaxial=True, equal_spacing=True, neighbours=True)
    """
    sine = _EXACT_SINES.get(planets, sin(pi / planets))
    return Assembly(
        coaxial=ring == sun + 2 * pinion,
        equal_spacing=(sun + ring) % planets == 0,
        neighbours=pinion + 2 < (sun + pinion) * sine,
    )
