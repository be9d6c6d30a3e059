"""Small pictures to choose among in an exercise: the lever of one set, a set with one member driven and one held.

All pictures of a question are drawn alike, to one scale, and say in words what is drawn and no more.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from gearkit.answers.reasoning.sketches import LeverSketch, Sketch, StickSketch
from gearkit.draw.core.embed import SvgPicture, side_by_side
from gearkit.draw.core.svg import Look, Picture, Point, Text
from gearkit.draw.stick import stick_diagram
from gearkit.draw.stick.placement import place
from gearkit.train.elements import Element
from gearkit.train.layout import Layout, Source
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import say
from gearkit.words.terms import MEMBERS, ElementKind, SourceKind

_WIDTH, _HEIGHT, _SIDE, _MOST = 250.0, 190.0, 40.0, 62.0
# One set with one brake is well placed after few trials: 20 ms a picture in place of 200.
_EFFORT = 0.1
_BASE = Look("soft", None, 1.2, (6, 4))
_ARROW, _LEVER = Look("ink", None, 2.4), Look("blue", None, 2.0)


def svgs_of(sketches: Sequence[Sketch]) -> tuple[str, ...]:
    """Return the pictures of a question as SVG text, levers to one scale.

    Args:
        sketches: what is drawn.
    """
    levers = [sketch for sketch in sketches if isinstance(sketch, LeverSketch)]
    highest = max((abs(float(height)) for lever in levers for height in lever.heights), default=1.0)
    lowest = min((float(place) for lever in levers for place in lever.places), default=0.0)
    widest = max((float(place) for lever in levers for place in lever.places), default=1.0)
    return tuple(
        _lever(sketch, highest, (lowest, widest)).svg() if isinstance(sketch, LeverSketch) else _stick(sketch)
        for sketch in sketches
    )


def together(sketches: Sequence[Sketch]) -> SvgPicture:
    """Return the pictures of a question as one for paper, each with its letter above it.

    Args:
        sketches: what is drawn.
    """
    return side_by_side(svgs_of(sketches), [f"({letter})" for letter in "abcdefghijkl"[: len(sketches)]])


def _lever(sketch: LeverSketch, highest: float, span: tuple[float, float]) -> Picture:
    drawn = Picture(
        title=say("Lever picture of three speeds"), description=sketch.words, kind="lever-choice", width=_WIDTH, height=_HEIGHT
    )
    middle = _HEIGHT / 2 - 6
    least, most = span

    def at(place: float, height: float) -> Point:
        return (_SIDE + (place - least) / (most - least) * (_WIDTH - 2 * _SIDE), middle - height / highest * _MOST)

    drawn.line((12, middle), (_WIDTH - 12, middle), _BASE)
    tips = [at(float(place), float(height)) for place, height in zip(sketch.places, sketch.heights, strict=True)]
    ends = sorted(tips)
    drawn.line(ends[0], ends[-1], _LEVER)
    for member, (x, y) in zip(MEMBERS, tips, strict=True):
        if abs(y - middle) > 3:
            drawn.line((x, middle), (x, y), _ARROW)
            point = 6 if y < middle else -6
            drawn.polyline([(x - 5, y + point), (x, y), (x + 5, y + point)], _ARROW)
        else:
            drawn.circle((x, middle), 4.5, Look("ink", "paper", 2.0))
        # Two names close together stand on two lines.
        near = any(abs(x - other) < 44 for name, (other, _) in zip(MEMBERS, tips, strict=True) if name != member)
        drawn.text(Text(x, _HEIGHT - (4 if member == "carrier" or not near else 20), member, 13, anchor="middle"))
    return drawn


@lru_cache(maxsize=16)
def _stick(sketch: StickSketch) -> str:
    joins = ((f"P1.{sketch.drive}", "input"), (f"P1.{sketch.out}", "output"))
    layout = Layout(
        say("One set"),
        (PlanetarySet("P1", sun_teeth=30, ring_teeth=78),),
        joins,
        (Element("B", ElementKind.BRAKE, (f"P1.{sketch.hold}", "housing")),),
        (),
        Source(SourceKind.OWN, say("an exercise")),
    )
    # A heading and a list of elements would be as wide as two diagrams, and their letters too small beside the other choices.
    drawn = stick_diagram.picture(layout, placement=place(layout, effort=_EFFORT), alone=False)
    drawn.title, drawn.description = say("Stick picture of one planetary set"), sketch.words
    return drawn.svg()
