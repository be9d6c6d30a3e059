"""From the grid of a placement to places on the page.

Rows and columns that nothing uses are left out; the others get the room that their contents need, so that plates,
chips and lines never touch by construction. y grows downwards on the page, rows grow upwards from the axis.
"""

from __future__ import annotations

from dataclasses import dataclass

from gearkit.draw.core.frame import CHIP_HEIGHT, chip_width
from gearkit.draw.core.measure import text_width
from gearkit.draw.stick.placement import Placement
from gearkit.draw.stick.routing import Upright
from gearkit.draw.stick.stick_hung import first_output, wired_parts
from gearkit.text.phrases import member_label
from gearkit.train.layout import Layout
from gearkit.words.terms import PinionKind

PITCH = 28.0
GEAR_PITCH = 36.0
AXIS_GAP = 20.0
GEAR_GAP = 30.0
HOUSING_GAP = 40.0
SHORT = 38.0  # how far the small sun of a pair built as one sits below the large one
STEM = 26.0  # from the gears' middle to the stem of a carrier that is joined to the housing for good
STEM_ASIDE = 14.0  # how much further it stands beside the plate of a pair built as one
BAR = 17.0  # half the width of a gear's bar
PLATE = 13.0  # half the width of a plate
PLATE_GAP = 4.5  # from the middle of open plates to each of them
CARD_TYPE = 12.5
CARD_GAP = 22.0


@dataclass(frozen=True)
class StickGeometry:
    """Everything of a stick diagram in px, the top left corner of the drawing at 0, 0.

    Args:
        placement: what it follows from.
        xs: column -> x.
        ys: row -> y, for used rows; the housing row among them.
        axis: y of the axis.
        width: of the drawing.
        height: of the drawing, axis included.
        crossings: column -> rows where its uprights hop over a level line.
        dots: (column, row, net) where three lines or more of one shaft meet.
        letters: how many times as large as usual the letters are.
    """

    placement: Placement
    xs: dict[int, float]
    ys: dict[int, float]
    axis: float
    width: float
    height: float
    crossings: dict[int, list[int]]
    dots: tuple[tuple[int, int, int], ...]
    letters: float = 1.0

    def middle(self, place: int) -> float:
        """Return the x of the set at a place from the left."""
        return self.xs[self.placement.grid.middle(place)]

    def set_x(self, place: int, index: int) -> float:
        """Return the x of a set's sun, under which its card stands.

        Args:
            place: of its seat, from the left.
            index: number of the set.
        """
        return self.xs[self.placement.columns(place)[index]]

    def gear_row(self, row: int) -> float:
        """Return the y of the suns (0), the pins (1) or the rings (2)."""
        return self.ys[self.placement.grid.gear + row]

    def ends(self, upright: Upright) -> tuple[float, float]:
        """Return the lower and the upper end of an upright, y; at plates it ends on the plate."""
        _, low, high, _ = upright
        lower = self.ys[int(low)] if low == int(low) else self.between(int(low)) - PLATE_GAP
        upper = self.ys[int(high)] if high == int(high) else self.between(int(high)) + PLATE_GAP
        return lower, upper

    def between(self, row: int) -> float:
        """Return the y of plates that sit just above a row."""
        below = max(used for used in self.ys if used <= row)
        above = min(used for used in self.ys if used > row)
        return (self.ys[below] + self.ys[above]) / 2


def measure(layout: Layout, placement: Placement, *, card_width: float, letters: float = 1.0) -> StickGeometry:
    """Return the places of everything on the page.

    Args:
        layout: the layout.
        placement: its placement.
        card_width: room that the card under each set needs.
        letters: how many times as large as usual the letters are; lines and gears keep their size.
    """
    ys, axis = _rows(placement, letters)
    xs, width = _columns(layout, placement, card_width, letters)
    crossings: dict[int, list[int]] = {}
    for column, row in placement.faults.crossings:
        crossings.setdefault(column, []).append(row)
    return StickGeometry(placement, xs, ys, axis, width, axis + 8, crossings, tuple(_dots(placement)), letters)


