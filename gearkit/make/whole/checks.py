"""What is checked on the finished solids, in three dimensions, before anything is written."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from gearkit.make.whole.solids import Solid

# Two solids that touch share less than this, mm3.
NOTHING = 0.02
# A part slides on from so far outside; close steps near its place, wide ones beyond.
SLIDES = (0.4, 1.5, 3.5, 7.0, 12.0, 20.0, 35.0, 60.0, 100.0, 150.0)
# A bridge is no longer than this; what hangs over is no wider (common practice, no source).
LONGEST_BRIDGE, WIDEST_LEDGE = 10.0, 1.0
# A little flatter than 45 degrees.
_SLOPE = 0.72


def shared_room(one: Solid, other: Solid) -> float:
    """Return how much room two solids share, mm3.

    Args:
        one: a solid.
        other: another one.
    """
    a, b = one.bounding_box(), other.bounding_box()
    if any(a[k] >= b[k + 3] or b[k] >= a[k + 3] for k in range(3)):
        return 0.0
    return float((one ^ other).volume())


def slide_hits(order: Sequence[tuple[str, Sequence[Solid]]], slides: Sequence[float] = SLIDES) -> list[tuple[str, str, float]]:
    """Return what is in the way when parts are put together one by one, each from the right along the axis.

    Args:
        order: names and solids, in the order in which they come; solids of one name come together.
        slides: distances from the place at which each is tried, mm.
    """
    hits = []
    for number, (name, group) in enumerate(order):
        for far in slides:
            for solid in group:
                moved = solid.translate((0.0, 0.0, far))
                for before, others in order[:number]:
                    size = max((shared_room(moved, other) for other in others), default=0.0)
                    if size > NOTHING:
                        hits.append((name, before, far))
    return hits


def hanging(lib: Any, solid: Solid, up: int) -> float:
    """Return the area in mm2 that would need supports when a part is printed standing on one of its ends.

    Downward faces steeper than 45 degrees are looked at where they lie: a ledge up to 1 mm and a bridge up to 10 mm between
    two sides that carry it need no support.

    Args:
        lib: the library for solids.
        solid: the part.
        up: +1 when its left end is on the bed, -1 when its right end is.
    """
    import numpy

    if up < 0:
        solid = solid.rotate((180.0, 0.0, 0.0))
    mesh = solid.to_mesh()
    corners = numpy.asarray(mesh.vert_properties)[:, :3][numpy.asarray(mesh.tri_verts)]
    normal = numpy.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = numpy.linalg.norm(normal, axis=1)
    bed = corners[:, :, 2].min()
    steep = normal[:, 2] / numpy.maximum(size, 1e-12)
    down = (steep < -_SLOPE) & (corners[:, :, 2].max(axis=1) > bed + 0.3) & (size > 1e-6)
    level = corners[:, :, 2].max(axis=1) - corners[:, :, 2].min(axis=1) < 0.02
    # A slope that is too flat cannot be bridged; what is left of it at the edges of cuts is no more than a splinter.
    sloped = float(size[down & ~level].sum()) / 2
    total = sloped if sloped > 1.0 else 0.0
    levels = sorted({round(float(z), 2) for z in corners[down & level][:, :, 2].max(axis=1)})
    for height in levels:
        over, under = solid.slice(height + 0.06), solid.slice(height - 0.14)
        loose = over - under.offset(0.2, lib.JoinType.Miter)
        for patch in loose.decompose():
            if (
                patch.area() > 0.3
                and patch.offset(-WIDEST_LEDGE / 2, lib.JoinType.Miter).area() > 0.05
                and not _bridged(lib, patch, under)
            ):
                total += patch.area()
    return total


def _bridged(lib: Any, patch: Any, under: Any) -> bool:
    """Whether a patch is a bridge: carried all round, or at two sides, and nowhere wider than can be bridged."""
    # Patches are drawn in from what carries them by 0.2 mm.
    rim = patch.offset(0.4, lib.JoinType.Miter) - patch.offset(0.2, lib.JoinType.Miter)
    feet = rim ^ under
    if feet.is_empty():
        return False
    short = (patch - feet.offset(LONGEST_BRIDGE / 2 + 0.5)).area() < 0.05
    if feet.area() > 0.8 * rim.area():
        return bool(short or patch.offset(-LONGEST_BRIDGE / 2).area() < 0.05)
    if len(feet.decompose()) < 2 and feet.area() < 0.55 * rim.area():
        return False
    # Carried at two or three sides only, it must lie between them.
    hull = feet.hull().offset(0.5, lib.JoinType.Miter)
    return bool(short and (patch - hull).area() < 0.05 * patch.area())
