"""A transmission layout: sets, joins, shift elements and ranges; immutable, checked when built."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, TypeVar

from gearkit.train.checks import layout_faults
from gearkit.train.driver_checks import driver_faults
from gearkit.train.drivers import Converter, Machine
from gearkit.train.elements import Element, Range
from gearkit.train.planetary_set import PlanetarySet
from gearkit.train.shafts import ShaftGroups
from gearkit.words.errors import LayoutError, UsageError
from gearkit.words.say import say
from gearkit.words.terms import ENGINE, HOUSING, INPUT, MEMBERS, OUTPUT, SourceKind


@dataclass(frozen=True)
class Source:
    """Where a layout's figures come from.

    Args:
        kind: published, common practice, memory or own.
        citation: the source in words; compulsory.
        notes: anything a reader of the figures should know.
    """

    kind: SourceKind
    citation: str
    notes: str = ""


@dataclass(frozen=True)
class Layout:
    """A planetary transmission as its builder would describe it.

    Args:
        name: title in words.
        sets: planetary sets, at most 8.
        joins: groups of members (or "input", "output", "housing") on one shaft.
        elements: clutches, brakes and one-way clutches, at most 16.
        ranges: named combinations of applied elements.
        source: where the figures come from.
        placement: where a drawing puts the parts, kept for it; opaque here.
        file: name of the file it was read from; empty otherwise.
        text: the text it was read from, kept so that it can be written back unchanged.
        outputs: names of the output shafts; empty where there is one, called output.
        machines: the electric machines on its shafts.
        converter: the torque converter between engine and input; None where the engine turns the input itself.

    Raises:
        LayoutError: with every fault found.
    """

    name: str
    sets: tuple[PlanetarySet, ...]
    joins: tuple[tuple[str, ...], ...]
    elements: tuple[Element, ...]
    ranges: tuple[Range, ...]
    source: Source
    placement: Mapping[str, Any] | None = field(default=None, compare=False)
    file: str = field(default="", compare=False)
    text: str = field(default="", compare=False, repr=False)
    outputs: tuple[str, ...] = ()
    machines: tuple[Machine, ...] = ()
    converter: Converter | None = None

    def __post_init__(self) -> None:
        faults = layout_faults(self.name, self.sets, self.joins, self.elements, self.ranges, further=self.further_shafts)
        faults += driver_faults(self.sets, self.joins, self.elements, self.outputs, self.machines, self.converter)
        if faults:
            raise LayoutError(tuple(fault for _, fault in faults))

    @property
    def said_name(self) -> str:
        """Its name in the reader's language; a layout that the kit does not ship keeps the name that it has."""
        return say(self.name)

    @property
    def said_short(self) -> str:
        """The same up to the colon, without what explains it."""
        return self.said_name.partition(":")[0].strip()

    @property
    def output_names(self) -> tuple[str, ...]:
        """The names of the output shafts."""
        return self.outputs or (OUTPUT,)

    @property
    def further_shafts(self) -> tuple[str, ...]:
        """Shafts beside the members and the housing: input, outputs, and the engine in front of a converter."""
        return (INPUT, *self.output_names, *((ENGINE,) if self.converter else ()))

    @cached_property
    def plain(self) -> bool:
        """One input and one output, called so, and nothing else that could drive."""
        return not self.machines and self.converter is None and self.output_names == (OUTPUT,)

    @cached_property
    def worked_out(self) -> dict[Any, Any]:
        """What the solver has worked out of it, by question; a layout never changes, so it stays so."""
        return {}

    @cached_property
    def members(self) -> tuple[str, ...]:
        """Every member of every set, as "P1.sun", "P1.carrier", "P1.ring", "P2.sun" and so on."""
        return tuple(f"{pset.name}.{member}" for pset in self.sets for member in MEMBERS)

    @cached_property
    def groups(self) -> ShaftGroups:
        """The permanent shafts; copy before merging."""
        groups = ShaftGroups((HOUSING, *self.further_shafts, *self.members))
        for join in self.joins:
            for member in join[1:]:
                groups.join(join[0], member)
        return groups

    @cached_property
    def shafts(self) -> tuple[tuple[str, ...], ...]:
        """The permanent shafts as groups of members; the group with the housing first."""
        return tuple(self.groups.groups())

    def shaft_of(self, member: str) -> int:
        """Return the number of a member's shaft in `shafts`."""
        for number, shaft in enumerate(self.shafts):
            if member in shaft:
                return number
        raise UsageError(f"Layout {self.name}: no member {member!r}. Members: {', '.join(self.members)}.")

    def set_named(self, name: str) -> PlanetarySet:
        """Return a set by its name."""
        return _named(self, "set", name, self.sets)

    def element_named(self, name: str) -> Element:
        """Return an element by its name."""
        return _named(self, "element", name, self.elements)

    def range_named(self, name: str) -> Range:
        """Return a range by its name."""
        return _named(self, "range", name, self.ranges)

    def engaged_in(self, range_name: str) -> tuple[str, ...]:
        """Return the names of the elements applied in a range."""
        return self.range_named(range_name).engaged

    def with_teeth(self, teeth: Mapping[str, tuple[int, int]]) -> Layout:
        """Return the same layout with other tooth counts.

        Args:
            teeth: name of a set -> (sun teeth, ring teeth); sets not named keep theirs.
        """
        for name in teeth:
            self.set_named(name)
        sets = tuple(
            replace(
                pset, sun_teeth=teeth[pset.name][0], ring_teeth=teeth[pset.name][1], ring_to_sun=None, own_planet_teeth=None
            )
            if pset.name in teeth
            else pset
            for pset in self.sets
        )
        # A published ratio belongs to the published tooth counts only.
        ranges = tuple(replace(item, published_ratio="") for item in self.ranges)
        return replace(self, sets=sets, ranges=ranges, text="")


_Part = TypeVar("_Part", PlanetarySet, Element, Range)


def _named(layout: Layout, what: str, name: str, parts: tuple[_Part, ...]) -> _Part:
    for part in parts:
        if part.name == name:
            return part
    known = ", ".join(part.name for part in parts) or "none"
    raise UsageError(f"Layout {layout.name}: no {what} {name!r}. It has: {known}.")
