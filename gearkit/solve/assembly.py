"""Will one planetary set go together: coaxial, pinions equally spaced, neighbouring pinions clear of each other.

Conditions for spur gears without profile shift, S and R teeth on sun and ring, P on each of N pinions:
R = S + 2P; (S + R)/N whole; P + 2 < (S + P)*sin(180°/N), tips clear of each other (Elements of Metric Gear Technology,
section 13.3.1, equations 13-5, 13-7 and 13-9; looked up).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import pi, sin

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
