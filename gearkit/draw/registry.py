"""The pictures of a layout by name: the one list that the command draw, lessons, sheets and reports choose from.

The list is light; what draws a picture is loaded when it is asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from importlib import import_module
from typing import TYPE_CHECKING, Any

from gearkit.solve.one_way import in_range
from gearkit.text.phrases import listed
from gearkit.train.drivers import refuse_several
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError

if TYPE_CHECKING:
    from gearkit.draw.core.svg import Picture
    from gearkit.draw.stick.placement import Placement


class RangeUse(StrEnum):
    """What a picture makes of a range."""

    ALL = "shows all ranges"
    MAY = "shows a range where one is named"
    MUST = "shows one range"


@dataclass(frozen=True)
class Kind:
    """One kind of picture.

    Args:
        words: what it is called in a sentence.
        module: the module whose ``picture`` draws it: ``picture(layout)`` where it shows all ranges, else
            ``picture(layout, engaged)``; with ``placement=`` where it is placed; ``picture_of_set(layout, engaged,
            set_name)`` where it shows one set.
        ranges: what it makes of a range.
        placed: whether it takes a placement, as a stick diagram does.
        of_one_set: whether it shows one set.
        several: whether it can show a layout with machines, several outputs or a converter.
        given: whether speeds can be given to it.
        bodies: whether it shows gears or bodies, which look as if they could be made.
    """

    words: str
    module: str
    ranges: RangeUse
    placed: bool = False
    of_one_set: bool = False
    several: bool = False
    given: bool = False
    bodies: bool = False


PICTURES: dict[str, Kind] = {
    "stick": Kind("stick diagram", "gearkit.draw.stick.stick_diagram", RangeUse.MAY, placed=True, several=True, bodies=True),
    "levers": Kind("lever diagram", "gearkit.draw.lever.lever_diagram", RangeUse.MAY, several=True, given=True),
    "speeds": Kind("speed plot", "gearkit.draw.charts.speed_plot", RangeUse.ALL),
    "chart": Kind("application chart", "gearkit.draw.charts.chart", RangeUse.ALL),
    "ratios": Kind("ratios and steps", "gearkit.draw.charts.ratio_chart", RangeUse.ALL),
    "power": Kind(
        "torques and power flow", "gearkit.draw.power.power_picture", RangeUse.MUST, placed=True, several=True, given=True
    ),
    "cutaway": Kind("solid train cut open", "gearkit.draw.cutaway.half_section", RangeUse.MAY, bodies=True),
    "front": Kind("front view of a set", "gearkit.draw.front.front_view", RangeUse.MAY, of_one_set=True, bodies=True),
}


def names(fits: Callable[[Kind], bool] = lambda _: True) -> tuple[str, ...]:
    """Return the names of the pictures of some kinds, of all when left out."""
    return tuple(name for name, kind in PICTURES.items() if fits(kind))


def with_a_range() -> tuple[str, ...]:
    """Return the names of the pictures that a range can be given to."""
    return names(lambda kind: kind.ranges is not RangeUse.ALL)


def of_one_set() -> tuple[str, ...]:
    """Return the names of the pictures that a set can be given to."""
    return names(lambda kind: kind.of_one_set)


def picture_of(
    layout: Layout, what: str = "stick", range_name: str | None = None, set_name: str | None = None, *,
    placement: Placement | None = None, given: Mapping[str, Fraction | int] | None = None,
) -> Picture:  # fmt: skip
    """Return one picture of a layout.

    Args:
        layout: any layout.
        what: a name of `PICTURES`.
        range_name: the range to show; compulsory for power, allowed for stick, levers and front.
        set_name: the set to show; for front only, the first one where left out.
        placement: where the parts go, for stick and power; as stored with the layout, or a new one, where left out.
        given: member, machine or output -> speed, for levers and power with a range.

    Raises:
        UsageError: no such picture, range or set, or an option that the picture does not take.
    """
    kind = PICTURES.get(what)
    if kind is None:
        raise UsageError(f"There is no picture {what!r}; choose from: {', '.join(PICTURES)}.")
    _refuse_options(layout, what, kind, range_name, set_name)
    if given and not (kind.given and range_name is not None):
        raise UsageError(
            f"Speeds can be given to {listed(names(lambda drawing: drawing.given), 'or')} with a range, not to picture {what!r} as asked."
        )
    if not kind.of_one_set and not kind.several:
        refuse_several(layout, f"the {kind.words}")
    module: Any = import_module(kind.module)
    engaged = None if range_name is None else _engaged(layout, range_name)
    drawn: Picture
    if kind.of_one_set:
        drawn = module.picture_of_set(layout, engaged, set_name)
    elif kind.placed and kind.given:
        drawn = module.picture(layout, engaged, placement, given)
    elif kind.placed:
        drawn = module.picture(layout, engaged, placement)
    elif kind.ranges is RangeUse.ALL:
        drawn = module.picture(layout)
    elif kind.given:
        drawn = module.picture(layout, engaged, given)
    else:
        drawn = module.picture(layout, engaged)
    return drawn


def _engaged(layout: Layout, range_name: str) -> tuple[str, ...]:
    return in_range(layout, range_name).engaged if layout.plain else layout.engaged_in(range_name)


def _refuse_options(layout: Layout, what: str, kind: Kind, range_name: str | None, set_name: str | None) -> None:
    if set_name is not None and not kind.of_one_set:
        raise UsageError(
            f"Picture {what!r} shows the whole layout; leave the set out, or ask for {listed(of_one_set(), 'or')}."
        )
    if range_name is not None and kind.ranges is RangeUse.ALL:
        raise UsageError(f"Picture {what!r} shows all ranges; leave the range out, or ask for {listed(with_a_range(), 'or')}.")
    if range_name is None and kind.ranges is RangeUse.MUST:
        ranges = ", ".join(item.name for item in layout.ranges)
        choice = f"name one of: {ranges}" if ranges else "this layout's file names none, so add a [[range]] to it"
        raise UsageError(f"Picture {what!r} shows one range of {layout.name}; {choice}.")
