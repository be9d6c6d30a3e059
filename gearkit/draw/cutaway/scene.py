"""The solid train as plain data for the live cutaway: half-sections as outlines, gears as one flank each, ready for JSON.

What is revolved and what repeats is spun up in the browser, so a scene stays small. Angles are those of the front view plus
a quarter turn, so that 0 points up; lengths are in millimetres, to a hundredth.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from typing import Any

from gearkit.draw.core.shaft_code import DASHES, shaft_codes
from gearkit.draw.core.state import DriveState, state_of
from gearkit.draw.cutaway.build import Builder
from gearkit.draw.cutaway.outlines import Area
from gearkit.draw.cutaway.set_gears import BEVEL_DEPTH
from gearkit.draw.cutaway.sizes import Rect, Sizes
from gearkit.draw.cutaway.solid_placement import SolidPlacement, solid_placement
from gearkit.draw.cutaway.solid_train import Pin, Planet, Train, Wheel
from gearkit.draw.front.gear_outline import outline
from gearkit.draw.power.power_path import pieces
from gearkit.draw.power.power_streams import drains, streams
from gearkit.solve.loads.torques import torques
from gearkit.solve.mobility import shaft_columns
from gearkit.solve.one_way import in_range
from gearkit.text.phrases import member_label, set_words
from gearkit.train.layout import Layout
from gearkit.words.say import later
from gearkit.words.terms import HOUSING

# What a shaft does in a range, by its letter in the scene.
ROLES = {"p": later("power path"), "s": later("stands still"), "i": later("carries no load"), "m": "turns"}
_QUARTER = math.pi / 2


def scene(layout: Layout) -> dict[str, Any]:
    """Return the scene of a layout; its shafts are numbered as in the panels: from 0, the housing last.

    Args:
        layout: any layout.

    Raises:
        NotSolidError: the bodies would have to pass through each other.
    """
    solid = solid_placement(layout)
    builder = Builder(layout, solid, Sizes())
    train = builder.train()
    codes = shaft_codes(layout)
    number = shaft_numbers(layout)
    flanks: dict[str, list[float]] = {}
    return {
        "length": _short(train.length), "case": _short(train.case), "outside": _size(train.outside), "ring": _size(train.ring),
        "depth": BEVEL_DEPTH, "flanks": flanks,
        "bodies": [
            {"shaft": number[body], "name": _name(layout, body), "hue": codes[body].role if body else "housing",
             "paler": DASHES.index(codes[body].dash), **_shape(train.bodies[body])}
            for body in train.bodies
        ],
        "wheels": [_wheel(wheel, flanks) for wheel in train.wheels],
        "planets": [_planet(planet, flanks) for planet in train.planets],
        "pins": [_pin(pin) for pin in train.pins],
        "packs": [
            {"name": layout.elements[pack.element].name, "bodies": [pack.below, pack.above], "x": _short(pack.x), "r": _short(pack.r),
             "inner": _flat(pack.inner), "outer": _flat(pack.outer)}
            for pack in train.packs
        ],
        "sets": [
            [" + ".join(set_words(layout.sets[index].name) for index in seat), _size(middle)]
            for seat, middle in zip(solid.placement.sets, train.middles, strict=True)
        ],
        "ends": [[name, body, _size(x), _size(r)] for name, (body, x, r) in train.ends.items()],
        **_power(layout, solid, builder, train),
    }  # fmt: skip


def shaft_numbers(layout: Layout) -> list[int]:
    """Return for every shaft of ``layout.shafts`` its number in the panels.

    Args:
        layout: any layout.
    """
    columns = shaft_columns(layout)
    last = max(columns.values()) + 1
    return [last if HOUSING in shaft else columns[shaft[0]] for shaft in layout.shafts]


def _name(layout: Layout, body: int) -> str:
    return " · ".join(member_label(name) for name in layout.shafts[body])


def _size(value: float) -> float:
    return round(value, 2)


def _short(values: Iterable[float]) -> list[float]:
    return [_size(value) for value in values]


def _flat(rects: Iterable[Rect]) -> list[float]:
    return [_size(value) for rect in rects for value in rect]


def _shape(rects: list[Rect]) -> dict[str, Any]:
    area = Area(rects)
    edges = [value for s in area.segments() for value in (_size(s.x0), _size(s.r0), _size(s.x1), _size(s.r1), s.outward)]
    return {"edges": edges, "faces": _flat(area.rects())}


def _flank(flanks: dict[str, list[float]], teeth: int, *, internal: bool) -> str:
    """Keep half a tooth (of a ring: half a space): height over the pitch circle in modules, half angle, point by point."""
    key = f"{'-' if internal else ''}{teeth}"
    if key not in flanks:
        points = outline(teeth, internal=internal)[:4]
        flanks[key] = [v for x, y in points for v in (round(math.hypot(x, y) - teeth / 2, 3), round(abs(math.atan2(y, x)), 5))]
    return key


def _wheel(wheel: Wheel, flanks: dict[str, list[float]]) -> dict[str, Any]:
    fields: dict[str, Any] = {
        "body": wheel.body, "teeth": wheel.teeth, "module": round(wheel.module, 4), "x": _short(wheel.x),
        "angle": round(wheel.angle + _QUARTER, 5), "flank": _flank(flanks, wheel.teeth, internal=wheel.internal),
    }  # fmt: skip
    if wheel.cone is not None:
        fields["cone"] = _short(wheel.cone)
    return fields


def _planet(planet: Planet, flanks: dict[str, list[float]]) -> dict[str, Any]:
    fields: dict[str, Any] = {
        "carrier": planet.carrier, "sun": planet.sun, "teeth": planet.teeth, "module": round(planet.module, 4), "radius": round(planet.radius, 3),
        "at": round(planet.at + _QUARTER, 5), "angle": round(planet.angle + (0.0 if planet.bevel else _QUARTER), 5), "spin": str(Fraction(planet.spin)),
        "x": _short(planet.x), "flank": _flank(flanks, planet.teeth, internal=False),
    }  # fmt: skip
    if planet.bevel:
        fields["bevel"] = 1
    return fields


def _pin(pin: Pin) -> list[float]:
    inner = [] if pin.inner is None else [_size(pin.inner)]
    return [pin.carrier, _size(pin.radius), round(pin.at + _QUARTER, 5), _size(pin.size), *_short(pin.x), *inner]


def _power(layout: Layout, solid: SolidPlacement, builder: Builder, train: Train) -> dict[str, Any]:
    """The lines that power can take, and per range how much goes through each, with what every shaft does."""
    wiring = replace(
        solid.placement.wiring, plates=[plates for plates in solid.placement.wiring.plates if plates[2] < solid.fixings]
    )
    placement = replace(solid.placement, wiring=wiring)
    cut = pieces(placement, None)
    spots = [_short((*builder.spot(piece.net, *piece.first), *builder.spot(piece.net, *piece.last))) for piece in cut]
    ranges: dict[str, Any] = {}
    used: set[int] = set()
    for item in layout.ranges:
        state = state_of(layout, in_range(layout, item.name).engaged)
        flows = streams(cut, drains(placement, torques(layout, state.engaged)))
        most = max((abs(flow) for flow in flows.values()), default=Fraction(0))
        shares = [round(float(abs(flows[piece]) / most), 2) if most else 0.0 for piece in cut]
        used |= {place for place, share in enumerate(shares) if share}
        ranges[item.name] = {"roles": "".join(_role(state, body) for body in train.bodies), "widths": shares}
    kept = sorted(used)
    for named_range in ranges.values():
        named_range["widths"] = [named_range["widths"][place] for place in kept]
    return {"lines": [[solid.bodies[cut[place].net], *spots[place]] for place in kept], "ranges": ranges}


def _role(state: DriveState, body: int) -> str:
    if body == 0 or state.still(body):
        return "s"
    return "p" if state.power(body) else "i" if state.idle(body) else "m"
