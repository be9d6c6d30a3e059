"""From the tables of a layout file to a checked layout.

Reading goes on after a fault, so that all of them are reported at once; a part that could not be read is remembered by
name, so that references to it are not reported as well.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from difflib import get_close_matches
from enum import StrEnum
from fractions import Fraction
from typing import Any, TypeVar

from gearkit.train.checks import FaultsAt, Path, layout_faults
from gearkit.train.driver_checks import driver_faults
from gearkit.train.driver_tables import CONVERTER_KEYS, MACHINE_KEYS, read_converter, read_machine, read_outputs
from gearkit.train.elements import Element, Range
from gearkit.train.layout import Layout, Source
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import Fault, LayoutError
from gearkit.words.terms import ENGINE, INPUT, OUTPUT, ElementKind, FreeDirection, PinionKind, SourceKind

FORMAT = 1
_KEYS = {
    "": ("format", "name", "joins", "outputs", "source", "set", "element", "range", "machine", "converter", "placement"),
    "source": ("kind", "citation", "notes"),
    "set": (
        "name",
        "pinions",
        "sun",
        "ring",
        "ring_to_sun",
        "planets",
        "planet",
        "sun_pinion",
        "ring_pinion",
        "basic_efficiency",
    ),
    "element": ("name", "kind", "between", "free_direction"),
    "range": ("name", "engaged", "published_ratio"),
    "machine": MACHINE_KEYS,
    "converter": CONVERTER_KEYS,
}
_SINGLE_TABLES = ("source", "converter")
_HEADER = re.compile(r"\s*(\[\[?)\s*([A-Za-z_]+)\s*\]\]?\s*(#.*)?$")
_ENTRY = re.compile(r"\s*[\"']?([A-Za-z_][A-Za-z0-9_]*)[\"']?\s*[=.]")
_Word = TypeVar("_Word", bound=StrEnum)


class LineIndex:
    """Lines of the tables and keys of a TOML text.

    Args:
        text: the file's text, already known to be valid TOML.
    """

    def __init__(self, text: str) -> None:
        self._lines: dict[Path, int] = {}
        table, index, counts = "", 0, dict[str, int]()
        for number, line in enumerate(text.splitlines(), start=1):
            header = _HEADER.match(line)
            if header:
                table = header[2]
                index = counts.get(table, 0)
                counts[table] = index + 1
                self._lines.setdefault((table, index, ""), number)
                continue
            entry = _ENTRY.match(line)
            if entry:
                self._lines.setdefault((table, index, entry[1]), number)

    def line(self, path: Path) -> int:
        """Return the line of a key, else of its table, else 1."""
        table, index, key = path
        own = self._lines.get((table, index if table else 0, key))
        # What is missing altogether is asked for at the head of the file.
        return own if own is not None else self._lines.get((table, index, ""), 1)


class _Tables:
    """The document while it is read: typed access that notes faults and goes on."""

    def __init__(self, document: Mapping[str, Any]) -> None:
        self.document = document
        self.faults: FaultsAt = []

    def fault(self, path: Path, value: object, expected: str) -> None:
        shown = "nothing" if value is None else repr(value) if isinstance(value, str | list) else str(value)
        if isinstance(value, bool):
            shown = shown.lower()
        self.faults.append((path, Fault("", None, self._where(path), shown[:80], expected)))

    def _where(self, path: Path) -> str:
        """The key with its table as its writer would call it: by the part's name where it has one."""
        table, index, key = path
        if not table:
            return key
        if table in _SINGLE_TABLES or not key:
            head = f"[{table}]" if table in _SINGLE_TABLES else f"[[{table}]]"
            return f"{head}.{key}" if key else head
        parts = self.document.get(table)
        name = parts[index].get("name") if isinstance(parts, list) and index < len(parts) else None
        named = isinstance(name, str) and name and key != "name"
        return f'{table} "{name}".{key}' if named else f"[[{table}]] {index + 1}.{key}"

    def tables(self, name: str) -> list[Mapping[str, Any]]:
        value = self.document.get(name, [])
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            given = f"one table [{name}]" if isinstance(value, dict) else repr(value)
            self.faults.append(((name, 0, ""), Fault("", None, f"[[{name}]]", given[:80], f"tables headed [[{name}]]")))
            return []
        for index, table in enumerate(value):
            self.unknown_keys(name, index, table)
        return value

    def unknown_keys(self, name: str, index: int, table: Mapping[str, Any]) -> None:
        for key in table:
            if key not in _KEYS[name]:
                near = get_close_matches(key, _KEYS[name], 1)
                hint = f"; is {near[0]!r} meant?" if near else ""
                value = "…" if isinstance(table[key], dict | list) else repr(table[key])[:60]
                self.faults.append(
                    (
                        (name, index, key),
                        Fault(
                            "",
                            None,
                            self._where((name, index, key)),
                            f"{key} = {value}",
                            f"one of the keys {', '.join(_KEYS[name])}{hint}",
                        ),
                    )
                )

    def take(self, path: Path, table: Mapping[str, Any], kind: type, expected: str, needed: bool = False) -> Any:
        value = table.get(path[2])
        if value is None:
            if needed:
                self.fault(path, None, expected)
            return None
        if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
            self.fault(path, value, expected)
            return None
        return value

    def word(self, path: Path, table: Mapping[str, Any], words: type[_Word], default: _Word | None) -> _Word | None:
        value = table.get(path[2])
        expected = "one of " + ", ".join(f'"{word}"' for word in words)
        if value is None:
            if default is None:
                self.fault(path, None, expected)
            return default
        try:
            return words(value)
        except ValueError:
            self.fault(path, value, expected)
            return None

    def names(self, path: Path, table: Mapping[str, Any], expected: str) -> tuple[str, ...] | None:
        value = table.get(path[2])
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            self.fault(path, value, expected)
            return None
        return tuple(value)

    def number(self, path: Path, table: Mapping[str, Any], expected: str) -> Fraction | None:
        """A quotient as text ("11/5", "2.2") or as a TOML number, kept exact."""
        value = table.get(path[2])
        if value is None:
            return None
        text = (
            value
            if isinstance(value, str)
            else str(value)
            if isinstance(value, int | float) and not isinstance(value, bool)
            else ""
        )
        if re.fullmatch(r"\s*\d{1,24}(\.\d{1,24})?(\s*/\s*[1-9]\d{0,23})?\s*", text) and not ("." in text and "/" in text):
            number = Fraction(text.replace(" ", ""))
            if number > 0:
                return number
        self.fault(path, value, expected)
        return None


