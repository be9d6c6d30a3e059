"""The layout on the road, in the kit's own college van: road speed, tractive effort, steps and spread."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi

from gearkit.solve.on_road.vehicle_file import find_vehicle
from gearkit.text.phrases import decimal, fixed, localized
from gearkit.words.say import say
from graders.unit.facts import Facts, RangeFact
from graders.unit.words.cells import Cell, code, gate, prose, quoted, working_title
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
            say("### Predict the saw-tooth"),
            say(
                "Every upshift at the same engine speed gives a saw-tooth. One tooth is missing: where does the engine speed drop to, and how "
                "fast is the vehicle at the end of it?"
            ),
        )
        wrong = say(
            "A road speed about four times too large leaves out the final drive; half of the right one leaves out the 2 in {formula}.",
            formula="$2\\pi r$",
        )
        yield gate("road-panel", f'lesson.predict_about("road", "{facts.file}"', wrong)


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
    drive, radius = localized(str(van.final_drive)), localized(str(van.rolling_radius))
    yield prose(
        "road",
        "by-hand",
        say("## On the road"),
        say(
            "Put {train} into the college van: final drive {final_drive}, rolling radius {radius} m. At {speed} r/min in range {range} the "
            "wheels turn {wheels} r/min, and each turn moves the van by {way}:",
            train=facts.called,
            final_drive=drive,
            radius=radius,
            speed=ENGINE_SPEED,
            range=escaped(fact.name),
            wheels=f"${ENGINE_SPEED}/({decimal(fact.ratio)} \\times {drive}) = {fixed(wheel, 1)}$",
            way="$2\\pi r$",
        ),
        f"$$v = {fixed(wheel, 1)} \\times 2\\pi \\times {radius} \\times \\frac{{60}}{{1000}} = {fixed(speed, 1)}\\text{{ km/h}}$$",
    )
    labels = quoted(say("Wheels")), quoted(say("Road speed"))
    yield code(
        "road-numbers",
        "worked",
        working_title(say("road speed")),
        "from math import pi",
        "",
        f"i = float(in_range(train, {quoted(fact.name)}).ratio)",
        f"wheel = {ENGINE_SPEED} / (i * {van.final_drive})",
        f"speed = wheel * 2*pi*{van.rolling_radius} * 60/1000",
        f'lesson.results(({labels[0]}, wheel, "r/min", 1), ({labels[1]}, speed, "km/h", 1))',
    )


def _effort(fact: RangeFact) -> Iterator[Cell]:
    van = find_vehicle(VEHICLE)
    torque = van.engine.torque(ENGINE_SPEED) or 0.0
    effort = torque * float(fact.ratio) * van.final_drive * van.driveline_efficiency / van.rolling_radius
    drive, left, radius = (localized(str(value)) for value in (van.final_drive, van.driveline_efficiency, van.rolling_radius))
    label = quoted(say("Force at the tyres"))
    yield prose(
        "effort",
        "by-hand",
        say(
            "Torque goes the other way: it is multiplied. In range {range}, with {torque} N·m at the input and {share} of the power left at the "
            "wheels, the tyres push with",
            range=escaped(fact.name),
            torque=f"{torque:g}",
            share=f"{100 * van.driveline_efficiency:.0f} %",
        ),
        f"$$F = \\frac{{{torque:g} \\times {decimal(fact.ratio)} \\times {drive} \\times {left}}}{{{radius}}} = {effort:.0f}\\text{{ N}}$$",
    )
    yield code(
        "effort-numbers",
        "worked",
        working_title(say("tractive effort")),
        f"low = float(in_range(train, {quoted(fact.name)}).ratio)",
        f"effort = {torque:g} * low * {van.final_drive} * {van.driveline_efficiency} / {van.rolling_radius}",
        f'lesson.results(({label}, effort, "N", 0))',
    )


def _steps(facts: Facts) -> Iterator[Cell]:
    ladder = facts.forward
    names = ", ".join(quoted(fact.name) for fact in ladder)
    spread = ladder[0].ratio / ladder[-1].ratio
    count = len(ladder) - 1
    each = decimal(float(spread) ** (1 / count))
    equal = (
        ""
        if count < 2
        else say("If both steps were equal, each would be {step}.", step=each)
        if count == 2
        else say("If all {number} steps were equal, each would be {step}.", number=number(count), step=each)
    )
    told = say(
        "A *step* is the ratio of a range divided by that of the next higher one. All steps multiplied give the *spread*, the ratio of the "
        "lowest range divided by that of the top one: {spread}.",
        spread=decimal(spread),
    )
    step, whole = say("Step {number}"), quoted(say("Spread"))
    yield prose(
        "steps",
        "by-hand",
        say("### Steps and spread of {train}", train=facts.called),
        " ".join(filter(None, (told, equal))),
    )
    yield code(
        "steps-numbers",
        "worked",
        working_title(say("steps and spread")),
        f"ladder = [in_range(train, name).ratio for name in [{names}]]",
        "steps = [low / high for low, high in zip(ladder, ladder[1:])]",
        f"rows = [(f{quoted(step)}, float(step)) for number, step in enumerate(steps, 1)]",
        f"lesson.results(*rows, ({whole}, float(ladder[0] / ladder[-1])))",
    )
