"""Predict a power split: how fast its first machine turns, whether it generates, and what goes by the electrical path."""

from __future__ import annotations

from fractions import Fraction
from math import pi

from gearkit.draw.lever import lever_diagram
from gearkit.draw.stick import stick_diagram
from gearkit.lesson.tasks.task import Ask, Number, PredictionTask, Scene, Setup, Table, short_name
from gearkit.solve.several.electrical import PowerSplit, Share, power_split
from gearkit.solve.several.ranges import ranges
from gearkit.solve.several.states import operating_state
from gearkit.solve.several.torques_given import GivenTorques, torques_given
from gearkit.text.phrases import capital, decimal, member_label
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say
from gearkit.words.terms import INPUT, TrainVerdict

FORWARD, BACKWARD, STANDS = later("forward"), later("backward"), later("not at all")
GENERATES, DRIVES, NEITHER = later("generates"), later("drives"), later("neither")
_KILOWATTS = Fraction(pi) / 30000


class PowerSplitTask(PredictionTask):
    """Choose the speeds of engine and output and the engine's torque; the battery is at rest, the gears lose nothing.

    Args:
        layout: a layout with two machines, one output and a range that is a power split.

    Raises:
        UsageError: it has no such range.
    """

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        name = next((row.name for row in ranges(layout) if row.motions.verdict is TrainVerdict.POWER_SPLIT), None)
        if name is None or len(layout.machines) < 2:
            raise UsageError(
                f"{layout.name}: it has no range that is a power split with two machines; choose power_split_one_set."
            )
        self._range = name
        self._split: PowerSplit = power_split(layout, layout.engaged_in(name))
        self._first = self._split.lines[0]
        super().__init__(
            say("power split in {short}", short=short_name(layout)),
            say("How does {first} turn, what does it do, and how much of the engine's power goes by the electrical path?", first=self._first.name),
            (
                Number("input", say("Engine speed"), "r/min", Fraction(1000), Fraction(4000), Fraction(100), Fraction(2000)),
                Number("output", say("Output speed"), "r/min", Fraction(200), Fraction(6000), Fraction(100), Fraction(1200)),
                Number("torque", say("Engine torque"), "N·m", Fraction(20), Fraction(150), Fraction(5), Fraction(100)),
            ),
            layout=layout,
        )  # fmt: skip

    def case(self, setup: Setup) -> str:
        """Return the two speeds."""
        return say(
            "engine {number}, output {number2} r/min",
            number=decimal(setup.number("input")),
            number2=decimal(setup.number("output")),
        )

    def asks(self, setup: Setup) -> tuple[Ask, ...]:
        """Return the four questions."""
        name = self._first.name
        return (
            Ask("way", say("{name} turns", name=name), (FORWARD, BACKWARD, STANDS)),
            Ask("speed", say("Speed of {name}", name=name), unit="r/min", example="-600", near=Fraction(2, 100)),
            Ask("does", f"{name}", (GENERATES, DRIVES, NEITHER)),
            Ask(
                "electrical",
                say("Share of the engine's power on the electrical path"),
                unit="%",
                example="35",
                near_by=Fraction(2),
            ),
        )

    def given(self, setup: Setup) -> Scene:
        """Return the stick diagram; no speed of a machine is shown."""
        words = say(
            "The engine turns at {number} r/min, the output at {number2} r/min. The battery is at rest, and the gears lose nothing.",
            number=decimal(setup.number("input")),
            number2=decimal(setup.number("output")),
        )
        return Scene(words, (), (stick_diagram.picture(self.layout, alone=False).svg(),))

    def _ratio(self, setup: Setup) -> Fraction:
        return setup.number("output") / setup.number("input")

    def _share(self, ratio: Fraction) -> Share:
        share = self._split.share(ratio)
        assert share is not None, "two machines, a turning output and the battery at rest fix the share"
        return share

    def truth(self, setup: Setup) -> dict[str, Fraction | str]:
        """Return the first machine's way and speed, what it does, and the electrical share in per cent."""
        share = self._share(self._ratio(setup))
        speed = share.machine_speeds[self._first.name] * setup.number("input")
        power = share.machine_powers[self._first.name]
        way = FORWARD if speed > 0 else BACKWARD if speed < 0 else STANDS
        does = GENERATES if power < 0 else DRIVES if power > 0 else NEITHER
        return {"way": way, "speed": speed, "does": does, "electrical": share.electrical * 100}

    def found(self, setup: Setup) -> Scene:
        """Return speeds, torques and powers of all ends, the levers, and the shares over the speed ratio."""
        given = {INPUT: setup.number("input"), self._split.output: setup.number("output")}
        engaged = self.layout.engaged_in(self._range)
        loads = torques_given(self.layout, engaged, {INPUT: setup.number("torque")}, given, 1, battery_at_rest=True)
        share = self._share(self._ratio(setup))
        going = (
            say("; {circulating} % goes round", circulating=decimal(share.circulating * 100, 0))
            if share.circulating
            else say("; no power goes round")
        )
        words = say(
            "{capitalize}. {electrical} % goes by the electrical path{going}.",
            capitalize=capital(operating_state(loads) or ""),
            electrical=decimal(share.electrical * 100, 1),
            going=going,
        )
        tables = (self._ends(loads), self._shares(setup))
        return Scene(words, tables, (lever_diagram.picture(self.layout, engaged, given).svg(),))

    def _ends(self, loads: GivenTorques) -> Table:
        assert loads.speeds is not None
        rows = []
        for name in (INPUT, *(line.name for line in self._split.lines), self._split.output):
            speed, torque = loads.speeds.of[name] or Fraction(0), loads.terminals[name] or Fraction(0)
            power = decimal(loads.power[name] * _KILOWATTS, 1)
            rows.append(
                (
                    member_label(name),
                    say("{speed} r/min", speed=decimal(speed, 0)),
                    f"{decimal(torque, 1)} N·m",
                    say("{power} kW", power=power),
                )
            )
        return Table(
            say("Speed, torque and power that come in from outside"),
            (say("End"), say("Speed"), say("Torque"), say("Power")),
            tuple(rows),
        )

    def _shares(self, setup: Setup) -> Table:
        # Other speed ratios stay shut until one was predicted there: what is shown is the case itself and the points.
        ratio, rows = self._ratio(setup), []
        for at in sorted({ratio, *self._split.points}):
            share = self._share(at)
            powers = [f"{decimal(share.machine_powers[line.name] * 100, 1)} %" for line in self._split.lines]
            rows.append(
                (
                    decimal(at),
                    *powers,
                    f"{decimal(share.circulating * 100, 1)} %",
                    say("this case") if at == ratio else say("mechanical point"),
                )
            )
        head = (
            say("Output / engine"),
            *(say("{line} puts in", line=line.name) for line in self._split.lines),
            say("Goes round"),
            "",
        )
        return Table(say("Shares of the engine's power"), head, tuple(rows))