def read_tables(document: Mapping[str, Any], lines: LineIndex, file: str, text: str) -> Layout:
    """Build the layout that a document describes.

    Args:
        document: the parsed TOML.
        lines: where its keys stand.
        file: the file's name for messages.
        text: the file's text, kept in the layout.

    Raises:
        LayoutError: with every fault found.
    """
    tables = _Tables(document)
    tables.unknown_keys("", 0, document)
    if document.get("format") != FORMAT or isinstance(document.get("format"), bool):
        tables.fault(("", 0, "format"), document.get("format"), f"{FORMAT}, the only format so far")
    name = tables.take(("", 0, "name"), document, str, "a title in words", needed=True)
    source = _source(tables)
    joins = _joins(tables)
    sets = _parts(tables, "set", _set)
    elements = _parts(tables, "element", _element)
    ranges = _parts(tables, "range", _range)
    outputs, converter = read_outputs(tables), read_converter(tables)
    machines = _parts(tables, "machine", read_machine)
    placement = tables.take(("", 0, "placement"), document, dict, "a table [placement], as the kit writes it")
    unread_sets = _unread_names(document.get("set"), sets)
    further = (INPUT, *(outputs or _outputs_meant(document)), *((ENGINE,) if "converter" in document else ()))
    tables.faults += layout_faults(
        name if name is not None else "-",
        tuple(sets.values()),
        joins,
        tuple(elements.values()),
        tuple(ranges.values()),
        unread_sets=unread_sets,
        unread_elements=_unread_names(document.get("element"), elements),
        further=further,
    )
    tables.faults += driver_faults(
        tuple(sets.values()), joins, tuple(elements.values()), outputs, tuple(machines.values()), converter, unread_sets
    )
    if tables.faults:
        raise LayoutError(
            tuple(replace(fault, file=file, line=lines.line(path)) for path, fault in _in_file_order(tables.faults, lines))
        )
    assert source is not None
    return Layout(
        name,
        tuple(sets.values()),
        joins,
        tuple(elements.values()),
        tuple(ranges.values()),
        source,
        placement,
        file,
        text,
        outputs,
        tuple(machines.values()),
        converter,
    )


def _outputs_meant(document: Mapping[str, Any]) -> tuple[str, ...]:
    """The output's own name, and what an entry that could not be read may have named."""
    value = document.get("outputs")
    return (OUTPUT, *(item for item in (value if isinstance(value, list) else [value]) if isinstance(item, str)))


def _in_file_order(faults: FaultsAt, lines: LineIndex) -> FaultsAt:
    return sorted(faults, key=lambda item: lines.line(item[0]))


def _unread_names(raw: object, read: Mapping[int, object]) -> list[str]:
    if not isinstance(raw, list):
        return []
    names = [item.get("name") for index, item in enumerate(raw) if isinstance(item, dict) and index not in read]
    # A name that is missing or no text stands as "": whatever was meant, the parts that refer to it are not to blame.
    return [name if isinstance(name, str) else "" for name in names]


