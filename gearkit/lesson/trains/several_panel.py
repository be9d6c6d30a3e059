"""The panel of a train with machines or several outputs: speeds moved against each other, torques and power at once.

Which speeds can be chosen, and which torques, follows from the applied elements. The kernel says so for each combination,
all at once where there are few, with every speed as a sum of the chosen ones; from that the browser works out the rest. Torques need no table of
their own: what the gears take in at one end they give at the others, so a torque follows from the same factors.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from itertools import combinations
from math import ceil, pi
from typing import Any

import traitlets

from gearkit.draw.lever import lever_diagram
from gearkit.draw.noted import cannot_be_put_together
from gearkit.draw.stick import stick_diagram
from gearkit.draw.stick.placement import placed
from gearkit.lesson.panels.base import TrainPanel
from gearkit.lesson.panels.bundle import script
from gearkit.lesson.panels.spec import levers_shown
from gearkit.solve.several.motions import Motions, motions
from gearkit.solve.several.speeds_given import GivenSpeeds, speeds_with_motions
from gearkit.solve.several.torques_given import GivenTorques, torques_given
from gearkit.text.phrases import decimal, listed, member_label
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say
from gearkit.words.terms import HOUSING, INPUT

AT_REST = later("battery at rest")
NOTHING = later("nothing")
# With so many elements every combination is worked out ahead; with more only the ranges are.
FEW = 4
# Torque times r/min, in kW.
KILOWATT = pi / 30_000
_START = {INPUT: (2000, 100), "output": (1200, -100)}


class SeveralPanel(TrainPanel):
    """Applied elements, the speeds that can be chosen and the torques that can be chosen in; all others out.

    ``moved`` and ``given`` say which speeds and torques are chosen, ``speeds`` and ``torques`` hold their values in r/min and
    N·m for every end of the train, chosen now or not.

    Args:
        layout: a layout with machines or several outputs.
        traits: title and first state.

    Raises:
        UsageError: the layout has one input and one output only.
    """

    _esm = script("several_panel")
    train = traitlets.Dict().tag(sync=True)
    cases = traitlets.Dict().tag(sync=True)
    drawing = traitlets.Unicode("").tag(sync=True)
    moved = traitlets.Unicode("").tag(sync=True)
    given = traitlets.Unicode("").tag(sync=True)
    speeds = traitlets.Dict().tag(sync=True)
    torques = traitlets.Dict().tag(sync=True)

    def __init__(self, layout: Layout, **traits: Any) -> None:
        if not layout.machines and len(layout.output_names) < 2:
            raise UsageError(
                f"{layout.name} has no machine and one output, so one speed fixes all; "
                'look at it with lesson.explore("…"), or name a layout such as power_split_one_set.'
            )
        self.layout_shown = layout
        self._placement = placed(layout)
        ends = motions(layout, ()).terminals.names
        start = {name: _START.get(name, (1000, -100) if name in layout.output_names else (0, 0)) for name in ends}
        speeds, torques = ({name: values[k] for name, values in start.items()} for k in (0, 1))
        first = {"engaged": list(layout.ranges[0].engaged) if layout.ranges else [], "speeds": speeds, "torques": torques}
        drawing = stick_diagram.picture(layout, None, self._placement, alone=False).svg()
        note = cannot_be_put_together(layout.sets)
        super().__init__(train=_train(layout), cases=_cases(layout), drawing=drawing, note=note, **{**first, **traits})
        self._settle()
        self.observe(self._settle, "engaged")

    def _checked(self, engaged: Iterable[str]) -> Iterable[str]:
        return motions(self.layout_shown, engaged).engaged

    def _settle(self, _change: Any = None) -> None:
        """Say what the applied elements leave to choose, and keep what was chosen where it still can be."""
        case = self.cases.get(_key(self.engaged)) or _case(self.layout_shown, self.engaged)
        with self.hold_sync():
            self.cases = {**self.cases, _key(self.engaged): case}
            if self.moved not in [choice["words"] for choice in case["choices"] if choice["offered"]]:
                self.moved = case["first"]["moved"]
            if self.given not in [choice["words"] for choice in case["torques"]]:
                self.given = case["first"]["given"]

    @property
    def case(self) -> dict[str, Any]:
        """What the applied elements leave to choose."""
        case: dict[str, Any] = self.cases[_key(self.engaged)]
        return case

    def move(self, **speeds: float) -> None:
        """Choose speeds.

        Args:
            speeds: end of the train -> r/min, such as ``input=2000, output=1200``.

        Raises:
            UsageError: these are not the speeds that can be chosen with the elements applied.
        """
        self.moved = self._chosen(self.case["choices"], set(speeds), "speeds")
        self.speeds = {**self.speeds, **speeds}

    def load(self, *, battery_at_rest: bool = False, **torques: float) -> None:
        """Choose torques.

        Args:
            battery_at_rest: one machine takes what another gives; stands in place of one torque.
            torques: end of the train -> N·m, such as ``input=100``.

        Raises:
            UsageError: these are not the torques that can be chosen with the elements applied.
        """
        self.given = self._chosen(self.case["torques"], set(torques) | ({AT_REST} if battery_at_rest else set()), "torques")
        self.torques = {**self.torques, **torques}

    def _chosen(self, choices: list[dict[str, Any]], wanted: set[str], what: str) -> str:
        for choice in choices:
            if {*choice["names"], *((AT_REST,) if choice.get("unknown") else ())} == wanted:
                return str(choice["words"])
        offered = "; ".join(choice["words"] for choice in choices)
        raise UsageError(f"{listed(sorted(wanted)) or NOTHING}: these {what} do not fix the others. Choose {offered}.")

    def outcome(self) -> tuple[GivenSpeeds, GivenTorques]:
        """Return all speeds in r/min and all torques in N·m, the gears without losses, the machines with theirs."""
        choice = next(choice_ for choice_ in self.case["choices"] if choice_["words"] == self.moved)
        load = next(choice_ for choice_ in self.case["torques"] if choice_["words"] == self.given)
        speeds = {name: Fraction(self.speeds[name]) for name in choice["names"]}
        torques = {name: Fraction(self.torques[name]) for name in load["names"]}
        turning = speeds_with_motions(motions(self.layout_shown, self.engaged), speeds)
        at_rest = bool(load.get("unknown"))
        return turning, torques_given(self.layout_shown, self.engaged, torques, speeds, 1, battery_at_rest=at_rest)

    def words(self) -> str:
        """Return in a few sentences which speeds, torques and powers there are."""
        turning, loads = self.outcome()
        applied = say("{engaged} applied", engaged=listed(self.engaged)) if self.engaged else say("nothing applied")
        ends = turning.motions.terminals.names
        told = [
            say(
                "{name} {value} r/min{load_words}",
                name=member_label(name),
                value=decimal(turning.of[name] or 0, 0),
                load_words=self._load_words(name, loads),
            )
            for name in ends
        ]
        return f"{self.layout_shown.said_name}, {applied}, {say(self.case['verdict'])}: {'; '.join(told)}."

    @staticmethod
    def _load_words(name: str, loads: GivenTorques) -> str:
        torque, power = loads.terminals[name], loads.power.get(name)
        if torque is None or power is None:
            return say(", torque not fixed")
        return say(", {torque} N·m, {power} kW", torque=decimal(torque, 1), power=decimal(float(power) * KILOWATT, 1))

    def pictures(self) -> tuple[str, ...]:
        """Return the stick diagram and the levers with their speeds."""
        choice = next(choice_ for choice_ in self.case["choices"] if choice_["words"] == self.moved)
        speeds = {name: Fraction(self.speeds[name]) for name in choice["names"]}
        stick = stick_diagram.picture(self.layout_shown, self.engaged, self._placement).svg()
        return (stick, lever_diagram.picture(self.layout_shown, self.engaged, speeds).svg())


def _train(layout: Layout) -> dict[str, object]:
    """Return what stays the same for a layout, ready for JSON."""
    machines = {by_name.name: by_name for by_name in layout.machines}
    ends = []
    for name in sorted(motions(layout, ()).terminals.names, key=lambda name: name != INPUT):
        machine = machines.get(name)
        limits = (machine.highest_speed, machine.highest_torque) if machine else (None, None)
        turns = (0, 6000) if name == INPUT else (-2000, 6000) if not machine else (-_whole(limits[0]), _whole(limits[0]))
        ends.append(
            {
                "name": name,
                "words": say("{name} on {member_label}", name=name, member_label=member_label(machine.shaft))
                if machine
                else member_label(name),
                "label": member_label(name),
                "kind": "machine" if machine else "input" if name == INPUT else "output",
                "speeds": list(turns),
                "limits": [None if limit is None else float(limit) for limit in limits],
                "efficiency": str(machine.efficiency or 1) if machine else "1",
            }
        )
    return {
        "name": layout.said_name,
        "ends": ends,
        "levers": levers_shown(
            layout,
            lambda members: next((member for member in members if member in layout.members), HOUSING),
            lambda members: (machine.name for machine in layout.machines if machine.shaft in members),
        ),
        "elements": [
            {"name": element.name, "words": f"{say(element.kind)} {' – '.join(map(member_label, element.between))}"}
            for element in layout.elements
        ],
        "ranges": [{"name": item.name, "engaged": list(item.engaged)} for item in layout.ranges],
    }


def _whole(limit: Fraction | None) -> int:
    """How far a machine's speed can be moved: to its own highest, in whole steps, or as far as most go."""
    return 12_000 if limit is None else 100 * ceil(limit / 100)


