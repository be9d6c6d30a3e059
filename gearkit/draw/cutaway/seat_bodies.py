"""The gears, planets, pins and carrier plates of one seat, put into the frame."""

from __future__ import annotations

import math

from gearkit.draw.cutaway.frame import Frame
from gearkit.draw.cutaway.set_gears import BEVEL_DEPTH, ROOT, TIP, Pinion
from gearkit.draw.cutaway.solid_train import Pin, Planet, Train, Wheel

# A sun is solid from its bore, but no thicker than this under its teeth.
_SUN_RIM = 3.0
# Half the thickness of the web between a sun and its shaft.
_WEB = 2.0
# Planets are a little narrower than their gap, so that they run free of the plates.
_FREE = 0.4
_Span = tuple[float, float]


def add_seat(train: Train, frame: Frame, place: int) -> None:
    """Put the gears of a seat into a train.

    Args:
        train: what is built so far.
        frame: where columns and rows lie.
        place: the seat, counted from the left.
    """
    if frame.seats[place].bevel:
        _Bevel(train, frame, place).add()
    else:
        _Spur(train, frame, place).add()


def web_of(sun: Wheel) -> _Span:
    """Return from where to where the web under a sun goes along the axis: under the middle of its teeth."""
    middle = sum(sun.x) / 2
    return middle - _WEB, middle + _WEB


class _Seat:
    def __init__(self, train: Train, frame: Frame, place: int) -> None:
        self.train, self.frame, self.place = train, frame, place
        self.gears, self.scale = frame.seats[place], frame.scales[place]
        self.sets = self.gears.sets
        self.middle = frame.grid.middle(place)

    def shaft(self, number: int, member: str) -> int:
        layout = self.train.layout
        return layout.shaft_of(f"{layout.sets[number].name}.{member}")


class _Spur(_Seat):
    def add(self) -> None:
        """Add suns, ring, planets, pins and plates."""
        frame, sizes, train = self.frame, self.frame.sizes, self.train
        reach = 2 if len(self.sets) == 2 else 1
        left, right = frame.x[self.middle - reach], frame.x[self.middle + reach]
        whole = frame.x[self.middle] if reach == 1 else (frame.x[self.middle - 1][0], frame.x[self.middle + 1][1])
        train.middles.append(sum(whole) / 2)
        for number, member_x in zip(self.sets, self._sun_spans(whole), strict=True):
            self._sun(number, member_x)
        self._ring(self._part("right" if self._stepped else "whole", whole))
        carrier = self.shaft(self.sets[0], "carrier")
        for pinion in self.gears.pinions:
            x = self._pinion_span(pinion, whole)
            radius = pinion.radius * self.scale
            train.planets.append(Planet(
                carrier, self.place, pinion.owner, self.shaft(pinion.owner, "sun"), pinion.teeth, pinion.module * self.scale, radius,
                pinion.at, pinion.angle, pinion.spin, (x[0] + _FREE, x[1] - _FREE),
            ))  # fmt: skip
            # A stepped planet has one pin for both its wheels; a short planet's may not pass through the large sun.
            start = frame.x[self.middle][0] if len(self.sets) == 2 and pinion.part == "right" else left[0]
            if pinion.part != "right" or len(self.sets) == 2:
                train.pins.append(Pin(carrier, self.place, radius, pinion.at, sizes.pin, (start, right[1])))
        low, high = frame.plate_band(self.place)
        for plate in (left, right):
            train.add(carrier, *plate, low, high)

    @property
    def _stepped(self) -> bool:
        return self.gears.pinions[0].part != "whole"

    def _part(self, part: str, whole: _Span) -> _Span:
        half, gap = sum(whole) / 2, self.frame.sizes.side / 2
        return {"left": (whole[0], half - gap), "right": (half + gap, whole[1]), "whole": whole}[part]

    def _sun_spans(self, whole: _Span) -> list[_Span]:
        if len(self.sets) == 2:
            return [self.frame.x[self.middle - 1], self.frame.x[self.middle + 1]]
        return [self._part("left" if self._stepped else "whole", whole)]

    def _pinion_span(self, pinion: Pinion, whole: _Span) -> _Span:
        if len(self.sets) == 2:
            return self.frame.x[self.middle + 1] if pinion.part == "right" else whole
        return self._part(pinion.part, whole)

    def _sun(self, number: int, x: _Span) -> None:
        teeth, angle = self.gears.suns[self.sets.index(number)]
        root = self.scale * (teeth / 2 - ROOT)
        bore = max(root - _SUN_RIM, self.frame.bore)
        body = self.shaft(number, "sun")
        sun = Wheel(body, number, "sun", teeth, self.scale, False, x, angle, bore)
        self.train.wheels.append(sun)
        self.train.add(body, *x, bore, root)
        if self.frame.placement.nets.members[3 * number] >= 0:
            self.train.add(body, *web_of(sun), self.frame.bore, root)

    def _ring(self, x: _Span) -> None:
        teeth, module, angle = self.gears.ring
        size = module * self.scale
        body = self.shaft(self.sets[0], "ring")
        self.train.wheels.append(Wheel(body, self.sets[0], "ring", teeth, size, True, x, angle, self.frame.ring))
        self.train.add(body, *x, size * (teeth / 2 + ROOT), self.frame.ring)


