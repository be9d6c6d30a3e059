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
from gearkit.draw.stick.placement import Placement, read_plan
from gearkit.draw.stick.stick_nets import nets_of
from gearkit.train.elements import Element
from gearkit.train.layout import Layout, Source
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import say
from gearkit.words.terms import MEMBERS, ElementKind, SourceKind

_WIDTH, _HEIGHT, _SIDE, _MOST = 250.0, 190.0, 40.0, 62.0
# The best places of many searches: ports, shafts and the brake, as `Placement.plan_table` writes them, by driving and driven
# member. A search takes 100 to 200 ms a picture, in a browser twice that.
_PLACES = {
    ("sun", "carrier"): ([0, 1, 0], [[1, 2, 2, 3], [2, 2, 2, 11], [3, 2, 0, 10]], [4, 1, 1]),
    ("sun", "ring"): ([0, 2, 2], [[1, 2, 1, 11], [2, 2, 0, 12], [3, 0, 1, 3]], [4, 1, 0]),
    ("carrier", "sun"): ([0, 0, 0], [[1, 2, 0, 4], [2, 2, 1, 1], [3, 1, 0, 1]], [4, 1, 0]),
    ("carrier", "ring"): ([0, 1, 2], [[1, 1, 0, 10], [2, 2, 1, 11], [3, 2, 1, 3]], [4, 0, 0]),
    ("ring", "sun"): ([0, 3, 1], [[1, 2, 0, 3], [2, 2, 2, 4], [3, 2, 0, 10]], [10, 1, 0]),
    ("ring", "carrier"): ([0, 0, 1], [[1, 2, 2, 12], [2, 1, 0, 11], [3, 2, 0, 12]], [10, 0, 1]),
}
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


def one_set(drive: str, out: str, hold: str) -> Layout:
    """Return the layout of a stick picture to choose: one set with a brake.

    Args:
        drive: the driving member.
        out: the driven member.
        hold: the held member.
    """
    return Layout(
        say("One set"),
        (PlanetarySet("P1", sun_teeth=30, ring_teeth=78),),
        ((f"P1.{drive}", "input"), (f"P1.{out}", "output")),
        (Element("B", ElementKind.BRAKE, (f"P1.{hold}", "housing")),),
        (),
        Source(SourceKind.OWN, say("an exercise")),
    )


def stored_places(layout: Layout, drive: str, out: str) -> Placement:
    """Return where the lines of a stick picture to choose run.

    Args:
        layout: from `one_set`.
        drive: its driving member.
        out: its driven member.
    """
    ports, shafts, brake = _PLACES[drive, out]
    table = {"grid": [4, 3], "sets": ["P1"], "ports": ports, "shafts": shafts, "elements": [brake], "output": 0}
    return read_plan(table, layout, nets_of(layout))


@lru_cache(maxsize=16)
def _stick(sketch: StickSketch) -> str:
    layout = one_set(sketch.drive, sketch.out, sketch.hold)
    # A heading and a list of elements would be as wide as two diagrams, and their letters too small beside the other choices.
    drawn = stick_diagram.picture(layout, placement=stored_places(layout, sketch.drive, sketch.out), alone=False)
    drawn.title, drawn.description = say("Stick picture of one planetary set"), sketch.words
    return drawn.svg()
