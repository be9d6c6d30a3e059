"""What may stand at a train beside its one input and one output: machines, further outputs, a converter.

A machine is an electric machine that can drive or be driven. A converter stands in front of the train: the engine turns
its pump, and the train's input is its turbine. A layout without any of these is *plain*.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from gearkit.text.phrases import listed
from gearkit.words.errors import Fault, LayoutError, UsageError

if TYPE_CHECKING:
    from gearkit.train.layout import Layout

MOST_FIGURE = Fraction(10**6)


@dataclass(frozen=True)
class Machine:
    """An electric machine on a shaft of the train, checked when built.

    Args:
        name: a short name, such as "M1".
        shaft: what it turns: a member such as "P1.sun", "input", or an output.
        highest_speed: r/min, either way; None where it is not given.
        highest_torque: N·m, either way; None where it is not given.
        efficiency: power out / power in, the same driving and driven, above 0 and at most 1; None where it is not given.

    Raises:
        LayoutError: a figure outside what it can be.
    """

    name: str
    shaft: str
    highest_speed: Fraction | None = None
    highest_torque: Fraction | None = None
    efficiency: Fraction | None = None

    def __post_init__(self) -> None:
        limits = {"highest_speed": MOST_FIGURE, "highest_torque": MOST_FIGURE, "efficiency": Fraction(1)}
        faults = []
        for key, most in limits.items():
            value = getattr(self, key)
            if value is not None and not (isinstance(value, Fraction | int) and 0 < value <= most):
                expected = f"an exact number above 0 and at most {most}"
                faults.append(Fault("", None, f'machine "{self.name}".{key}', str(value), expected))
        if faults:
            raise LayoutError(tuple(faults))


@dataclass(frozen=True)
class Converter:
    """A torque converter by its table, checked when built.

    Args:
        speed_ratio: turbine speed / pump speed, from 0 (stall) rising, at most 1.
        torque_ratio: turbine torque / pump torque at each speed ratio.
        capacity_factor: pump speed in r/min over the root of the pump torque in N·m, at each speed ratio.

    Raises:
        LayoutError: columns that do not fit together, or figures outside what they can be.
    """

    speed_ratio: tuple[Fraction, ...]
    torque_ratio: tuple[Fraction, ...]
    capacity_factor: tuple[Fraction, ...]

    def __post_init__(self) -> None:
        faults = tuple(_converter_faults(self))
        if faults:
            raise LayoutError(faults)


def _converter_faults(made: Converter) -> list[Fault]:
    def fault(key: str, value: object, expected: str) -> Fault:
        return Fault("", None, f"[converter].{key}", str(value), expected)

    speeds, torques, factors = made.speed_ratio, made.torque_ratio, made.capacity_factor
    faults = []
    if len(speeds) < 2:
        faults.append(fault("speed_ratio", f"{len(speeds)} entries", 'at least two, from "0" (stall) up'))
    for key, column in (("torque_ratio", torques), ("capacity_factor", factors)):
        if len(column) != len(speeds):
            faults.append(fault(key, f"{len(column)} entries", f"as many as speed_ratio has, {len(speeds)}"))
    if faults:
        return faults
    if speeds[0] != 0:
        faults.append(fault("speed_ratio", speeds[0], '"0" first: the table starts at stall, with the turbine held'))
    for before, after in pairwise(speeds):
        if after <= before:
            faults.append(fault("speed_ratio", f"{after} after {before}", "rising figures"))
    if speeds[-1] > 1:
        faults.append(fault("speed_ratio", speeds[-1], "at most 1: the turbine runs no faster than the pump"))
    for speed, torque in zip(speeds, torques, strict=True):
        if not 0 < torque <= 10:
            faults.append(fault("torque_ratio", torque, "a number above 0 and at most 10"))
        elif speed * torque > 1:
            what = f"{torque} at speed ratio {speed}"
            faults.append(
                fault("torque_ratio", what, "speed ratio times torque ratio at most 1: power out is no more than power in")
            )
    for before, after in pairwise(torques):
        if after > before:
            faults.append(
                fault("torque_ratio", f"{after} after {before}", "figures that fall or stay: most torque is gained at stall")
            )
    faults += [
        fault("capacity_factor", value, f"a number above 0 and at most {MOST_FIGURE}")
        for value in factors
        if not 0 < value <= MOST_FIGURE
    ]
    return faults


def several_words(machines: Sequence[Machine], outputs: Sequence[str], converter: Converter | None) -> str:
    """Return what makes a layout more than one input and one output, in words; "" where nothing does.

    Args:
        machines: its machines.
        outputs: the names of its outputs.
        converter: its converter.
    """
    parts = []
    if machines:
        parts.append(f"the machine{'s' if len(machines) > 1 else ''} {listed(machine.name for machine in machines)}")
    if len(outputs) > 1:
        parts.append(f"the outputs {listed(outputs)}")
    elif outputs != ("output",):
        parts.append(f"an output called {listed(outputs)}")
    if converter is not None:
        parts.append("a converter")
    return listed(parts)


def refuse_several(layout: Layout, what: str = "this") -> None:
    """Refuse a layout that has more than one input and one output.

    Args:
        layout: the layout.
        what: what is not answered for it, as the subject of a sentence.

    Raises:
        UsageError: the layout is not plain.
    """
    if not layout.plain:
        has = several_words(layout.machines, layout.output_names, layout.converter)
        asked = ["ratios", "speeds", "torques", "explain", *(["machines"] if layout.machines else [])]
        if layout.converter is not None:
            asked += ["converter", *([] if layout.machines or len(layout.output_names) > 1 else ["road"])]
        raise UsageError(
            f"{layout.name} has {has}; so far {what} works for one input and one output only. "
            f"What can be asked of it: gearkit {', '.join(asked)} and draw (stick, levers, power)."
        )
