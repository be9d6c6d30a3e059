"""A layout as a whole train to print: sizes found, parts made, handles and a fit gauge added."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property

from gearkit.draw.core.wording import shaft_words
from gearkit.draw.cutaway.build import solid_train
from gearkit.draw.cutaway.solid_placement import SolidPlacement
from gearkit.draw.cutaway.solid_train import Planet, Train, overlaps
from gearkit.make.bench_model import assembly_faults
from gearkit.make.whole.half_section.elements import Lock, NotPrintableError, OutOfReachError, locks
from gearkit.make.whole.half_section.joints import Joint, joints
from gearkit.make.whole.half_section.pieces import Stock, stock
from gearkit.make.whole.half_section.split import Split, split
from gearkit.make.whole.handles import handles, marked
from gearkit.make.whole.printer import Printer
from gearkit.make.whole.solids import SIDES, Made, Solid, Workshop, checked
from gearkit.text.phrases import set_words
from gearkit.train.drivers import refuse_several
from gearkit.train.layout import Layout
from gearkit.words.say import say
from gearkit.words.terms import PinionKind

_CHOICES = 4
# A set's wheels are made larger by up to so many teeth to look for room.
_MORE = 40


@dataclass
class Whole:
    """A whole train to print.

    Args:
        layout: the layout.
        printer: for which it was made.
        module: of all gears, mm.
        split: its parts in the half-section.
        locks: the screws of its elements.
        joints: how parts of one body hold together.
        workshop: makes solids of it.
        parts: of the split, in the order in which they are put together.
        planets: each kind with all its places.
        extras: loose keys, and handles for input and output.
    """

    layout: Layout
    printer: Printer
    module: float
    split: Split
    locks: list[Lock]
    joints: list[Joint]
    workshop: Workshop
    parts: list[Made] = field(default_factory=list)
    planets: dict[object, Made] = field(default_factory=dict)
    extras: list[Made] = field(default_factory=list)

    @property
    def train(self) -> Train:
        """The solid bodies that it was made from."""
        return self.split.stock.train

    @cached_property
    def made(self) -> list[Made]:
        """Everything that is printed, each kind once."""
        kinds = {made.name: made for made in self.planets.values()}
        return [*self.parts, *kinds.values(), *self.extras]

    @property
    def steps(self) -> list[tuple[object, str, list[Solid]]]:
        """The order in which everything is put together: a key, what it is, its solids in place."""
        order: list[tuple[object, str, list[Solid]]] = []
        for node in self.split.order:
            if isinstance(node, int):
                loose = [made for made in self.extras if made.before == node]
                order += [(made.name, made.words, made.alike) for made in loose]
                order.append((node, self.parts[node].words, [self.parts[node].solid]))
            else:
                order.append((node, self.planets[node].words, self.ring_of(node)))
        return order

    def ring_of(self, node: object) -> list[Solid]:
        """Return all planets that a step puts in."""
        return [self.workshop.planet(planet) for planet in self.planets_of(node)]

    def planets_of(self, node: object) -> list[Planet]:
        """Return the planets of one ring of them."""
        return _planets_of(self.train, node)

    def with_sides(self, sides: int) -> Whole:
        """Return the same train with rounder or plainer surfaces.

        Args:
            sides: of round surfaces.
        """
        shop = Workshop(self.split, self.locks, self.joints, sides)
        return _filled(Whole(self.layout, self.printer, self.module, self.split, self.locks, self.joints, shop))


def whole(layout: Layout, printer: Printer | None = None, *, sides: int = SIDES, solid: SolidPlacement | None = None) -> Whole:
    """Return a layout as a whole train to print, in one arrangement; `proven` looks for one that passes its checks.

    Args:
        layout: one with single-pinion sets whose wheels can be made with whole teeth.
        printer: its printer; a common desk printer when left out.
        sides: of round surfaces; fewer are quicker and coarser.
        solid: where the parts go; the layout's own arrangement when left out.

    Raises:
        NotPrintableError: it cannot be made; says why and what change would be the nearest.
        NotSolidError: the bodies would have to pass through each other.
        GearkitError: the library for solids is not installed.
    """
    refuse_several(layout, say("a whole train to print"))
    made_for = printer or Printer()
    _check_sets(layout)
    train, module = _fitting(layout, made_for, solid)
    parts, screws, holds = _planned(train)
    shop = Workshop(parts, screws, holds, sides)
    return _filled(Whole(layout, made_for, module, parts, screws, holds, shop))


def part_list(layout: Layout, printer: Printer | None = None) -> list[tuple[str, int]]:
    """Return what is printed of a whole train and how often, in the order of assembly; needs no library for solids.

    Args:
        layout: as for `whole`.
        printer: as for `whole`.

    Raises:
        NotPrintableError: as `whole`, as far as the half-section shows it.
    """
    _check_sets(layout)
    train, _ = _fitting(layout, printer or Printer())
    parts, _, _ = _planned(train)
    rows = []
    for node in parts.order:
        if isinstance(node, int):
            rows.append((_words(layout, parts, node), 1))
        else:
            planets = _planets_of(train, node)
            rows.append((_planet_words(layout, planets[0]), len(planets)))
    return rows


def _planets_of(train: Train, node: object) -> list[Planet]:
    return [planet for planet in train.planets if ("planets", planet.seat, round(planet.radius, 2)) == node]


def _planet_words(layout: Layout, planet: Planet) -> str:
    return say("planet of {set_words}, {teeth} teeth", set_words=set_words(layout.sets[planet.set].name), teeth=planet.teeth)


def _check_sets(layout: Layout) -> None:
    faults = _faults(layout)
    if faults:
        raise NotPrintableError("\n".join(faults))


def _faults(layout: Layout) -> list[str]:
    """Why sets cannot be made as parts of a whole train, each with its nearest change."""
    faults = []
    for pset in layout.sets:
        if pset.pinions in (PinionKind.BEVEL, PinionKind.STEPPED):
            faults.append(
                say(
                    "Set {name}: {value} pinions are not made as a whole train. Nearest change: a set with single pinions.",
                    name=pset.name,
                    value=pset.pinions.value,
                )
            )
        elif pset.pinions is PinionKind.SINGLE:
            faults += assembly_faults(pset)
        elif pset.sun_teeth is None:
            faults.append(
                say("Set {name}: a model needs whole tooth counts; give sun and ring in the layout file.", name=pset.name)
            )
    return faults


def _fitting(layout: Layout, printer: Printer, solid: SolidPlacement | None = None) -> tuple[Train, float]:
    """The train at the largest module with which it fits the printer, and that module."""
    least = None
    crowded = ""
    for module in printer.modules():
        train = solid_train(layout, printer.sizes(module), solid)
        if train.notes:
            raise NotPrintableError(
                f"{layout.name}: {'; '.join(train.notes)}. Nearest change: take the number of planets that fits."
            )
        wide, long = 2 * train.outside, train.length[1] - train.length[0]
        overlapping = overlaps(train)
        if not overlapping and max(wide, long) <= printer.bed:
            return train, module
        if overlapping:
            crowded = crowded or say(
                "{first} and the {second}", first=overlapping[0].first, second=overlapping[0].second
            ).replace("the the", "the")
        else:
            least = (wide, long)
    if least is None:
        raise NotPrintableError(
            f"{layout.name}: {crowded} would be in each other's way even at module {printer.modules()[0]:g} mm. "
            f"Nearest change: {_roomier(layout, printer, solid)}."
        )
    raise NotPrintableError(
        f"{layout.name}: at its smallest it is {least[0]:.0f} mm across and {least[1]:.0f} mm long; the printer takes "
        f"{printer.bed:g} mm. Nearest change: a printer with a bed of {math.ceil(max(least))} mm (--bed), or a finer nozzle "
        f"than {printer.nozzle:g} mm (--nozzle)."
    )


def _roomier(layout: Layout, printer: Printer, solid: SolidPlacement | None) -> str:
    """Which set's wheels must be larger for what is inside them to have room, and how large: sun and ring by the same count."""
    for more in range(2, _MORE, 2):
        for number, pset in enumerate(layout.sets):
            if pset.sun_teeth is None or pset.ring_teeth is None:
                continue
            larger = replace(pset, sun_teeth=pset.sun_teeth + more, ring_teeth=pset.ring_teeth + more)
            changed = replace(layout, sets=(*layout.sets[:number], larger, *layout.sets[number + 1 :]))
            if not _faults(changed) and not overlaps(solid_train(changed, printer.sizes(printer.modules()[0]), solid)):
                return say(
                    "more teeth on set {name}, such as sun = {sun_teeth} and ring = {ring_teeth}, so that the shafts inside its sun have room",
                    name=pset.name,
                    sun_teeth=larger.sun_teeth,
                    ring_teeth=larger.ring_teeth,
                )
    return say(
        "more teeth on the smallest sun, so that the shafts inside it have room; or print one set alone (gearkit bench LAYOUT SET)"
    )