def _rows(placement: Placement, letters: float) -> tuple[dict[int, float], float]:
    grid, wiring = placement.grid, placement.wiring
    # A chip stands between two lines.
    pitch = max(PITCH, CHIP_HEIGHT * letters + 10)
    used = {row for row, *_ in wiring.levels}
    # An upright that ends beside plates takes no row there.
    used |= {int(end) for _, low, high, _ in wiring.uprights for end in (low, high) if end == int(end)}
    used |= {row for row in (wiring.entry, wiring.leaving and wiring.leaving[1]) if row is not None}
    used |= {row for _, row, _ in wiring.aside}
    gears = range(grid.gear, grid.gear + 3)
    inner = sorted(row for row in used if row < grid.gear)
    outer = sorted(row for row in used if row > grid.gear + 2)
    heights: dict[int, float] = {}
    height = AXIS_GAP - pitch
    for row in inner:
        height += pitch
        heights[row] = height
    height += GEAR_GAP + (SHORT if any(len(sets) == 2 for sets in placement.sets) else 0)
    for row in gears:
        heights[row] = height + (row - grid.gear) * GEAR_PITCH
    height = heights[grid.gear + 2] + GEAR_GAP - pitch
    for row in outer:
        height += pitch
        heights[row] = height
    # Brakes have their plates below the housing and their letters above it; where nothing reaches it, it comes close.
    reached = any(placement.nets.grounded) or any(above == 0 for *_, above in wiring.plates)
    heights[grid.housing] = height + (HOUSING_GAP if outer and reached else pitch + (HOUSING_GAP if reached else 0.0))
    top = heights[grid.housing] + 12 + (CHIP_HEIGHT * letters if reached else 0.0)
    return {row: top - value for row, value in heights.items()}, top


def _columns(layout: Layout, placement: Placement, card_width: float, letters: float) -> tuple[dict[int, float], float]:
    """Give every used column the room it needs to its left and right."""
    grid, wiring, parts = placement.grid, placement.wiring, wired_parts(layout)
    room: dict[int, tuple[float, float]] = {}

    def need(column: int, left: float, right: float) -> None:
        old = room.get(column, (0.0, 0.0))
        room[column] = (max(old[0], left), max(old[1], right))

    for _, first, last, _ in wiring.levels:
        need(first, 8, 8)
        need(last, 8, 8)
    for column, *_ in wiring.uprights:
        need(column, 9, 9)
    for column, _, element, _, above in wiring.plates:
        chip = chip_width(parts[element].name, letters)
        if above:
            need(column, PLATE + 4, PLATE + 6 + chip + 10)
        else:
            need(column, max(PLATE, chip / 2) + 4, max(PLATE, chip / 2) + 4)
    for place in range(grid.sets):
        need(grid.middle(place), BAR + 4, BAR + 4)
    # Under each of these columns stands a card; the plate of a carrier goes beside the gears there.
    carded = [column for place in range(grid.sets) for column in placement.columns(place).values()]
    for column in carded:
        need(column, BAR + 4, BAR + 4)
    for place, sets in enumerate(placement.sets):
        if placement.nets.grounded[3 * sets[0] + 1] and placement.nets.kinds[sets[0]] is not PinionKind.BEVEL:
            # The carrier's own stem to the housing stands to the right of the gears.
            need(placement.columns(place)[sets[-1]], BAR + 4, STEM + 15 + (STEM_ASIDE if len(sets) == 2 else 0))
    names = ("output", first_output(layout), *(parts[element].name for _, _, element in wiring.aside))
    ends = max(text_width(member_label(name), CARD_TYPE * letters, bold=True) for name in names) + 20
    need(0, ends, 12)
    need(grid.last, 12, ends)
    return _spaced(room, carded, card_width)


def _spaced(room: dict[int, tuple[float, float]], middles: list[int], card_width: float) -> tuple[dict[int, float], float]:
    xs: dict[int, float] = {}
    x, previous, last_middle = 0.0, 0.0, -1e9
    for column in sorted(room):
        left, right = room[column]
        x += previous + left
        if column in middles:
            # The cards under the sets stand side by side: sets keep at least a card's width apart.
            x = max(x, last_middle + card_width + CARD_GAP, card_width / 2)
            last_middle = x
        xs[column] = x
        previous = right
    return xs, max(x + previous, last_middle + card_width / 2)


def _dots(placement: Placement) -> list[tuple[int, int, int]]:
    """Points where lines of one shaft meet from three sides or more."""
    sides: dict[tuple[int, int, int], set[str]] = {}
    wiring = placement.wiring
    for row, first, last, net in wiring.levels:
        for column, low, high, other in wiring.uprights:
            if other != net or not first <= column <= last or not low <= row <= high:
                continue
            ways = sides.setdefault((column, row, net), set())
            ways |= {
                side
                for side, there in (("l", column > first), ("r", column < last), ("d", row > low), ("u", row < high))
                if there
            }
    return sorted(point for point, ways in sides.items() if len(ways) > 2)
