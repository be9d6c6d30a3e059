"""Meshes as files: STL, 3MF and flat outlines; everything as it lies on the printer's bed, in millimetres."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Iterable, Sequence
from typing import Any

from gearkit.make.whole.solids import Made, Solid
from gearkit.text.markup import quoted

# Coordinates nearer than this are one corner; files carry single precision.
_DIGITS = 4
_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>'
)
_RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>'
    "</Relationships>"
)
_BETWEEN = 5.0


def on_bed(made: Made) -> Solid:
    """Return a part as it stands on the bed, its middle over the origin."""
    solid = made.solid if made.up > 0 else made.solid.rotate((180.0, 0.0, 0.0))
    x0, y0, z0, x1, y1, _ = solid.bounding_box()
    return solid.translate((-(x0 + x1) / 2, -(y0 + y1) / 2, -z0))


def triangles(solid: Solid) -> tuple[Any, Any]:
    """Return corners and triangles of a solid in the precision of the files; what has no area left is dropped.

    Args:
        solid: the part.
    """
    import numpy

    mesh = solid.to_mesh()
    corners = numpy.round(numpy.asarray(mesh.vert_properties, dtype=numpy.float64)[:, :3], _DIGITS) + 0.0
    unique, place = numpy.unique(corners, axis=0, return_inverse=True)
    faces = place.reshape(-1)[numpy.asarray(mesh.tri_verts)]
    kept = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])
    return unique, faces[kept]


def closed(corners: Any, faces: Any) -> bool:
    """Return whether triangles form a closed surface: each edge is there as often in one way as in the other.

    Args:
        corners: one row each.
        faces: three numbers of corners each.
    """
    import numpy

    count = len(corners)
    edges = numpy.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]).astype(numpy.int64)
    there = numpy.sort(edges[:, 0] * count + edges[:, 1])
    back = numpy.sort(edges[:, 1] * count + edges[:, 0])
    return len(faces) > 3 and bool(numpy.array_equal(there, back))


def stl(corners: Any, faces: Any) -> bytes:
    """Return triangles as a binary STL file.

    Args:
        corners: one row each.
        faces: three numbers of corners each.
    """
    import numpy

    points = corners[faces].astype(numpy.float32)
    normal = numpy.cross(points[:, 1] - points[:, 0], points[:, 2] - points[:, 0])
    size = numpy.linalg.norm(normal, axis=1, keepdims=True)
    rows: Any = numpy.zeros(len(faces), dtype=[("values", "<f4", (12,)), ("pad", "<u2")])
    rows["values"][:, :3] = normal / numpy.where(size > 0, size, 1.0)
    rows["values"][:, 3:] = points.reshape(len(faces), 9)
    head = b"part of a gear train, millimetres".ljust(80, b" ") + struct.pack("<I", len(faces))
    body: bytes = rows.tobytes()
    return head + body


def three_mf(parts: Iterable[Made]) -> bytes:
    """Return parts as one 3MF file, side by side, each as often as it is needed.

    Args:
        parts: what is printed.
    """
    objects, items, at = [], [], 0.0
    for number, made in enumerate(parts, 1):
        solid = on_bed(made)
        corners, faces = triangles(solid)
        points = "".join(f'<vertex x="{x:.4f}" y="{y:.4f}" z="{z:.4f}"/>' for x, y, z in corners.tolist())
        sides = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in faces.tolist())
        name = quoted(f"{made.name}: {made.words}")
        objects.append(
            f'<object id="{number}" type="model" name={name}><mesh><vertices>{points}</vertices><triangles>{sides}</triangles></mesh></object>'
        )
        x0, _, _, x1, _, _ = solid.bounding_box()
        for _ in range(made.count):
            at += (x1 - x0) / 2
            items.append(f'<item objectid="{number}" transform="1 0 0 0 1 0 0 0 1 {at:.3f} 0 0"/>')
            at += (x1 - x0) / 2 + _BETWEEN
    model = (
        f'<?xml version="1.0" encoding="UTF-8"?><model unit="millimeter" xml:lang="en" xmlns="{_CORE}"><resources>{"".join(objects)}'
        f"</resources><build>{''.join(items)}</build></model>"
    )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in (("[Content_Types].xml", _TYPES), ("_rels/.rels", _RELATIONS), ("3D/3dmodel.model", model)):
            # Without a date, so that the same train gives the same bytes.
            archive.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), text, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def outlines(made: Made) -> Sequence[Sequence[tuple[float, float]]]:
    """Return the outlines of a part that is flat, to be cut from a sheet; nothing for any other part.

    Args:
        made: the part.
    """
    solid = on_bed(made)
    height = solid.bounding_box()[5]
    cuts = [solid.slice(height * share) for share in (0.06, 0.5, 0.94)]
    area = cuts[1].area()
    if height > 12.0 or any((cut - cuts[1]).area() + (cuts[1] - cut).area() > 1e-3 * area for cut in cuts):
        return []
    if abs(solid.volume() - area * height) > 1e-3 * area * height:
        return []
    return [[(float(x), float(y)) for x, y in loop] for loop in cuts[1].to_polygons()]
