"""A sheet: which items, with how many marks, under which rules. It is one small file that can be kept and used again.

The file holds no numbers of any learner, no secret and no answers. A sheet made from a layout carries the
layout's text with it, so that it still works when the layout's own file has moved.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any

from gearkit.answers import families, layout_items, listing
from gearkit.answers import items as bank
from gearkit.answers.draw_numbers import variants
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.item import Item
from gearkit.answers.listing import Entry
from gearkit.answers.read.commas import EITHER
from gearkit.text.files import write_atomically
from gearkit.train import catalogue
from gearkit.train.data_file import read_document
from gearkit.words.errors import GearkitError, UsageError
from graders.course import lateness
from graders.course.course import check_sheet
from graders.course.files import quoted
from graders.sheets import exclusions, picking, sources
from graders.sheets.picking import Pick
from graders.sheets.sheet_rules import CALCULATORS, COMMAS, KINDS, ROUNDINGS, SheetRules

FORMAT = 1
MOST_ITEMS = 100
MOST_ITEM_MARKS = 100


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
        rules: hand-ins, hints, calculator and working time.
        due: when it is due, in the course's time zone; None for no due time.
        layouts: texts of the layouts that items were made from, in order.
        note: a sentence for the head of the sheet, or "".
        retake_of: name of the sheet that this one is a retake of, whose numbers it does not give again; "" for none.
        left_out: items of the source that are not on it because another item prints what they ask for; not stored.
        picked_from: number of items that it was picked from, 0 where it has all of them; not stored.
    """

    name: str
    title: str
    items: tuple[SheetItem, ...]
    kind: str = "graded"
    rules: SheetRules = field(default_factory=SheetRules)
    due: dt.datetime | None = None
    layouts: tuple[str, ...] = ()
    note: str = ""
    retake_of: str = ""
    left_out: tuple[str, ...] = field(default=(), compare=False)
    picked_from: int = field(default=0, compare=False)

    @property
    def marks(self) -> int:
        """Marks of all items together."""
        return sum(entry.marks for entry in self.items)

    @property
    def item_ids(self) -> tuple[str, ...]:
        """Names of the items in order."""
        return tuple(entry.item.id for entry in self.items)

    def variant(self, item: Item, *, secret: bytes, learner: str, attempt: int = 1, before: Variant | None = None) -> Variant:
        """A learner's variant of one of the items, drawn anew.

        Args:
            item: the item.
            secret: the course's secret key.
            learner: identity of the learner.
            attempt: which variant, counted from 1.
            before: what the learner had on the sheet that this one repeats, where it is known; else it is drawn as well.
        """
        return variants.draw(
            item,
            secret=secret,
            sheet=self.name,
            learner=learner,
            attempt=attempt,
            unlike=before or self.retake_of,
            beside=[entry.item for entry in self.items],
        )

    def layout_of(self, item: str) -> str:
        """The text of the layout that an item was made from, "" where it was made from none."""
        place = int(item[4]) if item.startswith(layout_items.START) else families.PLACES.find(item[:1])
        return self.layouts[place] if 0 <= place < len(self.layouts) else ""


def compose(
    source: str | Sequence[str],
    name: str,
    *,
    title: str = "",
    kind: str = "graded",
    due: str = "",
    note: str = "",
    ask: Sequence[str] = (),
    rules: SheetRules | None = None,
    marks: Mapping[str, int] = MappingProxyType({}),
    pick: Pick | None = None,
) -> Sheet:
    """Compose a sheet.

    Args:
        source: lessons and items such as "lessons 1 to 4" or "lesson 2, L03-01", a layout's file, or its name in the
            catalogue; or several of these, with commas between or as a list.
        name: short name of the sheet.
        title: title for people; made from the source if empty.
        kind: "graded" or "practice".
        due: date and time such as "2026-03-02 17:00", a date alone for its 23:59, or "" for none.
        note: a sentence for the head of the sheet, or "".
        ask: what a sheet from a layout asks about: some of `families.SUBJECTS`; none for a balanced sheet.
        rules: hand-ins, hints, calculator and working time; the usual ones of the kind if None.
        marks: marks of items that shall carry others than their own, by item.
        pick: what to pick from the source; all of it if None, and of more than fit on a sheet as many as fit.

    Raises:
        UsageError: the source is none of these, an item is unknown or named twice, or a setting cannot be used.
        LayoutError: the layout's file has faults.
    """
    check_sheet(name)
    rules = rules or usual_rules(kind)
    faults = [*rules.faults(kind), *_marks_faults(marks)]
    if faults:
        raise UsageError(f"Sheet {name} cannot be made so: " + "; ".join(faults) + ".")
    if not due.strip() and (rules.late or rules.grace_minutes is not None):
        raise UsageError(
            f"Sheet {name}: nobody can be late without a due time. Give one with --due, or leave --late and --grace out."
        )
    sheet = sources.read(source, ask, everything=bool(pick))
    everything, left_out = exclusions.apart(sheet.items, sheet.named)
    strangers = [item for item in marks if item not in {item_.id for item_ in everything}]
    if strangers and not pick:
        raise UsageError(f"Marks are given for {', '.join(strangers)}, which the sheet does not have.")
    if not pick and len(everything) > MOST_ITEMS:
        pick = Pick(MOST_ITEMS)
    items = everything
    if pick:
        about = _listed(sheet.items, sheet.layouts)
        items = picking.pick(everything, pick, marks, about, name)
        # What would not have been picked is not missed.
        wished = picking.asked_for(sheet.items, pick, about)
        left_out = tuple(
            entry.id for entry in sheet.items if entry.id in wished & {*left_out} and exclusions.told_by(entry, items)
        )
    picked_title = sources.title_of(sorted({item.lesson for item in items})) if pick and sheet.of_lessons else sheet.title
    entries = tuple(SheetItem(item, marks.get(item.id, item.marks)) for item in items)
    return Sheet(
        name,
        title.strip() or picked_title,
        entries,
        kind,
        rules,
        lateness.local_time(due, f"Sheet {name}: due") if due.strip() else None,
        sheet.layouts,
        note.strip(),
        left_out=left_out,
        picked_from=len(everything) if pick else 0,
    )


