"""The layout on the road, in the kit's own college van: road speed, tractive effort, steps and spread."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi

from gearkit.solve.on_road.vehicle_file import find_vehicle
from gearkit.text.phrases import decimal, fixed
from graders.unit.facts import Facts, RangeFact
from graders.unit.lesson.first_range import name_of
from graders.unit.words.cells import Cell, code, gate, prose
from graders.unit.words.saying import escaped, number

VEHICLE = "college_van"
ENGINE_SPEED = 2400
_LOWEST, _HIGHEST = 0.25, 12


def cells(facts: Facts) -> Iterator[Cell]:
    """Yield the cells on the road; nothing where no forward range could drive a vehicle."""
    sane = road_ranges(facts)
    if not sane:
        return
    yield from _speed(facts, sane[-1] if sane[-1].ratio != 1 or len(sane) == 1 else sane[0])
    yield from _effort(sane[0])
    if len(facts.forward) > 1:
        yield from _steps(facts)
        yield prose(
            "road-predict",
            "predict",
            "### Predict the saw-tooth",
            "Every upshift at the same engine speed gives a saw-tooth. One tooth is missing: where does the engine speed drop to, and how fast is the "
            "vehicle at the end of it?",
        )
        yield gate(
            "road-panel",
            f'lesson.predict_about("road", "{facts.file}"',
            "A road speed about four times too large leaves out the final drive; half of the right one leaves out the 2 in $2\\pi r$.",
        )


def road_ranges(facts: Facts) -> list[RangeFact]:
    """Return the forward ranges that could drive a vehicle; without one the lesson does not go on the road.

    Args:
        facts: the layout.
    """
    return [fact for fact in facts.forward if _LOWEST <= float(fact.ratio) <= _HIGHEST]


def _speed(facts: Facts, fact: RangeFact) -> Iterator[Cell]:
    van = find_vehicle(VEHICLE)
    wheel = ENGINE_SPEED / (float(fact.ratio) * van.final_drive)
    speed = wheel * 2 * pi * van.rolling_radius * 60 / 1000
    yield prose(
        "road",
        "by-hand",
        "## On the road",
        f"Put {facts.called} into the college van: final drive {van.final_drive}, rolling radius {van.rolling_radius} m. At {ENGINE_SPEED} r/min in range {escaped(fact.name)} the wheels turn "
        f"${ENGINE_SPEED}/({decimal(fact.ratio)} \\times {van.final_drive}) = {fixed(wheel, 1)}$ r/min, and each turn takes the van $2\\pi r$ along:",
        f"$$v = {fixed(wheel, 1)} \\times 2\\pi \\times {van.rolling_radius} \\times \\frac{{60}}{{1000}} = {fixed(speed, 1)}\\text{{ km/h}}$$",
    )
    yield code(
        "road-numbers",
        "worked",
        "# Working: road speed",
        "from math import pi",
        "",
        f"i = float(in_range(train, {name_of(fact)}).ratio)",
        f"wheel = {ENGINE_SPEED} / (i * {van.final_drive})",
        f"speed = wheel * 2*pi*{van.rolling_radius} * 60/1000",
        'lesson.results(("Wheels", wheel, "r/min", 1), ("Road speed", speed, "km/h", 1))',
    )


def _effort(fact: RangeFact) -> Iterator[Cell]:
    van = find_vehicle(VEHICLE)
    torque = van.engine.torque(ENGINE_SPEED) or 0.0
    effort = torque * float(fact.ratio) * van.final_drive * van.driveline_efficiency / van.rolling_radius
    yield prose(
        "effort",
        "by-hand",
        f"Torque goes the other way: it is multiplied. In range {escaped(fact.name)}, with {torque:g} N·m and {van.driveline_efficiency:.0%} of it left at the wheels, the tyres push with",
        f"$$F = \\frac{{{torque:g} \\times {decimal(fact.ratio)} \\times {van.final_drive} \\times {van.driveline_efficiency}}}{{{van.rolling_radius}}} = {effort:.0f}\\text{{ N}}$$",
    )
    yield code(
        "effort-numbers",
        "worked",
        "# Working: tractive effort",
        f"low = float(in_range(train, {name_of(fact)}).ratio)",
        f"effort = {torque:g} * low * {van.final_drive} * {van.driveline_efficiency} / {van.rolling_radius}",
        'lesson.results(("Force at the tyres", effort, "N", 0))',
    )


def _steps(facts: Facts) -> Iterator[Cell]:
    ladder = facts.forward
    names = ", ".join(name_of(fact) for fact in ladder)
    spread = ladder[0].ratio / ladder[-1].ratio
    count = len(ladder) - 1
    equal = (
        ""
        if count < 2
        else f" Had {'both' if count == 2 else f'all {number(count)}'} steps been equal, each would be {decimal(float(spread) ** (1 / count))}."
    )
    yield prose(
        "steps",
        "by-hand",
        f"### Steps and spread of {facts.called}",
        "A *step* is a ratio divided by the next higher range's; all steps multiplied give the *spread*, lowest by top: "
        f"{decimal(spread)}.{equal}",
    )
    yield code(
        "steps-numbers",
        "worked",
        "# Working: steps and spread",
        f"ladder = [in_range(train, name).ratio for name in [{names}]]",
        "steps = [low / high for low, high in zip(ladder, ladder[1:])]",
        'rows = [(f"Step {number}", float(step)) for number, step in enumerate(steps, 1)]',
        'lesson.results(*rows, ("Spread", float(ladder[0] / ladder[-1])))',
    )
