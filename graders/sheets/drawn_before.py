"""Finds again what was drawn for copies that were handed out before the kit kept it.

The learner's numbers are drawn once more from the course's secret, and the draw is taken whose numbers stand in the copy
that the course folder holds. A draw that a later version of the kit would throw away is found all the same.
"""

from __future__ import annotations

import itertools
import json
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path

from gearkit.answers.draw_numbers import variants
from gearkit.answers.draw_numbers.kept import ChangedItemError
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.item import Item
from gearkit.words.errors import UsageError
from graders.course.course import Course
from graders.sheets.sheets import Sheet

# Most items throw away no draw, some nine of ten; a retake skips up to forty that repeat the first sheet's. Of a layout's
# tooth counts hardly a draw is thrown away, and each takes long.
_LOOKED_AT, _LOOKED_AT_OF_LAYOUTS = 400, 60
# Digits that do not stand in another draw by chance.
_ENOUGH_DIGITS = 6
_DRAWN = re.compile(r"\d+(?:[./]\d+)?|\b[A-Z]\d?\b")


def tasks_in(copy: Path) -> Mapping[str, str]:
    """The tasks of a copy in the course folder by item, without drawings and hints.

    Args:
        copy: the copy as it was made; never one that was handed in.

    Raises:
        UsageError: it cannot be read.
    """
    try:
        cells = json.loads(copy.read_text(encoding="utf-8"))["cells"]
        tasks = {
            cell["metadata"]["gearkit"]["task"]: str(cell["source"])
            for cell in cells
            if "task" in cell["metadata"].get("gearkit", {})
        }
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as fault:
        raise UsageError(
            f"{copy} cannot be read ({fault!r}): it holds the numbers that were handed out. Restore it from a backup."
        ) from None
    return {item: re.split(r"\n\n(?:!\[|<details>)", text)[0] for item, text in tasks.items()}


def recovered(course: Course, sheet: Sheet, item: Item, learner: str, tasks: Mapping[str, str]) -> Variant:
    """The variant whose numbers stand in a learner's copy.

    Args:
        course: the course.
        sheet: the sheet.
        item: the item.
        learner: identity of the learner.
        tasks: what `tasks_in` gave for the copy.

    Raises:
        ChangedItemError: none that this version of the kit draws for the learner fits what stands there.
    """
    text = tasks.get(item.id, "")
    near: list[Variant] = []
    if item.draw.later and variants.may_be_asked_in(item, text):
        # Somebody who was handed out what is drawn now, whose kept numbers are lost.
        drawn = next((variant for variant in _draws(course, sheet, item, learner) if _stands(variant, text)), None)
        if drawn is not None:
            return drawn
    for variant in _draws(course, sheet, item, learner, before=True):
        if _stands(variant, text):
            return variant
        # The same numbers in other words, where the question has been put better since.
        if _numbers_stand(variant, text) and not any(variant.asks_the_same_as(other) for other in near):
            near.append(variant)
            if sum(map(str.isdigit, "".join(_told(variant)))) >= _ENOUGH_DIGITS:
                break
    if len(near) != 1:
        raise ChangedItemError(item.id)
    return near[0]


def is_another_secret(course: Course, sheet: Sheet, learner: str) -> bool:
    """Say whether few of the items with numbers of one's own have in a copy what this secret gives.

    Args:
        course: the course.
        sheet: the sheet.
        learner: identity of a learner with a copy.
    """
    tasks = tasks_in(course.handed_out_file(learner, sheet.name))
    with_numbers = [
        both
        for entry in sheet.items
        if (both := [next(_draws(course, sheet, entry.item, learner, before=before)) for before in (False, True)])[0].values
    ]
    texts = [(both, tasks.get(both[0].item.id, "")) for both in with_numbers]
    # Chance brings some small tasks about with any secret; a later version of the kit changes a few items of a sheet.
    # Many questions may have been put better since; their numbers stand all the same.
    standing = sum(any(_stands(variant, text) or _numbers_stand(variant, text) for variant in both) for both, text in texts)
    return 2 * standing < len(with_numbers)


def _draws(course: Course, sheet: Sheet, item: Item, learner: str, *, before: bool = False) -> Iterator[Variant]:
    if item.draw.train:
        # Such items came after the kit began to keep what it draws, so only a file that was lost is made again.
        return iter([sheet.variant(item, secret=course.secret(), learner=learner)])
    seed = variants.seed_for(item, course.secret(), sheet.name, learner)
    return itertools.islice(
        variants.tried(item, seed, handed_out=True, before=before), _LOOKED_AT_OF_LAYOUTS if item.draw.layout else _LOOKED_AT
    )


def _stands(variant: Variant, text: str) -> bool:
    """Whether a task asks exactly what a variant asks."""
    return (
        (variant.question if variant.blocks else variant.prompt) in text
        and all(part.label.removeprefix(f"{part.name}: ") in text for part in variant.parts)
        and all(option in text for part in variant.parts for option in part.options)
    )


def _numbers_stand(variant: Variant, text: str) -> bool:
    """Whether all that was drawn for a variant stands in a task, and what can be chosen with it."""
    body = text.partition("\n")[2]
    told = _told(variant) or [*variant.words.values()]
    told += [part.label for part in variant.parts if variant.throws]
    drawn = Counter(_DRAWN.findall(" ".join(told)))
    return (
        bool(variant.values or variant.throws)
        and drawn <= Counter(_DRAWN.findall(body))
        and all(option in body for part in variant.parts for option in part.options)
        and all(variant.words[name] in body for name in variant.values if name in variant.words)
    )


def _told(variant: Variant) -> list[str]:
    """The drawn numbers that the learner reads, as they stand in the task; of a layout's sets sun and ring teeth are told."""
    teeth = variant.drawn.teeth if not variant.item.draw.hidden else ()
    counts = [str(count) for tooth in teeth for count in (tooth.sun, tooth.ring)]
    return counts + [
        variant.words.get(name) or variants.shown_exactly(number)
        for name, number in variant.values.items()
        if f"<{name}>" in variant.item.prompt
    ]
