"""Targets files for the search of tooth counts: TOML, format 1, every fault told at once."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from gearkit.solve.teeth.gear_choices import Limits
from gearkit.solve.teeth.tooth_counts import Targets
from gearkit.text.numbers import exact
from gearkit.text.places import datasets
from gearkit.train import catalogue
from gearkit.train.data_file import Reading, document_of, read_text, shown
from gearkit.train.layout import Layout
from gearkit.words.errors import GearkitError, UsageError

_KEYS = ("format", "layout", "source", "targets", "limits", "fixed", "same")
_PAIRS = ("sun", "pinion", "ring")
_LIMITS = (*_PAIRS, "planets", "tip_gap")


def find_targets(name_or_path: str | os.PathLike[str]) -> Targets:
    """Return targets by name among the kit's own, or by path.

    Args:
        name_or_path: such as "q36_even_steps", or the path of a TOML file of format 1, whose layout is a name of the
            catalogue or a path seen from the file.

    Raises:
        UsageError: no such targets, or a file with faults, all of them named.
    """
    wanted = os.fspath(name_or_path)
    shipped = {path.stem: path for path in sorted((datasets() / "targets").glob("*.toml"))}
    if wanted.endswith(".toml") or os.sep in wanted:
        return _read(Path(wanted))
    if wanted not in shipped:
        raise UsageError(f"No targets {wanted!r}: give the path of a targets file, or one of {', '.join(shipped)}.")
    return _read(shipped[wanted])


def _read(file: Path) -> Targets:
    reader = _Reader(document_of(read_text(file, "targets file"), file.name), file.parent)
    targets = reader.targets()
    if targets is None or reader.faults:
        raise UsageError("\n".join(f"{file.name}: {fault}" for fault in reader.faults))
    return targets


class _Reader(Reading):
    def __init__(self, document: Mapping[str, Any], folder: Path) -> None:
        super().__init__(document)
        self.folder = folder

    def targets(self) -> Targets | None:
        self.head(_KEYS)
        # Wishes need no source; one that is given has to be whole.
        if "source" in self.document:
            self.source()
        layout = self.layout()
        ratios = self.ratios()
        fixed = self.names("fixed", self.document.get("fixed", []))
        groups = self.document.get("same", [])
        if not isinstance(groups, list):
            self.faults.append(f'same: found {shown(groups)}; expected groups of sets, such as [["P1", "P3"]].')
            groups = []
        same = tuple(self.names("same", group) for group in groups)
        limits = self.limits(layout) if layout is not None else {}
        if layout is None or self.faults:
            return None
        try:
            return Targets(layout, ratios, limits, fixed, same)
        except UsageError as error:
            self.faults.append(str(error))
            return None

    def layout(self) -> Layout | None:
        wanted = self.document.get("layout")
        if not isinstance(wanted, str):
            self.faults.append(f"layout: found {shown(wanted)}; expected a catalogue name or the path of a layout file.")
            return None
        beside = self.folder / wanted
        try:
            return catalogue.read(beside) if wanted.endswith(".toml") and beside.is_file() else catalogue.find(wanted)
        except GearkitError as error:
            self.faults.append(f"layout: {error}")
            return None

    def ratios(self) -> dict[str, Fraction]:
        table = self.document.get("targets")
        if not isinstance(table, dict) or not table:
            self.faults.append('[targets]: found nothing; expected ranges with their ratios, such as "1" = "4.07".')
            return {}
        ratios = {}
        for name, value in table.items():
            if isinstance(value, bool) or not isinstance(value, int | float | str):
                self.faults.append(f"[targets].{name}: found {shown(value)}; expected a ratio.")
                continue
            ratio = exact(str(value))
            if ratio is None:
                self.faults.append(f'[targets].{name}: found {shown(value)}; expected a ratio, such as "4.07" or "16/5".')
            else:
                ratios[name] = ratio
        return ratios

    def names(self, key: str, value: object) -> tuple[str, ...]:
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            self.faults.append(f'{key}: found {shown(value)}; expected names of sets, such as ["P1", "P3"].')
            return ()
        return tuple(value)

    def limits(self, layout: Layout) -> dict[str, Limits]:
        table = self.document.get("limits", {})
        if not isinstance(table, dict):
            self.faults.append(f"[limits]: found {shown(table)}; expected a table.")
            return {}
        general = self._some_limits("[limits]", Limits(), {k: v for k, v in table.items() if not isinstance(v, dict)})
        limits = {pset.name: general for pset in layout.sets}
        for name, own in table.items():
            if isinstance(own, dict):
                if name not in limits:
                    self.faults.append(f"[limits.{name}]: no such set; the layout has {', '.join(limits)}.")
                    continue
                limits[name] = self._some_limits(f"[limits.{name}]", general, own)
        return limits

    def _some_limits(self, where: str, start: Limits, table: Mapping[str, Any]) -> Limits:
        limits = start
        for key, value in table.items():
            whole = isinstance(value, list) and all(isinstance(v, int) and not isinstance(v, bool) for v in value)
            if key in _PAIRS and whole and len(value) == 2:
                change: dict[str, Any] = {key: tuple(value)}
            elif key == "planets" and whole:
                change = {key: tuple(value)}
            elif key == "tip_gap" and not isinstance(value, bool | str) and exact(str(value)) is not None:
                change = {key: exact(str(value))}
            else:
                self.faults.append(f"{where}.{key}: found {shown(value)}; {_expected(key)}.")
                continue
            try:
                limits = replace(limits, **change)
            except UsageError as error:
                self.faults.append(f"{where}.{key}: {error}")
        return limits


def _expected(key: str) -> str:
    if key in _PAIRS:
        return "expected fewest and most teeth, such as [24, 60]"
    if key == "planets":
        return "expected numbers of pinions, such as [3, 4]"
    if key == "tip_gap":
        return "expected modules, such as 1.5"
    return f"no such key; known: {', '.join(_LIMITS)}"