def _listed(items: Sequence[Item], layouts: Sequence[str]) -> dict[str, Entry]:
    """Each item as it is listed, by id."""
    entries = {item.id: listing.of_an_item(item) for item in items}
    for place, text in enumerate(layouts):
        entries |= {entry.id: entry for entry in listing.of_a_layout(catalogue.parse(text, "layout"), place)}
    return entries


def usual_rules(kind: str) -> SheetRules:
    """The rules of a sheet for which none are given: on a practice sheet the hints stand in it."""
    return SheetRules(hint_cost=0 if kind == "practice" else None)


def _marks_faults(marks: Mapping[str, int]) -> Iterator[str]:
    for item, number in marks.items():
        if not 1 <= number <= MOST_ITEM_MARKS:
            yield f"{item}: marks: found {number}, expected a whole number from 1 to {MOST_ITEM_MARKS}"


def write(sheet: Sheet, path: Path) -> None:
    """Write a sheet's file.

    Args:
        sheet: the sheet.
        path: the file; replaced if it exists.
    """
    write_atomically(path, as_text(sheet))


def as_text(sheet: Sheet) -> str:
    """The text of a sheet's file."""
    rules = sheet.rules
    lines = [
        f"format = {FORMAT}",
        f"name = {quoted(sheet.name)}",
        f"title = {quoted(sheet.title)}",
        f"kind = {quoted(sheet.kind)}",
    ]
    lines += [f"attempts = {rules.attempts}"] if rules.attempts else []
    lines += [f"hint_cost = {rules.hint_cost}"] if rules.hint_cost is not None else []
    lines.append(f"calculator = {quoted(rules.calculator)}")
    lines += [f"minutes = {rules.minutes}"] if rules.minutes else []
    lines += [f"rounding = {quoted(rules.rounding)}"] if rules.rounding != "fair" else []
    lines += [f"comma = {quoted(rules.comma)}"] if rules.comma != EITHER else []
    lines += [f"late = {quoted(rules.late)}"] if rules.late else []
    lines += [f"grace_minutes = {rules.grace_minutes}"] if rules.grace_minutes is not None else []
    lines += [f"due = {sheet.due.isoformat()}"] if sheet.due is not None else []
    lines += [f"note = {quoted(sheet.note)}"] if sheet.note else []
    lines += [f"retake_of = {quoted(sheet.retake_of)}"] if sheet.retake_of else []
    lines += ["layouts = [", *(f"{_block(text)}," for text in sheet.layouts), "]"] if sheet.layouts else []
    for entry in sheet.items:
        lines += ["", "[[item]]", f"id = {quoted(entry.item.id)}", f"marks = {entry.marks}"]
    return "\n".join(lines) + "\n"


def _block(text: str) -> str:
    """A text of several lines as TOML keeps it readable."""
    return f"'''\n{text}'''" if "'''" not in text and "\r" not in text else quoted(text)


def read(path: Path) -> Sheet:
    """Read a sheet's file.

    Args:
        path: the file that `write` made, perhaps changed by hand since.

    Raises:
        UsageError: the file is missing or cannot be used; all faults are named together.
    """
    try:
        data = read_document(path, "The sheet")
    except FileNotFoundError:
        raise UsageError(f'There is no sheet {path}. Make one with: graders compose "lesson 3" -o {path}') from None
    faults: list[str] = []
    sheet = _sheet_from(data, faults)
    if faults:
        raise UsageError(f"The sheet {path} cannot be used:\n  " + "\n  ".join(faults))
    return sheet


