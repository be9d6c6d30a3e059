"""Pictures as PNG and PDF, for print and for programs that read no SVG.

matplotlib draws the same shapes from the same list, so no converter for SVG is needed. It is loaded only here, and only
when such a file is asked for. Paper is white: the light colours are used.
"""

from __future__ import annotations

import io
from pathlib import Path as FilePath
from typing import Any

from gearkit.draw.core.palette import LIGHT
from gearkit.draw.core.svg import Circle, Look, Path, Picture, Text
from gearkit.draw.core.wording import showable
from gearkit.text.files import write_asked
from gearkit.words.errors import GearkitError, UsageError

ENDINGS = (".svg", ".png", ".pdf")
PIXELS_PER_INCH = 96.0
SHARPNESS = 2.0  # PNG pixels for one px of the picture
_POINTS = 72.0 / PIXELS_PER_INCH


def save(drawn: Picture, path: FilePath) -> None:
    """Write a picture to a file, its kind by the ending.

    Args:
        drawn: the picture.
        path: ending in .svg, .png or .pdf; folders on the way to it are made where they are missing.

    Raises:
        UsageError: another ending, or the file cannot be written.
        GearkitError: PNG or PDF is asked for and matplotlib is not installed.
    """
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise UsageError(f"{path.name}: ending {ending or '(none)'!r}; use one of {', '.join(ENDINGS)}.")
    write_asked(path, drawn.svg() + "\n" if ending == ".svg" else _figure(drawn, path, ending))


def _figure(drawn: Picture, path: FilePath, ending: str) -> bytes:
    try:
        from matplotlib.figure import Figure
    except ImportError:
        raise GearkitError(
            f"{path.name}: PNG and PDF need matplotlib, which is not installed; "
            "install it, or choose a file name ending in .svg."
        ) from None
    import matplotlib as mpl

    figure = Figure(figsize=(drawn.width / PIXELS_PER_INCH, drawn.height / PIXELS_PER_INCH), facecolor=LIGHT["paper"])
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_xlim(0, drawn.width)
    axes.set_ylim(drawn.height, 0)
    axes.axis("off")
    for order, shape in enumerate(drawn.walk()):
        _add(axes, shape, order)
    details = {"Title": drawn.title, "Subject" if ending == ".pdf" else "Description": drawn.description}
    # Type 42 keeps the words of a PDF searchable and readable aloud.
    with mpl.rc_context({"pdf.fonttype": 42, "font.family": "DejaVu Sans"}):
        content = io.BytesIO()
        figure.savefig(content, format=ending[1:], dpi=PIXELS_PER_INCH * SHARPNESS, metadata=details)
    return content.getvalue()


def _add(axes: Any, shape: Path | Circle | Text, order: int) -> None:
    from matplotlib.patches import Circle as CirclePatch
    from matplotlib.patches import PathPatch

    match shape:
        case Text():
            anchor = {"start": "left", "middle": "center", "end": "right"}[shape.anchor]
            axes.text(
                shape.x, shape.y, showable(shape.text), fontsize=shape.size * _POINTS, color=LIGHT[shape.role], ha=anchor,
                va="baseline", fontweight="bold" if shape.bold else "normal", zorder=order, parse_math=False,
            )  # fmt: skip
        case Circle():
            axes.add_patch(CirclePatch(shape.centre, shape.radius, zorder=order, **_style(shape.look)))
        case Path():
            axes.add_patch(PathPatch(_outline(shape), zorder=order, **_style(shape.look)))


def _outline(shape: Path) -> Any:
    from matplotlib.path import Path as Outline

    points: list[tuple[float, float]] = []
    codes: list[int] = []
    start = (0.0, 0.0)
    for letter, values in shape.steps:
        pairs = list(zip(values[0::2], values[1::2], strict=True))
        match letter:
            case "M":
                start = pairs[0]
                codes.append(int(Outline.MOVETO))
            case "L":
                codes.append(int(Outline.LINETO))
            case "C":
                codes += [int(Outline.CURVE4)] * 3
            case "Z":
                pairs = [start]
                codes.append(int(Outline.CLOSEPOLY))
        points += pairs
    return Outline(points, codes)


def _style(look: Look) -> dict[str, Any]:
    width = look.width * _POINTS
    style: dict[str, Any] = {
        "edgecolor": LIGHT[look.stroke] if look.stroke else "none",
        "facecolor": LIGHT[look.fill] if look.fill else "none",
        "linewidth": width if look.stroke else 0.0,
        "alpha": look.opacity, "joinstyle": "round", "capstyle": look.cap,
    }  # fmt: skip
    if look.dash:
        # Dashes are counted in line widths by the renderer.
        style["linestyle"] = (0, tuple(length * _POINTS for length in look.dash))
    return style
