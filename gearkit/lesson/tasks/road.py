"""Predict engine speed after an upshift and road speed in a range, with one tooth of the saw-tooth left out."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import ceil

from gearkit.draw.charts import trace
from gearkit.draw.charts.trace import Axes, Line
from gearkit.lesson.tasks.task import Ask, Choice, Number, PredictionTask, Scene, Setup, Table, begun, short_name
from gearkit.solve.on_road.vehicle import Vehicle, engine_speed, grade_held, road_load, road_speed, tractive_effort
from gearkit.solve.ratios import RangeRow, chart
from gearkit.text.phrases import decimal
from gearkit.train.layout import Layout

KM_H = 3.6
HIGHWAY = 100


class RoadTask(PredictionTask):
    """Choose which tooth is left out, the final drive, the tyre and the shift speed; predict the tooth.

    Args:
        layout: the layout.
        vehicle: mass, engine and resistances.
    """

    def __init__(self, layout: Layout, vehicle: Vehicle) -> None:
        self.layout = layout
        self._vehicle = vehicle
        self._ladder: dict[str, RangeRow] = {row.name: row for row in chart(layout).forward}
        names = tuple(self._ladder)
        super().__init__(
            f"{short_name(layout)} on the road",
            "Every upshift is made at the same engine speed. How fast does the engine turn just after the shift into "
            "the missing range, and how fast is the vehicle when it is shifted out of?",
            (
                Choice("missing", "Missing range", names[1:], names[1]),
                Number("final_drive", "Final drive", "", Fraction(25, 10), Fraction(6), Fraction(1, 10), Fraction(41, 10)),
                Number("radius", "Rolling radius", "m", Fraction(25, 100), Fraction(55, 100), Fraction(1, 100),
                       Fraction(33, 100)),
                Number("speed", "Shifts at", "r/min", Fraction(1500), Fraction(4500), Fraction(100), Fraction(3000)),
                Number("mass", "Mass", "kg", Fraction(1000), Fraction(3500), Fraction(50), Fraction(1900)),
            ),
            layout=layout,
        )  # fmt: skip

    def case(self, setup: Setup) -> str:
        """Return the missing range."""
        return f"range {setup.word('missing')} missing"

    def asks(self, setup: Setup) -> tuple[Ask, ...]:
        """Return the two figures."""
        missing = setup.word("missing")
        shift = f"{decimal(setup.number('speed'))} r/min"
        return (
            Ask(
                "after",
                f"Engine just after the shift into {missing}",
                unit="r/min",
                example="1600",
                near=Fraction(3, 100),
            ),
            Ask("road", f"Road speed in {missing} at {shift}", unit="km/h", example="60", near=Fraction(3, 100)),
        )

    def _driven(self, setup: Setup) -> Vehicle:
        return replace(
            self._vehicle,
            final_drive=float(setup.number("final_drive")),
            rolling_radius=float(setup.number("radius")),
            mass=float(setup.number("mass")),
        )

    def _ratio(self, name: str) -> float:
        found = self._ladder[name].ratio
        assert found is not None
        return found.decimal

    def truth(self, setup: Setup) -> dict[str, Fraction | str]:
        """Return engine speed after the shift and road speed at the shift speed."""
        missing = setup.word("missing")
        names = list(self._ladder)
        before = self._ladder[names[names.index(missing) - 1]].ratio
        after = self._ladder[missing].ratio
        assert before is not None
        assert after is not None
        speed = road_speed(self._driven(setup), after.decimal, float(setup.number("speed"))) * KM_H
        return {"after": setup.number("speed") * after.exact / before.exact, "road": Fraction(speed)}

    def given(self, setup: Setup) -> Scene:
        """Return the saw-tooth with a gap."""
        words = (
            f"{begun(self.layout)} with final drive {decimal(setup.number('final_drive'))}, rolling radius "
            f"{decimal(setup.number('radius'))} m, shifts at {decimal(setup.number('speed'))} r/min; the tooth of range "
            f"{setup.word('missing')} is left out."
        )
        ratios = Table("Ratios", tuple(self._ladder), (tuple(decimal(self._ratio(name)) for name in self._ladder),))
        return Scene(words, (ratios,), (self._saw(setup, setup.word("missing")),))

    def found(self, setup: Setup) -> Scene:
        """Return the whole saw-tooth, tractive effort, and a table of every range."""
        truth = self.truth(setup)
        assert isinstance(truth["after"], Fraction)
        assert isinstance(truth["road"], Fraction)
        vehicle = self._driven(setup)
        top = list(self._ladder)[-1]
        cruise = engine_speed(vehicle, self._ratio(top), HIGHWAY / KM_H)
        words = (
            f"Into {setup.word('missing')}: the engine comes down to {decimal(truth['after'], 0)} r/min and is back at "
            f"{decimal(setup.number('speed'))} at {decimal(truth['road'], 1)} km/h. At {HIGHWAY} km/h in {top} it turns "
            f"{cruise:.0f} r/min."
        )
        return Scene(words, (self._table(setup, vehicle),), (self._saw(setup, ""), self._effort(vehicle)))

    def _saw(self, setup: Setup, missing: str) -> str:
        vehicle, speed = self._driven(setup), float(setup.number("speed"))
        lines, drops, said, start = [], [], [], 0.0
        for name in self._ladder:
            end = road_speed(vehicle, self._ratio(name), speed) * KM_H
            low = engine_speed(vehicle, self._ratio(name), start / KM_H)
            if name != missing:
                if start:
                    drops.append(Line("upshift", ((start, speed), (start, low))))
                lines.append(Line(f"range {name}", ((start, low), (end, speed))))
                said.append(f"range {name} from {low:.0f} r/min at {start:.0f} km/h to {speed:.0f} at {end:.0f} km/h")
            start = end
        axes = Axes("road speed, km/h", "engine speed, r/min", (0.0, 0.0), (start * 1.03, speed * 1.12))
        left_out = f" Range {missing} is left out." if missing else ""
        description = f"Saw-tooth of engine speed against road speed: {'; '.join(said)}.{left_out}"
        title = f"Engine speed against road speed, shifts at {speed:.0f} r/min"
        return trace.draw([*lines, *drops], axes, title, description, line="No slip in converter or tyres")

    def _effort(self, vehicle: Vehicle) -> str:
        lines, said, fastest = [], [], 0.0
        for name in self._ladder:
            ratio = self._ratio(name)
            points = tuple(
                (road_speed(vehicle, ratio, n) * KM_H, tractive_effort(vehicle, ratio, torque) / 1000)
                for n, torque in vehicle.engine.points
            )
            lines.append(Line(f"range {name}", points))
            said.append(f"range {name} at most {max(y for _, y in points):.2f} kN")
            fastest = max(fastest, points[-1][0])
        loads = tuple(
            (v, road_load(vehicle, v / KM_H) / 1000) for v in range(0, ceil(fastest) + 1, max(1, ceil(fastest) // 20))
        )
        lines.append(Line("road load on the flat", loads, marked=True))
        most = max(y for line in lines for _, y in line.points)
        axes = Axes("road speed, km/h", "tractive effort, kN", (0.0, 0.0), (fastest * 1.03, most * 1.08))
        description = f"Tractive effort at full load against road speed: {'; '.join(said)}; with the road load on the flat."
        return trace.draw(lines, axes, "Tractive effort at full load", description, line=f"{vehicle.name}, engine invented")

    def _table(self, setup: Setup, vehicle: Vehicle) -> Table:
        speed = float(setup.number("speed"))
        peak = max(torque for _, torque in vehicle.engine.points)
        rows = []
        for name in self._ladder:
            ratio = self._ratio(name)
            effort = tractive_effort(vehicle, ratio, peak)
            grade = grade_held(vehicle, effort)
            held = "any" if grade is None else f"{100 * grade:.1f} %"
            road = road_speed(vehicle, ratio, speed) * KM_H
            rows.append((name, decimal(ratio), f"{road:.1f} km/h", f"{effort:.0f} N", held))
        head = ("Range", "Ratio", f"at {speed:.0f} r/min", "most tractive effort", "steepest grade")
        marked = frozenset({list(self._ladder).index(setup.word("missing"))})
        return Table("Every range in this vehicle", head, tuple(rows), marked)
