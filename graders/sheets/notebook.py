"""The sheet as a notebook: the sheet's own code cell, and for each item a locked task and a cell to answer in.

Every cell carries the class book-keeping's card (`nbgrader`, version 3 of its form) and ours (`gearkit`), side by
side. Ours says which item a cell belongs to and for whom the numbers were drawn; at marking it only helps to find
an answer that was moved, and is never believed.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from gearkit.answers.draw_numbers.variants import Variant, practice
from gearkit.answers.item import AnswerKind, Item
from gearkit.answers.judge.checkers import Part
from gearkit.answers.kinds.choices import labelled
from gearkit.answers.kinds.kind import Form
from gearkit.answers.listing import title_of
from gearkit.answers.read.commas import EITHER
from gearkit.site.page_words import ONE_OF, RUNNING, SEVERAL_OF
from gearkit.text.latex import with_tight_commas
from gearkit.text.markdown import as_words
from gearkit.words.say import ENGLISH, language_code, later, say, say_n
from graders.course.course import Course
from graders.course.language import in_its_language
from graders.course.roster import Learner
from graders.sheets import first_page
from graders.sheets.pictures import as_choices, pictures_for
from graders.sheets.sheets import Sheet

CARD_FORMAT = 1
FOOT = later(
    "*This sheet teaches how ratios come about. For any real unit follow the maker's service procedure and data, local codes and licensed practice.*"
)
IMPORTS = "from gearkit.lesson.answering import answer"
# What tasks told of layouts -> the number of the task.
Seen = dict[str, int]
_KERNEL = {"kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"}}


@dataclass(frozen=True)
class Owner:
    """For whom a copy is made.

    Args:
        learner: the learner.
        attempt: which variant, counted from 1.
    """

    learner: Learner
    attempt: int = 1


def symbols_of(sheet: Sheet) -> tuple[str, ...]:
    """The lesson symbols that the sheet's items ask for, in the order of their first use."""
    names = [
        name
        for entry in sheet.items
        if _asks_for_symbols(entry.item.kind, entry.item.fields.values())
        for name in entry.item.all_symbols
    ]
    return tuple(dict.fromkeys(names))


def _asks_for_symbols(kind: AnswerKind, fields: Iterable[Any]) -> bool:
    return kind is AnswerKind.EXPRESSION or any(field.kind is AnswerKind.EXPRESSION for field in fields)


def setup_source(sheet: Sheet) -> str:
    """The sheet's own code cell."""
    names = symbols_of(sheet)
    calls = [f'comma("{sheet.rules.comma}")'] if sheet.rules.comma != EITHER else []
    calls += [f'language("{language_code()}")'] if language_code() != ENGLISH else []
    imports = ", ".join([IMPORTS, *(call.partition("(")[0] for call in calls)])
    imports = "\n".join([imports, "", *calls]) if calls else imports
    if not names:
        return imports
    left = ", ".join(names) + ("," if len(names) == 1 else "")
    return f'{imports}\nfrom gearkit.answers.symbols import symbols\n\n{left} = symbols("{" ".join(names)}")'


def generic(sheet: Sheet) -> dict[str, Any]:
    """The sheet's notebook without anybody's numbers: practice numbers stand in their place."""
    return _notebook(sheet, [practice(entry.item, f"sheet {sheet.name}") for entry in sheet.items], (), None)


@in_its_language
def from_variants(
    course: Course, sheet: Sheet, owner: Owner, variants: Sequence[Variant], *, pictures: bool = True
) -> dict[str, Any]:
    """A learner's own copy, from variants that have been drawn already.

    Args:
        course: the course.
        sheet: the sheet.
        owner: for whom the copy is.
        variants: the learner's variants in the order of the sheet's items.
        pictures: with the drawings that belong to the tasks.
    """
    return _notebook(sheet, variants, first_page.lines(sheet, course, owner.learner), owner, pictures=pictures)


def trial(sheet: Sheet, owner: Owner, variants: Sequence[Variant], rules: Sequence[str]) -> dict[str, Any]:
    """A copy to look at, before or beside those that are handed out.

    Args:
        sheet: the sheet.
        owner: whose numbers it has.
        variants: the variants in the order of the sheet's items.
        rules: the lines at its head.
    """
    return _notebook(sheet, variants, rules, owner)