_SETTINGS: Mapping[str, tuple[type, str]] = {
    "format": (int, f"{FORMAT}"),
    "name": (str, "a text in quotes"),
    "title": (str, "a text in quotes"),
    "kind": (str, f"one of {', '.join(KINDS)}"),
    "attempts": (int, "a whole number from 1"),
    "hint_cost": (int, "percent from 0 to 100"),
    "calculator": (str, f"one of {', '.join(CALCULATORS)}"),
    "minutes": (int, "a whole number from 1"),
    "rounding": (str, f"one of {', '.join(ROUNDINGS)}"),
    "comma": (str, f"one of {', '.join(COMMAS)}"),
    "late": (str, lateness.FORM),
    "grace_minutes": (int, "a whole number from 0"),
    "due": (dt.date, "a date and time such as 2026-03-02T17:00:00"),
    "note": (str, "a text in quotes"),
    "retake_of": (str, "the name of a sheet in quotes"),
    "layouts": (list, "a list of layouts' texts"),
    "item": (list, "tables [[item]]"),
}


def _sheet_from(data: Mapping[str, Any], faults: list[str]) -> Sheet:
    usable: dict[str, Any] = {}
    for key, raw in data.items():
        value = _as_time(raw) if key == "due" else raw
        if key not in _SETTINGS:
            faults.append(f"{key}: unknown; known are {', '.join(_SETTINGS)}")
        elif not isinstance(value, _SETTINGS[key][0]) or isinstance(value, bool):
            faults.append(f"{key}: found {value!r}, expected {_SETTINGS[key][1]}")
        else:
            usable[key] = value
    name, kind, due = usable.get("name", ""), usable.get("kind", "graded"), usable.get("due")
    if data.get("format") != FORMAT:
        faults.append(f"format: found {data.get('format')!r}, expected {FORMAT}")
    for key in ("attempts", "minutes"):
        if usable.get(key) == 0:
            faults.append(f"{key}: found 0, expected {_SETTINGS[key][1]}; leave the line out for no limit")
    rules = SheetRules(
        usable.get("attempts", 0),
        usable.get("hint_cost", usual_rules(kind).hint_cost),
        usable.get("calculator", "any"),
        usable.get("minutes", 0),
        usable.get("rounding", "fair"),
        usable.get("comma", EITHER),
        usable.get("late", ""),
        usable.get("grace_minutes"),
    )
    faults += rules.faults(kind)
    if due is not None and not isinstance(due, dt.datetime):
        due = dt.datetime.combine(due, lateness.END_OF_DAY)
    if due is not None and due.tzinfo is not None:
        faults.append("due: give local time, without an offset")
    try:
        check_sheet(name)
    except UsageError as fault:
        faults.append(f"name: {fault}")
    layouts = tuple(str(text) for text in usable.get("layouts", ()))
    entries = _items_from(usable.get("item", []), layouts, faults)
    return Sheet(
        name,
        usable.get("title", "") or name,
        entries,
        kind,
        rules,
        due,
        layouts,
        usable.get("note", ""),
        usable.get("retake_of", ""),
    )


def _as_time(value: Any) -> Any:
    """A due time as it may stand in a sheet's file: in quotation marks or not."""
    if isinstance(value, str):
        with suppress(UsageError):
            return lateness.local_time(value, "due")
    return value


def _items_from(tables: Sequence[Any], layouts: Sequence[str], faults: list[str]) -> tuple[SheetItem, ...]:
    known: dict[str, Item] = {}
    most, wanted = len(families.PLACES), {str(table.get("id", "")) for table in tables if isinstance(table, dict)}
    if len(layouts) > most:
        faults.append(f"layouts: {len(layouts)} layouts; at most {most} can stand on a sheet")
    for number, text in enumerate(layouts[:most]):
        try:
            layout = catalogue.parse(text, "layout")
            if any(name.startswith(f"{layout_items.START}{number}") for name in wanted):
                known |= {item.id: item for item in layout_items.from_layout(layout, number)}
            known |= {offer.id: offer.item for offer in families.known(layout, number)}
        except GearkitError as fault:
            faults.append(f"layouts, number {number + 1}: {fault}")
    entries: list[SheetItem] = []
    for place, table in enumerate(tables, start=1):
        entry = _entry(place, table, known, faults)
        if entry is not None and entry.item.id in {other.item.id for other in entries}:
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
        faults.append(f'item {place}: expected a table [[item]] with id = "L03-02"')
        return None
    for key in table.keys() - {"id", "marks"}:
        faults.append(f"item {place}: {key}: unknown; known are id, marks")
    try:
        item = known.get(table["id"]) or bank.find(table["id"])
    except UsageError as fault:
        faults.append(f"item {place}: {fault}")
        return None
    marks = table.get("marks", item.marks)
    if isinstance(marks, bool) or not isinstance(marks, int) or not 1 <= marks <= MOST_ITEM_MARKS:
        faults.append(f"item {place}: marks: found {marks!r}, expected a whole number from 1 to {MOST_ITEM_MARKS}")
        return None
    return SheetItem(item, marks)
