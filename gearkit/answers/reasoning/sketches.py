"""Pictures to choose among: levers of one set and stick pictures of one set, as data; `gearkit.draw` draws them.

The words of a picture say what is drawn, as precisely as an eye reads it, and nothing else: every choice has the like.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from gearkit.answers.draw_numbers import pool
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.item import ONE_PART, AnswerKind
from gearkit.answers.judge.checkers import Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices, labelled
from gearkit.answers.kinds.words import ChoiceChecker
from gearkit.answers.reasoning.layout_rows import Train
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.solve.speeds import speeds
from gearkit.text.phrases import localized, set_words
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import later, say
from gearkit.words.terms import MEMBERS, PinionKind

_OFFERED = 4
# Two pictures have to differ by more than an eye may miss.
_SEEN = Fraction(1, 8)

_LEVER = {
    "SWAP": later(
        "The arms of the lever, or the speeds of sun and ring, have changed places there: which arm is the longer one?"
    ),
    "SIGN": later("A gear turns the other way there: follow the directions of sun and ring once more."),
    "HELDMOVES": later(
        "Which member has no arrow? In that picture a member stands still that turns here, or the other way round."
    ),
}
_HELD = {
    "RECIP": later("The right member is held there, but drive and output have changed places."),
    "HELDMOVES": later("Another member is held there: which one belongs to this ratio?"),
}


@dataclass(frozen=True)
class LeverSketch:
    """The lever of one set, upright: three places on it, the speed of each as an arrow to the right or to the left.

    Args:
        places: sun, carrier, ring -> height on the lever, the sun's at the foot.
        arrows: sun, carrier, ring -> speed, as a multiple of the input's; forward is to the right.
    """

    places: tuple[Fraction, Fraction, Fraction]
    arrows: tuple[Fraction, Fraction, Fraction]

    @property
    def words(self) -> str:
        """What is drawn."""
        return "; ".join(
            say("{member} at height {height}, {arrow}", member=member, height=_read(height), arrow=_arrow(arrow))
            for member, height, arrow in zip(MEMBERS, self.places, self.arrows, strict=True)
        )

    def looks_like(self, other: LeverSketch) -> bool:
        """Return whether the two can hardly be told apart.

        Args:
            other: another one.
        """
        size = max(map(abs, (*self.arrows, *other.arrows)))
        apart = max(abs(own - two) for own, two in zip(self.arrows, other.arrows, strict=True)) / size
        moved = max(abs(own - two) for own, two in zip(self.places, other.places, strict=True))
        return apart < _SEEN and moved < _SEEN


@dataclass(frozen=True)
class StickSketch:
    """A set with one member driven and one held.

    Args:
        drive: the member on the input.
        hold: the member that is held.
        out: the member on the output.
    """

    drive: str
    hold: str
    out: str

    @property
    def words(self) -> str:
        """What is drawn."""
        return say(
            "the input goes to the {drive}, a brake joins the {hold} to the housing, the output goes to the {out}",
            drive=self.drive,
            hold=self.hold,
            out=self.out,
        )


Sketch = LeverSketch | StickSketch


def _arrow(speed: Fraction) -> str:
    if not speed:
        return say("no arrow")
    return (
        say("arrow {length} to the right", length=_read(speed))
        if speed > 0
        else say("arrow {length} to the left", length=_read(-speed))
    )


def _read(number: Fraction) -> str:
    return localized(f"{float(number):.2f}".rstrip("0").rstrip("."))


def built_item(kind: str, train: Train | None, marks: int, seeded: SeededRandom) -> BuiltItem | None:
    """Return a question with four pictures; None where the draw does not serve.

    Args:
        kind: "two speeds", "case", "range" (levers) or "stick".
        train: for "range".
        marks: full marks.
        seeded: what is asked.
    """
    pictures = _stick(seeded) if kind == "stick" else _lever(kind, train, seeded)
    if pictures is None:
        return None
    shown, right, wrong = pictures
    chosen = dict(seeded.sample(tuple(wrong.items()), _OFFERED - 1))
    if len(chosen) < _OFFERED - 1:
        return None
    sketches = seeded.shuffled((right, *chosen))
    choices = Choices(tuple(sketch.words for sketch in sketches), letters=True)
    if len(set(choices.options)) < _OFFERED:
        return None
    said = _HELD if kind == "stick" else _LEVER
    forms = tuple(WrongForm(code, {ONE_PART: sketch.words}, said[code]) for sketch, code in chosen.items())
    part = Part(ONE_PART, "", AnswerKind.PICTURE, "", choices.options, Fraction(marks), sketches)
    return BuiltItem(
        (part,),
        Key({ONE_PART: ChoiceChecker(choices, right.words)}, forms),
        {"shown": shown, "list": labelled(choices.options)},
    )


_Asked = tuple[str, Sketch, dict[Sketch, str]]


def _lever(kind: str, train: Train | None, seeded: SeededRandom) -> _Asked | None:
    if kind == "range":
        drawn = _set_in_a_range(train, seeded) if train is not None else None
    else:
        drawn = _two_speeds(seeded) if kind == "two speeds" else _case(seeded)
    if drawn is None:
        return None
    shown, place, sun, ring = drawn
    right = _straight(place, sun, ring)
    size = max(map(abs, right.arrows))
    if not size or len({*right.arrows}) < 3 or min(abs(arrow) for arrow in right.arrows if arrow) < size / 12:
        return None
    mirrored = _straight(1 - place, sun, ring) if 0 < place < 1 else _straight(2 - place, sun, ring)
    wrong: dict[Sketch, str] = {
        mirrored: "SWAP",
        _straight(place, ring, sun): "SWAP",
        _straight(place, sun, -ring) if ring else _straight(place, -sun, ring): "SIGN",
        _straight(place, *_without(place, sun, ring)): "HELDMOVES",
    }
    offered: dict[Sketch, str] = {}
    for sketch, code in wrong.items():
        assert isinstance(sketch, LeverSketch)
        if not any(sketch.looks_like(other) for other in (right, *offered) if isinstance(other, LeverSketch)):
            offered[sketch] = code
    return (shown, right, offered) if len(offered) >= _OFFERED - 1 else None


def _straight(place: Fraction, sun: Fraction, ring: Fraction) -> LeverSketch:
    """The lever with the sun at 0 and the ring at 1: the carrier lies on the straight line through both."""
    return LeverSketch((Fraction(0), place, Fraction(1)), (sun, sun + (ring - sun) * place, ring))


def _without(place: Fraction, sun: Fraction, ring: Fraction) -> tuple[Fraction, Fraction]:
    """The same with another member at rest: the ring where the carrier stood, else the carrier."""
    if sun + (ring - sun) * place == 0:
        return sun, Fraction(0)
    # The carrier stands: sun and ring as its two arms have it.
    return (sun, -sun * (1 - place) / place) if sun else (-ring * place / (1 - place) if place != 1 else ring, ring)


def _two_speeds(seeded: SeededRandom) -> tuple[str, Fraction, Fraction, Fraction] | None:
    teeth = seeded.pick(pool.pool())
    place = Fraction(teeth.ring, teeth.sun + teeth.ring)
    sun, ring = Fraction(100 * (5 + seeded.below(16))), Fraction(100 * (2 + seeded.below(12)) * (1 - 2 * seeded.below(2)))
    return (
        say(
            "A set has $S = {sun}$ and $R = {ring}$. The sun turns at {sun2} r/min, the ring at {ring2} r/min.",
            sun=teeth.sun,
            ring=teeth.ring,
            sun2=sun,
            ring2=_minus(ring),
        ),
        place,
        sun / 1000,
        ring / 1000,
    )


def _minus(number: Fraction) -> str:
    return str(number).replace("-", "\u2212")


def _case(seeded: SeededRandom) -> tuple[str, Fraction, Fraction, Fraction] | None:
    teeth = seeded.pick(pool.pool())
    place = Fraction(teeth.ring, teeth.sun + teeth.ring)
    drive, hold = seeded.pick(
        (("sun", "ring"), ("ring", "sun"), ("sun", "carrier"), ("ring", "carrier"), ("carrier", "ring"), ("carrier", "sun"))
    )
    unit = Fraction(1)
    by_case = {
        ("sun", "ring"): (unit, Fraction(0)),
        ("ring", "sun"): (Fraction(0), unit),
        ("sun", "carrier"): (unit, -(1 - place) / place),
        ("ring", "carrier"): (-place / (1 - place), unit),
        ("carrier", "ring"): (1 / (1 - place), Fraction(0)),
        ("carrier", "sun"): (Fraction(0), 1 / place),
    }
    sun, ring = by_case[drive, hold]
    return (
        say(
            "A set has $S = {sun}$ and $R = {ring}$. The {drive} drives forward, the {hold} is held.",
            sun=teeth.sun,
            ring=teeth.ring,
            drive=drive,
            hold=hold,
        ),
        place,
        sun,
        ring,
    )


def _set_in_a_range(train: Train, seeded: SeededRandom) -> tuple[str, Fraction, Fraction, Fraction] | None:
    """A set of a range whose three members turn at three speeds."""
    if not train.rows:
        return None
    row, pset = seeded.pick(train.rows), seeded.pick(train.layout.sets)
    turning = _three_speeds(train.layout, row.engaged, pset)
    if turning is None:
        return None
    sun, _, ring = turning
    words = row.words
    weights = pset.weights
    return (
        say(
            "The train drives in {words}; the input turns forward. Look at the lever of {name}.",
            words=words,
            name=set_words(pset.name),
        ),
        Fraction(weights[1], weights[0] + weights[1]),
        sun,
        ring,
    )


def has_a_lever(layout: Layout, engaged: Iterable[str]) -> bool:
    """Return whether a set of a layout can be asked for its lever: a plain one whose members turn at three speeds.

    Args:
        layout: the layout.
        engaged: the elements that join or hold.
    """
    names = tuple(engaged)
    return any(_three_speeds(layout, names, pset) for pset in layout.sets)


def _three_speeds(layout: Layout, engaged: Iterable[str], pset: PlanetarySet) -> tuple[Fraction, Fraction, Fraction] | None:
    turning = speeds(layout, engaged).members
    sun, carrier, ring = (turning[f"{pset.name}.{member}"] for member in MEMBERS)
    if pset.pinions is not PinionKind.SINGLE or sun is None or carrier is None or ring is None or len({sun, carrier, ring}) < 3:
        return None
    return sun, carrier, ring


_GOALS = {
    ("sun", "ring", "carrier"): later("its ratio is $1 + R/S$"),
    ("carrier", "ring", "sun"): later("its ratio is $S/(S + R)$"),
    ("ring", "sun", "carrier"): later("its ratio is $1 + S/R$"),
    ("carrier", "sun", "ring"): later("its ratio is $R/(S + R)$"),
    ("sun", "carrier", "ring"): later("its ratio is $-R/S$"),
    ("ring", "carrier", "sun"): later("its ratio is $-S/R$"),
}


def _stick(seeded: SeededRandom) -> _Asked:
    case = seeded.pick(tuple(_GOALS))
    wrong: dict[Sketch, str] = {}
    for other in _GOALS:
        if other == case:
            continue
        turned = (case[2], case[1], case[0])
        code = "RECIP" if other == turned else "HELDMOVES"
        wrong[StickSketch(*other)] = code
    return (
        say("A simple set with $S$ sun teeth and $R$ ring teeth: {goals}.", goals=say(_GOALS[case])),
        StickSketch(*case),
        wrong,
    )
