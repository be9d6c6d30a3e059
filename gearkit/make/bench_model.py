"""A bench model of one planetary set: sun, planets, ring and carrier with pins, to print or to cut.

Hand power only. The model shows how ratios come about; it carries no load.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from gearkit.make.involute import Point, ToothedWheel, circle
from gearkit.make.solid import Triangle, dxf, rod, stl, svg, washer
from gearkit.text.files import write_into
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import GearkitError, UsageError
from gearkit.words.say import later, say
from gearkit.words.terms import PinionKind

FEWEST_TEETH = 17
LEAST_GAP = 1.5
CAUTIONS = (
    later("Hand power only: no drill, no motor."),
    later("Parts may break into sharp pieces: wear eye protection, and keep small parts from children."),
    later("Nozzle and bed of a printer stay hot after the print; follow the printer maker's instructions."),
    later(
        "The model carries no load and is no spare part. For any real unit follow the maker's procedure and data, local codes and licensed practice."
    ),
)

# Other counts are looked for so many teeth away.
_FARTHEST = 12


@dataclass(frozen=True)
class Proportions:
    """How the model is made.

    Args:
        module: pitch diameter / teeth, mm.
        thickness: of the wheels, mm.
        backlash: play between meshing teeth at the pitch circle, mm; half is taken off each of the two.
        wall: of the ring outside its roots, mm.
        pin: diameter of the planet pins, mm.
        play: added to the bores that turn on pins, mm.
        shaft: bore of sun and carrier, mm.
    """

    module: float = 2.0
    thickness: float = 8.0
    backlash: float = 0.3
    wall: float = 8.0
    pin: float = 8.0
    play: float = 0.4
    shaft: float = 8.0


@dataclass(frozen=True)
class Part:
    """One part of the model.

    Args:
        name: "sun", "planet", "ring" or "carrier".
        count: how many are needed.
        outlines: closed outlines in mm, for cutting.
        shells: closed shells in mm, for printing.
        description: what it is, in words with its main dimensions.
    """

    name: str
    count: int
    outlines: tuple[tuple[Point, ...], ...]
    shells: tuple[tuple[Triangle, ...], ...]
    description: str


@dataclass(frozen=True)
class BenchModel:
    """A planetary set made as a model.

    Args:
        pset: a single-pinion set with whole tooth counts and a number of planets.
        proportions: sizes.
        parts: sun, planet, ring, carrier.
        dimensions: (what, value in mm) for the dimension table.
    """

    pset: PlanetarySet
    proportions: Proportions
    parts: tuple[Part, ...]
    dimensions: tuple[tuple[str, float], ...]


def assembly_faults(pset: PlanetarySet) -> list[str]:
    """Return why a set of spur gears without profile shift cannot be put together, the last line being the nearest change.

    Empty when it can.

    Args:
        pset: the set.
    """
    if pset.pinions is not PinionKind.SINGLE:
        return [
            say(
                "Set {name}: only a set with single pinions can be made as a model of one set; its pinions are {value}.",
                name=pset.name,
                value=pset.pinions.value,
            )
        ]
    if pset.sun_teeth is None or pset.ring_teeth is None:
        return [
            say(
                "Set {name}: a model needs whole tooth counts; give sun and ring in the layout file, such as sun = 30 and ring = 66.",
                name=pset.name,
            )
        ]
    sun, ring, planets = pset.sun_teeth, pset.ring_teeth, pset.planets
    faults = []
    if pset.own_planet_teeth not in (None, Fraction(ring - sun, 2)):
        faults.append(
            say(
                "Set {name}: its planet has {own_planet_teeth} teeth where the diameters ask for {Fraction}; the model is made without profile shift, so take the planet's own count out.",
                name=pset.name,
                own_planet_teeth=pset.own_planet_teeth,
                Fraction=Fraction(ring - sun, 2),
            )
        )
    counted = _count_faults(sun, ring, planets)
    if counted:
        change = _nearest(sun, ring, planets)
        faults += [say("Set {name}: {fault}", name=pset.name, fault=fault) for fault in counted]
        faults += [say("Set {name}: nearest change: {change}.", name=pset.name, change=change)] if change else []
    return faults


def _count_faults(sun: int, ring: int, planets: int | None) -> list[str]:
    """What is wrong with counts of teeth and planets."""
    faults = []
    if (ring - sun) % 2:
        faults.append(
            say(
                "ring {ring} − sun {sun} = {value} is odd, so the planets would need half a tooth.",
                ring=ring,
                sun=sun,
                value=ring - sun,
            )
        )
    if planets is None:
        faults.append(say("the number of planets is not given in the layout file."))
    elif (sun + ring) % planets:
        faults.append(
            say(
                "sun {sun} + ring {ring} = {value} does not divide by {planets}, so {planets} planets cannot be spaced equally.",
                sun=sun,
                ring=ring,
                value=sun + ring,
                planets=planets,
            )
        )
    planet = (ring - sun) // 2
    if planets is not None and planets > 1 and (sun + planet) * math.sin(math.pi / planets) <= planet + 2:
        faults.append(say("{planets} planets of {planet} teeth touch each other.", planets=planets, planet=planet))
    return faults + [
        say(
            "the {name} has {teeth} teeth; standard teeth below {FEWEST_TEETH} are undercut.",
            name=say(name),
            teeth=teeth,
            FEWEST_TEETH=FEWEST_TEETH,
        )
        for name, teeth in (("sun", sun), ("planet", planet))
        if teeth < FEWEST_TEETH
    ]


def _nearest(sun: int, ring: int, planets: int | None) -> str:
    """The nearest counts with which a set can be put together, in words; another number of planets weighs as one tooth."""
    asked = planets or 3
    choices = [
        (abs(new_sun - sun) + abs(new_ring - ring) + abs(number - asked), abs(new_sun - sun), new_sun, new_ring, number)
        for new_sun in range(sun - _FARTHEST, sun + _FARTHEST + 1)
        for new_ring in range(ring - _FARTHEST, ring + _FARTHEST + 1)
        for number in (3, 4, 5, 6)
        if new_sun < new_ring and not _count_faults(new_sun, new_ring, number)
    ]
    if not choices:
        return ""
    _, _, new_sun, new_ring, number = min(choices)
    changed = [
        f"{name} = {new}"
        for name, old, new in (("sun", sun, new_sun), ("ring", ring, new_ring), ("planets", planets, number))
        if old != new
    ]
    return say("{changed} in the layout file", changed=" and ".join(changed))


def design(pset: PlanetarySet, proportions: Proportions | None = None) -> BenchModel:
    """Return the model of a set.

    Args:
        pset: the set.
        proportions: sizes; sensible ones for a desk printer when left out.

    Raises:
        UsageError: the set cannot be put together; every reason is given.
        GearkitError: the sizes do not go together.
    """
    sizes = proportions or Proportions()
    faults = assembly_faults(pset)
    if faults:
        raise UsageError("\n".join(faults))
    assert pset.sun_teeth is not None
    assert pset.ring_teeth is not None
    assert pset.planets is not None
    planet_teeth = (pset.ring_teeth - pset.sun_teeth) // 2
    thinning = sizes.backlash / 2
    sun = ToothedWheel(pset.sun_teeth, sizes.module, thinning=thinning)
    planet = ToothedWheel(planet_teeth, sizes.module, thinning=thinning)
    ring = ToothedWheel(pset.ring_teeth, sizes.module, internal=True, thinning=thinning)
    _check_bores(sun, planet, sizes)
    centre_distance = sun.pitch_radius + planet.pitch_radius
    parts = (
        _wheel_part("sun", 1, sun, sizes.shaft / 2, sizes),
        _wheel_part("planet", pset.planets, planet, (sizes.pin + sizes.play) / 2, sizes),
        _ring_part(ring, sizes),
        _carrier_part(pset.planets, centre_distance, sizes),
    )
    gap = 2 * centre_distance * math.sin(math.pi / pset.planets) - 2 * planet.tip_radius
    return BenchModel(pset, sizes, parts, _dimensions(sun, planet, ring, centre_distance, gap))


def _check_bores(sun: ToothedWheel, planet: ToothedWheel, sizes: Proportions) -> None:
    for name, wheel, bore in (("sun", sun, sizes.shaft), ("planet", planet, sizes.pin + sizes.play)):
        left = wheel.root_radius - bore / 2
        if left < LEAST_GAP:
            raise GearkitError(
                f"Bore {bore} mm leaves {left:.1f} mm below the roots of the {name}; take a smaller bore or a larger module."
            )


def _wheel_part(name: str, count: int, wheel: ToothedWheel, bore: float, sizes: Proportions) -> Part:
    outline = wheel.outline()
    hole = circle(bore, 72)
    shell = washer(outline, hole, 0.0, sizes.thickness)
    words = say(
        "{name}, {teeth} teeth, module {module} mm, tip diameter {value} mm, bore {value_2} mm",
        name=say(name),
        teeth=wheel.teeth,
        module=f"{wheel.module:g}",
        value=f"{2 * wheel.tip_radius:.2f}",
        value_2=f"{2 * bore:.2f}",
    )
    return Part(name, count, (tuple(outline), tuple(hole)), (tuple(shell),), words)


def _ring_part(ring: ToothedWheel, sizes: Proportions) -> Part:
    outline = ring.outline()
    rim = circle(ring.root_radius + sizes.wall, 180)
    shell = washer(rim, outline, 0.0, sizes.thickness)
    words = say(
        "ring, {teeth} teeth inside, module {module} mm, outside diameter {value} mm",
        teeth=ring.teeth,
        module=f"{ring.module:g}",
        value=f"{2 * (ring.root_radius + sizes.wall):.2f}",
    )
    return Part("ring", 1, (tuple(rim), tuple(outline)), (tuple(shell),), words)


def _carrier_part(planets: int, centre_distance: float, sizes: Proportions) -> Part:
    plate = circle(centre_distance + sizes.pin, 120)
    hole = circle(sizes.shaft / 2, 72)
    base = sizes.thickness / 2
    places = [
        (centre_distance * math.cos(2 * math.pi * k / planets), centre_distance * math.sin(2 * math.pi * k / planets))
        for k in range(planets)
    ]
    pins = [circle(sizes.pin / 2, 48, place) for place in places]
    # Each pin starts inside the plate: overlapping shells are one body to a slicer.
    shells = [washer(plate, hole, 0.0, base), *(rod(pin, base / 2, base + sizes.thickness + 1.0) for pin in pins)]
    words = say(
        "carrier plate with {planets} pins of {pin} mm on a circle of {value} mm",
        planets=planets,
        pin=f"{sizes.pin:g}",
        value=f"{2 * centre_distance:.2f}",
    )
    return Part(
        "carrier",
        1,
        (tuple(plate), tuple(hole), *(tuple(pin) for pin in pins)),
        tuple(tuple(shell) for shell in shells),
        words,
    )


def _dimensions(
    sun: ToothedWheel, planet: ToothedWheel, ring: ToothedWheel, centre_distance: float, gap: float
) -> tuple[tuple[str, float], ...]:
    rows: list[tuple[str, float]] = []
    for name, wheel in (("sun", sun), ("planet", planet), ("ring", ring)):
        rows += [
            (say("{name} pitch diameter", name=name), 2 * wheel.pitch_radius),
            (say("{name} tip diameter", name=name), 2 * wheel.tip_radius),
            (say("{name} root diameter", name=name), 2 * wheel.root_radius),
        ]
    return (*rows, (say("sun to planet centre distance"), centre_distance), (say("gap between planet tips"), gap))


def write(model: BenchModel, folder: Path) -> list[Path]:
    """Write the model's files: per part STL, DXF and SVG, with a dimension table and the cautions.

    Args:
        model: what to write.
        folder: made if it is not there; files of the same names are replaced.

    Raises:
        GearkitError: the folder cannot be written.
    """
    files: dict[str, bytes] = {}
    for part in model.parts:
        title = say("{name} of set {name_2}", name=part.name, name_2=model.pset.name)
        files[f"{part.name}.stl"] = stl(part.shells)
        files[f"{part.name}.dxf"] = dxf(part.outlines).encode("ascii")
        files[f"{part.name}.svg"] = svg(part.outlines, title, part.description).encode("utf-8")
    rows = ["what,mm", *(f"{name},{value:.3f}" for name, value in model.dimensions)]
    files["dimensions.csv"] = ("\n".join(rows) + "\n").encode("utf-8")
    parts = [f"- {part.count} x {part.description}" for part in model.parts]
    cautions = [f"- {say(line)}" for line in CAUTIONS]
    page = [
        say("# Bench model of set {name}", name=model.pset.name),
        "",
        *parts,
        "",
        say(
            "Thickness {thickness} mm, backlash {backlash} mm.",
            thickness=f"{model.proportions.thickness:g}",
            backlash=f"{model.proportions.backlash:g}",
        ),
        "",
        say("## Cautions"),
        "",
        *cautions,
        "",
    ]
    files["model.md"] = "\n".join(page).encode("utf-8")
    return write_into(folder, files)
