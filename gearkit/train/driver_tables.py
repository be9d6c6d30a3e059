"""From a layout file's `outputs`, `[[machine]]` and `[converter]` to their parts, and back to lines of a file.

Figures are exact: "10000 r/min" and "160 N·m" stay whole numbers, and pound-feet become newton metres by the exact size
of the pound and the foot.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any, Protocol

from gearkit.text.numbers import exact
from gearkit.train.drivers import Converter, Machine
from gearkit.words.errors import Fault, LayoutError
from gearkit.words.unit_sizes import FOOT, POUND_FORCE

MACHINE_KEYS = ("name", "shaft", "highest_speed", "highest_torque", "efficiency")
CONVERTER_KEYS = ("speed_ratio", "torque_ratio", "capacity_factor")
_SPEED_UNITS = {"r/min": Fraction(1), "rpm": Fraction(1), "1/min": Fraction(1)}
_POUND_FOOT = POUND_FORCE * FOOT
_TORQUE_UNITS = {
    "N·m": Fraction(1), "Nm": Fraction(1), "N*m": Fraction(1),
    "lb·ft": _POUND_FOOT, "lbf·ft": _POUND_FOOT, "lb*ft": _POUND_FOOT,
}  # fmt: skip
_QUANTITY = re.compile(r"\s*([0-9./]+)\s*(\S.*?)\s*")
Path = tuple[str, int, str]


class Tables(Protocol):
    """What reading needs of the document: typed access that notes faults and goes on."""

    document: Mapping[str, Any]
    faults: list[tuple[Path, Fault]]

    def fault(self, path: Path, value: object, expected: str) -> None:
        """Note a fault.

        Args:
            path: table, index and key.
            value: what was found.
            expected: what was expected.
        """

    def unknown_keys(self, name: str, index: int, table: Mapping[str, Any]) -> None:
        """Note the keys of a table that mean nothing.

        Args:
            name: the table.
            index: which of its kind.
            table: its entries.
        """

    def take(self, path: Path, table: Mapping[str, Any], kind: type, expected: str, needed: bool = False) -> Any:
        """Return a value of a kind, None where there is none.

        Args:
            path: table, index and key.
            table: the entries.
            kind: the type.
            expected: what was expected.
            needed: whether it must be there.
        """

    def number(self, path: Path, table: Mapping[str, Any], expected: str) -> Fraction | None:
        """Return an exact number above 0, None where there is none.

        Args:
            path: table, index and key.
            table: the entries.
            expected: what was expected.
        """


def read_outputs(tables: Tables) -> tuple[str, ...]:
    """Return the declared names of the outputs; none where the file declares none.

    Args:
        tables: the document.
    """
    value = tables.document.get("outputs")
    if value is None:
        return ()
    if not isinstance(value, list) or not value or not all(isinstance(name, str) for name in value):
        tables.fault(("", 0, "outputs"), value, 'a list of names, such as ["front", "rear"], or no entry for one output')
        return ()
    return tuple(value)


def read_machine(tables: Tables, index: int, table: Mapping[str, Any]) -> Machine | None:
    """Return a machine, None where something is wrong in its table.

    Args:
        tables: the document.
        index: which of the machines.
        table: its entries.
    """
    before = len(tables.faults)
    name = tables.take(("machine", index, "name"), table, str, 'a name, such as "M1"', needed=True)
    shaft = tables.take(("machine", index, "shaft"), table, str, 'a member or shaft, such as "P1.sun"', needed=True)
    speed = _quantity(tables, ("machine", index, "highest_speed"), table, _SPEED_UNITS, "10000 r/min")
    torque = _quantity(tables, ("machine", index, "highest_torque"), table, _TORQUE_UNITS, "160 N·m")
    efficiency = tables.number(("machine", index, "efficiency"), table, 'a number above 0 and at most 1, such as "0.92"')
    if len(tables.faults) > before:
        return None
    try:
        return Machine(name, shaft, speed, torque, efficiency)
    except LayoutError as error:
        tables.faults += [(("machine", index, fault.key.split(".")[-1]), fault) for fault in error.faults]
        return None


def _quantity(
    tables: Tables, path: Path, table: Mapping[str, Any], units: Mapping[str, Fraction], example: str
) -> Fraction | None:
    value = table.get(path[2])
    if value is None:
        return None
    match = _QUANTITY.fullmatch(value) if isinstance(value, str) else None
    number = exact(match[1]) if match else None
    if match is None or number is None or match[2] not in units:
        tables.fault(path, value, f'a number and a unit as text, such as "{example}" (units: {", ".join(units)})')
        return None
    return number * units[match[2]]


def read_converter(tables: Tables) -> Converter | None:
    """Return the converter, None where the file has none or something is wrong in its table.

    Args:
        tables: the document.
    """
    table = tables.document.get("converter")
    if table is None:
        return None
    if not isinstance(table, dict):
        tables.fault(("converter", 0, ""), table, f"one table [converter] with {', '.join(CONVERTER_KEYS)}")
        return None
    before = len(tables.faults)
    tables.unknown_keys("converter", 0, table)
    columns = [_column(tables, key, table) for key in CONVERTER_KEYS]
    if len(tables.faults) > before:
        return None
    try:
        return Converter(*columns)
    except LayoutError as error:
        tables.faults += [(("converter", 0, fault.key.split(".")[-1]), fault) for fault in error.faults]
        return None


def _column(tables: Tables, key: str, table: Mapping[str, Any]) -> tuple[Fraction, ...]:
    value = table.get(key)
    read = [exact(item) if isinstance(item, str) else None for item in value] if isinstance(value, list) else []
    column = tuple(number for number in read if number is not None)
    if not read or len(column) < len(read):
        tables.fault(("converter", 0, key), value, 'a list of numbers as texts, such as ["0", "0.5", "0.9"]')
    return column


def driver_lines(machines: Sequence[Machine], converter: Converter | None) -> list[str]:
    """Return the lines of a layout file that hold its machines and its converter.

    Args:
        machines: the machines.
        converter: the converter.
    """
    lines = []
    for machine in machines:
        lines += ["", "[[machine]]", f'name = "{machine.name}"', f'shaft = "{machine.shaft}"']
        for key, unit in (("highest_speed", " r/min"), ("highest_torque", " N·m"), ("efficiency", "")):
            value = getattr(machine, key)
            if value is not None:
                lines.append(f'{key} = "{value}{unit}"')
    if converter is not None:
        columns = {key: ", ".join(f'"{value}"' for value in getattr(converter, key)) for key in CONVERTER_KEYS}
        lines += ["", "[converter]", *(f"{key} = [{column}]" for key, column in columns.items())]
    return lines
