"""A picture as a list of plain shapes, and its SVG text.

Every shape names its colours by role ("ink", "blue", "paper"), so that one picture reads on a light page, on a dark
page and on paper. Units are CSS pixels at 100 %, y downwards. A picture cannot be written without a title and a
description: they are its text alternative.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from hashlib import sha256
from itertools import chain
from typing import Protocol

from gearkit.draw.core.measure import Box, text_box
from gearkit.draw.core.palette import FONTS, LIGHT, stylesheet
from gearkit.draw.core.wording import showable
from gearkit.text.markup import escape, quoted

_COUNTS = {"M": 2, "L": 2, "C": 6, "Z": 0}
_TENTHS = tuple((f".{digit}0", f".{digit}") for digit in range(1, 10))
_STYLE = re.compile(r"<style>.*?</style>", re.DOTALL)
PIXELS_TO_POINTS = 0.75  # 96 px and 72 points make an inch
Point = tuple[float, float]
PathStep = tuple[str, tuple[float, ...]]


@dataclass(frozen=True)
class Look:
    """How a shape is drawn.

    Args:
        stroke: role of the line's colour; None for no line.
        fill: role of the inside's colour; None for none.
        width: line width in px.
        dash: lengths of dashes and gaps in px; empty for a full line.
        cap: "butt" or "round".
        opacity: of the whole shape, 0 to 1.
    """

    stroke: str | None = "ink"
    fill: str | None = None
    width: float = 2.0
    dash: tuple[float, ...] = ()
    cap: str = "butt"
    opacity: float = 1.0

    @cached_property
    def attributes(self) -> str:
        """How it is written in SVG; a look that many shapes share is written once."""
        return _attributes(self)


@dataclass(frozen=True)
class Path:
    """A line or outline.

    Args:
        steps: ("M", (x, y)), ("L", (x, y)), ("C", (x1, y1, x2, y2, x, y)) and ("Z", ()).
        look: how it is drawn.
    """

    steps: tuple[PathStep, ...]
    look: Look


@dataclass(frozen=True)
class Circle:
    """A full circle.

    Args:
        centre: of the circle.
        radius: in px.
        look: how it is drawn.
    """

    centre: Point
    radius: float
    look: Look


@dataclass(frozen=True)
class Text:
    """One line of text.

    Args:
        x: where it starts, has its middle or ends, by the anchor.
        y: its base line.
        text: the words.
        size: type size in px.
        anchor: "start", "middle" or "end".
        bold: whether the type is bold.
        role: its colour.
        overlay: whether it is meant to lie on another shape of its own (a badge), not on free page.
    """

    x: float
    y: float
    text: str
    size: float = 13.0
    anchor: str = "start"
    bold: bool = False
    role: str = "ink"
    overlay: bool = False

    @property
    def box(self) -> Box:
        """The room it takes."""
        return text_box(self.x, self.y, self.text, self.size, anchor=self.anchor, bold=self.bold)


@dataclass
class Group:
    """Shapes that belong together.

    Args:
        data: what the group shows, written as data-… attributes, such as {"member": "P1.sun"}.
        shapes: its contents, drawn in this order.
    """

    data: Mapping[str, str] = field(default_factory=dict)
    shapes: list[Shape] = field(default_factory=list)

    def line(self, first: Point, second: Point, look: Look) -> None:
        """Add a straight line.

        Args:
            first: one end.
            second: the other end.
            look: how it is drawn.
        """
        self.polyline((first, second), look)

    def polyline(self, points: Iterable[Point], look: Look, *, closed: bool = False) -> None:
        """Add a line through points.

        Args:
            points: at least two.
            look: how it is drawn.
            closed: whether the last point is joined to the first.
        """
        steps: list[PathStep] = [("L" if index else "M", point) for index, point in enumerate(points)]
        if closed:
            steps.append(("Z", ()))
        self.shapes.append(Path(tuple(steps), look))

    def path(self, steps: Iterable[PathStep], look: Look) -> None:
        """Add a path.

        Args:
            steps: as in `Path`.
            look: how it is drawn.
        """
        self.shapes.append(Path(tuple(steps), look))

    def circle(self, centre: Point, radius: float, look: Look) -> None:
        """Add a circle.

        Args:
            centre: of the circle.
            radius: in px.
            look: how it is drawn.
        """
        self.shapes.append(Circle(centre, radius, look))

    def rect(self, box: Box, look: Look, *, corner: float = 0.0) -> None:
        """Add a rectangle.

        Args:
            box: its place.
            look: how it is drawn.
            corner: radius of its corners in px.
        """
        self.shapes.append(Path(tuple(_rectangle(box, min(corner, box.width / 2, box.height / 2))), look))

    def text(self, text: Text) -> Text:
        """Add a line of text and return it."""
        self.shapes.append(text)
        return text

    def group(self, data: Mapping[str, str] | None = None) -> Group:
        """Add a group inside and return it.

        Args:
            data: what the group shows, as data-… attributes, such as {"member": "P1.sun"}.
        """
        inner = Group(dict(data or {}))
        self.shapes.append(inner)
        return inner

    def walk(self) -> Iterator[Path | Circle | Text]:
        """Yield every plain shape inside, in drawing order."""
        for shape in self.shapes:
            if isinstance(shape, Group):
                yield from shape.walk()
            else:
                yield shape

    def texts(self) -> tuple[Text, ...]:
        """Return every line of text inside."""
        return tuple(shape for shape in self.walk() if isinstance(shape, Text))


Shape = Path | Circle | Text | Group


@dataclass
class Picture(Group):
    """A drawing with its text alternative.

    Args:
        width: in px at 100 %.
        height: in px at 100 %.
        title: its name, a few words.
        description: what it says, in sentences.
        kind: what sort of picture, such as "stick".
    """

    width: float = 0.0
    height: float = 0.0
    title: str = ""
    description: str = ""
    kind: str = ""

    def svg(self) -> str:
        """Return the picture as SVG text; the same picture always gives the same text."""
        writer = _Writer()
        for shape in self.shapes:
            writer.write(shape)
        body = writer.text()
        digest = sha256(f"{self.kind}|{self.title}|{self.description}|{body}".encode()).hexdigest()[:10]
        width, height = number(self.width), number(self.height)
        # Narrower than this its smallest letters would be less than 11 px high; the page scrolls it instead.
        least = number(self.width * min(1.0, 11.0 / min((text.size for text in self.texts()), default=11.0)))
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="gk gk-{self.kind}" id="gk-{digest}" role="img" '
            f'aria-labelledby="gk-{digest}-t" aria-describedby="gk-{digest}-d" width="{width}" height="{height}" '
            f'viewBox="0 0 {width} {height}" font-family="{FONTS}" style="max-width:100%;min-width:{least}px;height:auto">'
            f'<title id="gk-{digest}-t">{escape(showable(self.title))}</title>'
            f'<desc id="gk-{digest}-d">{escape(showable(self.description))}</desc>'
            f"<style>{stylesheet()}</style>"
            f'<path class="f-paper" fill="{LIGHT["paper"]}" d="M0 0H{width}V{height}H0Z"/>{body}</svg>'
        )


class Drawn(Protocol):
    """Whatever gives a picture as SVG: a drawing, or a text that was drawn before."""

    def svg(self) -> str:
        """Return the SVG text."""


def plain_svg(drawn: Drawn) -> str:
    """Return a picture's SVG without its style sheet, in its light colours: for paper, and for programs that know none.

    Args:
        drawn: the picture.
    """
    return _STYLE.sub("", drawn.svg(), count=1)


def arc(centre: Point, radius: float, start: float, end: float) -> list[PathStep]:
    """Return the path of a circular arc, as cubic curves.

    Args:
        centre: of the circle.
        radius: in px.
        start: angle of the first end in radians, 0 to the right, growing clockwise on the page.
        end: angle of the last end.
    """
    pieces = max(1, math.ceil(abs(end - start) / (math.pi / 2) - 1e-9))
    step = (end - start) / pieces
    reach = 4 / 3 * math.tan(step / 4) * radius
    x, y = centre
    steps: list[PathStep] = [("M", (x + radius * math.cos(start), y + radius * math.sin(start)))]
    for piece in range(pieces):
        a, b = start + piece * step, start + (piece + 1) * step
        steps.append((
            "C",
            (
                x + radius * math.cos(a) - reach * math.sin(a), y + radius * math.sin(a) + reach * math.cos(a),
                x + radius * math.cos(b) + reach * math.sin(b), y + radius * math.sin(b) - reach * math.cos(b),
                x + radius * math.cos(b), y + radius * math.sin(b),
            ),
        ))  # fmt: skip
    return steps


def number(value: float) -> str:
    """Return a length as short text, to a hundredth of a px."""
    return _shortened(f"{value:.2f}")


def _path_form(steps: tuple[PathStep, ...]) -> str:
    return _form("".join([letter for letter, _ in steps]))


def _path_values(steps: tuple[PathStep, ...]) -> Iterator[float]:
    return chain.from_iterable([values for _, values in steps])


@lru_cache(maxsize=512)
def _form(letters: str) -> str:
    return "".join([letter + " ".join(["%.2f"] * _COUNTS[letter]) for letter in letters])


def _shortened(text: str) -> str:
    """Return numbers of two decimals each without their idle zeros."""
    text = text.replace("-0.00", "0").replace(".00", "")
    if "0" in text:
        for tenths, short in _TENTHS:
            text = text.replace(tenths, short)
    return text


def _rectangle(box: Box, corner: float) -> list[PathStep]:
    left, top, right, bottom = box.left, box.top, box.right, box.bottom
    if not corner:
        return [("M", (left, top)), ("L", (right, top)), ("L", (right, bottom)), ("L", (left, bottom)), ("Z", ())]
    # 0.448 of the radius is what is left of it beyond the control point of a quarter circle.
    c, k = corner, 0.448 * corner
    return [
        ("M", (left + c, top)), ("L", (right - c, top)), ("C", (right - k, top, right, top + k, right, top + c)),
        ("L", (right, bottom - c)), ("C", (right, bottom - k, right - k, bottom, right - c, bottom)),
        ("L", (left + c, bottom)), ("C", (left + k, bottom, left, bottom - k, left, bottom - c)),
        ("L", (left, top + c)), ("C", (left, top + k, left + k, top, left + c, top)), ("Z", ()),
    ]  # fmt: skip


class _Writer:
    """Writes shapes as SVG text; all their numbers are formatted and shortened at one go, which takes most of the time."""

    def __init__(self) -> None:
        self._parts: list[str | None] = []  # None: where the next numbers go
        self._forms: list[str] = []
        self._values: list[float] = []

    def text(self) -> str:
        numbers = iter(_shortened("\n".join(self._forms) % tuple(self._values)).split("\n"))
        return "".join([next(numbers) if part is None else part for part in self._parts])

    def write(self, shape: Shape) -> None:
        match shape:
            case Path():
                self._parts += (f'<path{shape.look.attributes} d="', None, '"/>')
                self._forms.append(_path_form(shape.steps))
                self._values += _path_values(shape.steps)
            case Group():
                data = "".join([f" data-{key}={quoted(value)}" for key, value in shape.data.items()])
                self._parts.append(f"<g{data}>")
                for inner in shape.shapes:
                    self.write(inner)
                self._parts.append("</g>")
            case Circle():
                self._parts += (f"<circle{shape.look.attributes} ", None, "/>")
                self._forms.append('cx="%.2f" cy="%.2f" r="%.2f"')
                self._values += (*shape.centre, shape.radius)
            case Text():
                anchor = "" if shape.anchor == "start" else f' text-anchor="{shape.anchor}"'
                weight = ' font-weight="700"' if shape.bold else ""
                start = f'<text class="f-{shape.role}" fill="{LIGHT[shape.role]}" '
                self._parts += (start, None, f"{anchor}{weight}>{escape(showable(shape.text))}</text>")
                self._forms.append('x="%.2f" y="%.2f" font-size="%.2f"')
                self._values += (shape.x, shape.y, shape.size)


@lru_cache(maxsize=512)
def _attributes(look: Look) -> str:
    classes = [f"s-{look.stroke}"] if look.stroke else []
    parts = [f'stroke="{LIGHT[look.stroke]}" stroke-width="{number(look.width)}"'] if look.stroke else []
    if look.fill:
        classes.append(f"f-{look.fill}")
        parts.append(f'fill="{LIGHT[look.fill]}"')
    else:
        parts.append('fill="none"')
    if look.stroke:
        parts.append('stroke-linejoin="round"')
        if look.cap != "butt":
            parts.append(f'stroke-linecap="{look.cap}"')
        if look.dash:
            parts.append(f'stroke-dasharray="{" ".join(number(value) for value in look.dash)}"')
    if look.opacity != 1:
        parts.append(f'opacity="{number(look.opacity)}"')
    return f' class="{" ".join(classes)}" {" ".join(parts)}'
