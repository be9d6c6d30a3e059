"""Predict a shift: what lets go, what takes hold, the engine speed after it, and what badly timed elements are felt as.

The trace is simplified on purpose: straight lines, road speed constant. While neither element holds, the engine is free
and speeds up by its own torque over its own inertia; while both hold and disagree, nothing could turn without slip, and no
line is drawn.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import permutations
from math import pi

from gearkit.draw.charts import bars, trace
from gearkit.draw.charts.bars import Bar
from gearkit.draw.charts.trace import Axes, Band, Line
from gearkit.lesson.tasks.task import Ask, Choice, Number, PredictionTask, Scene, Setup, Table, begun, short_name
from gearkit.solve.loads.torques import torques_of
from gearkit.solve.one_way import in_range
from gearkit.solve.ratios import chart
from gearkit.solve.service.shifts import Shift, shift, ways_round
from gearkit.text.phrases import decimal, fixed, listed
from gearkit.train.layout import Layout
from gearkit.words.say import later, said, say
from gearkit.words.terms import Verdict

NONE = later("none")
CLEAN, FLARE, TIE_UP = (
    later("a clean shift"),
    later("flare: engine speed jumps up"),
    later("tie-up: a bump, the engine is pulled down"),
)
# Invented for the lesson's engine; only the slope of a flare depends on it.
ENGINE_INERTIA = 0.2
BEFORE, AFTER = 0.4, 0.5


class ShiftTask(PredictionTask):
    """Choose two ranges, a speed and the timing; predict the swap, the speed after and the feel.

    Args:
        layout: the layout.
    """

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        ranges = tuple(row.name for row in chart(layout).forward)
        self._pairs = {say("{a} to {b}", a=a, b=b): (a, b) for a, b in permutations(ranges, 2)}
        names = tuple(self._pairs)
        super().__init__(
            say("shifts of {short}", short=short_name(layout)),
            say(
                "Compare the two rows of the chart. Which elements let go and take hold, where does the engine speed end, and what is felt with this timing?"
            ),
            (
                Choice(
                    "shift",
                    say("Shift"),
                    names,
                    say("{ranges} to {ranges2}", ranges=ranges[2], ranges2=ranges[3]) if len(ranges) > 3 else names[0],
                ),
                Number("speed", say("Engine speed"), "r/min", Fraction(1000), Fraction(5000), Fraction(100), Fraction(3000)),
                Number("torque", say("Engine torque"), "N·m", Fraction(20), Fraction(400), Fraction(10), Fraction(150)),
                Number("time", say("Shift time"), "s", Fraction(2, 10), Fraction(1), Fraction(1, 10), Fraction(5, 10)),
                Number("overlap", say("Overlap"), "s", Fraction(-3, 10), Fraction(3, 10), Fraction(1, 10), Fraction(0)),
            ),
            layout=layout,
        )

    def _shift(self, setup: Setup) -> Shift:
        return shift(self.layout, *self._pairs[setup.word("shift")], setup.number("speed"))

    def case(self, setup: Setup) -> str:
        """Return the shift and the kind of timing."""
        overlap = setup.number("overlap")
        timing = (
            say("both hold for a moment") if overlap > 0 else say("neither holds for a moment") if overlap else say("no gap")
        )
        return f"{setup.word('shift')}, {timing}"

    def asks(self, setup: Setup) -> tuple[Ask, ...]:
        """Return elements, speed and feel."""
        names = tuple(element.name for element in self.layout.elements)
        return (
            Ask("off", say("Goes off"), (*names, NONE), several=True),
            Ask("on", say("Comes on"), (*names, NONE), several=True),
            Ask("speed", say("Engine speed after"), unit="r/min", example="2100", near=Fraction(3, 100)),
            Ask("feel", say("Felt as"), (CLEAN, FLARE, TIE_UP)),
        )

    def truth(self, setup: Setup) -> dict[str, Fraction | str]:
        """Return elements, speed and feel."""
        change = self._shift(setup)
        assert change.input_after is not None
        return {
            "off": ", ".join(change.off_going) or NONE,
            "on": ", ".join(change.on_coming) or NONE,
            "speed": change.input_after,
            "feel": self._feel(change, setup.number("overlap")),
        }

    def _feel(self, change: Shift, overlap: Fraction) -> str:
        if overlap > 0 and change.off_going and change.on_coming:
            return CLEAN if not change.overlap.verdict.locked else TIE_UP
        if overlap < 0 and change.off_going and change.underlap.verdict is Verdict.NEUTRAL:
            return FLARE
        return CLEAN

    def given(self, setup: Setup) -> Scene:
        """Return the two rows of the chart and the trace up to the start of the shift."""
        before, after = self._pairs[setup.word("shift")]
        speed = float(setup.number("speed"))
        words = say(
            "{begun}, {before} to {after} at {number} r/min and {number2} N·m; overlap {number3} s.",
            begun=begun(self.layout),
            before=before,
            after=after,
            number=decimal(setup.number("speed")),
            number2=decimal(setup.number("torque")),
            number3=decimal(setup.number("overlap")),
        )
        line = Line(say("engine speed"), ((-BEFORE, speed), (0.0, speed)))
        said = say("Engine speed against time up to the start of the shift: {speed} r/min.", speed=f"{speed:g}")
        return Scene(words, (self._rows(before, after),), (self._drawn([line], (), said, setup),))

    def _rows(self, before: str, after: str) -> Table:
        names = [element.name for element in self.layout.elements]
        rows = tuple(
            (name, *("●" if element in self.layout.engaged_in(name) else "·" for element in names)) for name in (before, after)
        )
        return Table(say("Two rows of the application chart"), (say("Range"), *names), rows)

    def _drawn(self, lines: list[Line], bands: tuple[Band, ...], said: str, setup: Setup) -> str:
        points = [y for line in lines for _, y in line.points]
        axes = Axes(say("time, s"), say("engine speed, r/min"), (-BEFORE, 0.0), (float(setup.number("time")) + AFTER + 0.3,
                    max(6000.0, *points) * 1.02))  # fmt: skip
        note = say("Simplified: straight lines, road speed constant")
        return trace.picture(
            lines,
            axes,
            say("{begun}, shift {word}", begun=begun(self.layout), word=setup.word("shift")),
            said,
            line=note,
            bands=bands,
        ).svg()

    def found(self, setup: Setup) -> Scene:
        """Return the whole trace, slip before and after, and the heat."""
        change = self._shift(setup)
        assert change.input_after is not None
        truth = self.truth(setup)
        swap = say(
            "{off_going} off, {on_coming} on",
            off_going=listed(change.off_going) or say("nothing"),
            on_coming=listed(change.on_coming) or say("nothing"),
        )
        words = say(
            "{word}: {swap}, a {kind}. Engine {input_before} → {input_after} r/min. {timing}",
            word=setup.word("shift"),
            swap=swap,
            kind=change.kind,
            input_before=decimal(change.input_before),
            input_after=decimal(change.input_after, 0),
            timing=self._timing(change, setup.number("overlap")),
        )
        if change.kind.value == "double swap":
            ways = ways_round(self.layout, *self._pairs[setup.word("shift")])
            words += (" " + say("By single swaps: by way of {ways}.", ways=listed(ways, "or"))) if ways else ""
        pictures = (self._trace(change, setup, str(truth["feel"])), self._slips(change))
        tables = (*self._heat(change, setup), self._so_far(setup))
        return Scene(words, tables, pictures)

    def _timing(self, change: Shift, overlap: Fraction) -> str:
        if overlap > 0:
            return change.overlap_words()
        return change.underlap_words() if overlap < 0 else say("One takes over as the other lets go.")

    def _trace(self, change: Shift, setup: Setup, feel: str) -> str:
        assert change.input_after is not None
        gap, time = abs(float(setup.number("overlap"))), float(setup.number("time"))
        start, after = float(change.input_before), float(change.input_after)
        bands: tuple[Band, ...] = ()
        lines = [Line(say("engine speed"), ((-BEFORE, start), (0.0, start)))]
        begin, level = 0.0, start
        if feel == FLARE:
            level = start + gap * float(setup.number("torque")) / ENGINE_INERTIA * 30 / pi
            lines = [Line(say("engine speed"), ((-BEFORE, start), (0.0, start), (gap, level)))]
            begin, bands = gap, (Band(0.0, gap, say("neither holds")),)
        elif feel == TIE_UP:
            begin, bands = gap, (Band(0.0, gap, say("both hold: binds")),)
        rest = ((begin, level), (begin + time, after), (begin + time + AFTER, after))
        lines.append(Line(say("engine speed"), rest))
        said = say(
            "Engine speed against time: {start} r/min before, {after} r/min after; {feel}.",
            start=fixed(start, 0),
            after=fixed(after, 0),
            feel=say(feel),
        )
        if feel == FLARE:
            said += " " + say(
                "In the gap of {gap} s it rises to {level} r/min with an engine inertia of {engine_inertia} kg·m².",
                gap=f"{gap:g}",
                level=fixed(level, 0),
                engine_inertia=f"{ENGINE_INERTIA:g}",
            )
        return self._drawn(lines, bands, said, setup)

    def _slips(self, change: Shift) -> str:
        shown = []
        for when, slips in ((later("{name} before"), change.slip_before), (later("{name} after"), change.slip_after)):
            for name, slip in slips.items():
                text = say("free") if slip is None else say("{speed} r/min", speed=decimal(slip, 0))
                shown.append(Bar(say(when, name=name), 0.0 if slip is None else float(slip), text))
        shown = shown or [Bar(say("nothing slips"), 0.0, say("{speed} r/min", speed=0))]
        line = say("On-coming elements before the shift, off-going ones after it; sign: first part less second")
        return bars.picture(shown, say("Slip across the open elements"), line).svg()

    def _heat(self, change: Shift, setup: Setup) -> tuple[Table, ...]:
        carried = torques_of(in_range(self.layout, change.to_range), setup.number("torque"), basic_efficiency=1)
        rows = []
        for name, slip in change.slip_before.items():
            torque = carried.elements.get(name)
            if slip is None or torque is None:
                continue
            joules = float(abs(torque) * abs(slip) * setup.number("time")) * pi / 30 / 2
            rows.append(
                (
                    name,
                    f"{decimal(abs(torque), 1)} N·m",
                    say("{speed} r/min", speed=decimal(abs(slip), 0)),
                    say("{joules} kJ", joules=fixed(joules / 1000, 2)),
                )
            )
        head = (say("On-coming"), say("Torque in the new range"), say("Slip at the start"), say("½ × torque × slip × time"))
        return (Table(say("Heat, if that torque is held while slip falls evenly"), head, tuple(rows)),) if rows else ()

    def _so_far(self, setup: Setup) -> Table:
        """Return the shifts predicted so far, so that they can be held against each other."""
        rows = []
        for name, (before, after) in self._pairs.items():
            if name != setup.word("shift") and not any(case.startswith(f"{name},") for case in setup.opened):
                continue
            each = shift(self.layout, before, after, setup.number("speed"))
            assert each.input_after is not None
            rows.append((name, said(each.kind), say("{speed} r/min", speed=decimal(each.input_after, 0))))
        caption = say("Shifts predicted so far, from {number} r/min", number=decimal(setup.number("speed")))
        return Table(caption, (say("Shift"), say("Kind"), say("Engine after")), tuple(rows))
