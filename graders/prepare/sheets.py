"""A sheet: which items, with how many marks, under which rules. It is one small file that can be kept and used again.

The file holds no numbers of any learner, no secret and no answers. A sheet made from a layout carries the
layout's text with it, so that it still works when the layout's own file has moved.
"""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from gearkit.answers import items as bank
from gearkit.answers.items import Item
from gearkit.train import catalogue
from gearkit.words.errors import GearkitError, UsageError
from gearkit.words.phrases import listed
from graders.prepare import layout_items
from graders.prepare.course import check_sheet
from graders.prepare.files import quoted, write_atomically

FORMAT = 1
MOST_ITEMS = 100
KINDS = ("graded", "practice")
_CHOICE = re.compile(r"[,;\s]*(?:([LX]\d{2}-\d{2,3})|(?:(?:and\s+)?lessons?[ _-]*|and\s+)?(\d{1,2}))(?=[,;\s]|$)", re.IGNORECASE)


@dataclass(frozen=True)
class SheetItem:
    """One item on a sheet.

    Args:
        item: the item.
        marks: marks that it carries here.
    """

    item: Item
    marks: int


@dataclass(frozen=True)
class Sheet:
    """A sheet as composed.

    Args:
        name: short name, which names folders and files.
        title: title for people.
        items: the items in order.
        kind: "graded" or "practice".
        attempts: attempts that count.
        hint_cost: percent of an item's marks that one hint costs.
        due: when it is due, in the course's time zone; None for no due time.
        layout: text of the layout that the items were made from, or "".
    """

    name: str
    title: str
    items: tuple[SheetItem, ...]
    kind: str = "graded"
    attempts: int = 3
    hint_cost: int = 10
    due: dt.datetime | None = None
    layout: str = ""

    @property
    def marks(self) -> int:
        """Marks of all items together."""
        return sum(entry.marks for entry in self.items)

    @property
    def item_ids(self) -> tuple[str, ...]:
        """Names of the items in order."""
        return tuple(entry.item.id for entry in self.items)


def compose(source: str, name: str, *, title: str = "", kind: str = "graded", due: str = "",
            ask: Sequence[str] = layout_items.USUAL) -> Sheet:
    """Compose a sheet.

    Args:
        source: lessons and items such as "lesson 3" or "lesson 2, L03-01", a layout's file, or its name in the
            catalogue.
        name: short name of the sheet.
        title: title for people; made from the source if empty.
        kind: "graded" or "practice".
        due: date and time such as "2026-03-02 17:00", or "" for none.
        ask: what a sheet from a layout asks about: some of "ratios", "states" and "chart".

    Raises:
        UsageError: the source is none of these, an item is unknown or named twice, or a setting cannot be used.
        LayoutError: the layout's file has faults.
    """
    check_sheet(name)
    if kind not in KINDS:
        raise UsageError(f"Sheet {name}: kind {kind!r} is not known; expected one of {', '.join(KINDS)}.")
    chosen, own_title, layout = _from_source(source.strip(), ask)
    entries = tuple(SheetItem(item, item.marks) for item in chosen)
    return Sheet(name, title.strip() or own_title, entries, kind, due=_due_time(due, name), layout=layout)


def _from_source(source: str, ask: Sequence[str]) -> tuple[tuple[Item, ...], str, str]:
    choices = _choices(source)
    if choices:
        items = [item for choice in choices for item in (bank.of_lesson(choice) if isinstance(choice, int) else
                                                         (bank.find(choice),))]
        names = [item.id for item in items]
        doubled = sorted({name for name in names if names.count(name) > 1})
        if doubled:
            raise UsageError(f"Named twice: {', '.join(doubled)}. An item can stand on a sheet once.")
        return tuple(items), _title(choices), ""
    try:
        layout = catalogue.find(source)
    except UsageError as fault:
        raise UsageError(f"{source!r} is no source of a sheet: expected a lesson (\"lesson 3\"), items "
                         f"(L03-01,L02-02) or a layout. {fault}") from None
    return layout_items.asked(layout, ask), layout.name, catalogue.dumps(layout)


def _choices(source: str) -> list[int | str]:
    """The lessons (numbers) and items (names) that a source lists, in its order; none if it is something else."""
    choices: list[int | str] = []
    place = 0
    while place < len(source):
        found = _CHOICE.match(source, place)
        if not found:
            return []
        choices.append(found[1].upper() if found[1] else int(found[2]))
        place = found.end()
    return choices


def _title(choices: Sequence[int | str]) -> str:
    lessons = [str(choice) for choice in choices if isinstance(choice, int)]
    if len(lessons) < len(choices):
        return "Exercises"
    return f"Lesson {lessons[0]}" if len(lessons) == 1 else f"Lessons {listed(lessons)}"


def _due_time(text: str, name: str) -> dt.datetime | None:
    if not text.strip():
        return None
    try:
        due = dt.datetime.fromisoformat(text.strip())
    except ValueError:
        due = None
    if due is None or due.tzinfo is not None:
        raise UsageError(f"Sheet {name}: due {text!r}; expected a date and time in the course's time zone, "
                         'such as "2026-03-02 17:00".')
    return due


def write(sheet: Sheet, path: Path) -> None:
    """Write a sheet's file.

    Args:
        sheet: the sheet.
        path: the file; replaced if it exists.
    """
    write_atomically(path, as_text(sheet))


