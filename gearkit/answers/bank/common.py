"""What several lessons share: tolerances and usual draws."""

from __future__ import annotations

from fractions import Fraction

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.items import Draw

HALF_RPM = Tolerance(absolute=Fraction(1, 2))
HALF_PERCENT = Tolerance(relative=Fraction(1, 200))
ONE_PERCENT = Tolerance(relative=Fraction(1, 100))
TWO_PERCENT = Tolerance(relative=Fraction(1, 50))
HUNDREDTH = Tolerance(absolute=Fraction(1, 100))

ONE_SET = Draw(sets=("",))
# R = 2S would make R/S and (1 + R/S) - 1 look alike in several wrong answers.
ONE_UNEVEN_SET = Draw(sets=("",), keep=("R != 2*S",))
TWO_SETS = Draw(sets=("1", "2"))
Q24 = Draw(layout="Q24")
Q36 = Draw(layout="Q36")
Q48 = Draw(layout="Q48")
