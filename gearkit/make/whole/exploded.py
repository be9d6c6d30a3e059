"""Pictures of the parts pulled apart along the axis, as line drawings that read in black and white."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from gearkit.draw.core.measure import Box
from gearkit.draw.core.svg import Look, Picture, Text
from gearkit.make.whole.solids import Solid

# The axis runs to the right and a little up; seen a little from the left end and from above.
_TURN, _TILT = math.radians(28), math.radians(18)
_AXIS = (math.cos(_TURN), math.sin(_TURN) * math.sin(_TILT), -math.sin(_TURN) * math.cos(_TILT))
_FOLD = math.cos(math.radians(38))
_EDGE = 10.0
# Height of the numbers, px: 7 pt in a picture that takes three quarters of a page.
_NUMBER = 18
_WIDTH = 900.0  # px


def exploded(parts: Sequence[tuple[str, Sequence[Solid]]], title: str, description: str) -> Picture:
    """Return parts in a row along the axis, each with its number.

    Args:
        parts: what stands above each, and its solids in their place, in the order of assembly.
        title: of the picture.
        description: what it shows, for those who do not see it.
    """
    import numpy

    shapes: list[tuple[str, Any, Any]] = []
    at = 0.0
    for label, solids in parts:
        corners, faces = _mesh(solids)
        low, high = corners[:, 2].min(), corners[:, 2].max()
        radius = float(numpy.hypot(corners[:, 0], corners[:, 1]).max())
        corners = corners - numpy.array([0.0, 0.0, low - at])
        at += high - low + max(12.0, 0.55 * radius)
        shapes.append((label, corners, faces))
    seen = [(label, _seen(corners), faces) for label, corners, faces in shapes]
    every = numpy.concatenate([points for _, points, _ in seen])
    (x0, y0), (x1, y1) = every[:, :2].min(axis=0), every[:, :2].max(axis=0)
    scale = (_WIDTH - 2 * _EDGE) / (x1 - x0)
    height = (y1 - y0) * scale + 2 * _EDGE + 2 * _NUMBER
    drawn = Picture(width=_WIDTH, height=height, title=title, description=description)
    # What lies farther to the right along the axis is farther away.
    for label, points, faces in reversed(seen):
        flat = numpy.column_stack([(points[:, 0] - x0) * scale + _EDGE, (y1 - points[:, 1]) * scale + _EDGE + 1.7 * _NUMBER])
        _draw(drawn, flat, points, faces)
        top = flat[:, 1].min()
        middle = (flat[:, 0].min() + flat[:, 0].max()) / 2
        drawn.rect(
            Box(middle - 0.9 * _NUMBER, top - 1.5 * _NUMBER, middle + 0.9 * _NUMBER, top - 2),
            Look(stroke="ink", fill="paper", width=1.0),
            corner=4,
        )
        drawn.text(Text(middle, top - 0.45 * _NUMBER, label, size=_NUMBER, anchor="middle", bold=True, overlay=True))
    return drawn


def _mesh(solids: Sequence[Solid]) -> tuple[Any, Any]:
    """Corners and triangles of solids together."""
    import numpy

    corners: list[Any] = []
    faces: list[Any] = []
    count = 0
    for solid in solids:
        mesh = solid.simplify(0.05).to_mesh()
        corners.append(numpy.asarray(mesh.vert_properties, dtype=float)[:, :3])
        faces.append(numpy.asarray(mesh.tri_verts, dtype=int) + count)
        count += len(corners[-1])
    return numpy.concatenate(corners), numpy.concatenate(faces)


def _seen(corners: Any) -> Any:
    """Turn places in the train into right, up and towards the eye."""
    import numpy

    x, y, z = corners[:, 0], corners[:, 1], corners[:, 2]
    right = z * math.cos(_TURN) + x * math.sin(_TURN)
    depth = -z * math.sin(_TURN) + x * math.cos(_TURN)
    return numpy.column_stack(
        [right, y * math.cos(_TILT) - depth * math.sin(_TILT), y * math.sin(_TILT) + depth * math.cos(_TILT)]
    )


def _draw(drawn: Picture, flat: Any, points: Any, faces: Any) -> None:
    """Paint a part's faces that are seen from the back to the front, each with those of its edges that are sharp."""
    import numpy

    corners = points[faces]
    normal = numpy.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = numpy.maximum(numpy.linalg.norm(normal, axis=1), 1e-12)
    normal = normal / size[:, None]
    sharp = _sharp_edges(faces, normal)
    order = numpy.argsort(corners[:, :, 2].mean(axis=1))
    line = Look(stroke="ink", fill=None, width=0.5, cap="round")
    for face in order:
        if normal[face, 2] <= 1e-6 or size[face] < 1e-4:
            continue
        # End faces stay white, all others are grey.
        shade = "paper" if abs(normal[face] @ _AXIS) > 0.9 else "wash"
        a, b, c = (tuple(flat[corner]) for corner in faces[face])
        drawn.polyline((a, b, c), Look(stroke=shade, fill=shade, width=0.35), closed=True)
        for start, stop in ((0, 1), (1, 2), (2, 0)):
            if (face, start) in sharp:
                drawn.line(tuple(flat[faces[face][start]]), tuple(flat[faces[face][stop]]), line)


def _sharp_edges(faces: Any, normal: Any) -> set[tuple[int, int]]:
    """Edges at which the surface folds, or turns away from the eye, as (face, number of the edge's first corner)."""
    edges: dict[tuple[int, int], tuple[int, int]] = {}
    sharp = set()
    for face, (a, b, c) in enumerate(faces.tolist()):
        for number, (start, stop) in enumerate(((a, b), (b, c), (c, a))):
            other = edges.pop((stop, start), None)
            if other is None:
                edges[start, stop] = (face, number)
            elif float(normal[face] @ normal[other[0]]) < _FOLD or (normal[face, 2] > 0) != (normal[other[0], 2] > 0):
                sharp |= {(face, number), other}
    return sharp
