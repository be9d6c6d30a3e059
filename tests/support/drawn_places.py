"""Where a stick diagram puts its parts, as plain data to measure."""

from __future__ import annotations

from typing import Any

from gearkit.draw.stick.placement import Placement
from gearkit.draw.stick.stick_geometry import measure
from gearkit.draw.stick.stick_hung import wired_parts
from gearkit.train.layout import Layout


def stick_places(layout: Layout, placement: Placement) -> dict[str, Any]:
    """Return the stick diagram as plain data; lengths in px.

    Args:
        layout: the layout.
        placement: its placement.
    """
    place = measure(layout, placement, card_width=96.0)
    wiring, parts = placement.wiring, wired_parts(layout)
    order = [(number, index, layout.sets[index]) for number, sets in enumerate(placement.sets) for index in sets]
    return {
        "width": place.width, "height": place.height, "axis": place.axis,
        "housing": place.ys[placement.grid.housing],
        "sets": [
            {"name": pset.name, "pinions": pset.pinions.value, "x": place.set_x(number, index),
             "sun": place.gear_row(0), "pin": place.gear_row(1), "ring": place.gear_row(2)}
            for number, index, pset in order
        ],
        "levels": [
            {"shaft": net, "y": place.ys[row], "x1": place.xs[first], "x2": place.xs[last]}
            for row, first, last, net in wiring.levels
        ],
        "uprights": [
            {"shaft": net, "x": place.xs[column], "y1": place.ends((column, low, high, net))[0],
             "y2": place.ends((column, low, high, net))[1],
             "hops": [place.ys[row] for row in place.crossings.get(column, []) if low < row < high]}
            for column, low, high, net in wiring.uprights
        ],
        "plates": [
            {"element": parts[element].name, "kind": parts[element].kind.value,
             "x": place.xs[column], "y": place.between(row), "below": below, "above": above}
            for column, row, element, below, above in wiring.plates
        ],
        "dots": [{"shaft": net, "x": place.xs[column], "y": place.ys[row]} for column, row, net in place.dots],
        "input": None if wiring.entry is None else {"x": place.xs[0], "y": place.ys[wiring.entry]},
        "output": None if wiring.leaving is None else {
            "x": place.xs[wiring.leaving[0]], "y": place.ys[wiring.leaving[1]],
            "side": "left" if wiring.leaving[0] == 0 else "right"},
        "aside": [{"output": parts[number].name, "x": place.xs[column], "y": place.ys[row]} for column, row, number in wiring.aside],
        "shafts": [list(shaft) for shaft in layout.shafts],
    }  # fmt: skip
