"""Small pictures to choose among in an exercise: the lever of one set, a set with one member driven and one held.

All pictures of a question are drawn alike, to one scale, and say in words what is drawn and no more.
"""

from __future__ import annotations

from collections.abc import Sequence

from gearkit.answers.reasoning.sketches import LeverSketch, Sketch, StickSketch
from gearkit.draw.core.embed import SvgPicture, side_by_side
from gearkit.draw.core.measure import text_width
from gearkit.draw.core.member_mark import OWN_CODES, member_mark
from gearkit.draw.core.svg import Look, Picture, Text
from gearkit.draw.stick import stick_diagram
from gearkit.draw.stick.placement import Placement, read_plan
from gearkit.draw.stick.stick_nets import nets_of
from gearkit.train.elements import Element
from gearkit.train.layout import Layout, Source
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import kept_for_each_language, said, say
from gearkit.words.terms import MEMBERS, ElementKind, SourceKind

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
_WIDTH, _TOP, _FOOT, _BAR, _MOST = 270.0, 24.0, 166.0, 172.0, 74.0
_NAMES, _NAMES_END, _NAME_SIZE = 33.0, 86.0, 13.0
_ROW, _TIPS = Look("faint", None, 1.0), Look("soft", None, 2.4, cap="round")
_UPRIGHT, _ARROW = Look("ink", None, 4.0, cap="round"), Look("ink", None, 2.4)


def svgs_of(sketches: Sequence[Sketch]) -> tuple[str, ...]:
    """Return the pictures of a question as SVG text, levers to one scale.

    Args:
        sketches: what is drawn.
    """
    levers = [sketch for sketch in sketches if isinstance(sketch, LeverSketch)]
    longest = max((abs(float(arrow)) for lever in levers for arrow in lever.arrows), default=1.0)
    lowest = min((float(place) for lever in levers for place in lever.places), default=0.0)
    highest = max((float(place) for lever in levers for place in lever.places), default=1.0)
    return tuple(
        _lever(sketch, longest, (lowest, highest)).svg() if isinstance(sketch, LeverSketch) else _stick(sketch)
        for sketch in sketches
    )


def together(sketches: Sequence[Sketch]) -> SvgPicture:
    """Return the pictures of a question as one for paper, each with its letter above it.

    Args:
        sketches: what is drawn.
    """
    return side_by_side(svgs_of(sketches), [f"({letter})" for letter in "abcdefghijkl"[: len(sketches)]])


def _lever(sketch: LeverSketch, longest: float, span: tuple[float, float]) -> Picture:
    """The lever as in all pictures: upright, the ring at the top, speeds as arrows to the side."""
    names = [said(member) for member in MEMBERS]
    # Longer names than the English ones push the lever to the right.
    names_end = max(_NAMES_END, _NAMES + 8 + max(text_width(name, _NAME_SIZE) for name in names))
    bar, width = _BAR + names_end - _NAMES_END, _WIDTH + names_end - _NAMES_END
    drawn = Picture(
        title=say("Lever picture of three speeds"), description=sketch.words, kind="lever-choice", width=width, height=190.0
    )
    least, most = span
    rows = [_FOOT - (float(place) - least) / (most - least) * (_FOOT - _TOP) for place in sketch.places]
    tips = [(bar + float(arrow) / longest * _MOST, y) for arrow, y in zip(sketch.arrows, rows, strict=True)]
    for y in rows:
        drawn.line((names_end, y), (bar, y), _ROW)
    drawn.line((bar, min(rows)), (bar, max(rows)), _UPRIGHT)
    ends = sorted(tips, key=lambda tip: tip[1])
    drawn.line(ends[0], ends[-1], _TIPS)
    for member, name, (x, y) in zip(MEMBERS, names, tips, strict=True):
        if x != bar:
            drawn.line((bar, y), (x, y), _ARROW)
            back = -6 if x > bar else 6
            drawn.polyline([(x + back, y - 5), (x, y), (x + back, y + 5)], _ARROW)
        drawn.circle((bar, y), 4.5, Look("ink", "paper", 2.0))
        member_mark(drawn, 14.0, y, member, OWN_CODES[member])
        drawn.text(Text(_NAMES, y + 4.5, name, _NAME_SIZE))
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


@kept_for_each_language(16)
def _stick(sketch: StickSketch) -> str:
    layout = one_set(sketch.drive, sketch.out, sketch.hold)
    # A heading and a list of elements would be as wide as two diagrams, and their letters too small beside the other choices.
    drawn = stick_diagram.picture(layout, placement=stored_places(layout, sketch.drive, sketch.out), alone=False)
    drawn.title, drawn.description = say("Stick picture of one planetary set"), sketch.words
    return drawn.svg()
