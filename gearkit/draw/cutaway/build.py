"""Placement to solid train: tubes for level lines, discs for upright ones, packs, gears, casing."""

from __future__ import annotations

from gearkit.draw.cutaway.frame import Frame
from gearkit.draw.cutaway.seat_bodies import add_seat, web_of
from gearkit.draw.cutaway.sizes import Rect, Sizes
from gearkit.draw.cutaway.solid_placement import SolidPlacement, solid_placement
from gearkit.draw.cutaway.solid_train import Pack, Train
from gearkit.draw.stick.routing import ABOVE_PLATES, BELOW_PLATES, Plates
from gearkit.train.layout import Layout
from gearkit.words.terms import INPUT, OUTPUT

_PLATE_COUNT = 7
_PLATE_STEP = 1.35
_PLATE_END = 0.6
_PLATE_CLEAR = 0.7
_Span = tuple[float, float]


def solid_train(layout: Layout, sizes: Sizes | None = None, solid: SolidPlacement | None = None) -> Train:
    """Return a layout as solid bodies.

    Args:
        layout: any layout.
        sizes: lengths; those of the cutaway when left out.
        solid: where the parts go; the layout's own when left out.

    Raises:
        NotSolidError: the bodies would have to pass through each other.
    """
    return Builder(layout, solid or solid_placement(layout), sizes or Sizes()).train()