def as_text(notebook: dict[str, Any], *, compact: bool = False) -> str:
    """A notebook as the text of its file.

    Args:
        notebook: the notebook.
        compact: on one line, which is written several times faster and which nobody reads with their eyes.
    """
    return json.dumps(notebook, ensure_ascii=False, indent=None if compact else 1) + "\n"


def _notebook(
    sheet: Sheet, variants: Sequence[Variant], rules: Sequence[str], owner: Owner | None, *, pictures: bool = True
) -> dict[str, Any]:
    drawings = pictures_for(sheet, variants) if pictures else [""] * len(variants)
    title, setup, *sources, foot = _texts(sheet, variants, rules, owner, drawings)
    cells = [_text_cell("title", title, {}), _setup_cell(setup)]
    for entry, task, answer in zip(sheet.items, sources[::2], sources[1::2], strict=True):
        item = entry.item.id
        cells.append(_text_cell(f"{item}-task", task, {"task": item}))
        cells.append(_answer_cell(item, entry.marks, answer))
    cells.append(_text_cell("foot", foot, {}))
    return {"cells": cells, "metadata": {**_KERNEL, "gearkit": _card(sheet, owner)}, "nbformat": 4, "nbformat_minor": 5}


@in_its_language
def texts(course: Course, sheet: Sheet, owner: Owner, variants: Sequence[Variant]) -> list[str]:
    """The sources of the cells of a learner's copy without drawings, in order; all that differs between learners' cells.

    Args:
        course: the course.
        sheet: the sheet.
        owner: for whom the copy is.
        variants: the learner's variants in the order of the sheet's items.
    """
    return _texts(sheet, variants, first_page.lines(sheet, course, owner.learner), owner, [""] * len(variants))


def _texts(
    sheet: Sheet, variants: Sequence[Variant], rules: Sequence[str], owner: Owner | None, drawings: Sequence[str]
) -> list[str]:
    told = [_title(sheet, rules or first_page.lines(sheet), owner), setup_source(sheet)]
    seen: Seen = {}
    for number, (entry, variant, drawing) in enumerate(zip(sheet.items, variants, drawings, strict=True), start=1):
        task = task_text(number, entry.marks, variant, seen) + (f"\n\n{drawing}" if drawing else "")
        task += hints_text(entry.item) if sheet.rules.hint_cost == 0 else ""
        told += [task, variant.answer_cell()]
    return [*told, say(FOOT)]


def _card(sheet: Sheet, owner: Owner | None) -> dict[str, Any]:
    card: dict[str, Any] = {"format": CARD_FORMAT, "sheet": sheet.name}
    if owner is not None:
        card |= {"learner": owner.learner.id, "attempt": owner.attempt}
    return card


def _title(sheet: Sheet, rules: Sequence[str], owner: Owner | None) -> str:
    lines = [f"# {as_words(sheet.title)}", ""]
    if owner is not None:
        again = say(", attempt {attempt}", attempt=owner.attempt) if owner.attempt > 1 else ""
        own = say("The numbers in this sheet are your own.")
        lines += [f"**{as_words(owner.learner.name)}** ({owner.learner.id}{again}). {own}", ""]
    else:
        lines += [say("This copy has practice numbers; each learner's own copy has their own."), ""]
    lines += [*(f"- {as_words(rule)}" for rule in rules), ""]
    lines.append(" ".join((say(RUNNING), say("A fraction such as 19/6 is always welcome."))))
    return "\n".join(lines)


def hints_text(item: Item) -> str:
    """The hints of an item, folded up one by one, in Markdown.

    Args:
        item: the item.
    """
    pieces = ""
    for number, hint in enumerate(item.shown_hints, start=1):
        name = say("Hint {number}", number=number)
        pieces += f"\n\n<details><summary>{name}</summary>\n\n{hint}\n\n</details>"
    return pieces


