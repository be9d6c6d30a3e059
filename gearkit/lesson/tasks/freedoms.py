"""Predict how many freedoms are left while some elements are applied, and what input and output then do."""

from __future__ import annotations

from fractions import Fraction

from gearkit.draw.core.wording import plural
from gearkit.draw.stick import stick_diagram
from gearkit.lesson.tasks.task import Ask, Choice, Number, PredictionTask, Scene, Setup, Table, Ticks, short_name
from gearkit.solve.exact.linear import rank, solve
from gearkit.solve.mobility import assess, element_rows, set_rows, shaft_columns
from gearkit.text.phrases import decimal, listed, member_label, shown_word
from gearkit.train.layout import Layout
from gearkit.words.say import later, said, say
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, Verdict

ROLLS, HELD = later("free to roll"), later("held")


class Freedoms(PredictionTask):
    """Tick elements; predict the freedoms that are left, and the state.

    Args:
        layout: the layout.
    """

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        words = {e.name: f"{said(e.kind)} {member_label(e.between[0])} – {member_label(e.between[1])}" for e in layout.elements}
        super().__init__(
            say("freedoms of {short}", short=short_name(layout)),
            say("Count shafts, sets and independent elements, then say what is left and what input and output do."),
            (
                Ticks("applied", say("Elements applied"), words),
                Choice("vehicle", say("The vehicle is"), (ROLLS, HELD), ROLLS),
                Number("speed", say("Input speed"), "r/min", Fraction(300), Fraction(3000), Fraction(50), Fraction(700)),
            ),
            layout=layout,
        )
        self._columns = shaft_columns(layout)
        self._size = max(self._columns.values()) + 1

    def case(self, setup: Setup) -> str:
        """Return the applied elements and whether the vehicle is held."""
        applied = listed(setup.names("applied")) or say("nothing")
        return say("{applied} applied, vehicle {word}", applied=applied, word=say(setup.word("vehicle")))

    def asks(self, setup: Setup) -> tuple[Ask, ...]:
        """Return the number of freedoms and the state."""
        return (
            Ask("freedoms", say("Freedoms left"), ("0", "1", "2", "3")),
            Ask("state", say("State of the train"), tuple(verdict.value for verdict in Verdict)),
        )

    def given(self, setup: Setup) -> Scene:
        """Return the counts, and the stick diagram without anything that moves."""
        applied = setup.names("applied")
        words = say(
            "{size} shafts besides the housing, {sets}, {elements} applied, vehicle {word}.",
            size=self._size,
            sets=plural(len(self.layout.sets), "set"),
            elements=plural(len(applied), "element"),
            word=say(setup.word("vehicle")),
        )
        return Scene(words, (), (stick_diagram.picture(self.layout, alone=False).svg(),))

    def truth(self, setup: Setup) -> dict[str, Fraction | str]:
        """Return freedoms and state; the state is that of the train, whether the vehicle is held or not."""
        free = self._size - rank(self._rows(setup))
        return {"freedoms": str(free), "state": assess(self.layout, setup.names("applied")).verdict.value}

    def found(self, setup: Setup) -> Scene:
        """Return how many freedoms are left, and which shafts are fixed and which can still move."""
        applied = setup.names("applied")
        truth = self.truth(setup)
        rows = self._rows(setup)
        said = len(rows) - len(self.layout.sets)
        independent = rank(rows) - rank(set_rows(self.layout, self._columns))
        extra = (" " + say("(they repeat each other)")) if independent < said else ""
        words = say(
            "{size} shafts − {sets} − {independent} independent out of {said} that hold or join{extra} leaves {truth}. The train: {truth2}.",
            size=self._size,
            sets=plural(len(self.layout.sets), "set"),
            independent=independent,
            said=said,
            extra=extra,
            truth=truth["freedoms"],
            truth2=shown_word(str(truth["state"])),
        )
        tables = (self._speeds(setup, rows),)
        return Scene(words, tables, (stick_diagram.picture(self.layout, applied, alone=False).svg(),))

    def _rows(self, setup: Setup) -> list[list[int]]:
        rows: list[list[int]] = set_rows(self.layout, self._columns)
        rows += element_rows(self.layout, self._columns, setup.names("applied"))
        if setup.word("vehicle") == HELD:
            rows.append([int(column == self._columns[OUTPUT]) for column in range(self._size)])
        return rows

    def _shaft(self, column: int) -> str:
        members = [name for name, own in self._columns.items() if own == column]
        return " = ".join(member_label(name) for name in members if name != HOUSING)

    def _speeds(self, setup: Setup, rows: list[list[int]]) -> Table:
        row = [int(column == self._columns[INPUT]) for column in range(self._size)]
        speed = setup.number("speed")
        values = solve([*rows, row], [*([0] * len(rows)), speed])
        caption = say("Shafts with the input at {speed} r/min", speed=decimal(speed))
        if values is None:
            values = solve([*rows, row], [0] * (len(rows) + 1))
            caption = say("Shafts with the input at rest: it cannot turn")
        assert values is not None
        body = tuple(
            (self._shaft(column), say("can move") if value is None else say("{speed} r/min", speed=decimal(value, 1)))
            for column, value in enumerate(values)
        )
        return Table(caption, (say("Shaft"), say("Speed")), body)
