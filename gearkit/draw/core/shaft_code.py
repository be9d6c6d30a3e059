"""One code for all pictures of a layout: colour tells the shaft, letter and shape tell the member.

The input is blue and the output orange in every layout; black belongs to the housing alone. After the sixth shaft the
hues come again with another dash, so that no two shafts of a layout look alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from gearkit.draw.core.palette import HUES
from gearkit.train.layout import Layout
from gearkit.words.terms import INPUT

DASHES: tuple[tuple[float, ...], ...] = (
    (), (12.0, 4.0), (12.0, 3.0, 3.0, 3.0), (3.5, 3.0), (18.0, 3.0, 3.0, 3.0, 3.0, 3.0), (7.0, 3.0)
)  # fmt: skip


@dataclass(frozen=True)
class ShaftCode:
    """How the lines and bodies of one shaft are drawn in every picture.

    Args:
        role: colour role of its lines.
        dash: dashes and gaps of its lines in px; empty for a full line.
    """

    role: str = "ink"
    dash: tuple[float, ...] = ()


HOUSING_CODE = ShaftCode()


@lru_cache(maxsize=64)
def shaft_codes(layout: Layout) -> dict[int, ShaftCode]:
    """Return the code of every shaft by its number; 0 is the housing.

    Args:
        layout: any layout.
    """
    ends = [layout.shaft_of(INPUT), layout.shaft_of(layout.output_names[-1])]
    wired = [layout.shaft_of(name) for element in layout.elements for name in element.between]
    others = sorted(
        (number for number in range(1, len(layout.shafts)) if number not in ends),
        # Shafts with the most on them come first: they get the full lines.
        key=lambda number: (-len(layout.shafts[number]) - wired.count(number), number),
    )
    order = [number for number in dict.fromkeys([*ends, *others]) if number]
    # Input and output keep their colours even where both are one shaft.
    hues = list(HUES) if len(set(ends)) == len(ends) else [HUES[0], *HUES[2:], HUES[1]]
    codes = {0: HOUSING_CODE}
    for place, number in enumerate(order):
        codes[number] = ShaftCode(hues[place % len(hues)], DASHES[place // len(hues) % len(DASHES)])
    return codes
