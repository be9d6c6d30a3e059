"""How large the customary units are, exactly; every conversion in the kit takes them from here.

Sources: the international yard and pound agreement of 1959 (1 yd = 0.9144 m, 1 lb = 0.45359237 kg), and the standard
acceleration of gravity, 9.80665 m/s² (3rd General Conference on Weights and Measures, 1901), of which the pound-force
follows. The values were written from memory.
"""

from __future__ import annotations

from fractions import Fraction

FOOT = Fraction("0.9144") / 3
"""In metres."""
INCH = FOOT / 12
"""In metres."""
MILE = 5280 * FOOT
"""In metres."""
POUND = Fraction("0.45359237")
"""In kilograms."""
POUND_FORCE = POUND * Fraction("9.80665")
"""In newtons."""
