"""What several lessons share: tolerances and usual draws."""

from __future__ import annotations

from fractions import Fraction

from gearkit.answers.comparison.compare import Tolerance
from gearkit.answers.item import Draw


def one_of(versions: int, first: int = 1) -> dict[str, tuple[str, str, str]]:
    """Return the drawn number that chooses between an item's versions.

    Args:
        versions: how many there are.
        first: the least that is drawn; 2 where the first is kept for what was handed out before.
    """
    return {"version": (str(first), str(versions), "1")}


BEFORE = {"version": "1"}

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
# The letters of the elements are drawn too, so that nobody can copy another's.
LETTERS = {"letters": ("1", "30", "1")}
AS_BEFORE = {"letters": "0"}
Q36_LETTERS = Draw(layout="Q36", numbers=LETTERS, later=AS_BEFORE)
Q36 = Draw(layout="Q36")
Q48 = Draw(layout="Q48")
