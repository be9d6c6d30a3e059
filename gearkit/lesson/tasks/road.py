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
from gearkit.text.phrases import decimal, fixed
from gearkit.train.layout import Layout
from gearkit.words.say import say

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
            say("{short} on the road", short=short_name(layout)),
            say("Every upshift is made at the same engine speed. How fast does the engine turn just after the shift into the missing range, and how fast is the vehicle at the next upshift?"),
            (
                Choice("missing", say("Missing range"), names[1:], names[1]),
                Number("final_drive", say("Final drive"), "", Fraction(25, 10), Fraction(6), Fraction(1, 10), Fraction(41, 10)),
                Number("radius", say("Rolling radius"), "m", Fraction(25, 100), Fraction(55, 100), Fraction(1, 100),
                       Fraction(33, 100)),
                Number("speed", say("Shifts at"), "r/min", Fraction(1500), Fraction(4500), Fraction(100), Fraction(3000)),
                Number("mass", say("Mass"), "kg", Fraction(1000), Fraction(3500), Fraction(50), Fraction(1900)),
            ),
            layout=layout,
        )  # fmt: skip

    def case(self, setup: Setup) -> str:
        """Return the missing range."""
        return say("range {word} missing", word=setup.word("missing"))

    def asks(self, setup: Setup) -> tuple[Ask, ...]:
        """Return the two figures."""
        missing = setup.word("missing")
        shift = say("{speed} r/min", speed=decimal(setup.number("speed")))
        return (
            Ask(
                "after",
                say("Engine just after the shift into {missing}", missing=missing),
                unit="r/min",
                example="1600",
                near=Fraction(3, 100),
            ),
            Ask(
                "road",
                say("Road speed in {missing} at {shift}", missing=missing, shift=shift),
                unit="km/h",
                example="60",
                near=Fraction(3, 100),
            ),
        )

    def _driven(self, setup: Setup) -> Vehicle:
        return replace(
            self._vehicle,
            final_drive=float(setup.number("final_drive")),
            rolling_radius=float(setup.number("radius")),
            mass=float(setup.number("mass")),
        )

    def _ratio(self, name: str) -> float:
        ratio = self._ladder[name].ratio
        assert ratio is not None
        return ratio.decimal

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
        words = say(
            "{begun} with final drive {number}, rolling radius {number2} m, shifts at {number3} r/min; the tooth of range {word} is left out.",
            begun=begun(self.layout),
            number=decimal(setup.number("final_drive")),
            number2=decimal(setup.number("radius")),
            number3=decimal(setup.number("speed")),
            word=setup.word("missing"),
        )
        ratios = Table(say("Ratios"), tuple(self._ladder), (tuple(decimal(self._ratio(name)) for name in self._ladder),))
        return Scene(words, (ratios,), (self._saw(setup, setup.word("missing")),))

    def found(self, setup: Setup) -> Scene:
        """Return the whole saw-tooth, tractive effort, and a table of every range."""
        truth = self.truth(setup)
        assert isinstance(truth["after"], Fraction)
        assert isinstance(truth["road"], Fraction)
        vehicle = self._driven(setup)
        top = list(self._ladder)[-1]
        cruise = engine_speed(vehicle, self._ratio(top), HIGHWAY / KM_H)
        words = say(
            "Into {word}: the engine comes down to {truth} r/min and is back at {number} at {truth2} km/h. At {highway} km/h in {top} it turns {cruise} r/min.",
            word=setup.word("missing"),
            truth=decimal(truth["after"], 0),
            number=decimal(setup.number("speed")),
            truth2=decimal(truth["road"], 1),
            highway=HIGHWAY,
            top=top,
            cruise=fixed(cruise, 0),
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
                    drops.append(Line(say("upshift"), ((start, speed), (start, low))))
                lines.append(Line(say("range {name}", name=name), ((start, low), (end, speed))))
                said.append(
                    say(
                        "range {name} from {low} r/min at {start} km/h to {speed} at {end} km/h",
                        name=name,
                        low=fixed(low, 0),
                        start=fixed(start, 0),
                        speed=fixed(speed, 0),
                        end=fixed(end, 0),
                    )
                )
            start = end
        axes = Axes(say("road speed, km/h"), say("engine speed, r/min"), (0.0, 0.0), (start * 1.03, speed * 1.12))
        left_out = (" " + say("Range {missing} is left out.", missing=missing)) if missing else ""
        description = say(
            "Saw-tooth of engine speed against road speed: {join}.{left_out}", join="; ".join(said), left_out=left_out
        )
        title = say("Engine speed against road speed, shifts at {speed} r/min", speed=fixed(speed, 0))
        return trace.picture([*lines, *drops], axes, title, description, line=say("No slip in converter or tyres")).svg()

    def _effort(self, vehicle: Vehicle) -> str:
        lines, said, fastest = [], [], 0.0
        for name in self._ladder:
            ratio = self._ratio(name)
            points = tuple(
                (road_speed(vehicle, ratio, n) * KM_H, tractive_effort(vehicle, ratio, torque) / 1000)
                for n, torque in vehicle.engine.points
            )
            lines.append(Line(say("range {name}", name=name), points))
            said.append(say("range {name} at most {max} kN", name=name, max=fixed(max((y for _, y in points)), 2)))
            fastest = max(fastest, points[-1][0])
        loads = tuple(
            (v, road_load(vehicle, v / KM_H) / 1000) for v in range(0, ceil(fastest) + 1, max(1, ceil(fastest) // 20))
        )
        lines.append(Line(say("road load on the flat"), loads, marked=True))
        most = max(y for line in lines for _, y in line.points)
        axes = Axes(say("road speed, km/h"), say("tractive effort, kN"), (0.0, 0.0), (fastest * 1.03, most * 1.08))
        description = say(
            "Tractive effort at full load against road speed: {join}; with the road load on the flat.", join="; ".join(said)
        )
        return trace.picture(
            lines,
            axes,
            say("Tractive effort at full load"),
            description,
            line=say("{vehicle}, engine invented", vehicle=vehicle.name),
        ).svg()

    def _table(self, setup: Setup, vehicle: Vehicle) -> Table:
        speed = float(setup.number("speed"))
        peak = max(torque for _, torque in vehicle.engine.points)
        rows = []
        for name in self._ladder:
            ratio = self._ratio(name)
            effort = tractive_effort(vehicle, ratio, peak)
            grade = grade_held(vehicle, effort)
            held = say("any") if grade is None else f"{fixed(100 * grade, 1)} %"
            road = road_speed(vehicle, ratio, speed) * KM_H
            rows.append((name, decimal(ratio), say("{road} km/h", road=fixed(road, 1)), f"{effort:.0f} N", held))
        head = (
            say("Range"),
            say("Ratio"),
            say("at {speed} r/min", speed=fixed(speed, 0)),
            say("most tractive effort"),
            say("steepest grade"),
        )
        marked = frozenset({list(self._ladder).index(setup.word("missing"))})
        return Table(say("Every range in this vehicle"), head, tuple(rows), marked)
