"""The numbers that learners were handed out: kept at hand-out, and taken from there by whatever comes after.

A later version of the kit may draw otherwise. Whoever has a copy keeps the numbers in it all the same, because they are
kept beside it, in ``drawn/LEARNER/SHEET.json`` of the course folder: drawn values, never answers. Nothing of it is in the
learner's hands, and what comes back from there is never asked what was drawn.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

import gearkit
from gearkit.answers.draw_numbers import kept
from gearkit.answers.draw_numbers.kept import ChangedItemError
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.item import Item
from gearkit.text.files import write_atomically
from gearkit.words.errors import UsageError
from graders.course.course import Course
from graders.course.language import in_its_language
from graders.sheets import drawn_before
from graders.sheets.sheets import Sheet

FORMAT = 1


def file_of(course: Course, sheet: str, learner: str, attempt: int = 1) -> Path:
    """Where a learner's drawn values for a sheet are kept.

    Args:
        course: the course.
        sheet: name of the sheet.
        learner: identity of the learner.
        attempt: which variant, counted from 1.
    """
    again = f".{attempt}" if attempt > 1 else ""
    return course.folder / "drawn" / learner / f"{sheet}{again}.json"


@in_its_language
def variants_for(
    course: Course, sheet: Sheet, learner: str, attempt: int = 1, withdrawn: Collection[str] = (), only: str = ""
) -> tuple[Variant, ...]:
    """The variants of a sheet's items that a learner has: those handed out, else drawn from the course's secret.

    Args:
        course: the course.
        sheet: the sheet.
        learner: identity of the learner.
        attempt: which variant, counted from 1.
        withdrawn: items whose marks do not count, for which any variant does.
        only: the one item that is asked for; "" for all.

    Raises:
        ChangedItemError: an item asks something else in this version of the kit than what was handed out.
        UsageError: what was kept is damaged, or the secret cannot be used.
    """
    data = _read(course, sheet.name, learner, attempt)
    copy = course.handed_out_file(learner, sheet.name)
    items = [entry.item for entry in sheet.items if only in ("", entry.item.id)]
    if data is None and (attempt > 1 or not copy.is_file()):
        return tuple(fresh(course, sheet, item, learner, attempt) for item in items)
    variants: dict[str, Variant] = {}
    changed: list[str] = []
    texts = drawn_before.tasks_in(copy) if data is None else {}
    for item in items:
        try:
            variants[item.id] = (
                drawn_before.recovered(course, sheet, item, learner, texts)
                if data is None
                else kept.variant_of(item, data[item.id])
            )
        except (ChangedItemError, KeyError):
            if item.id in withdrawn:
                variants[item.id] = fresh(course, sheet, item, learner, attempt)
            else:
                changed.append(item.id)
    if changed:
        raise ChangedItemError(_changed_words(course, sheet, learner, changed))
    return tuple(variants.values())


def fresh(course: Course, sheet: Sheet, item: Item, learner: str, attempt: int = 1) -> Variant:
    """A learner's variant drawn now, with other numbers than on the sheet of which this one is a retake.

    Args:
        course: the course.
        sheet: the sheet.
        item: the item.
        learner: identity of the learner.
        attempt: which variant, counted from 1.
    """
    before: Variant | None = None
    if sheet.retake_of:
        there = _read(course, sheet.retake_of, learner, attempt) or {}
        with suppress(ChangedItemError):
            before = kept.variant_of(item, there[item.id]) if item.id in there else None
    return sheet.variant(item, secret=course.secret(), learner=learner, attempt=attempt, before=before)


def keep(course: Course, sheet: Sheet, learner: str, variants: Collection[Variant], attempt: int = 1) -> None:
    """Keep what was drawn for a learner.

    Args:
        course: the course.
        sheet: the sheet.
        learner: identity of the learner.
        variants: the learner's variants.
        attempt: which variant, counted from 1.
    """
    items = {variant.item.id: kept.kept(variant) for variant in variants}
    data = {"format": FORMAT, "kit": gearkit.__version__, "items": items}
    path = file_of(course, sheet.name, learner, attempt)
    write_atomically(path, json.dumps(data, ensure_ascii=False, separators=(",", ":")) + "\n", mode=0o600)


@in_its_language
def keep_what_was_handed_out(course: Course, sheet: Sheet, learners: Collection[str], withdrawn: Collection[str] = ()) -> None:
    """Keep the numbers of learners whose copies were made before the kit kept them, by what stands in the copies.

    Args:
        course: the course.
        sheet: the sheet.
        learners: identities of those about whom it is.
        withdrawn: items whose marks do not count.

    Raises:
        UsageError: what stands in a copy is not drawn any more by this version of the kit, or not from this secret.
    """
    older = [
        who
        for who in learners
        if not file_of(course, sheet.name, who).exists() and course.handed_out_file(who, sheet.name).is_file()
    ]
    faults: list[UsageError] = []
    for learner in older:
        try:
            keep(course, sheet, learner, variants_for(course, sheet, learner, withdrawn=withdrawn))
        except ChangedItemError as fault:
            faults.append(fault)
    if faults and len(faults) == len(older) and drawn_before.is_another_secret(course, sheet, older[0]):
        raise UsageError(
            f"Nothing was marked: the copies of sheet {sheet.name} were not drawn from the secret in {course.folder / '.secret'}. "
            "Put back this course's own .secret from a backup made when the sheet was handed out, then mark again."
        )
    if faults:
        more = f" (and {len(faults) - 1} more learners)" if len(faults) > 1 else ""
        raise UsageError(f"{faults[0]}{more}")
    if older:
        course.remember_secret()


@in_its_language
def worded_otherwise(
    course: Course, sheet: Sheet, learners: Collection[str], withdrawn: Collection[str] = ()
) -> tuple[str, ...]:
    """Items whose question stands in other words in the copies than this version of the kit asks it in.

    Looked for in one copy: all were made by one version, or newcomers' by a later one.

    Args:
        course: the course.
        sheet: the sheet.
        learners: identities of those who may have a copy, the first of them that has one being looked at.
        withdrawn: items whose marks do not count.
    """
    for learner in learners:
        copy = course.handed_out_file(learner, sheet.name)
        if copy.is_file():
            try:
                tasks = drawn_before.tasks_in(copy)
            except UsageError:
                # What was drawn is kept beside it; only that it can be compared is lost.
                continue
            return tuple(
                variant.item.id
                for variant in variants_for(course, sheet, learner, withdrawn=withdrawn)
                if variant.item.id not in withdrawn
                and (variant.question if variant.blocks else variant.prompt) not in tasks.get(variant.item.id, "")
            )
    return ()


def _read(course: Course, sheet: str, learner: str, attempt: int) -> Mapping[str, Any] | None:
    path = file_of(course, sheet, learner, attempt)
    try:
        data = json.loads(path.read_bytes())
        if data["format"] != FORMAT or not isinstance(data["items"], dict):
            raise ValueError(f"format {data['format']!r}, expected {FORMAT}")
    except FileNotFoundError:
        return None
    except (OSError, ValueError, KeyError, TypeError, RecursionError) as fault:
        raise UsageError(
            f"{path} cannot be used ({fault}): the numbers that {learner} was handed out are kept there. Restore "
            "it from a backup; if there is none, delete it: then they are worked out from the copy again."
        ) from None
    items: Mapping[str, Any] = data["items"]
    return items


def _changed_words(course: Course, sheet: Sheet, learner: str, changed: Collection[str]) -> str:
    withdraw = " ".join(f"{course.folder} {sheet.name} {next(iter(changed))}".split())
    return (
        f"Marking stopped: this version of gearkit ({gearkit.__version__}) does not ask {', '.join(changed)} any more as "
        f"the copy of {learner} does that was handed out for sheet {sheet.name}. Mark with the version that handed it out, "
        f"or take the item out of the marks and mark again: graders withdraw {withdraw}"
    )
