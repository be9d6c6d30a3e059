"""A whole train that passes its checks: other arrangements are tried before a layout is refused, and the nearest change is tried too."""

from __future__ import annotations

from dataclasses import replace

from gearkit.draw.cutaway.solid_placement import NotSolidError, SolidPlacement, arrangements
from gearkit.make.whole.half_section.elements import NotPrintableError
from gearkit.make.whole.model import Whole, whole
from gearkit.make.whole.printer import Printer
from gearkit.make.whole.proof import Check, proof
from gearkit.make.whole.write import refuse_failed
from gearkit.train.drivers import refuse_several
from gearkit.train.layout import Layout

# Enough to see whether an arrangement is worth the whole proof: coarse surfaces, one position a range, two distances.
_SIDES, _TURNS, _SLIDES = 48, 1, (1.5, 20.0)


def proven(layout: Layout, printer: Printer) -> tuple[Whole, list[Check]]:
    """Return a layout as a whole train to print that passed every check, and the checks.

    Args:
        layout: any layout.
        printer: its printer.

    Raises:
        NotPrintableError: no arrangement passes; says why the first one does not, how many were tried, and the nearest change.
        NotSolidError: the bodies would have to pass through each other.
        GearkitError: the library for solids is not installed, or the layout has several drivers.
    """
    refuse_several(layout, "a whole train to print")
    first: NotPrintableError | None = None
    tried = 0
    for solid in arrangements(layout):
        try:
            if first is not None:
                _tried(layout, printer, solid)
            made = whole(layout, printer, solid=solid)
            checks = proof(made)
            refuse_failed(made, checks)
        except NotPrintableError as fault:
            first = first or fault
            if not fault.elsewhere and not tried:
                raise
            tried += 1
        else:
            return made, checks
    assert first is not None
    raise NotPrintableError(f"{first.why.rstrip()}\n{_told(tried)}", _change(layout, printer))


def _tried(layout: Layout, printer: Printer, solid: SolidPlacement | None = None) -> None:
    made = whole(layout, printer, sides=_SIDES, solid=solid)
    refuse_failed(made, proof(made, turns=_TURNS, slides=_SLIDES))


def _told(tried: int) -> str:
    return "No other arrangement was found." if tried == 1 else f"All {tried} arrangements that were found fail."


def _change(layout: Layout, printer: Printer) -> str:
    """The element without which the rest passes, tried one after the other; else one set alone."""
    alone = f"print one set alone, such as gearkit bench LAYOUT {layout.sets[0].name} -o DIR"
    for element in layout.elements:
        rest = tuple(other for other in layout.elements if other != element)
        ranges = tuple(item for item in layout.ranges if element.name not in item.engaged)
        if not rest or not ranges:
            continue
        try:
            _tried(replace(layout, elements=rest, ranges=ranges, placement=None), printer)
        except (NotPrintableError, NotSolidError):
            continue
        return f"leave out element {element.name} (the rest was tried, and can be printed), or {alone}"
    return alone
