"""What the command `gearkit draw` does: one picture of a layout into one file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from gearkit.draw import chart, front_view, lever_diagram, power_picture, ratio_chart, speed_plot, stick_diagram
from gearkit.draw.export import save
from gearkit.draw.state import engaged_in, state_of
from gearkit.draw.svg import Picture
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError

Engaged = tuple[str, ...] | None

# Pictures that show one range where it is given, and pictures that always show all of them.
OF_ONE_RANGE: dict[str, Callable[[Layout, Engaged], Picture]] = {
    "stick": lambda layout, engaged: stick_diagram.picture(layout, engaged),
    "levers": lambda layout, engaged: lever_diagram.picture(layout, engaged),
}
OF_ALL_RANGES: dict[str, Callable[[Layout], Picture]] = {
    "speeds": speed_plot.picture,
    "chart": chart.picture,
    "ratios": ratio_chart.picture,
}
WHAT = (*OF_ONE_RANGE, *OF_ALL_RANGES, "power", "front")


def draw_to_file(
    layout: Layout, what: str, path: Path, range_name: str | None = None, set_name: str | None = None
) -> Picture:
    """Draw one picture of a layout into a file and return it.

    Args:
        layout: any layout.
        what: stick, levers, speeds, chart, ratios, power or front.
        path: the file, ending in .svg, .png or .pdf.
        range_name: the range to show; compulsory for power, allowed for stick, levers and front.
        set_name: the set to show; for front only, the first one where left out.

    Raises:
        UsageError: no such picture, range or set, an option that the picture does not take, or an unusable file.
    """
    drawn = picture_of(layout, what, range_name, set_name)
    save(drawn, path)
    return drawn


def picture_of(layout: Layout, what: str, range_name: str | None = None, set_name: str | None = None) -> Picture:
    """Return one picture of a layout.

    Args:
        layout: any layout.
        what: as in `draw_to_file`.
        range_name: as in `draw_to_file`.
        set_name: as in `draw_to_file`.
    """
    if what not in WHAT:
        raise UsageError(f"There is no picture {what!r}; choose from: {', '.join(WHAT)}.")
    if set_name is not None and what != "front":
        raise UsageError(f"Picture {what!r} shows the whole layout; leave the set out, or ask for front.")
    if range_name is not None and what in OF_ALL_RANGES:
        raise UsageError(f"Picture {what!r} shows all ranges; leave the range out, or ask for stick, levers or power.")
    engaged = engaged_in(layout, range_name)
    if what in OF_ONE_RANGE:
        return OF_ONE_RANGE[what](layout, engaged)
    if what in OF_ALL_RANGES:
        return OF_ALL_RANGES[what](layout)
    if what == "power":
        if engaged is None:
            ranges = ", ".join(item.name for item in layout.ranges)
            raise UsageError(f"Picture 'power' shows one range of {layout.name}; name one of: {ranges}.")
        return power_picture.picture(layout, engaged)
    pset = layout.set_named(set_name) if set_name else layout.sets[0]
    if engaged is None:
        return front_view.picture(pset)
    members = state_of(layout, engaged).speeds.members
    return front_view.picture(pset, {part: members[f"{pset.name}.{part}"] for part in ("sun", "carrier", "ring")})
