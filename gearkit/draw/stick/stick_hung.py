"""What hangs on the shafts of a stick diagram beside sets and shift elements: machines, further outputs, a converter.

Each is wired like an element: a machine between its shaft and the housing, which bears its stator; a converter between the
engine's shaft and the input; a further output between its shaft and the outside, which it reaches at a side, inside or round
another shaft, or through the housing.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.words.terms import ENGINE, HOUSING, INPUT, OUTPUT

# What outputs are called by their place in the vehicle, in the languages of the kit.
_FRONT, _REAR, _LEFT = {"front", "vorn", "vorne"}, {"rear", "back", "hinten"}, {"left", "links"}


class HungKind(StrEnum):
    """What hangs on a shaft."""

    MACHINE = "machine"
    OUTPUT = "output"
    CONVERTER = "converter"


@dataclass(frozen=True)
class Hung:
    """One thing that hangs on a shaft.

    Args:
        name: a machine's or an output's own name, or "converter".
        kind: what it is.
        between: its two shafts.
    """

    name: str
    kind: HungKind
    between: tuple[str, str]


def hung_on(layout: Layout) -> tuple[Hung, ...]:
    """Return what hangs on the shafts of a layout beside sets, elements, input and first output.

    Args:
        layout: any layout.
    """
    machines = [Hung(machine.name, HungKind.MACHINE, (machine.shaft, HOUSING)) for machine in layout.machines]
    outputs = [Hung(name, HungKind.OUTPUT, (name, HOUSING)) for name in layout.output_names if name != first_output(layout)]
    converter = [Hung("converter", HungKind.CONVERTER, (ENGINE, INPUT))] if layout.converter else []
    return (*machines, *outputs, *converter)


def wired_parts(layout: Layout) -> tuple[Element | Hung, ...]:
    """Return everything that is wired between two shafts: the elements, then what else hangs on them."""
    return (*layout.elements, *hung_on(layout))


def driving_end(layout: Layout) -> str:
    """Return the shaft whose arrow comes in at the left: the engine's in front of a converter, else the input."""
    return ENGINE if layout.converter else INPUT


def first_output(layout: Layout) -> str:
    """Return the output that leaves at the right; a single one, or the last that is declared and not called left or front."""
    if OUTPUT in layout.output_names:
        return OUTPUT
    rightward = [name for name in layout.output_names if not leads_left(name)]
    return (rightward or layout.output_names)[-1]


def leads_left(name: str) -> bool:
    """Return whether an output's name says that it leads to the left of the picture; a vehicle's front is drawn there.

    Args:
        name: of an output, such as "left", "front_axle" or "rear_left"; of the last, the rear counts.
    """
    words = set(re.split(r"[\W_]+", name.casefold()))
    return bool(words & _FRONT) or (bool(words & _LEFT) and not words & _REAR)