def task_text(number: int, marks: int, variant: Variant, seen: Seen | None = None) -> str:
    """The task of one item with a learner's numbers, in Markdown.

    Args:
        number: the item's place on the sheet, counted from 1.
        marks: the marks that it carries.
        variant: the learner's variant.
        seen: what tasks before it told of layouts, with their numbers; what this one tells is added.
    """
    told = variant.prompt if seen is None or not variant.blocks else _told(number, variant, seen)
    name, title = variant.item.id, title_of(variant.item)
    heading = f"{as_words(title)} ({name}, " if title != name else f"{name} ("
    worth = say_n("{count} mark", "{count} marks", marks)
    lines = [f"### {number}. {heading}{worth})", "", told]
    parts = variant.parts
    for part in parts:
        if part.pictures:
            lines += ["", as_choices(part.options, part.pictures)]
    shared = parts[0].options if len({part.options for part in parts}) == 1 else ()
    if len(parts) > 1:
        lines.append("")
        for part in parts:
            unit = say(", in {unit}", unit=part.shown_unit) if part.unit else ""
            choice = f" ({_choice(part)})" if part.options and not shared else ""
            label = part.label.removeprefix(f"{part.name}: ") or part.name
            lines.append(f"- `{part.name}`: {label}{unit}{choice}")
        if shared:
            lines += ["", say("For each: {choice}.", choice=_choice(parts[0]))]
    elif shared and labelled(shared) not in variant.prompt:
        lines += ["", f"{_choice(parts[0])[0].upper()}{_choice(parts[0])[1:]}."]
    elif not shared and parts[0].unit and parts[0].shown_unit not in variant.prompt:
        lines += ["", say("Answer in {unit}.", unit=parts[0].shown_unit)]
    return "\n".join(lines)


def _told(number: int, variant: Variant, seen: Seen) -> str:
    """The question, and of its layout what no task before it told; for the rest where that stands."""
    new = [block for block in variant.blocks if block[1] not in seen]
    old = [say("{name}: see task {number}", name=say(name), number=seen[text]) for name, text in variant.blocks if text in seen]
    seen.update((text, number) for _, text in new)
    pointer = [f"*{'; '.join(old)[:1].upper()}{'; '.join(old)[1:]}.*"] if old else []
    return "\n\n".join([*(text for _, text in new), variant.question, *pointer])


def _choice(part: Part) -> str:
    """What can be written for a part with options."""
    options = ", ".join(f"`{option}`" for option in part.shown_options)
    form = part.kind.traits.form
    if form is Form.ORDER:
        return say("put in order, with commas between: {options}", options=options)
    if form is Form.SEVERAL:
        return say(SEVERAL_OF, options=options)
    return say(ONE_OF, options=options)


def _text_cell(name: str, source: str, card: dict[str, Any]) -> dict[str, Any]:
    return {
        "cell_type": "markdown",
        "id": name,
        "source": with_tight_commas(source),
        "metadata": {**_closed(name), "gearkit": card},
    }


def _setup_cell(source: str) -> dict[str, Any]:
    return {
        "cell_type": "code",
        "id": "setup",
        "source": source,
        "execution_count": None,
        "outputs": [],
        "metadata": {**_closed("setup"), "gearkit": {"setup": True}},
    }


def _answer_cell(item: str, marks: int, source: str) -> dict[str, Any]:
    book_keeping = {
        "schema_version": 3,
        "grade_id": item,
        "grade": True,
        "solution": True,
        "locked": False,
        "task": False,
        "points": marks,
    }
    return {
        "cell_type": "code",
        "id": item,
        "source": source,
        "execution_count": None,
        "outputs": [],
        "metadata": {"nbgrader": book_keeping, "gearkit": {"item": item}},
    }


def _closed(name: str) -> dict[str, Any]:
    book_keeping = {"schema_version": 3, "grade_id": name, "grade": False, "solution": False, "locked": True, "task": False}
    return {"nbgrader": book_keeping, "deletable": False, "editable": False}


def checksum(cell: Mapping[str, Any]) -> str:
    """The fingerprint that the book-keeping gives a cell; loading it only for that would take longer than marking.

    Source: nbgrader 0.9, `nbgrader.utils.compute_checksum`; a test compares both.
    """
    return checksum_of(cell["source"], checksum_tail(cell))


def checksum_of(source: str, tail: str) -> str:
    """The fingerprint of a cell.

    Args:
        source: the cell's source.
        tail: what `checksum_tail` gives for the cell.
    """
    return hashlib.md5(f"{source}{tail}".encode(), usedforsecurity=False).hexdigest()


def checksum_tail(cell: Mapping[str, Any]) -> str:
    """What goes into a cell's fingerprint beside its source."""
    card = cell["metadata"]["nbgrader"]
    locked = not card["solution"] and (card["grade"] or card["locked"])
    parts = [cell["cell_type"], str(card["grade"]), str(card["solution"]), str(locked), card["grade_id"]]
    if card["grade"]:
        parts.append(str(float(card["points"])))
    return "".join(parts)