class Builder:
    """Builds one train.

    Args:
        layout: the layout.
        solid: where the parts go.
        sizes: lengths.
    """

    def __init__(self, layout: Layout, solid: SolidPlacement, sizes: Sizes) -> None:
        self.layout, self.solid, self.sizes = layout, solid, sizes
        self.frame = Frame(layout, solid, sizes)
        self.made = Train(layout, sizes, {number: [] for number in range(len(layout.shafts))})

    def train(self) -> Train:
        """Build everything."""
        frame, made = self.frame, self.made
        for place, seat in enumerate(frame.seats):
            add_seat(made, frame, place)
            made.notes += seat.notes
        for plates in frame.wiring.plates:
            self._pack(plates)
        self._tubes()
        self._discs()
        self._casing()
        made.ring, made.columns = frame.ring, frame.x
        made.rows = {row: (frame.inside[row], frame.out[row]) for row in frame.inside}
        return made

    def spot(self, net: int, column: int, row: float) -> tuple[float, float]:
        """Return where a spot of a shaft's lines lies: place along the axis and radius, inside the body.

        Args:
            net: the shaft in the placement.
            column: of the grid.
            row: of the grid, or beside the plates of an element.
        """
        frame = self.frame
        place = frame.seat_at(column)
        in_gear = place is not None and column in self._gear_columns(place)
        x = frame.middle(column) if in_gear else sum(self._disc(column, net)) / 2
        if row != int(row):
            below = abs(row - int(row) - BELOW_PLATES) < 0.1
            low, high = frame.pack_band(self._plates_at(column, round(row - (BELOW_PLATES if below else ABOVE_PLATES))))
            return x, low + self.sizes.rim / 2 if below else high - self.sizes.rim / 2
        if place is not None and row == frame.gear + 1:
            return x, sum(frame.plate_band(place)) / 2
        return x, sum(self._row(column, int(row))) / 2

    def _body(self, net: int) -> int:
        return self.solid.bodies[net]

    def _pack(self, plates: Plates) -> None:
        column, row, element, below, above = plates
        frame, sizes = self.frame, self.sizes
        low, high = frame.pack_band(plates)
        if element >= self.solid.fixings:
            # Fixed to the housing for good: a disc up to the casing.
            self.made.add(0, *self._disc(column, below), low, high)
            return
        lift = frame.lifts.get((column, row))
        middle = frame.middle(column)
        x = frame.x[column] if lift else (middle - sizes.pack / 2, middle + sizes.pack / 2)
        hub_x = drum_x = x
        if lift:
            cut = sizes.disc + sizes.side
            hub_x, drum_x = (x[0] + cut, x[1]), (x[0], x[1] - cut)
            if lift.to_right:
                hub_x, drum_x = drum_x, hub_x
        inner, outer = self._friction(x, low + sizes.rim, high - sizes.rim if above else high, bool(lift))
        self.made.packs.append(Pack(element, self._body(below), self._body(above), x, (low, high), inner, outer))
        self.made.add(self._body(below), *hub_x, low, low + sizes.rim)
        if above:
            self.made.add(self._body(above), *drum_x, high - sizes.rim, high)

    def _friction(self, x: _Span, hub: float, drum: float, lifted: bool) -> tuple[tuple[Rect, ...], tuple[Rect, ...]]:
        """Plates in turn on the hub and in the drum."""
        end = self.sizes.disc + 1.2 if lifted else _PLATE_END
        start, stop = x[0] + end, x[1] - end
        thick = (stop - start) / (1 + (_PLATE_COUNT - 1) * _PLATE_STEP)
        plates: tuple[list[Rect], list[Rect]] = ([], [])
        for number in range(_PLATE_COUNT):
            at = round(start + number * thick * _PLATE_STEP, 3)
            to = round(at + thick, 3)
            if number % 2:
                plates[0].append((at, to, round(hub, 3), round(drum - _PLATE_CLEAR, 3)))
            else:
                plates[1].append((at, to, round(hub + _PLATE_CLEAR, 3), round(drum, 3)))
        return tuple(plates[0]), tuple(plates[1])

    def _disc(self, column: int, net: int) -> _Span:
        """Where the upright of a net stands in a column."""
        frame, sizes = self.frame, self.sizes
        left, right = frame.x[column]
        for (at, row), lift in frame.lifts.items():
            if at == column:
                below, above = next((b, a) for c, r, _, b, a in frame.wiring.plates if (c, r) == (at, row))
                if net in (below, above):
                    return (left, left + sizes.disc) if (net == above) is not lift.to_right else (right - sizes.disc, right)
        if right - left <= sizes.plate:
            return left, right
        middle = (left + right) / 2
        return middle - sizes.disc / 2, middle + sizes.disc / 2

    def _gear_columns(self, place: int) -> tuple[int, ...]:
        middle = self.frame.grid.middle(place)
        return (
            (middle - 1, middle, middle + 1)
            if len(self.frame.seats[place].sets) == 2 or self.frame.seats[place].bevel
            else (middle,)
        )

    def _end(self, column: int, net: int, side: int) -> float:
        """Where a level line ends along the axis; under or over gears it takes their whole width."""
        place = self.frame.seat_at(column)
        if place is not None and column in self._gear_columns(place):
            return self.frame.x[column][side]
        return self._disc(column, net)[side]

    def _tubes(self) -> None:
        frame, sizes = self.frame, self.sizes
        for row, first, last, net in frame.wiring.levels:
            x = (self._end(first, net, 0), self._end(last, net, 1))
            body = self._body(net)
            if row in frame.inside:
                self.made.add(body, *x, frame.inside[row], frame.out[row])
            elif row == frame.gear:
                self.made.add(body, *x, frame.bore, frame.bore + sizes.wall)
            elif row == frame.gear + 2:
                self.made.add(body, *x, frame.ring - sizes.wall, frame.ring)
            else:
                self._between_carriers(first, last, body)

    def _between_carriers(self, first: int, last: int, body: int) -> None:
        """Join the plates of two carriers side by side; an arm of one carrier is its plates already."""
        frame, sizes = self.frame, self.sizes
        left, right = frame.seat_at(first), frame.seat_at(last)
        if left is None or right is None or left == right:
            return
        bands = (frame.plate_band(left), frame.plate_band(right))
        radius = max(bands[0][0], bands[1][0])
        x = (frame.x[frame.grid.middle(left) + 1], frame.x[frame.grid.middle(right) - 1])
        self.made.add(body, x[0][0], x[1][1], radius, radius + sizes.wall)
        for plate, (_, high) in zip(x, bands, strict=True):
            # Where the pins of one set lie farther in than the other's, its plate grows to meet the tube.
            self.made.add(body, *plate, high, radius + sizes.wall)

    def _discs(self) -> None:
        frame = self.frame
        for column, low, high, net in frame.wiring.uprights:
            r0, r1 = self._foot(column, low, net), self._head(column, high, net)
            x = self._disc(column, net)
            place = frame.seat_at(column)
            if (
                place is not None
                and high == frame.gear
                and column in self._gear_columns(place)
                and not frame.seats[place].bevel
            ):
                x = self._web(place, column)
            self.made.add(self._body(net), *x, r0, r1)

    def _web(self, place: int, column: int) -> _Span:
        """Where the web under a sun stands."""
        number = next(index for index, at in self.frame.placement.columns(place).items() if at == column)
        return web_of(next(w for w in self.made.wheels if w.set == number and w.member == "sun"))

    def _plates_at(self, column: int, row: int) -> Plates:
        return next(plates for plates in self.frame.wiring.plates if plates[:2] == (column, row))

    def _foot(self, column: int, low: float, net: int) -> float:
        """Radius at which an upright begins."""
        frame = self.frame
        if low != int(low):
            row = round(low - ABOVE_PLATES)
            band = frame.pack_band(self._plates_at(column, row))
            if (column, row) in frame.lifts:
                return frame.inside[self._lane(column, net, upper=True)]
            return band[1] - self.sizes.rim
        return self._row(column, int(low))[0]

    def _head(self, column: int, high: float, net: int) -> float:
        """Radius at which an upright ends."""
        frame = self.frame
        if high != int(high):
            row = round(high - BELOW_PLATES)
            band = frame.pack_band(self._plates_at(column, row))
            return band[0] + self.sizes.rim
        row = int(high)
        lift = next((r for (c, r) in frame.lifts if c == column and self._plates_at(c, r)[4] == net), None)
        if lift is not None and row < frame.gear:
            return frame.pack_band(self._plates_at(column, lift))[1]
        return self._row(column, row)[1]

    def _lane(self, column: int, net: int, *, upper: bool) -> int:
        return next(
            int(hi if upper else lo)
            for c, lo, hi, n in self.frame.wiring.uprights
            if c == column and n == net and (hi if upper else lo) in self.frame.inside
        )

    def _row(self, column: int, row: int) -> tuple[float, float]:
        """Radii of what stands on a row in a column."""
        frame, sizes = self.frame, self.sizes
        if row in frame.inside:
            return frame.inside[row], frame.out[row]
        place = frame.seat_at(column)
        if row == frame.gear + 2 or place is None:
            return frame.ring - sizes.wall, frame.ring
        if row == frame.gear + 1:
            return frame.plate_band(place)
        return frame.bore, frame.bore + sizes.wall

    def _casing(self) -> None:
        frame, sizes, made, wiring = self.frame, self.sizes, self.made, self.frame.wiring
        end = frame.x[frame.grid.last][1]
        holes = [0.0, 0.0]
        for name, at in ((INPUT, (0, wiring.entry) if wiring.entry is not None else None), (OUTPUT, wiring.leaving)):
            if at is None:
                continue
            column, row = at
            body = self.layout.shaft_of(name)
            inside, out = frame.inside[row], frame.out[row]
            reach = sizes.casing + sizes.side
            x = (-sizes.stub, reach) if column == 0 else (end - reach, end + sizes.stub)
            made.add(body, *x, inside, out)
            made.ends[name] = (body, x[0] if column == 0 else x[1], (inside + out) / 2)
            side = 0 if column == 0 else 1
            holes[side] = max(holes[side], out + sizes.gap)
        made.add(0, 0.0, end, frame.case, frame.case + sizes.casing)
        made.add(0, 0.0, sizes.casing, holes[0], frame.case)
        made.add(0, end - sizes.casing, end, holes[1], frame.case)
        made.outside, made.case, made.length = frame.case + sizes.casing, (0.0, end), (-sizes.stub, end + sizes.stub)