def _planned(train: Train) -> tuple[Split, list[Lock], list[Joint]]:
    """The plan with the first stops against end play that leave every element within reach."""
    first: NotPrintableError | None = None
    for choice in range(_CHOICES):
        try:
            return _with_cups(stock(train, choice))
        except NotPrintableError as error:
            first = first or error
    assert first is not None
    raise first


def _with_cups(made: Stock) -> tuple[Split, list[Lock], list[Joint]]:
    """Split the train so that every element can be reached: discs whose clutches cannot be take their rims first."""
    cups: frozenset[int] = frozenset()
    while True:
        parts = split(made, cups=cups)
        try:
            return parts, locks(parts), joints(parts)
        except OutOfReachError as error:
            if error.number in cups:
                raise
            cups |= {error.number}


def _filled(model: Whole) -> Whole:
    shop, layout = model.workshop, model.layout
    solids = marked(model, shop.parts())
    bodies = [model.split.stock.pieces[min(part.pieces)] for part in model.split.parts]
    for number, (part, piece) in enumerate(zip(model.split.parts, bodies, strict=True)):
        words = _words(layout, model.split, number)
        name = f"part_{number + 1:02d}"
        model.parts.append(Made(name, words, piece.body, checked(solids[number], words), part.up))
    for number, node in enumerate(n for n in model.split.order if not isinstance(n, int)):
        planets = model.planets_of(node)
        first = planets[0]
        pset = layout.sets[first.set].name
        model.planets[node] = Made(
            f"planet_{number + 1}_{pset}", _planet_words(layout, first), -1, shop.planet(first), 1, len(planets)
        )
    model.extras += list(_loose(model)) + handles(model)
    return model


