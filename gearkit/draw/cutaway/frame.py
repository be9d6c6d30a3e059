"""From the grid of a placement to millimetres: how wide each column is, from where to where each row of lanes goes.

A placement without crossings never has two shafts in one cell of its grid. So it is enough to give every column a strip of
the axis and every row a band of radii of its own: bodies that stay in their cells cannot overlap.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from gearkit.draw.cutaway.set_gears import ROOT, SeatGears, seat_gears
from gearkit.draw.cutaway.sizes import Sizes
from gearkit.draw.cutaway.solid_placement import SolidPlacement
from gearkit.draw.stick.routing import ABOVE_PLATES, BELOW_PLATES, Plates
from gearkit.train.layout import Layout

_SAME = 1e-6
# Over the pins a carrier's plates reach so much farther than these.
_PLATE_EDGE = 2.0
# Of the room between the inner tubes and the rings, where a lifted clutch has its middle.
_LIFTED = 0.64


@dataclass(frozen=True)
class Lift:
    """A clutch of two inner tubes that stands at a larger radius, where its column is free above.

    Args:
        to_right: whether the upper shaft leaves to the right.
    """

    to_right: bool


class Frame:
    """Where each column and row of a placement lies.

    Args:
        layout: the layout.
        solid: its placement.
        sizes: lengths.
    """

    def __init__(self, layout: Layout, solid: SolidPlacement, sizes: Sizes) -> None:
        self.layout, self.solid, self.sizes = layout, solid, sizes
        self.placement = solid.placement
        self.grid, self.wiring = self.placement.grid, self.placement.wiring
        self.gear = self.grid.gear
        self.seats = [seat_gears(layout, sets) for sets in self.placement.sets]
        self.inner, self.outer = self._lanes()
        self.lifts = self._lifts()
        self.inside: dict[int, float] = {}
        self.out: dict[int, float] = {}
        self._inner_rows()
        self.bore = (self.out[self.inner[-1]] if self.inner else sizes.shaft) + sizes.gap
        self.scales = self._scales()
        self.ring = max(seat.reach * scale for seat, scale in zip(self.seats, self.scales, strict=True)) + 3.2
        self.case = self._outer_rows()
        self.x = self._columns()

    def seat_at(self, column: int) -> int | None:
        """Return the seat whose five columns hold this one, counted from the left."""
        for place in range(self.grid.sets):
            if abs(column - self.grid.middle(place)) <= 2:
                return place
        return None

    def middle(self, column: int) -> float:
        """Return the middle of a column along the axis."""
        return sum(self.x[column]) / 2

    def lifted_band(self) -> tuple[float, float]:
        """Return inside and outside of a clutch between the inner tubes and the rings."""
        middle, half = self.bore + _LIFTED * (self.ring - self.bore), self.sizes.pack_height / 2
        return middle - half, middle + half

    def plate_band(self, place: int) -> tuple[float, float]:
        """Return inside and outside radius of the side plates of a seat's carrier."""
        radii = [pinion.radius * self.scales[place] for pinion in self.seats[place].pinions]
        return min(radii) - self.sizes.pin - _PLATE_EDGE, max(radii) + self.sizes.pin + _PLATE_EDGE

    def pack_band(self, plates: Plates) -> tuple[float, float]:
        """Return inside of the hub and outside of the drum of a clutch or brake."""
        column, row, _, _, above = plates
        sizes = self.sizes
        if above == 0:
            return self.case - sizes.pack_height, self.case
        if (column, row) in self.lifts or row == self.gear:
            return self.lifted_band()
        rows = self.inner if row < self.gear else self.outer
        below = [lane for lane in rows if lane <= row]
        over = next(lane for lane in rows if lane > row)
        low = self.out[below[-1]] - sizes.rim if below else self.ring + sizes.gap
        return low, self.inside[over] + sizes.rim

    def _lanes(self) -> tuple[list[int], list[int]]:
        wiring = self.wiring
        used = {row for row, *_ in wiring.levels}
        used |= {int(end) for _, low, high, _ in wiring.uprights for end in (low, high) if end == int(end)}
        used |= {row for row in (wiring.entry, wiring.leaving and wiring.leaving[1]) if row is not None}
        return sorted(row for row in used if row < self.gear), sorted(row for row in used if row > self.gear + 2)

    def _lifts(self) -> dict[tuple[int, int], Lift]:
        lifts: dict[tuple[int, int], Lift] = {}
        wiring, top = self.wiring, self.gear + 2
        for column, row, _, below, above in wiring.plates:
            if above == 0 or row >= self.gear or any(at == column for at, _ in lifts):
                continue
            high = next(
                (int(hi) for at, lo, hi, net in wiring.uprights
                 if at == column and net == above and abs(lo - row - ABOVE_PLATES) < _SAME), self.gear
            )  # fmt: skip
            if high >= self.gear:
                continue
            ends = [(a, b) for level, a, b, net in wiring.levels if level == high and net == above and a <= column <= b]
            one_sided = bool(ends) and (all(a == column for a, _ in ends) or all(b == column for _, b in ends))
            covered = any(high < level <= top and a <= column <= b for level, a, b, _ in wiring.levels)
            own = {(row + BELOW_PLATES, below), (row + ABOVE_PLATES, above)}
            taken = any(
                at == column and hi > high and (hi, net) not in own and (lo, net) not in own
                for at, lo, hi, net in wiring.uprights
            )
            if one_sided and not covered and not taken and self.seat_at(column) is None:
                lifts[column, row] = Lift(ends[0][0] == column)
        return lifts

    def _inner_rows(self) -> None:
        sizes = self.sizes
        squeezed = [
            row
            for column, row, _, _, above in self.wiring.plates
            if above and row < self.gear - 1 and (column, row) not in self.lifts
        ]
        for number, row in enumerate(self.inner):
            if number == 0:
                self.inside[row], self.out[row] = 0.0, sizes.shaft
                continue
            before = self.inner[number - 1]
            between = sizes.low_pack if any(before <= at < row for at in squeezed) else sizes.gap
            self.inside[row] = self.out[before] + between
            self.out[row] = self.inside[row] + sizes.wall

    def _scales(self) -> list[float]:
        """Millimetres for one module of each seat's suns."""
        sizes = self.sizes
        if sizes.module is not None:
            return [sizes.module] * len(self.seats)
        ring = sizes.least_ring
        for seat in self.seats:
            ring = max(ring, *(need * seat.ring_pitch for need in least_modules(seat, sizes, self.bore)))
        return [ring / seat.ring_pitch for seat in self.seats]

    def _outer_rows(self) -> float:
        """Lay out the outer lanes and return the inside radius of the casing."""
        sizes, radius = self.sizes, self.ring
        for number, row in enumerate(self.outer):
            before = self.outer[number - 1] if number else self.gear + 2
            packed = any(above and before <= at < row and at > self.gear + 1 for _, at, _, _, above in self.wiring.plates)
            self.inside[row] = radius + (sizes.pack_height if packed else sizes.gap)
            self.out[row] = radius = self.inside[row] + sizes.wall
        brakes = any(above == 0 for *_, above in self.wiring.plates)
        return radius + (sizes.pack_height + sizes.gap if brakes else 2.0)

    def _columns(self) -> dict[int, tuple[float, float]]:
        sizes, width = self.sizes, dict[int, float]()

        def need(columns: Iterable[int], least: float) -> None:
            for column in columns:
                width[column] = max(width.get(column, 0.0), least)

        need((0, self.grid.last), sizes.casing)
        for place, seat in enumerate(self.seats):
            middle = self.grid.middle(place)
            if seat.bevel:
                # The large ends of the pinions reach from the roots of one side gear to those of the other.
                across = (seat.pinions[0].teeth + 2 * ROOT) * self.scales[place] - 2 * sizes.side
                need((middle,), across)
                need((middle - 1, middle + 1), sizes.plate)
            elif len(seat.sets) == 2:
                need((middle - 1, middle + 1), 0.8 * sizes.face)
                need((middle,), 1.2)
                need((middle - 2, middle + 2), sizes.plate)
            else:
                need((middle,), sizes.face * (2.0 if seat.pinions[0].part != "whole" else 1.0))
                need((middle - 1, middle + 1), sizes.plate)
        need((column for column, *_ in self.wiring.uprights), sizes.disc)
        for column, row, *_ in self.wiring.plates:
            need((column,), sizes.pack + (sizes.disc + 1.0 if (column, row) in self.lifts else 0.0))
        for _, first, last, _ in self.wiring.levels:
            need((first, last), sizes.disc)
        spans, at = {}, 0.0
        for column in sorted(width):
            spans[column] = (at, at + width[column])
            at += width[column] + sizes.side
        return spans


def least_modules(seat: SeatGears, sizes: Sizes, bore: float) -> list[float]:
    """Return the modules that a seat's gears must at least have, one for each thing they have to clear.

    Args:
        seat: its gears.
        sizes: lengths.
        bore: radius of what passes under the suns.
    """
    tube = bore + sizes.wall + sizes.gap
    modules = [(bore + sizes.wall) / max(root, 1.0) for root in seat.sun_roots]
    modules.append(tube / max(seat.clear_inside, 1.0))
    modules.append((sizes.pin + 1.6) / max(seat.thinnest_pinion, 1.0))
    if not seat.bevel:
        # The plates hold the pins inside the ring's teeth and outside the tube between suns.
        least = min(pinion.radius for pinion in seat.pinions)
        modules.append((tube + sizes.pin + _PLATE_EDGE) / least)
        farthest = max(pinion.radius for pinion in seat.pinions)
        room = seat.reach - farthest
        modules.append((sizes.pin + _PLATE_EDGE + sizes.gap - 3.2 + sizes.wall) / max(room, 1.0))
    return modules
