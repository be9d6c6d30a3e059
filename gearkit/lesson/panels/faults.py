"""The fault panel: one faulty element and what every range becomes; speed readings and the faults that explain them.

The browser works everything out from the train that the kernel sends once. From Python the same state is read and set,
and the same facts come from the solver.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import traitlets

from gearkit.draw.lever import lever_diagram
from gearkit.draw.noted import cannot_be_put_together
from gearkit.draw.stick import stick_diagram
from gearkit.draw.stick.placement import placed
from gearkit.lesson.answering import LONGEST_TEXT
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.bundle import script
from gearkit.lesson.panels.figures import figure_of
from gearkit.lesson.panels.spec import train_spec
from gearkit.lesson.trains.train_choice import TrainChoice
from gearkit.solve.service.diagnosis import Diagnosis, Reading, diagnose, reading
from gearkit.solve.service.faults import CAUTION, ElementFault, FaultCase, element_faults, fault_cases
from gearkit.text.phrases import decimal, listed
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import say
from gearkit.words.terms import FaultMode

READINGS = 2
MODES = tuple(mode.value for mode in FaultMode)


class FaultPanel(TrainChoice, Panel):
    """A faulty element in; all ranges with it, and the faults that fit two speed readings, out.

    Args:
        layout: the layout; it has at least one element and one range.
        traits: title and first state.
    """

    _esm = script("fault_panel")
    train = traitlets.Dict().tag(sync=True)
    drawing = traitlets.Unicode("").tag(sync=True)
    caution = traitlets.Unicode().tag(sync=True)
    element = traitlets.Unicode().tag(sync=True)
    mode = traitlets.Enum(MODES, FaultMode.STUCK_OFF.value).tag(sync=True)
    looked_at = traitlets.Unicode().tag(sync=True)
    readings = traitlets.List(traitlets.Dict()).tag(sync=True)
    speeds = traitlets.List(traitlets.Dict()).tag(sync=True)

    def __init__(self, layout: Layout, **traits: Any) -> None:
        super().__init__(**{**self.begin(layout), "caution": say(CAUTION), **traits})
        self._on_readings()
        self.observe(self._on_readings, "readings")

    def begin(self, layout: Layout) -> dict[str, Any]:
        """Take a layout and return the state in which its panel begins: the first element of its first range fails.

        Args:
            layout: it has at least one element and one range.

        Raises:
            UsageError: it has not.
        """
        if not layout.ranges or not layout.elements:
            raise UsageError(
                f"{layout.name} has no {'elements' if layout.ranges else 'ranges'} to look at; give a layout with "
                "elements and ranges."
            )
        self.layout_shown, self._placement = layout, placed(layout)
        first = layout.ranges[0]
        return {
            "train": train_spec(layout),
            "note": cannot_be_put_together(layout.sets),
            "drawing": stick_diagram.picture(layout, None, self._placement, alone=False).svg(),
            "element": first.engaged[0] if first.engaged else layout.elements[0].name,
            "mode": FaultMode.STUCK_OFF.value,
            "looked_at": first.name,
            "readings": [
                {"range": item.name, "input": "", "output": ""} for item in (*layout.ranges, *layout.ranges)[:READINGS]
            ],
        }

    def has_room_for(self, layout: Layout) -> bool:
        """Return whether a layout has elements and ranges."""
        return layout.plain and bool(layout.ranges and layout.elements)

    @traitlets.validate("element")  # type: ignore[untyped-decorator]  # traitlets are seen without types
    def _known_element(self, proposal: Any) -> str:
        return self.layout_shown.element_named(proposal["value"]).name

    @traitlets.validate("looked_at")  # type: ignore[untyped-decorator]  # as above
    def _known_range(self, proposal: Any) -> str:
        return self.layout_shown.range_named(proposal["value"]).name

    @traitlets.validate("readings")  # type: ignore[untyped-decorator]  # as above
    def _readable(self, proposal: Any) -> list[dict[str, str]]:
        rows = list(proposal["value"])
        if len(rows) != READINGS:
            raise UsageError(f"{len(rows)} readings; the panel has room for {READINGS}. Leave speeds empty in place of a row.")
        return [
            {"range": self.layout_shown.range_named(str(row.get("range", ""))).name,
             **{name: str(row.get(name, ""))[:LONGEST_TEXT] for name in ("input", "output")}}
            for row in rows
        ]  # fmt: skip

    @property
    def fault(self) -> ElementFault:
        """The faulty element and how it fails."""
        return ElementFault(self.element, FaultMode(self.mode))

    def fail(self, element: str, mode: str = FaultMode.STUCK_OFF.value) -> None:
        """Choose the faulty element.

        Args:
            element: its name.
            mode: "stuck off", "stuck on", or for a one-way clutch "fitted the wrong way round".

        Raises:
            UsageError: no such element, or a mode that it cannot have.
        """
        name = self.layout_shown.element_named(element).name
        known = [fault.mode.value for fault in element_faults(self.layout_shown) if fault.element == name]
        if mode not in known:
            raise UsageError(f"{element} cannot be {mode!r}; choose from: {', '.join(known)}.")
        with self.hold_sync():
            self.element, self.mode = element, mode

    def read(self, number: int, range_name: str, input_speed: object, output_speed: object) -> None:
        """Write one speed reading.

        Args:
            number: 1 or 2.
            range_name: the range that was asked for.
            input_speed: as a number or text, in r/min.
            output_speed: as a number or text, in r/min; below 0 in reverse.

        Raises:
            UsageError: no such row or range, or speeds that are no numbers.
        """
        if number not in range(1, READINGS + 1):
            raise UsageError(f"Reading {number}: the panel has room for readings 1 to {READINGS}.")
        self._reading({"range": range_name, "input": str(input_speed), "output": str(output_speed)})
        rows = [dict(row) for row in self.readings]
        rows[number - 1] = {"range": range_name, "input": str(input_speed), "output": str(output_speed)}
        self.readings = rows

    def cases(self) -> tuple[FaultCase, ...]:
        """Return what the fault makes of every range."""
        return fault_cases(self.layout_shown, self.fault)

    def taken(self) -> tuple[Reading, ...]:
        """Return the readings that are filled in.

        Raises:
            UsageError: a speed that is no number.
        """
        return tuple(self._reading(row) for row in self.readings if row["input"].strip() and row["output"].strip())

    def _reading(self, row: Mapping[str, str]) -> Reading:
        turning, driven = figure_of(row["input"], "r/min"), figure_of(row["output"], "r/min")
        return reading(self.layout_shown, f"{turning}:{driven}:{row['range']}")

    def _on_readings(self, _change: object = None) -> None:
        """Read the speeds for the browser; a row that cannot be read says why."""
        rows = []
        for number, row in enumerate(self.readings, start=1):
            told = {"range": row["range"], "input": "", "output": "", "trouble": ""}
            try:
                if row["input"].strip() and row["output"].strip():
                    read = self._reading(row)
                    told |= {"input": str(read.input_speed), "output": str(read.output_speed)}
            except UsageError as fault:
                told["trouble"] = say("Reading {number}: {fault}", number=number, fault=fault)
            rows.append(told)
        self.speeds = rows

    def diagnosis(self) -> Diagnosis:
        """Return the faults that explain the readings.

        Raises:
            UsageError: no reading is filled in.
        """
        return diagnose(self.layout_shown, self.taken())

    def words(self) -> str:
        """Return in a few sentences what the fault does."""
        cases = self.cases()
        lost = [case.range_name for case in cases if case.lost]
        told = (
            say("{lost} of {cases} ranges change ({lost2})", lost=len(lost), cases=len(cases), lost2=listed(lost))
            if lost
            else say("no range changes")
        )
        looked = next(case for case in cases if case.range_name == self.looked_at)
        ratio = "" if looked.faulty.ratio is None else say(", ratio {ratio}", ratio=decimal(looked.faulty.ratio))
        return say(
            "{layout_shown}, {fault}: {told}. Range {looked_at}: {verdict}{ratio}; {symptom}.",
            layout_shown=self.layout_shown.said_name,
            fault=self.fault.words(),
            told=told,
            looked_at=self.looked_at,
            verdict=looked.faulty.verdict,
            ratio=ratio,
            symptom=looked.symptom(),
        )

    def pictures(self) -> tuple[str, ...]:
        """Return the stick diagram and the levers of the range that is looked at, with the fault."""
        looked = next(case for case in self.cases() if case.range_name == self.looked_at)
        engaged = looked.faulty.engaged
        return (
            stick_diagram.picture(self.layout_shown, engaged, self._placement).svg(),
            lever_diagram.picture(self.layout_shown, engaged).svg(),
        )