def _key(engaged: Iterable[str]) -> str:
    return " ".join(engaged)


def _cases(layout: Layout) -> dict[str, dict[str, Any]]:
    names = [element.name for element in layout.elements]
    if len(names) <= FEW:
        every = [each for size in range(len(names) + 1) for each in combinations(names, size)]
    else:
        every = [motions(layout, item.engaged).engaged for item in layout.ranges]
    return {_key(engaged): _case(layout, engaged) for engaged in every}


def _case(layout: Layout, engaged: Iterable[str]) -> dict[str, Any]:
    """Return what a combination leaves to choose, with every speed as a sum of the chosen ones."""
    left_free = motions(layout, engaged)
    speeds: list[dict[str, Any]] = []
    for names in left_free.choices:
        solved = speeds_with_motions(left_free, dict.fromkeys(names, 0))
        by = {name: {terminal: str(factor) for terminal, factor in parts.items()} for name, parts in solved.fixed_by.items()}
        speeds.append({"words": _said(names), "names": list(names), "by": by, "offered": _clear(names, left_free)})
    if not any(choice["offered"] for choice in speeds):
        speeds[0]["offered"] = True
    torques = _torque_choices(left_free)
    moved = max((speed for speed in speeds if speed["offered"]), key=lambda speed: _of_the_vehicle(layout, speed["names"]))
    given = max(
        torques, key=lambda torque: (bool(torque.get("unknown")) and INPUT in torque["names"], INPUT in torque["names"])
    )
    first = {"moved": moved["words"], "given": given["words"]}
    return {"verdict": left_free.verdict.value, "choices": speeds, "torques": torques, "first": first}


