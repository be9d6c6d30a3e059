"""The lengths that a train is built with, in millimetres."""

from __future__ import annotations

from dataclasses import dataclass

# First and last place along the axis, then smallest and largest radius.
Rect = tuple[float, float, float, float]


@dataclass(frozen=True)
class Sizes:
    """Lengths in millimetres; proportions that show and print well, not those of a real unit.

    Args:
        shaft: radius of the innermost shaft.
        wall: of tubes.
        gap: between tubes, radial.
        disc: thickness of discs.
        side: clear distance between neighbouring columns, along the axis.
        face: width of gears.
        plate: thickness of a carrier's side plates.
        pack: length of a clutch or brake along the axis.
        pack_height: its height where it stands between drums.
        low_pack: its height where it is squeezed between two inner tubes, which it pushes apart.
        rim: thickness of hub and drum of a clutch or brake.
        pin: radius of a planet's pin.
        least_ring: smallest pitch radius of a ring.
        casing: thickness of the casing.
        stub: how far input and output stand out of the casing.
        module: one module for all sets; None: all rings get the same pitch radius.
    """

    shaft: float = 5.0
    wall: float = 2.4
    gap: float = 0.8
    disc: float = 3.0
    side: float = 1.0
    face: float = 11.0
    plate: float = 3.5
    pack: float = 13.0
    pack_height: float = 12.0
    low_pack: float = 7.0
    rim: float = 2.0
    pin: float = 3.0
    least_ring: float = 45.0
    casing: float = 4.0
    stub: float = 16.0
    module: float | None = None
