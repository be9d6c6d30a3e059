"""Handles for input and output, marks to count turns by, and the gauge that is printed first."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from gearkit.draw.cutaway.sizes import Rect
from gearkit.make.whole.half_section.stops import HANDLE, OFF, handle, outer_at
from gearkit.make.whole.solids import Made, Solid, Workshop
from gearkit.text.phrases import localized
from gearkit.words.say import say, say_n
from gearkit.words.terms import INPUT

if TYPE_CHECKING:
    from gearkit.make.whole.model import Whole

MARKS = 12
_MARK_DEEP, _MARK_WIDE, _MARK_LONG = 0.6, 1.0, 8.0
_ARM = 44.0
_GROOVE, _KEYS = 0.9, 3
# What a bore of the gauge leaves on every side of the peg, mm; its place in the row, from 1, is its number of notches.
_PEG, GAUGE_STEPS = 12.0, (0.15, 0.2, 0.25, 0.3, 0.4, 0.5)


def marked(whole: Whole, solids: list[Solid]) -> list[Solid]:
    """Return parts with grooves for the handles in the ends of input and output, and marks round them on the casing.

    Args:
        whole: the train.
        solids: of its parts.
    """
    shop, train = whole.workshop, whole.train
    solids_ = list(solids)
    for body, x, radius in train.ends.values():
        left = x < sum(train.case) / 2
        outer = outer_at(whole.train, body, x)
        for number, part in enumerate(whole.split.parts):
            pieces = [whole.split.stock.pieces[index] for index in part.pieces]
            if pieces[0].body == body and any(
                p.rect[0] - 0.1 <= x <= p.rect[1] + 0.1 and p.rect[2] <= radius <= p.rect[3] for p in pieces
            ):
                span = (x - 1, train.case[0] - OFF + 0.1) if left else (train.case[1] + OFF - 0.1, x + 1)
                for key in range(_KEYS):
                    groove = ((*span, outer - _GROOVE, outer + 1), 2 * math.pi * key / _KEYS, (_key_width(outer) + 0.3) / outer)
                    solids_[number] -= shop.block(groove)
        end = train.case[0] if left else train.case[1]
        number = _casing_at(whole, end)
        face = (end - 1, end + _MARK_DEEP) if left else (end - _MARK_DEEP, end + 1)
        for mark in range(MARKS):
            # The mark at which counting starts is longer.
            start = _ARM - 4 - (4 if mark == 0 else 0)
            block = ((*face, start, _ARM - 4 + _MARK_LONG), 2 * math.pi * mark / MARKS, _MARK_WIDE / _ARM)
            solids_[number] -= shop.block(block)
    return solids_


def handles(whole: Whole) -> list[Made]:
    """Return a crank for the input and a pointer for the output, both flat.

    Args:
        whole: the train, with its parts.
    """
    made = []
    for name, (body, x, _) in whole.train.ends.items():
        outer = outer_at(whole.train, body, x)
        flat = _flat(whole.workshop, outer, whole.printer.clearance / 2, crank=name == INPUT)
        at = place_of(whole, name)[0]
        solid = whole.workshop.lib.Manifold.extrude(flat, HANDLE).translate((0.0, 0.0, at))
        words = say("crank on the input") if name == INPUT else say("pointer on the output")
        made.append(Made("crank" if name == INPUT else "pointer", words, body, solid, 1))
    return made


def place_of(whole: Whole, name: str) -> Rect:
    """Return where the hub of a handle stands in the half-section.

    Args:
        whole: the train.
        name: "input" or "output".
    """
    return handle(whole.train, name)


def _flat(shop: Workshop, outer: float, gap: float, *, crank: bool) -> Solid:
    lib = shop.lib
    hub = lib.CrossSection.circle(outer + 7, 64)
    tip = lib.CrossSection.circle(7.0 if crank else 1.0, 32).translate((_ARM, 0.0))
    plate = lib.CrossSection.batch_hull([hub, tip])
    plate -= lib.CrossSection.circle(outer + gap, 96)
    if crank:
        plate -= lib.CrossSection.circle(3.2, 32).translate((_ARM, 0.0))
    wide = _key_width(outer)
    for key in range(_KEYS):
        nib = lib.CrossSection.square((_GROOVE + 1.0 - gap, wide)).translate((outer - _GROOVE + gap, -wide / 2))
        plate += nib.rotate(360 * key / _KEYS)
    return plate


def _key_width(outer: float) -> float:
    return min(4.0, 0.4 * outer)


def _casing_at(whole: Whole, x: float) -> int:
    for number, part in enumerate(whole.split.parts):
        pieces = [whole.split.stock.pieces[index] for index in part.pieces]
        if pieces[0].body == 0 and any(abs(x - end) < 0.01 for piece in pieces for end in piece.rect[:2]):
            return number
    raise AssertionError(x)


def gauge(shop: Workshop) -> list[Made]:
    """Return the gauge that is printed first: a plate with bores, each with one notch more than the last, and a peg.

    Args:
        shop: makes its solids.
    """
    lib = shop.lib
    pitch = _PEG + 8
    plate = lib.CrossSection.square((pitch * len(GAUGE_STEPS), pitch + 4))
    for number, step in enumerate(GAUGE_STEPS):
        middle = pitch * (number + 0.5)
        plate -= lib.CrossSection.circle(_PEG / 2 + step, 96).translate((middle, pitch / 2 + 4))
        for notch in range(number + 1):
            plate -= lib.CrossSection.square((1.2, 2.0)).translate((middle + 2.2 * (notch - number / 2) - 0.6, -0.5))
    peg = lib.CrossSection.circle(_PEG / 2, 96)
    grip = lib.CrossSection.square((24.0, 14.0), True)
    steps = ", ".join(
        say_n("{count} notch {step}", "{count} notches {step}", number, step=localized(f"{step:g}"))
        for number, step in enumerate(GAUGE_STEPS, 1)
    )
    return [
        Made("gauge_plate", say("gauge with six bores (mm of clearance: {steps})", steps=steps), -1, lib.Manifold.extrude(plate, 8.0), 1),
        Made("gauge_peg", say("peg of 12 mm that is tried in the bores"), -1,
             lib.Manifold.extrude(grip, 6.0) + lib.Manifold.extrude(peg, 16.0).translate((0.0, 0.0, 5.0)), 1),
    ]  # fmt: skip