def _torque_choices(left_free: Motions) -> list[dict[str, Any]]:
    """Return the torques that fix all others: those of all ends whose speeds are not chosen, or a battery at rest for one."""
    terminals, torques = left_free.terminals, []
    for number, names in enumerate(left_free.choices):
        rest = [name for name in terminals.names if name not in names]
        torques.append({"words": _said(rest), "names": rest, "choice": number})
        for machine in [name for name in rest if name in terminals.machines and len(terminals.machines) > 1]:
            others = [name for name in rest if name != machine]
            words = _said([*others, AT_REST])
            if words not in [torque["words"] for torque in torques]:
                torques.append({"words": words, "names": others, "choice": number, "unknown": machine})
    return torques


def _said(names: list[str] | tuple[str, ...]) -> str:
    """Inputs first, as people name them."""
    in_order = sorted(names, key=lambda name: (name == AT_REST, name != INPUT))
    return listed(say(name) if name == AT_REST else member_label(name) for name in in_order) or say(NOTHING)


def _clear(names: tuple[str, ...], left_free: Motions) -> bool:
    """Whether no end stands in for another on its own shaft: machine M2 on the output is moved as the output."""
    ends, machines = left_free.terminals.ends, left_free.terminals.machines
    return not any(name in machines and ends[name] == ends[other] for name in names for other in ends if other not in machines)


def _of_the_vehicle(layout: Layout, names: Iterable[str]) -> tuple[int, bool]:
    """Input and outputs are chosen before machines, and the input first, where there is a choice."""
    return len({INPUT, *layout.output_names} & set(names)), INPUT in names
