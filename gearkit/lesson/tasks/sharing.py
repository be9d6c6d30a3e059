"""Predict a differential or transfer: the speed and torque of its second output, open and locked, with one end slipping."""

from __future__ import annotations

from fractions import Fraction

from gearkit.draw.lever import lever_diagram
from gearkit.draw.stick import stick_diagram
from gearkit.lesson.tasks.task import Ask, Choice, Number, PredictionTask, Scene, Setup, Table, short_name
from gearkit.solve.several.motions import Motions, motions
from gearkit.solve.several.speeds_given import speeds_given
from gearkit.solve.several.torques_given import torques_given
from gearkit.text.phrases import decimal
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import INPUT

TEETH, GRIP = "the teeth", "grip or control"


class SharingTask(PredictionTask):
    """Choose open or locked, the speeds of input and first output, the torque offered and where the first output slips.

    Args:
        layout: a layout with two outputs and no machine.

    Raises:
        UsageError: it has not two outputs, or has a machine.
    """

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        if len(layout.output_names) != 2 or layout.machines or not layout.ranges:
            raise UsageError(
                f"{layout.name}: a layout with two outputs, ranges and no machine is needed; choose planetary_transfer."
            )
        self._first, self._second = layout.output_names
        names = tuple(item.name for item in layout.ranges)
        super().__init__(
            f"sharing in {short_name(layout)}",
            f"One end slips. How fast does the {self._second} end turn, how much torque does it get, and what decides the shares?",
            (
                Choice("range", "State", names, names[0]),
                Number("input", "Speed of the input", "r/min", Fraction(100), Fraction(1500), Fraction(50), Fraction(600)),
                Number("first", f"Speed of {self._first}", "r/min", Fraction(0), Fraction(3000), Fraction(50), Fraction(900)),
                Number("torque", "Torque that the input could give", "N·m", Fraction(200), Fraction(600), Fraction(20), Fraction(300)),
                Number("grip", f"Torque at which {self._first} slips", "N·m", Fraction(5), Fraction(60), Fraction(5), Fraction(40)),
            ),
            layout=layout,
        )  # fmt: skip

    def _motions(self, setup: Setup) -> Motions:
        return motions(self.layout, self.layout.engaged_in(setup.word("range")))

    def _given(self, setup: Setup) -> dict[str, Fraction]:
        """The speeds that are chosen: locked, the first output's follows from the input's."""
        given = {INPUT: setup.number("input")}
        return given if self._motions(setup).speeds_to_give == 1 else {**given, self._first: setup.number("first")}

    def _torques(self, setup: Setup) -> dict[str, Fraction]:
        found = self._motions(setup)
        given = {self._first: -setup.number("grip")}
        if found.torques_to_give > 1:
            given[INPUT] = setup.number("torque")
        loads = torques_given(self.layout, found.engaged, given, basic_efficiency=1)
        return {name: torque for name, torque in loads.terminals.items() if torque is not None}

    def case(self, setup: Setup) -> str:
        """Return the state, the speeds and the torques."""
        parts = [setup.word("range"), *(decimal(setup.number(name)) for name in ("input", "first", "torque", "grip"))]
        return ", ".join(parts)

    def asks(self, setup: Setup) -> tuple[Ask, ...]:
        """Return the three questions."""
        return (
            Ask("speed", f"Speed of {self._second}", unit="r/min", example="450", near=Fraction(2, 100)),
            Ask("torque", f"Torque that goes to {self._second}", unit="N·m", example="80", near=Fraction(2, 100)),
            Ask("decides", "The shares are decided by", (TEETH, GRIP)),
        )

    def given(self, setup: Setup) -> Scene:
        """Return the stick diagram and what is known."""
        free = len(self._given(setup)) > 1
        words = f"State {setup.word('range')}. The input turns at {decimal(setup.number('input'))} r/min"
        words += (
            f", {self._first} at {decimal(setup.number('first'))} r/min"
            if free
            else ", and nothing between the ends can turn apart"
        )
        words += f"; {self._first} slips at {decimal(setup.number('grip'))} N·m, and the input could give {decimal(setup.number('torque'))} N·m."
        return Scene(words, (), (stick_diagram.draw(self.layout, self.layout.engaged_in(setup.word("range")), alone=False),))

    def truth(self, setup: Setup) -> dict[str, Fraction | str]:
        """Return the second output's speed and torque, and what decides the shares."""
        found = self._motions(setup)
        speed = speeds_given(self.layout, found.engaged, self._given(setup)).of[self._second]
        assert speed is not None
        torque = -self._torques(setup)[self._second]
        return {"speed": speed, "torque": torque, "decides": TEETH if found.shares_fixed else GRIP}

    def found(self, setup: Setup) -> Scene:
        """Return speeds and torques of all ends, with the levers."""
        found, given = self._motions(setup), self._given(setup)
        speeds, torques = speeds_given(self.layout, found.engaged, given).of, self._torques(setup)
        used = torques[INPUT]
        decided = "the teeth decide the shares" if found.shares_fixed else "grip decides the shares"
        words = f"{decided.capitalize()}: {decimal(used, 1)} N·m come in of {decimal(setup.number('torque'))} that could."
        rows = tuple(
            (
                name,
                f"{decimal(speeds[name] or 0, 0)} r/min",
                f"{decimal(abs(torques[name]), 1)} N·m",
                f"{decimal(abs(torques[name]) / used * 100, 1)} %",
            )
            for name in (INPUT, self._first, self._second)
        )
        table = Table("Speed and torque of the ends", ("End", "Speed", "Torque", "Share"), rows)
        return Scene(words, (table,), (lever_diagram.draw(self.layout, found.engaged, given),))