def as_text(sheet: Sheet) -> str:
    """The text of a sheet's file."""
    lines = [f"format = {FORMAT}", f"name = {quoted(sheet.name)}", f"title = {quoted(sheet.title)}",
             f"kind = {quoted(sheet.kind)}", f"attempts = {sheet.attempts}", f"hint_cost = {sheet.hint_cost}"]
    if sheet.due is not None:
        lines.append(f"due = {sheet.due.isoformat()}")
    if sheet.layout:
        plain = "'''" not in sheet.layout and "\r" not in sheet.layout
        lines.append(f"layout = '''\n{sheet.layout}'''" if plain else f"layout = {quoted(sheet.layout)}")
    for entry in sheet.items:
        lines += ["", "[[item]]", f"id = {quoted(entry.item.id)}", f"marks = {entry.marks}"]
    return "\n".join(lines) + "\n"


def read(path: Path) -> Sheet:
    """Read a sheet's file.

    Args:
        path: the file that `write` made, perhaps changed by hand since.

    Raises:
        UsageError: the file is missing or cannot be used; all faults are named together.
    """
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise UsageError(f"There is no sheet {path}. Make one with: graders compose \"lesson 3\" -o {path}") from None
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
        raise UsageError(f"The sheet {path} cannot be read: {fault}") from None
    faults: list[str] = []
    sheet = _sheet_from(data, faults)
    if faults:
        raise UsageError(f"The sheet {path} cannot be used:\n  " + "\n  ".join(faults))
    return sheet


_SETTINGS: Mapping[str, tuple[type, str]] = {
    "format": (int, f"{FORMAT}"), "name": (str, "a text in quotes"), "title": (str, "a text in quotes"),
    "kind": (str, f"one of {', '.join(KINDS)}"), "attempts": (int, "a whole number from 1"),
    "hint_cost": (int, "percent from 0 to 100"), "due": (dt.datetime, "a date and time such as 2026-03-02T17:00:00"),
    "layout": (str, "the text of a layout"), "item": (list, "tables [[item]]"),
}


def _sheet_from(data: Mapping[str, Any], faults: list[str]) -> Sheet:
    for key, value in data.items():
        if key not in _SETTINGS:
            faults.append(f"{key}: unknown; known are {', '.join(_SETTINGS)}")
        elif not isinstance(value, _SETTINGS[key][0]) or isinstance(value, bool):
            faults.append(f"{key}: found {value!r}, expected {_SETTINGS[key][1]}")
    usable: dict[str, Any] = {
        key: value for key, value in data.items()
        if key in _SETTINGS and isinstance(value, _SETTINGS[key][0]) and not isinstance(value, bool)}
    name, kind = usable.get("name", ""), usable.get("kind", "graded")
    attempts, hint_cost, due = usable.get("attempts", 3), usable.get("hint_cost", 10), usable.get("due")
    for wrong, words in (
        (data.get("format") != FORMAT, f"format: found {data.get('format')!r}, expected {FORMAT}"),
        (kind not in KINDS, f"kind: found {kind!r}, expected {_SETTINGS['kind'][1]}"),
        (attempts < 1, f"attempts: found {attempts}, expected a whole number from 1"),
        (not 0 <= hint_cost <= 100, f"hint_cost: found {hint_cost}, expected percent from 0 to 100"),
        (due is not None and due.tzinfo is not None, "due: give local time, without an offset"),
    ):
        if wrong:
            faults.append(words)
    try:
        check_sheet(name)
    except UsageError as fault:
        faults.append(f"name: {fault}")
    layout = usable.get("layout", "")
    entries = _items_from(usable.get("item", []), layout, faults)
    return Sheet(name, usable.get("title", "") or name, entries, kind, attempts, hint_cost, due, layout)


def _items_from(tables: Sequence[Any], layout: str, faults: list[str]) -> tuple[SheetItem, ...]:
    known: dict[str, Item] = {}
    if layout:
        try:
            known = {item.id: item for item in layout_items.from_layout(catalogue.parse(layout, "layout"))}
        except GearkitError as fault:
            faults.append(f"layout: {fault}")
    entries: list[SheetItem] = []
    for place, table in enumerate(tables, start=1):
        entry = _entry(place, table, known, faults)
        if entry is not None and entry.item.id in {one.item.id for one in entries}:
            faults.append(f"item {place}: {entry.item.id} stands on the sheet already")
        elif entry is not None:
            entries.append(entry)
    if not tables:
        faults.append("item: no [[item]] is there; a sheet needs at least one")
    if len(tables) > MOST_ITEMS:
        faults.append(f"item: {len(tables)} items; at most {MOST_ITEMS} fit on a sheet")
    return tuple(entries)


def _entry(place: int, table: Any, known: Mapping[str, Item], faults: list[str]) -> SheetItem | None:
    if not isinstance(table, dict) or not isinstance(table.get("id"), str):
        faults.append(f"item {place}: expected a table [[item]] with id = \"L03-02\"")
        return None
    for key in table.keys() - {"id", "marks"}:
        faults.append(f"item {place}: {key}: unknown; known are id, marks")
    try:
        item = known.get(table["id"]) or bank.find(table["id"])
    except UsageError as fault:
        faults.append(f"item {place}: {fault}")
        return None
    marks = table.get("marks", item.marks)
    if isinstance(marks, bool) or not isinstance(marks, int) or not 1 <= marks <= 100:
        faults.append(f"item {place}: marks: found {marks!r}, expected a whole number from 1 to 100")
        return None
    return SheetItem(item, marks)
