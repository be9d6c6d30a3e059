"""Predict a differential or transfer: the speed and torque of its second output, open and locked, with one end slipping."""

from __future__ import annotations

from fractions import Fraction

from gearkit.draw.lever import lever_diagram
from gearkit.draw.stick import stick_diagram
from gearkit.lesson.tasks.task import Ask, Choice, Number, PredictionTask, Scene, Setup, Table, short_name
from gearkit.solve.several.motions import Motions, motions
from gearkit.solve.several.speeds_given import speeds_given
from gearkit.solve.several.torques_given import torques_given
from gearkit.text.phrases import capital, decimal, member_label, shown_word
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say
from gearkit.words.terms import INPUT

TEETH, GRIP = later("the teeth"), later("grip or control")


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
        first, second = map(member_label, layout.output_names)
        names = tuple(item.name for item in layout.ranges)
        super().__init__(
            say("sharing in {short}", short=short_name(layout)),
            say("One end slips. How fast does the {second} end turn, how much torque does it get, and what decides the shares?", second=second),
            (
                Choice("range", say("State"), names, names[0]),
                Number("input", say("Speed of the input"), "r/min", Fraction(100), Fraction(1500), Fraction(50), Fraction(600)),
                Number("first", say("Speed of {first}", first=first), "r/min", Fraction(0), Fraction(3000), Fraction(50), Fraction(900)),
                Number("torque", say("Torque that the input could give"), "N·m", Fraction(200), Fraction(600), Fraction(20), Fraction(300)),
                Number("grip", say("Torque at which {first} slips", first=first), "N·m", Fraction(5), Fraction(60), Fraction(5), Fraction(40)),
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
        left_free = self._motions(setup)
        given = {self._first: -setup.number("grip")}
        if left_free.torques_to_give > 1:
            given[INPUT] = setup.number("torque")
        loads = torques_given(self.layout, left_free.engaged, given, basic_efficiency=1)
        return {name: torque for name, torque in loads.terminals.items() if torque is not None}

    def case(self, setup: Setup) -> str:
        """Return the state, the speeds and the torques."""
        parts = [setup.word("range"), *(decimal(setup.number(name)) for name in ("input", "first", "torque", "grip"))]
        return ", ".join(parts)

    def asks(self, setup: Setup) -> tuple[Ask, ...]:
        """Return the three questions."""
        return (
            Ask(
                "speed",
                say("Speed of {second}", second=member_label(self._second)),
                unit="r/min",
                example="450",
                near=Fraction(2, 100),
            ),
            Ask(
                "torque",
                say("Torque that goes to {second}", second=member_label(self._second)),
                unit="N·m",
                example="80",
                near=Fraction(2, 100),
            ),
            Ask("decides", say("The shares are decided by"), (TEETH, GRIP)),
        )

    def given(self, setup: Setup) -> Scene:
        """Return the stick diagram and what is known."""
        free = len(self._given(setup)) > 1
        words = say(
            "State {word}. The input turns at {number} r/min",
            word=shown_word(setup.word("range")),
            number=decimal(setup.number("input")),
        )
        words += (
            say(", {first} at {number} r/min", first=member_label(self._first), number=decimal(setup.number("first")))
            if free
            else say(", and nothing between the ends can turn apart")
        )
        words += say(
            "; {first} slips at {number} N·m, and the input could give {number2} N·m.",
            first=member_label(self._first),
            number=decimal(setup.number("grip")),
            number2=decimal(setup.number("torque")),
        )
        return Scene(
            words, (), (stick_diagram.picture(self.layout, self.layout.engaged_in(setup.word("range")), alone=False).svg(),)
        )

    def truth(self, setup: Setup) -> dict[str, Fraction | str]:
        """Return the second output's speed and torque, and what decides the shares."""
        left_free = self._motions(setup)
        speed = speeds_given(self.layout, left_free.engaged, self._given(setup)).of[self._second]
        assert speed is not None
        torque = -self._torques(setup)[self._second]
        return {"speed": speed, "torque": torque, "decides": TEETH if left_free.shares_fixed else GRIP}

    def found(self, setup: Setup) -> Scene:
        """Return speeds and torques of all ends, with the levers."""
        left_free, given = self._motions(setup), self._given(setup)
        speeds, torques = speeds_given(self.layout, left_free.engaged, given).of, self._torques(setup)
        used = torques[INPUT]
        decided = say("the teeth decide the shares") if left_free.shares_fixed else say("grip decides the shares")
        words = say(
            "{capitalize}: {used} N·m come in of {number} that could.",
            capitalize=capital(decided),
            used=decimal(used, 1),
            number=decimal(setup.number("torque")),
        )
        rows = tuple(
            (
                member_label(name),
                say("{speed} r/min", speed=decimal(speeds[name] or 0, 0)),
                f"{decimal(abs(torques[name]), 1)} N·m",
                f"{decimal(abs(torques[name]) / used * 100, 1)} %",
            )
            for name in (INPUT, self._first, self._second)
        )
        table = Table(say("Speed and torque of the ends"), (say("End"), say("Speed"), say("Torque"), say("Share")), rows)
        return Scene(words, (table,), (lever_diagram.picture(self.layout, left_free.engaged, given).svg(),))