class _Bevel(_Seat):
    """Side gears left and right, pinions across the axis between them, the carrier as a cage round all."""

    def add(self) -> None:
        """Add side gears, pinions, pins and the cage."""
        frame, sizes, train, scale = self.frame, self.frame.sizes, self.train, self.scale
        number = self.sets[0]
        across = frame.x[self.middle]
        centre = sum(across) / 2
        train.middles.append(centre)
        teeth, pinion = self.gears.suns[0][0], self.gears.pinions[0]
        size = pinion.teeth * scale / 2
        pitch = teeth * scale / 2
        first = self.gears.pinions[0]
        for member, side in (("sun", -1), ("ring", 1)):
            body, column = self.shaft(number, member), frame.x[self.middle + side]
            large = centre + side * size
            face = sorted((large + side * ROOT * scale, centre + side * size * BEVEL_DEPTH))
            train.add(body, *column, frame.bore, pitch)
            angle = 0.0 if side < 0 else first.at + self._beside(first) * first.teeth / teeth
            train.wheels.append(
                Wheel(body, number, member, teeth, scale, False, (face[0], face[1]), angle, frame.bore, (centre, large))
            )
        cage = self.shaft(number, "carrier")
        train.add(cage, *across, frame.ring - sizes.wall, frame.ring)
        inner = BEVEL_DEPTH * pitch - 2.0
        for each in self.gears.pinions:
            train.planets.append(Planet(
                cage, self.place, number, self.shaft(number, "sun"), each.teeth, scale, pitch, each.at, self._meshed(each), each.spin,
                (centre - size - TIP * scale, centre + size + TIP * scale), bevel=True,
            ))  # fmt: skip
            train.pins.append(
                Pin(cage, self.place, frame.ring - 1.0, each.at, sizes.pin, (centre - sizes.pin, centre + sizes.pin), inner)
            )

    def _meshed(self, pinion: Pinion) -> float:
        """Angle of a pinion's tooth about its pin, so that a space meets the sun's tooth; 0 is the way round the axis."""
        return -math.pi / 2 + math.pi / pinion.teeth - pinion.at * self.gears.suns[0][0] / pinion.teeth

    def _beside(self, pinion: Pinion) -> float:
        """How far a space of the pinion stands from the line of its mesh with the other side gear, about its pin."""
        pitch = 2 * math.pi / pinion.teeth
        off = math.pi / 2 - self._meshed(pinion) - pitch / 2
        return off - pitch * round(off / pitch)