_Part = TypeVar("_Part")


def _parts(tables: _Tables, name: str, build: Callable[[_Tables, int, Mapping[str, Any]], _Part | None]) -> dict[int, _Part]:
    built = ((index, build(tables, index, table)) for index, table in enumerate(tables.tables(name)))
    return {index: part for index, part in built if part is not None}


def _source(tables: _Tables) -> Source | None:
    table = tables.document.get("source")
    if not isinstance(table, dict):
        tables.fault(("source", 0, ""), table, 'a table [source] with kind and citation, such as kind = "own"')
        return None
    tables.unknown_keys("source", 0, table)
    kind = tables.word(("source", 0, "kind"), table, SourceKind, None)
    citation = tables.take(("source", 0, "citation"), table, str, "the source in words", needed=True)
    if citation is not None and not citation.strip():
        tables.fault(("source", 0, "citation"), citation, "the source in words")
    notes = tables.take(("source", 0, "notes"), table, str, "words")
    return Source(kind, citation, notes or "") if kind is not None and citation is not None else None


def _joins(tables: _Tables) -> tuple[tuple[str, ...], ...]:
    value = tables.document.get("joins", [])
    expected = 'a list of lists of members, such as [["input", "P1.sun"]]'
    if not isinstance(value, list):
        tables.fault(("", 0, "joins"), value, expected)
        return ()
    joins = []
    for index, join in enumerate(value):
        if isinstance(join, list) and all(isinstance(member, str) for member in join):
            joins.append(tuple(join))
        else:
            tables.fault(("", index, "joins"), join, expected)
    return tuple(joins)


def _set(tables: _Tables, index: int, table: Mapping[str, Any]) -> PlanetarySet | None:
    before = len(tables.faults)
    teeth = "a whole tooth count, without quotation marks"
    name = tables.take(("set", index, "name"), table, str, 'a name, such as "P1"', needed=True)
    pinions = tables.word(("set", index, "pinions"), table, PinionKind, PinionKind.SINGLE)
    counts = [tables.take(("set", index, key), table, int, teeth) for key in ("sun", "ring", "sun_pinion", "ring_pinion")]
    planets = tables.take(("set", index, "planets"), table, int, "a whole number of pinions, without quotation marks")
    planet = tables.take(("set", index, "planet"), table, int, teeth)
    quotient = tables.number(("set", index, "ring_to_sun"), table, 'ring teeth / sun teeth as text: "11/5", "2.2" or "2"')
    efficiency = tables.number(("set", index, "basic_efficiency"), table, 'a number above 0 and at most 1, such as "0.98"')
    if len(tables.faults) > before:
        return None
    assert pinions is not None
    try:
        return PlanetarySet(name, pinions, counts[0], counts[1], quotient, planets, counts[2], counts[3], efficiency, planet)
    except LayoutError as error:
        tables.faults += [(("set", index, fault.key.split(".")[-1]), fault) for fault in error.faults]
        return None


def _element(tables: _Tables, index: int, table: Mapping[str, Any]) -> Element | None:
    before = len(tables.faults)
    name = tables.take(("element", index, "name"), table, str, 'a name, such as "A"', needed=True)
    kind = tables.word(("element", index, "kind"), table, ElementKind, None)
    between = tables.names(("element", index, "between"), table, 'two shafts, such as ["P1.ring", "housing"]')
    if between is not None and len(between) != 2:
        tables.fault(("element", index, "between"), list(between), "exactly two shafts")
    direction = tables.word(("element", index, "free_direction"), table, FreeDirection, FreeDirection.FORWARD)
    if "free_direction" in table and kind is not None and kind is not ElementKind.ONE_WAY_CLUTCH:
        tables.fault(
            ("element", index, "free_direction"),
            table["free_direction"],
            "no entry: only a one-way clutch has a free direction",
        )
    if len(tables.faults) > before:
        return None
    assert kind is not None
    assert between is not None
    assert direction is not None
    return Element(name, kind, (between[0], between[1]), direction)


def _range(tables: _Tables, index: int, table: Mapping[str, Any]) -> Range | None:
    before = len(tables.faults)
    name = tables.take(("range", index, "name"), table, str, 'a name, such as "1"', needed=True)
    engaged = tables.names(("range", index, "engaged"), table, 'names of elements, such as ["A", "C"]')
    published = tables.take(
        ("range", index, "published_ratio"), table, str, 'text with the digits of the source, such as "2.346"'
    )
    if len(tables.faults) > before:
        return None
    assert engaged is not None
    return Range(name, engaged, published or "")
