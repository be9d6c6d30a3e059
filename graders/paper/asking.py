"""Asks for the answers of one paper after the other, and keeps each in the form at once.

What is kept is the form of `type_in`, a row for each copy: so whoever stops, is interrupted or goes on in a spreadsheet has
everything that was typed, and it is taken in as any form is.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from gearkit.answers.listing import title_of
from gearkit.text.files import write_atomically
from gearkit.words.errors import UsageError
from graders.course.course import Course
from graders.course.roster import Roster
from graders.paper import copies, copy_mark, type_in
from graders.paper.copies import Copy
from graders.sheets.sheets import Sheet

BACK, NOTHING = "<", "-"
# What somebody reads before the first paper.
HELP = (
    f"Type an answer as it is written and press Enter. Enter alone keeps what stands in brackets, or leaves the answer blank. "
    f"{NOTHING} takes an answer out, {BACK} goes back to the one before. Every answer is kept at once."
)


class StoppedError(Exception):
    """Nothing more can be asked: the end of what is typed, or an interrupt."""


@dataclass(frozen=True)
class Screen:
    """Where questions go and answers come from.

    Args:
        ask: given a question, returns what was typed; raises StoppedError where nothing comes any more.
        tell: shows a line.
    """

    ask: Callable[[str], str]
    tell: Callable[[str], None]


class Form:
    """The form of a sheet in its file.

    Args:
        file: the form; it is made where it is missing.
        made: all copies that were printed, spare ones too.

    Raises:
        UsageError: the file is there and is not the form of these copies.
    """

    def __init__(self, file: Path, made: Sequence[Copy]) -> None:
        self.file = file
        table = type_in.table(file) if file.exists() else list(csv.reader(io.StringIO(type_in.form(made))))
        self.head = [cell.strip() for cell in table[0]] if table else []
        wanted = [type_in.MARK, type_in.LEARNER, *type_in.columns([copy.variants for copy in made])]
        missing = [name for name in wanted if name not in self.head]
        if missing:
            raise UsageError(
                f"{file} has no column {missing[0]}, so it is not this sheet's form. Name another file, or one that is not there yet."
            )
        rows = [dict(zip(self.head, [*cells, *[""] * len(self.head)], strict=False)) for cells in table[1:]]
        self._rows = {row[type_in.MARK].strip().casefold(): row for row in rows}
        for copy in made:
            if str(copy.mark).casefold() not in self._rows:
                raise UsageError(
                    f"{file} has no row for the copy {copy.mark}. Name another file, or one that is not there yet."
                )

    def row(self, copy: Copy) -> dict[str, str]:
        """Return the row of a copy, which may be changed; `keep` writes it.

        Args:
            copy: the copy.
        """
        return self._rows[str(copy.mark).casefold()]

    def answered(self, copy: Copy) -> tuple[int, int]:
        """Return how many answers of a copy stand there, and how many it asks for.

        Args:
            copy: the copy.
        """
        heads = type_in.columns([copy.variants])
        return sum(bool(self.row(copy)[head].strip()) for head in heads), len(heads)

    def keep(self) -> None:
        """Write the form."""
        text = io.StringIO()
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(self.head)
        writer.writerows([row[name] for name in self.head] for row in self._rows.values())
        write_atomically(self.file, text.getvalue())


def ask_all(course: Course, sheet: Sheet, made: Sequence[Copy], class_list: Roster, file: Path, screen: Screen) -> bool:
    """Ask for one paper after the other until no mark is typed; return whether it came to its end, so that it can be taken in.

    Args:
        course: the course.
        sheet: the sheet.
        made: all copies that were printed, spare ones too.
        class_list: the class.
        file: the form in which answers are kept.
        screen: where to ask.

    Raises:
        UsageError: the file is no form of these copies.
    """
    form = Form(file, made)
    form.keep()
    screen.tell(f"{sheet.title}. Exercises on a paper: {len(sheet.items)}. {HELP}")
    first = made[0].mark
    screen.tell(
        f"Of the mark {first} it is enough to type {first.owner}-{copy_mark.check_sign(str(first).rpartition('-')[0])}."
    )
    try:
        while True:
            done = sum(form.answered(copy)[0] > 0 for copy in made)
            typed = screen.ask(
                f"\nPapers typed: {done}. Mark at the head of the next paper (Enter alone: no more papers)"
            ).strip()
            if not typed:
                return True
            try:
                copy = _copy_of(typed, sheet, made)
                _paper(course, sheet, copy, class_list, form, screen)
            except UsageError as fault:
                screen.tell(f"  {fault}")
    except StoppedError:
        screen.tell(f"\nStopped. What was typed is kept in {file}; the same command goes on, and nothing is taken in yet.")
        return False


def _whole(typed: str, sheet: Sheet) -> str:
    """A mark of this sheet that was typed without what is the same on all its copies; its check sign still tells every slip."""
    owner, dash, sign = typed.rpartition("-")
    return f"{sheet.name}/{owner}/1-{sign}" if dash and "/" not in typed else typed


def _copy_of(typed: str, sheet: Sheet, made: Sequence[Copy]) -> Copy:
    mark = copy_mark.read(_whole(typed, sheet))
    if mark.sheet.casefold() != sheet.name.casefold():
        raise UsageError(f"mark {typed!r} is of sheet {mark.sheet}, not of {sheet.name}")
    for copy in made:
        if str(copy.mark).casefold() == str(mark).casefold():
            return copy
    raise UsageError(f"mark {typed!r}: no such copy was printed")


def _paper(course: Course, sheet: Sheet, copy: Copy, class_list: Roster, form: Form, screen: Screen) -> None:
    row = form.row(copy)
    if copy.mark.spare:
        row[type_in.LEARNER] = _writer(row, class_list, screen)
    learner = class_list.find(row[type_in.LEARNER] or copy.owner.id)
    held, asked = form.answered(copy)
    again = f": there already, answers: {held} of {asked}" if held else ""
    screen.tell(f"  {learner.name if learner else copy.owner.name} ({learner.id if learner else copy.owner.id}){again}")
    fields = [
        (number, title_of(entry.item), variant, part)
        for number, (entry, variant) in enumerate(zip(sheet.items, copy.variants, strict=True), start=1)
        for part in variant.parts
    ]
    at = 0
    while at < len(fields):
        number, title, variant, part = fields[at]
        head = variant.item.id if len(variant.parts) == 1 else f"{variant.item.id}.{part.name}"
        before = row[head].strip()
        label = copies.field(part, len(variant.parts)).label.strip("`") if len(variant.parts) > 1 else ""
        asked_words = f"  {number}. {title}{f', {label}' if label else ''}{f', {part.unit}' if part.unit else ''}"
        typed = screen.ask(f"{asked_words}{f' [{before}]' if before else ''}").strip()
        if typed == BACK:
            at = max(0, at - 1)
            continue
        if typed:
            row[head] = "" if typed == NOTHING else typed
            form.keep()
            trouble = type_in.unreadable(course, variant, part, row[head])
            if trouble:
                screen.tell(f"     Kept as typed, but it cannot be read: {trouble} {BACK} corrects it.")
        at += 1
    held, asked = form.answered(copy)
    screen.tell(f"  Kept. Answers: {held} of {asked}.")


def _writer(row: dict[str, str], class_list: Roster, screen: Screen) -> str:
    """Who wrote on a spare copy."""
    while True:
        before = row[type_in.LEARNER].strip()
        typed = (
            screen.ask(f"  A spare copy. Identity of the learner who wrote on it{f' [{before}]' if before else ''}").strip()
            or before
        )
        known = next((person.id for person in class_list if person.id.casefold() == typed.casefold()), "")
        if known:
            return known
        screen.tell(f"  {typed!r} is not on the class list.")
