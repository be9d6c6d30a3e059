"""Predict which element carries most torque in a range, how much, and which way the housing pushes."""

from __future__ import annotations

from fractions import Fraction

from gearkit.draw.charts import bars
from gearkit.draw.charts.bars import Bar, Limit
from gearkit.draw.lever import loaded_levers
from gearkit.draw.stick import stick_diagram
from gearkit.lesson.tasks.task import Ask, Choice, Number, PredictionTask, Scene, Setup, Table, begun, called, short_name
from gearkit.solve.loads.torques import Torques, torques_of
from gearkit.solve.one_way import in_range
from gearkit.text.phrases import decimal, listed, member_label
from gearkit.train.layout import Layout
from gearkit.words.say import later, said, say, say_n
from gearkit.words.terms import INPUT, LoadState, Verdict

WITH, AGAINST, NONE = later("with the input"), later("against the input"), later("not at all")
_ALL_CARRY = (LoadState.SETTLED, LoadState.STATICALLY_UNDETERMINED)


class ElementTorques(PredictionTask):
    """Choose a range and an input torque; predict the largest element torque and the housing's push.

    Args:
        layout: the layout.
    """

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self._ranges = tuple(
            item.name for item in layout.ranges
            if self._of(item.name, Fraction(1)).mobility.verdict is Verdict.RANGE
        )  # fmt: skip
        super().__init__(
            say("torques of {short}", short=short_name(layout)),
            say(
                "Only the input torque is known. Which applied element carries most, how much, and which way does the housing push on the train?"
            ),
            (
                Choice("range", say("Range"), self._ranges, self._ranges[0]),
                Number("torque", say("Input torque"), "N·m", Fraction(20), Fraction(400), Fraction(10), Fraction(150)),
                Number("capacity", say("One pack holds"), "N·m", Fraction(50), Fraction(1500), Fraction(10), Fraction(400)),
            ),
            layout=layout,
        )

    def _of(self, range_name: str, torque: Fraction) -> Torques:
        return torques_of(in_range(self.layout, range_name), torque, basic_efficiency=1)

    def case(self, setup: Setup) -> str:
        """Return the range."""
        return say("range {word}", word=setup.word("range"))

    def asks(self, setup: Setup) -> tuple[Ask, ...]:
        """Return the element with most torque, its size, and the sense of the housing's torque."""
        engaged = in_range(self.layout, setup.word("range")).engaged
        return (
            Ask("element", say("Most torque is on"), engaged),
            Ask("torque", say("Its size"), unit="N·m", example="240"),
            Ask("housing", say("The housing pushes"), (WITH, AGAINST, NONE)),
        )

    def given(self, setup: Setup) -> Scene:
        """Return levers on which only the input's torque is known."""
        engaged = listed(in_range(self.layout, setup.word("range")).engaged)
        torque = setup.number("torque")
        words = say(
            "Range {word}, {applied} applied, {torque} N·m at the input. No losses.",
            word=setup.word("range"),
            applied=engaged,
            torque=decimal(torque),
        )
        levers = loaded_levers.draw(
            self.layout, dict.fromkeys(self.layout.members), say("{begun}: which torques?", begun=begun(self.layout))
        )
        return Scene(
            words,
            (),
            (stick_diagram.picture(self.layout, in_range(self.layout, setup.word("range")).engaged, alone=False).svg(), levers),
        )

    def truth(self, setup: Setup) -> dict[str, Fraction | str]:
        """Return the element with most torque, how much, and the housing's sense."""
        torques = self._of(setup.word("range"), setup.number("torque"))
        sizes = {name: abs(value) for name, value in torques.elements.items() if value is not None}
        # Where two carry alike, the first of the chart is named; both figures are the same.
        most = max(sizes, key=lambda name: sizes[name])
        housing = torques.housing_torque or Fraction(0)
        return {
            "element": most,
            "torque": sizes[most],
            "housing": WITH if housing > 0 else AGAINST if housing else NONE,
        }

    def found(self, setup: Setup) -> Scene:
        """Return loaded levers, the running sum to zero, and the most that every element has to carry."""
        torque = setup.number("torque")
        torques = self._of(setup.word("range"), torque)
        total = torques.output_torque
        assert total is not None
        words = say(
            "Range {word}: output {value} N·m = {torque} × {value2}; the housing supplies {housing_torque} N·m.",
            word=setup.word("range"),
            value=decimal(-total, 1),
            torque=decimal(torque),
            value2=decimal(-total / torque),
            housing_torque=decimal(torques.housing_torque or 0, 1),
        )
        title = say("{begun}, range {word}", begun=begun(self.layout), word=setup.word("range"))
        levers = loaded_levers.draw(self.layout, torques.members, title)
        return Scene(words, (self._elements(torques), self._sum(torques)), (levers, self._most(setup)))

    def _elements(self, torques: Torques) -> Table:
        rows = []
        for name, value in torques.elements.items():
            element = self.layout.element_named(name)
            first, second = map(member_label, element.between)
            ends = f"{said(element.kind)} {first} – {second}"
            rows.append((name, ends, "?" if value is None else f"{decimal(value, 1)} N·m"))
        caption = say("Torque of each applied element on its first-named part")
        return Table(caption, (say("Element"), say("What it touches"), say("Torque")), tuple(rows))

    def _sum(self, torques: Torques) -> Table:
        """Return what acts on the train from outside, with a running sum."""
        parts = [(member_label(INPUT), torques.input_torque)]
        for name, value in torques.elements.items():
            if "housing" in self.layout.element_named(name).between and value is not None:
                parts.append((say("housing, through {name}", name=name), value))
        parts.append((say("output (the load)"), torques.output_torque or Fraction(0)))
        rows, total = [], Fraction(0)
        for name, value in parts:
            total += value
            rows.append((name, f"{decimal(value, 1)} N·m", f"{decimal(total, 1)} N·m"))
        return Table(say("All torques on the train from outside"), (say("From"), say("Torque"), say("Sum so far")), tuple(rows))

    def _most(self, setup: Setup) -> str:
        """Return bars of the most that each element carries in the ranges predicted so far, at this input torque."""
        most: dict[str, tuple[Fraction, str]] = {}
        known = [n for n in self._ranges if n == setup.word("range") or f"range {n}" in setup.opened]
        for range_name in known:
            torques = self._of(range_name, setup.number("torque"))
            for name, value in torques.elements.items():
                if value is not None and torques.state in _ALL_CARRY and abs(value) > most.get(name, (Fraction(0), ""))[0]:
                    most[name] = (abs(value), range_name)
        shown = [
            Bar(name, float(most[name][0]), say("{most} N·m in {most2}", most=decimal(most[name][0], 0), most2=most[name][1]))
            for name in (element.name for element in self.layout.elements)
            if name in most
        ]
        capacity = setup.number("capacity")
        ranges = say_n("range {known}", "ranges {known}", len(known), known=listed(known))
        limit = Limit(float(capacity), say("one pack holds {capacity} N·m", capacity=decimal(capacity)))
        title = say("The most that each element of {called} carries, {ranges}", called=called(self.layout), ranges=ranges)
        return bars.picture(
            shown, title, say("At {number} N·m of input torque, without losses", number=decimal(setup.number("torque"))), limit
        ).svg()
