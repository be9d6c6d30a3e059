"""Predict whether a member carries more power than the input brings, which one carries most, and the efficiency."""

from __future__ import annotations

from fractions import Fraction

from gearkit.draw.charts import bars
from gearkit.draw.charts.bars import Bar, Limit
from gearkit.draw.power import power_picture
from gearkit.draw.stick import stick_diagram
from gearkit.lesson.tasks.task import Ask, Choice, Number, PredictionTask, Scene, Setup, Table, called, short_name
from gearkit.solve.loads.losses import DEFAULT_BASIC_EFFICIENCY
from gearkit.solve.loads.torques import Torques, torques_of
from gearkit.solve.one_way import in_range
from gearkit.text.phrases import decimal, listed, member_label, set_words
from gearkit.train.layout import Layout
from gearkit.words.say import later, say
from gearkit.words.terms import LoadState

YES, NO = later("yes"), later("no")


class PowerFlowTask(PredictionTask):
    """Choose a range, the basic efficiency and the input power; predict where most power goes and what is lost.

    Args:
        layout: the layout.
    """

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self._ranges = tuple(
            item.name for item in layout.ranges
            if torques_of(in_range(layout, item.name)).state is LoadState.SETTLED
        )  # fmt: skip
        super().__init__(
            say("power in {short}", short=short_name(layout)),
            say("Does any member carry more power than the input brings? Which carries most, and how much arrives?"),
            (
                Choice("range", say("Range"), self._ranges, self._ranges[0]),
                Number("basic", say("Basic efficiency of every set"), "", Fraction(95, 100), Fraction(1), Fraction(5, 1000),
                       Fraction(98, 100)),
                Number("power", say("Input power"), "kW", Fraction(10), Fraction(200), Fraction(10), Fraction(100)),
            ),
            layout=layout,
        )  # fmt: skip

    def _of(self, setup: Setup, range_name: str) -> Torques:
        return torques_of(in_range(self.layout, range_name), basic_efficiency=setup.number("basic"))

    def case(self, setup: Setup) -> str:
        """Return the range."""
        return say("range {word}", word=setup.word("range"))

    def asks(self, setup: Setup) -> tuple[Ask, ...]:
        """Return the three questions."""
        members = tuple(member_label(member) for member in self.layout.members)
        return (
            Ask("above", say("A member carries more than the input brings"), (YES, NO)),
            Ask("most", say("Most power is on"), members),
            Ask("efficiency", say("Efficiency"), unit="%", example="97.5", near_by=Fraction(1, 2)),
        )

    def given(self, setup: Setup) -> Scene:
        """Return the stick diagram with the applied elements; no power is shown."""
        engaged = in_range(self.layout, setup.word("range")).engaged
        words = say(
            "Range {word}, {applied} applied, {number} kW at the input, basic efficiency {number2} in every set.",
            word=setup.word("range"),
            applied=listed(engaged),
            number=decimal(setup.number("power")),
            number2=decimal(setup.number("basic")),
        )
        return Scene(words, (), (stick_diagram.picture(self.layout, engaged, alone=False).svg(),))

    def _sizes(self, loads: Torques) -> dict[str, Fraction]:
        assert loads.power is not None
        return {member: power or Fraction(0) for member, power in loads.power.members.items()}

    def truth(self, setup: Setup) -> dict[str, Fraction | str]:
        """Return whether a member is above the input, which carries most, and the efficiency in per cent."""
        loads = self._of(setup, setup.word("range"))
        sizes = self._sizes(loads)
        most = max(sizes, key=lambda member: abs(sizes[member]))
        efficiency = loads.efficiency
        assert efficiency is not None
        above = YES if abs(sizes[most]) > 1 else NO
        return {"above": above, "most": member_label(most), "efficiency": efficiency * 100}

    def found(self, setup: Setup) -> Scene:
        """Return power on every member, the loop, and the efficiency of every range."""
        loads = self._of(setup, setup.word("range"))
        assert loads.power is not None
        assert loads.efficiency is not None
        power = setup.number("power")
        lost = power * (1 - loads.efficiency)
        round_words = say("no power goes round")
        if loads.power.circulating:
            way = " – ".join(member_label(name) for name in loads.power.loop)
            round_words = say(
                "{circulating} kW goes round the loop {way}", circulating=decimal(loads.power.circulating * power, 1), way=way
            )
        words = say(
            "Range {word}: {power} kW arrives of {power2}, efficiency {efficiency} %; {lost} kW heats the oil; {round}.",
            word=setup.word("range"),
            power=decimal(power * loads.efficiency, 1),
            power2=decimal(power),
            efficiency=decimal(loads.efficiency * 100, 1),
            lost=decimal(lost, 1),
            round=round_words,
        )
        tables = (self._rolling(loads, power), self._ranges_table(setup))
        pictures = [self._members(setup, loads, power)]
        if setup.number("basic") == DEFAULT_BASIC_EFFICIENCY:
            # The streams are drawn at the default efficiency; at another one their figures would not be these.
            pictures.append(power_picture.picture(self.layout, in_range(self.layout, setup.word("range")).engaged).svg())
        return Scene(words, tables, tuple(pictures))

    def _members(self, setup: Setup, loads: Torques, power: Fraction) -> str:
        shown = [
            Bar(member_label(member), float(size * power), say("{size} kW", size=decimal(size * power, 1)))
            for member, size in self._sizes(loads).items()
        ]
        title = say(
            "Power that each member of {called} brings into its set, range {word}",
            called=called(self.layout),
            word=setup.word("range"),
        )
        line = say("To the right: into the set; to the left: out of it")
        return bars.picture(shown, title, line, Limit(float(power), say("input {power} kW", power=decimal(power)))).svg()

    def _rolling(self, loads: Torques, power: Fraction) -> Table:
        assert loads.power is not None
        rows = []
        for name, rolling in loads.power.rolling.items():
            loss = loads.power.losses[name]
            sizes = [Fraction(0) if value is None else abs(value) * power for value in (rolling, loss)]
            rows.append((set_words(name), *(say("{size} kW", size=decimal(size, 1)) for size in sizes)))
        caption = say("Power through the tooth meshes, as seen from the carrier; only this has losses")
        return Table(caption, (say("Set"), say("Rolling power"), say("Lost")), tuple(rows))

    def _ranges_table(self, setup: Setup) -> Table:
        rows = []
        for range_name in self._ranges:
            if range_name != setup.word("range") and f"range {range_name}" not in setup.opened:
                rows.append((range_name, "?", "?"))
                continue
            each = self._of(setup, range_name)
            assert each.power is not None
            assert each.efficiency is not None
            largest = max(abs(size) for size in self._sizes(each).values())
            rows.append((range_name, f"{decimal(each.efficiency * 100, 1)} %", f"{decimal(largest * 100, 0)} %"))
        head = (say("Range"), say("Efficiency"), say("Largest member power, of the input's"))
        marked = frozenset({self._ranges.index(setup.word("range"))})
        return Table(say("Ranges predicted so far, at this basic efficiency"), head, tuple(rows), marked)
