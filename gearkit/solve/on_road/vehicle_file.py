"""Vehicle files: TOML, format 1, quantities as texts with their units, every fault told at once."""

from __future__ import annotations

import os
from collections.abc import Callable
from math import inf
from pathlib import Path
from typing import TypeVar

from gearkit.solve.on_road.quantities import Measure, read_quantity, to_own
from gearkit.solve.on_road.vehicle import EngineCurve, Vehicle
from gearkit.text.places import datasets
from gearkit.train.data_file import Reading, document_of, read_text, shown
from gearkit.words.errors import UsageError

_QUANTITIES = {
    "mass": Measure.MASS,
    "rolling_radius": Measure.LENGTH,
    "drag_area": Measure.AREA,
    "air_density": Measure.DENSITY,
}
_NUMBERS = ("final_drive", "rolling_coefficient", "driveline_efficiency")
_OPTIONAL = ("drag_area", "air_density")
_KEYS = ("format", "name", *_NUMBERS, *_QUANTITIES, "source", "engine")
_Read = TypeVar("_Read")


def find_vehicle(name_or_path: str | os.PathLike[str]) -> Vehicle:
    """Return a vehicle by its name among the kit's own, or by path.

    Args:
        name_or_path: such as "college_van", or the path of a TOML file.

    Raises:
        UsageError: no such vehicle, or a file with faults, all of them named.
    """
    wanted = os.fspath(name_or_path)
    shipped = {path.stem: path for path in sorted((datasets() / "vehicles").glob("*.toml"))}
    path = Path(wanted) if wanted.endswith(".toml") or os.sep in wanted else shipped.get(wanted)
    if path is None:
        raise UsageError(f"No vehicle {wanted!r}: give the path of a vehicle file, or one of {', '.join(shipped)}.")
    return parse_vehicle(read_text(path, "vehicle file"), path.name)


def parse_vehicle(text: str, file: str = "") -> Vehicle:
    """Return the vehicle of a TOML text.

    Args:
        text: the file's text.
        file: name to put into messages.

    Raises:
        UsageError: with every fault, one a line.
    """
    place = f"{file}: " if file else ""
    reader = _Reader(document_of(text, file))
    reader.head(_KEYS)
    values = {key: reader.quantity(key, measure) for key, measure in _QUANTITIES.items()}
    values |= {key: reader.number(key) for key in _NUMBERS}
    name, source, engine = reader.text(reader.document, "name"), reader.source(), reader.engine()
    if not reader.faults:
        given = {key: value for key, value in values.items() if value is not None}
        try:
            assert source is not None
            assert engine is not None
            return Vehicle(name=name, source=source, engine=engine, **given)
        except UsageError as error:
            reader.faults.append(str(error))
    raise UsageError("\n".join(place + fault for fault in reader.faults))


class _Reader(Reading):
    def number(self, key: str) -> float | None:
        value = self.document.get(key)
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.faults.append(f"{key}: found {shown(value)}; expected a number without unit.")
            return None
        return _float(value)

    def quantity(self, key: str, measure: Measure) -> float | None:
        value = self.document.get(key)
        if value is None and key in _OPTIONAL:
            return None
        if not isinstance(value, str):
            self.faults.append(f"{key}: found {shown(value)}; expected a text with its unit, such as {_EXAMPLES[key]}.")
            return None
        text: str = value
        return self._noted(key, lambda: read_quantity(text, measure))

    def engine(self) -> EngineCurve | None:
        table = self.document.get("engine")
        if not isinstance(table, dict):
            self.faults.append("[engine]: found nothing; expected speed_unit, torque_unit and curve.")
            return None
        speed_unit, torque_unit = self.text(table, "speed_unit"), self.text(table, "torque_unit")
        curve = table.get("curve")
        good = isinstance(curve, list) and all(_is_pair(point) for point in curve)
        if not good or not isinstance(curve, list):
            self.faults.append(f"[engine].curve: found {shown(curve)}; expected points such as [[800, 120], [2400, 180]].")
            return None

        def points() -> EngineCurve:
            return EngineCurve(
                tuple(
                    (
                        to_own(_float(speed), speed_unit, Measure.ENGINE_SPEED),
                        to_own(_float(torque), torque_unit, Measure.TORQUE),
                    )
                    for speed, torque in curve
                )
            )

        return self._noted("[engine]", points)

    def _noted(self, key: str, read: Callable[[], _Read]) -> _Read | None:
        try:
            return read()
        except UsageError as error:
            self.faults.append(f"{key}: {error}")
            return None


_EXAMPLES = {"mass": '"1900 kg"', "rolling_radius": '"0.33 m"', "drag_area": '"0.9 m^2"', "air_density": '"1.2 kg/m^3"'}


def _float(value: int | float) -> float:
    """A number of the file; one too large for the machine is as wrong as infinity, and is told the same way."""
    try:
        return float(value)
    except OverflowError:
        return inf


def _is_pair(point: object) -> bool:
    return (
        isinstance(point, list)
        and len(point) == 2
        and all(isinstance(value, int | float) and not isinstance(value, bool) for value in point)
    )
