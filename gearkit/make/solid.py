"""Flat parts as closed shells of triangles, and the files that carry them: STL, DXF, SVG."""

from __future__ import annotations

import math
import struct
from collections.abc import Iterable, Sequence

from gearkit.make.involute import Point

Corner = tuple[float, float, float]
Triangle = tuple[Corner, Corner, Corner]


def washer(outer: Sequence[Point], inner: Sequence[Point], bottom: float, top: float) -> list[Triangle]:
    """Return a flat part between two outlines round the axis as a closed shell.

    Both outlines must be seen whole from the axis (star-shaped), as gears and circles are. The one with fewer points
    is filled up so that each point has a partner at its own angle.

    Args:
        outer: outer outline, counter-clockwise.
        inner: inner outline, counter-clockwise.
        bottom: height of the lower face, mm.
        top: height of the upper face, mm.
    """
    outer_loop, inner_loop = _partnered(outer, inner)
    shell: list[Triangle] = []
    count = len(outer_loop)
    for k in range(count):
        a, b = outer_loop[k], outer_loop[(k + 1) % count]
        c, d = inner_loop[k], inner_loop[(k + 1) % count]
        shell += _quad((*c, top), (*a, top), (*b, top), (*d, top))
        shell += _quad((*a, bottom), (*c, bottom), (*d, bottom), (*b, bottom))
        shell += _quad((*a, bottom), (*b, bottom), (*b, top), (*a, top))
        shell += _quad((*d, bottom), (*c, bottom), (*c, top), (*d, top))
    return shell


def rod(outline: Sequence[Point], bottom: float, top: float) -> list[Triangle]:
    """Return a solid rod over a convex outline as a closed shell.

    Args:
        outline: convex, counter-clockwise.
        bottom: height of the lower face, mm.
        top: height of the upper face, mm.
    """
    count = len(outline)
    centre = (sum(x for x, _ in outline) / count, sum(y for _, y in outline) / count)
    shell: list[Triangle] = []
    for k in range(count):
        a, b = outline[k], outline[(k + 1) % count]
        shell.append(((*centre, top), (*a, top), (*b, top)))
        shell.append(((*centre, bottom), (*b, bottom), (*a, bottom)))
        shell += _quad((*a, bottom), (*b, bottom), (*b, top), (*a, top))
    return shell


def _quad(a: Corner, b: Corner, c: Corner, d: Corner) -> list[Triangle]:
    return [triangle for triangle in ((a, b, c), (a, c, d)) if len(set(triangle)) == 3]


def _partnered(outer: Sequence[Point], inner: Sequence[Point]) -> tuple[list[Point], list[Point]]:
    """Give both loops the same number of points: the plainer one is sampled at the other's angles."""
    if len(outer) == len(inner):
        return list(outer), list(inner)
    if len(outer) > len(inner):
        radius = math.hypot(*inner[0])
        return list(outer), [_at(radius, point) for point in outer]
    radius = math.hypot(*outer[0])
    return [_at(radius, point) for point in inner], list(inner)


def _at(radius: float, point: Point) -> Point:
    size = math.hypot(*point)
    # Points on one radial flank have one partner; rounding to a nanometre makes it the very same point.
    return (round(radius * point[0] / size, 6), round(radius * point[1] / size, 6))


def stl(shells: Iterable[Iterable[Triangle]]) -> bytes:
    """Return closed shells as a binary STL file, millimetres.

    Args:
        shells: one or more; shells that overlap are one body to a slicer.
    """
    triangles = [triangle for shell in shells for triangle in shell]
    body = bytearray(b"spur gear part, millimetres".ljust(80, b" ") + struct.pack("<I", len(triangles)))
    for triangle in triangles:
        body += struct.pack("<12fH", *_normal(triangle), *(value for corner in triangle for value in corner), 0)
    return bytes(body)


def _normal(triangle: Triangle) -> Corner:
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = triangle
    u, v = (bx - ax, by - ay, bz - az), (cx - ax, cy - ay, cz - az)
    normal = (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])
    size = math.sqrt(sum(value * value for value in normal)) or 1.0
    return (normal[0] / size, normal[1] / size, normal[2] / size)


def dxf(outlines: Iterable[Sequence[Point]]) -> str:
    """Return closed outlines as a DXF drawing (release 12 entities, millimetres), for a laser or a router.

    Args:
        outlines: closed, without repeating the first point.
    """
    lines = ["0", "SECTION", "2", "ENTITIES"]
    for outline in outlines:
        lines += ["0", "POLYLINE", "8", "0", "66", "1", "70", "1", "10", "0.0", "20", "0.0", "30", "0.0"]
        for x, y in outline:
            lines += ["0", "VERTEX", "8", "0", "10", f"{x:.4f}", "20", f"{y:.4f}", "30", "0.0"]
        lines += ["0", "SEQEND", "8", "0"]
    return "\n".join([*lines, "0", "ENDSEC", "0", "EOF", ""])


def svg(outlines: Sequence[Sequence[Point]], title: str, description: str) -> str:
    """Return closed outlines as an SVG drawing in true size.

    Args:
        outlines: closed, in mm; y upwards.
        title: name of the part.
        description: what the drawing shows, for those who do not see it.
    """
    reach = max(max(abs(x), abs(y)) for outline in outlines for x, y in outline) + 2
    paths = "".join('<path d="M' + " L".join(f"{x:.3f},{-y:.3f}" for x, y in outline) + ' Z"/>' for outline in outlines)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="title text" width="{2 * reach:.2f}mm" '
        f'height="{2 * reach:.2f}mm" viewBox="{-reach:.2f} {-reach:.2f} {2 * reach:.2f} {2 * reach:.2f}">'
        f'<title id="title">{title}</title><desc id="text">{description}</desc>'
        f'<g fill="none" stroke="black" stroke-width="0.2">{paths}</g></svg>\n'
    )
