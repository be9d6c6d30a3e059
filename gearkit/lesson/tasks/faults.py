"""Find a hidden fault: ask for ranges, read two speeds, and name the element and how it fails, on a budget of tests."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from hashlib import sha256

from gearkit.lesson.tasks.task import Ask, Choice, PredictionTask, Scene, Setup, Table, begun, short_name
from gearkit.solve.service.faults import ElementFault, FaultCase, FaultTable, fault_table
from gearkit.text.phrases import capital, decimal, listed
from gearkit.train.layout import Layout
from gearkit.words.say import later, said, say
from gearkit.words.terms import FaultEffect, FaultMode, Verdict

VEHICLES = (
    later("vehicle 1"),
    later("vehicle 2"),
    later("vehicle 3"),
    later("vehicle 4"),
    later("vehicle 5"),
    later("vehicle 6"),
    later("vehicle 7"),
    later("vehicle 8"),
)
TESTS = 4
# Input speeds at which readings are taken; a different one each time, so that speeds have to be divided.
SPEEDS = (1800, 2100, 1500, 2400)
FREE_ENGINE = 3200


class FaultHunt(PredictionTask):
    """Eight vehicles with a hidden fault each; four tests; then the element and its mode.

    Args:
        layout: the layout.
        seed: which faults are hidden; the same seed hides the same ones.
    """

    action = later("Ask for this range and read the speeds")
    budget = TESTS

    def __init__(self, layout: Layout, seed: str = "practice") -> None:
        self.layout = layout
        self._seed = seed
        self._table: FaultTable = fault_table(layout)
        self._ranges = tuple(item.name for item in layout.ranges)
        # A fault that nobody can notice in any range is no riddle.
        self._riddles = tuple(fault for fault in self._table.faults if self._table.lost(fault))
        super().__init__(
            say("a hidden fault in {short}", short=short_name(layout)),
            say(
                "Test up to {tests} ranges, divide input by output speed, and compare the result with the chart. Then name the element, and whether it is stuck on or off.",
                tests=TESTS,
            ),
            (
                Choice("vehicle", say("Vehicle in the bay"), VEHICLES, VEHICLES[0]),
                Choice("range", say("Range to ask for"), self._ranges, self._ranges[0]),
            ),
            layout=layout,
        )

    def hidden(self, setup: Setup) -> ElementFault:
        """Return the fault that is hidden in the vehicle at hand."""
        text = f"{self._seed}/{self.layout.name}/{setup.word('vehicle')}"
        number = int.from_bytes(sha256(text.encode()).digest()[:8], "big")
        return self._riddles[number % len(self._riddles)]

    def case(self, setup: Setup) -> str:
        """Return the vehicle."""
        return say(setup.word("vehicle"))

    def asks(self, setup: Setup) -> tuple[Ask, ...]:
        """Return element and mode."""
        modes = tuple(mode.value for mode in FaultMode if any(fault.mode is mode for fault in self._table.faults))
        return (
            Ask("element", say("Faulty element"), tuple(element.name for element in self.layout.elements)),
            Ask("mode", say("It is"), modes),
        )

    def truth(self, setup: Setup) -> dict[str, Fraction | str]:
        """Return element and mode."""
        fault = self.hidden(setup)
        return {"element": fault.element, "mode": fault.mode.value}

    def _case(self, fault: ElementFault, range_name: str) -> FaultCase:
        return next(case for case in self._table.of(fault) if case.range_name == range_name)

    def given(self, setup: Setup) -> Scene:
        """Return the application chart and the readings taken so far."""
        fault = self.hidden(setup)
        taken = [str(step["range"]) for step in setup.steps]
        rows = tuple(self._reading(fault, name, SPEEDS[number % len(SPEEDS)]) for number, name in enumerate(taken))
        words = say(
            "{begun} in {word}: {taken} of {tests} tests done.",
            begun=begun(self.layout),
            word=say(setup.word("vehicle")),
            taken=len(taken),
            tests=TESTS,
        )
        if rows:
            words += " " + say(
                "Last: range {rows}, input {rows2}, output {rows3} r/min, the vehicle {rows4}.",
                rows=rows[-1][0],
                rows2=rows[-1][1],
                rows3=rows[-1][2],
                rows4=rows[-1][3],
            )
        readings = Table(
            say("Readings"), (say("Asked for"), say("Input, r/min"), say("Output, r/min"), say("The vehicle")), rows
        )
        return Scene(words, (*((readings,) if rows else ()), self._chart(None)))

    def _reading(self, fault: ElementFault, range_name: str, speed: int) -> tuple[str, str, str, str]:
        working = self._case(fault, range_name).faulty
        if working.ratio is not None:
            output = Fraction(speed) / working.ratio
            return (range_name, str(speed), decimal(output, 1), say("drives forward") if output > 0 else say("drives backward"))
        if working.verdict is Verdict.NEUTRAL:
            wanted = self._case(fault, range_name).sound.verdict
            flares = wanted is Verdict.RANGE
            return (
                range_name,
                str(FREE_ENGINE if flares else 900),
                "0",
                say("stands, engine flares") if flares else say("stands"),
            )
        if working.verdict is Verdict.OUTPUT_LOCKED:
            return (range_name, str(FREE_ENGINE), "0", say("is held, engine flares"))
        return (range_name, "0", "0", say("binds, engine stalls"))

    def _chart(self, fault: ElementFault | None) -> Table:
        names = [element.name for element in self.layout.elements]
        head = [say("Range"), *names, say("Ratio")]
        rows = []
        for item in self.layout.ranges:
            marks = ["●" if name in item.engaged else "·" for name in names]
            ratio = self._case(self._table.faults[0], item.name).sound.ratio
            row = [item.name, *marks, "–" if ratio is None else decimal(ratio)]
            if fault is not None:
                row.append(self._case(fault, item.name).symptom())
            rows.append(tuple(row))
        if fault is None:
            return Table(say("Application chart of a train without a fault"), tuple(head), tuple(rows))
        lost = frozenset(n for n, item in enumerate(self.layout.ranges) if item.name in self._table.lost(fault))
        return Table(say("Chart with {fault}", fault=fault.words()), (*head, say("What happens")), tuple(rows), lost)

    def found(self, setup: Setup) -> Scene:
        """Return the fault in the chart, what each test left, and the tests that would have been quickest."""
        fault = self.hidden(setup)
        same = self._same_as(fault)
        words = say(
            "{capitalize}: {fault}. Ranges that still work: {working}.",
            capitalize=capital(say(setup.word("vehicle"))),
            fault=fault.words(),
            working=self._working(fault),
        )
        if same:
            words += " " + say("No test of this kind tells it from {each}.", each=listed((each.words() for each in same), "or"))
        unsafe = self._table.unsafe(fault)
        if unsafe:
            words += " " + say("Not safe: it drives where it should not in {unsafe}.", unsafe=listed(unsafe))
        taken = [str(step["range"]) for step in setup.steps]
        tables = (self._chart(fault), self._divided(fault, taken), self._narrowed(fault, taken), self._quickest(fault))
        return Scene(words, tuple(table for table in tables if table.rows))

    def _divided(self, fault: ElementFault, taken: list[str]) -> Table:
        rows = []
        for number, name in enumerate(taken):
            ratio = self._case(fault, name).faulty.ratio
            actual = self._case(fault, name).actual_range
            belongs = "–" if ratio is None else actual or say("no range")
            reading = self._reading(fault, name, SPEEDS[number % len(SPEEDS)])
            rows.append((*reading, "–" if ratio is None else decimal(ratio), belongs))
        head = (
            say("Asked for"),
            say("Input, r/min"),
            say("Output, r/min"),
            say("The vehicle"),
            say("Ratio"),
            say("which is range"),
        )
        return Table(say("Your readings, divided"), head, tuple(rows))

    def _working(self, fault: ElementFault) -> str:
        return listed(self._table.limp_home(fault)) or say("none")

    def _outcome(self, fault: ElementFault, range_name: str) -> tuple[str, Fraction | None]:
        working = self._case(fault, range_name).faulty
        locked = not working.verdict.input_turns
        return ("binds" if locked else working.verdict.value, working.ratio)

    def _same_as(self, fault: ElementFault) -> list[ElementFault]:
        own = [self._outcome(fault, name) for name in self._ranges]
        return [f for f in self._riddles if f != fault and [self._outcome(f, name) for name in self._ranges] == own]

    def _narrowed(self, fault: ElementFault, tests: list[str]) -> Table:
        left = list(self._riddles)
        rows = [(say("before any test"), str(len(left)), "")]
        for name in tests:
            left = [each for each in left if self._outcome(each, name) == self._outcome(fault, name)]
            rows.append(
                (
                    say("after range {name}", name=name),
                    str(len(left)),
                    listed(each.words() for each in left) if len(left) < 6 else "",
                )
            )
        return Table(say("Single faults that fit the readings"), ("", say("Suspects left"), say("Which")), tuple(rows))

    def _quickest(self, fault: ElementFault) -> Table:
        """Return the tests that split best at every point, and what this vehicle would have answered."""
        left = list(self._riddles)
        rows: list[tuple[str, str, str, str]] = []
        while len(left) > 1 and len(rows) < len(self._ranges):
            groups = {name: Counter(self._outcome(each, name) for each in left) for name in self._ranges}
            name = min(groups, key=lambda each: max(groups[each].values()))
            if len(groups[name]) < 2:
                break
            split = " + ".join(str(size) for size in sorted(groups[name].values(), reverse=True))
            left = [each for each in left if self._outcome(each, name) == self._outcome(fault, name)]
            effect = self._case(fault, name).effect
            told = say("as it should") if effect is FaultEffect.SAME else said(effect)
            rows.append((name, split, told, str(len(left))))
        head = (say("Range"), say("splits the suspects into"), say("this vehicle"), say("left"))
        return Table(say("Tests that would have split the suspects best"), head, tuple(rows))
