"""Where torque may come from outside: input, machines and outputs, all of them *terminals* of the train.

Roles tell the stories apart, not the mathematics: a machine may drive or be driven, and so may an output.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from gearkit.solve.mobility import element_rows, set_rows
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import ENGINE, HOUSING, INPUT


@dataclass(frozen=True)
class Terminals:
    """A layout with the places where torque may come from outside.

    Args:
        layout: the layout.
        inputs: name -> shaft.
        machines: name -> the member or shaft that it turns.
        outputs: name -> shaft.
    """

    layout: Layout
    inputs: Mapping[str, str]
    machines: Mapping[str, str]
    outputs: Mapping[str, str]

    @cached_property
    def shaft_of(self) -> dict[str, str]:
        """Terminal -> shaft: outputs, then machines, then inputs."""
        return {**self.outputs, **self.machines, **self.inputs}

    @property
    def names(self) -> tuple[str, ...]:
        """The names of all terminals: outputs, machines, inputs."""
        return tuple(self.shaft_of)

    @cached_property
    def columns(self) -> dict[str, int]:
        """Column of every member, shaft and machine; -1 is the housing. Terminals come last, inputs at the very end.

        So an elimination from the left leaves the relations between terminals in its last rows.
        """
        groups, layout = self.layout.groups, self.layout
        ground = groups.name_of(HOUSING)
        ends = {groups.name_of(shaft): None for shaft in self.shaft_of.values()}
        for shaft in self.inputs.values():
            ends.pop(groups.name_of(shaft), None)
        ends |= {groups.name_of(shaft): None for shaft in self.inputs.values()}
        every = [groups.name_of(shaft) for shaft in (*layout.members, *layout.further_shafts)]
        order = [*(name for name in dict.fromkeys(every) if name not in ends), *ends]
        place = {name: number for number, name in enumerate(name for name in order if name != ground)}
        place[ground] = -1
        columns = {shaft: place[groups.name_of(shaft)] for shaft in (*layout.members, HOUSING, *layout.further_shafts)}
        return columns | {name: place[groups.name_of(shaft)] for name, shaft in self.machines.items()}

    @cached_property
    def ends(self) -> dict[str, int]:
        """Column of every terminal; with a lock-up applied the input's is the engine's shaft."""
        return {name: self.columns[shaft] for name, shaft in self.shaft_of.items()}

    @cached_property
    def size(self) -> int:
        """How many shafts can turn."""
        return max(self.columns.values()) + 1

    @cached_property
    def first(self) -> int:
        """The first column that belongs to a terminal."""
        return min(self.ends.values())

    def place(self, name: str) -> int:
        """Return a terminal's column, counted among those of terminals.

        Args:
            name: the terminal.
        """
        return self.ends[name] - self.first

    def rows(self, engaged: Sequence[str]) -> list[list[int]]:
        """Return the speed equations of the sets and of the applied elements.

        Args:
            engaged: names of the engaged elements.
        """
        return set_rows(self.layout, self.columns) + element_rows(self.layout, self.columns, engaged)

    def known(self, name: str, what: str) -> str:
        """Return a member's or terminal's name, which must be one of this train's.

        Args:
            name: such as "P1.sun", "M1" or "output".
            what: what was given for it, such as "speed".

        Raises:
            UsageError: there is no such member or terminal.
        """
        if name not in self.columns:
            every = [*self.names, *(other for other in self.columns if other not in self.shaft_of and other != HOUSING)]
            raise UsageError(
                f"{self.layout.name}: {what} given for {name[:40]!r}, which it does not have. It has: {', '.join(every)}."
            )
        return name


def terminals_of(layout: Layout, engaged: Sequence[str] = ()) -> Terminals:
    """Return a layout's terminals.

    With a converter the input is its turbine; once a clutch joins the engine to the train the engine's torque comes in
    through that clutch, so the input then stands for the engine's own shaft.

    Args:
        layout: the layout.
        engaged: names of the engaged elements.
    """
    locked_up = layout.converter is not None and any(ENGINE in layout.element_named(name).between for name in engaged)
    return Terminals(
        layout,
        {INPUT: ENGINE if locked_up else INPUT},
        {machine.name: machine.shaft for machine in layout.machines},
        {name: name for name in layout.output_names},
    )
