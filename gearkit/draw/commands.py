"""What the commands draw and place do: one picture of a layout into a file; a placement into a layout's file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from gearkit.draw.core.export import save
from gearkit.draw.core.svg import Picture
from gearkit.draw.cutaway.solid_placement import kept_table
from gearkit.draw.noted import noted_picture
from gearkit.draw.stick.placement import best_of, read
from gearkit.text import places
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.train.placement_block import with_stored
from gearkit.words.errors import UsageError


def draw_to_file(
    layout: Layout, what: str, path: Path, range_name: str | None = None, set_name: str | None = None,
    given: Mapping[str, Fraction | int] | None = None,
) -> Picture:  # fmt: skip
    """Draw one picture of a layout into a file and return it.

    Args:
        layout: any layout.
        what: as in `registry.picture_of`.
        path: the file, ending in .svg, .png or .pdf.
        range_name: as in `registry.picture_of`.
        set_name: as in `registry.picture_of`.
        given: as in `registry.picture_of`.

    Raises:
        UsageError: no such picture, range or set, an option that the picture does not take, or an unusable file.
    """
    drawn = noted_picture(layout, what, range_name, set_name, given)
    save(drawn, path)
    return drawn


@dataclass(frozen=True)
class Stored:
    """What became of a wish to store a placement.

    Args:
        file: the layout's file.
        written: False where the file has a placement already that no search could better.
        crossings: lines that pass under others in the placement that is in the file now.
    """

    file: Path
    written: bool
    crossings: int


def store_placement(name_or_path: str, target: Path | None = None, searches: int = 6) -> Stored:
    """Find a placement for a layout's stick diagram and store it in the layout's file, with that of its solid bodies where it differs.

    Args:
        name_or_path: a layout of the catalogue, or a file.
        target: a new file for the layout with its placement; None for the layout's own file.
        searches: how many searches to choose the best from, 1 to 200.

    Raises:
        UsageError: no target for a layout of the kit's own, a target that exists, or searches outside 1 to 200.
    """
    if not 1 <= searches <= 200:
        raise UsageError(f"{searches} searches: give a number from 1 to 200, such as 6.")
    path = catalogue.path_of(name_or_path)
    layout = catalogue.read(path)
    if target is None and path.resolve().is_relative_to(places.datasets().resolve()):
        raise UsageError(
            f"{layout.name} belongs to the kit, and its file is left as it is. Name a file of your own for the layout "
            f"with its placement, such as: -o my_{path.name}"
        )
    if target is not None and target.exists():
        raise UsageError(f"{target} exists already and is left as it is; choose another name.")
    stored, placed = read(layout), best_of(layout, searches)
    best = placed if stored is None or placed.faults.cost < stored.faults.cost else stored
    table = dict(layout.placement or {}) if best is stored else best.table(layout)
    table |= kept_table(replace(layout, placement=table))
    written = target is not None or best is not stored or not table.keys() <= (layout.placement or {}).keys()
    if written:
        catalogue.write(with_stored(layout, table), target or path)
    return Stored(target or path, written, len(best.faults.crossings))