def _words(layout: Layout, split: Split, number: int) -> str:
    """What a part is, in words."""
    bodies = [split.stock.pieces[min(part.pieces)].body for part in split.parts]
    body = bodies[number]
    if body < 0:
        return say("sleeve that keeps shafts apart")
    numbers = [index for index, other in enumerate(bodies) if other == body]
    place = numbers.index(number)
    if body == 0:
        return (
            say("casing, base")
            if place == 0
            else say("casing, cup")
            if number == numbers[-1]
            else say("casing, part {value}", value=place + 1)
        )
    of = say(", part {value} of {numbers}", value=place + 1, numbers=len(numbers)) if len(numbers) > 1 else ""
    kinds = {split.stock.pieces[index].kind for index in split.parts[number].pieces}
    shaft = shaft_words(layout.shafts[body])
    pins = say("pins of {shaft}", shaft=shaft)
    return f"{pins if kinds == {'pins'} else shaft}{of}"


def _loose(model: Whole) -> Iterator[Made]:
    for number, joint in enumerate(j for j in model.joints if j.loose):
        solids = [model.workshop.block(block) for block in joint.loose]
        body = model.parts[joint.first].body
        yield Made(f"key_{number + 1}", say("loose key between parts {value} and {value_2}", value=joint.first + 1, value_2=joint.second + 1), body, solids[0], 1,
                   len(solids), solids, joint.second)  # fmt: skip
