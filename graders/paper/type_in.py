"""Takes in what was written on paper: a table with a row for each copy becomes the notebooks that learners would have handed in.

Nothing is marked here, and the rules of taking in are not repeated: each row fills the answer cells of the learner's own
copy, and `take_in` takes it from there. So paper is counted, replaced, timed and marked as anything else.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import os
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.judge import marking
from gearkit.answers.judge.checkers import Part
from gearkit.text.files import write_atomically
from gearkit.words.errors import UsageError
from graders.course.course import Course
from graders.course.roster import Roster
from graders.paper import copies, copy_mark
from graders.paper.copies import Copy
from graders.sheets import drawn, notebook
from graders.sheets.notebook import Owner
from graders.sheets.sheets import Sheet
from graders.take_in import take_in
from graders.take_in.take_in import TakenIn

MARK, LEARNER, NAME = "mark", "learner", "name"
NOT_ASKED = "n/a"
LARGEST = 20 << 20
_MOST_FAULTS = 20


@dataclass(frozen=True)
class Row:
    """One row that holds answers.

    Args:
        learner: whose answers they are.
        spare: the spare copy that they were written on, or "".
        answers: column -> text, blank ones left out.
    """

    learner: str
    spare: str
    answers: Mapping[str, str]


@dataclass(frozen=True)
class TypedIn:
    """What typing in did.

    Args:
        taken: what taking in says.
        blank: learners whose rows are blank.
        swapped: (learner, spare copy) whose numbers the learner has now.
        at: the time of handing in that the work was given.
        unread: (learner, column, text, reason) of answers that will earn nothing because they cannot be read.
    """

    taken: TakenIn | None
    blank: tuple[str, ...]
    swapped: tuple[tuple[str, str], ...]
    at: dt.datetime
    unread: tuple[tuple[str, str, str, str], ...] = ()


def columns(copies_: Sequence[Sequence[Variant]]) -> dict[str, tuple[str, str]]:
    """Return the columns of answers: head -> item and part. Not every copy has every part.

    Args:
        copies_: the variants of each copy, in the order of the sheet's items.
    """
    return {
        variant.item.id if len(variant.parts) == 1 else f"{variant.item.id}.{part.name}": (variant.item.id, part.name)
        for of_item in zip(*copies_, strict=True)
        for variant in of_item
        for part in variant.parts
    }


def form(made: Sequence[Copy]) -> str:
    """Return the table to type answers into, as CSV: a row for each copy.

    Args:
        made: the copies, spare ones too.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    heads = list(columns([copy.variants for copy in made]))
    writer.writerow([MARK, LEARNER, NAME, *heads])
    for copy in made:
        own = columns([copy.variants])
        blanks = ["" if head in own else NOT_ASKED for head in heads]
        writer.writerow([str(copy.mark), "" if copy.mark.spare else copy.owner.id, _harmless(copy.owner.name), *blanks])
    return text.getvalue()


def _harmless(text: str) -> str:
    """A name that no spreadsheet takes for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t") else text


def type_in(
    course: Course, sheet: Sheet, file: Path, class_list: Roster, *, at: dt.datetime | None = None, replace: bool = False
) -> TypedIn:
    """Take in a table of answers.

    Args:
        course: the course.
        sheet: a sheet that was handed out.
        file: the table, as `form` gives it, with answers.
        class_list: the class.
        at: when the work was handed in, with a time zone; where left out now, or the due time where that is over.
        replace: take it in the place of what is there.

    Raises:
        UsageError: the table cannot be used; all faults are named together, and nothing is taken in.
    """
    printed = [drawn.variants_for(course, sheet, learner.id) for learner in class_list]
    printed += [drawn.variants_for(course, sheet, name) for name in spares(course, sheet)]
    rows, blank = read(file, sheet, class_list, columns(printed))
    when = at or _usual_time(course, sheet)
    swapped = []
    _check_spares(course, sheet, rows)
    _check_parts(course, sheet, rows)
    for row in rows:
        if row.spare:
            _swap(course, sheet, class_list, row)
            swapped.append((row.learner, row.spare))
    if not rows:
        return TypedIn(None, blank, (), when)
    with tempfile.TemporaryDirectory(prefix="gearkit-") as folder:
        for row in rows:
            path = Path(folder) / row.learner / f"{sheet.name}.ipynb"
            write_atomically(path, _filled(course, sheet, row), durable=False)
            os.utime(path, (when.timestamp(), when.timestamp()))
        taken = take_in.take_in(course, sheet.name, Path(folder), class_list, replace=replace)
    unread = tuple(told for row in rows for told in _unread(course, sheet, row))
    return TypedIn(taken, blank, tuple(swapped), when, unread)


def spares(course: Course, sheet: Sheet) -> list[str]:
    """Return the names of the spare copies that were printed of a sheet.

    Args:
        course: the course.
        sheet: the sheet.
    """
    return sorted(path.parent.name for path in (course.folder / "drawn").glob(f"{copy_mark.SPARE}*/{sheet.name}.json"))


def _check_parts(course: Course, sheet: Sheet, rows: Sequence[Row]) -> None:
    faults = []
    for row in rows:
        own = columns([drawn.variants_for(course, sheet, row.spare or row.learner)])
        faults += [f"{row.learner}: {name} is not asked on this copy" for name in row.answers if name not in own]
    if faults:
        raise UsageError("Nothing was taken in.\n  " + "\n  ".join(faults[:_MOST_FAULTS]))


def read(
    file: Path, sheet: Sheet, class_list: Roster, heads: Mapping[str, tuple[str, str]]
) -> tuple[list[Row], tuple[str, ...]]:
    """Return the rows of a table that hold answers, and whose rows are blank.

    Args:
        file: the table.
        sheet: the sheet.
        class_list: the class.
        heads: columns of answers that it may have.

    Raises:
        UsageError: it cannot be used; all faults are named together.
    """
    lines = table(file)
    head = [cell.strip() for cell in lines[0]] if lines else []
    faults = list(_head_faults(head, heads))
    if faults:
        raise UsageError(f"{file} cannot be used:\n  " + "\n  ".join(faults))
    rows: dict[str, Row] = {}
    blank: list[str] = []
    for line, cells in enumerate(lines[1:], start=2):
        held = {name: cell.strip() for name, cell in zip(head, cells, strict=False)}
        answers = {name: held[name] for name in heads if held.get(name) and held[name].casefold() != NOT_ASKED}
        if not any(held.values()):
            continue
        try:
            learner, spare = _owner(held, sheet, class_list, bool(answers))
        except UsageError as fault:
            faults.append(f"line {line}: {fault}")
            continue
        if not answers:
            blank += [learner] if learner else []
        elif learner in rows:
            faults.append(f"line {line}: {learner} has answers in two rows; keep one of them")
        else:
            rows[learner] = Row(learner, spare, answers)
    if faults:
        more = [f"and {len(faults) - _MOST_FAULTS} more"] if len(faults) > _MOST_FAULTS else []
        raise UsageError(f"{file}: nothing was taken in.\n  " + "\n  ".join([*faults[:_MOST_FAULTS], *more]))
    return list(rows.values()), tuple(who for who in blank if who not in rows)


def table(file: Path) -> list[list[str]]:
    """Return the lines of a table in CSV, cell by cell, whichever of comma, semicolon and tab parts its cells.

    Args:
        file: the table.

    Raises:
        UsageError: it cannot be read, or is no table.
    """
    try:
        if file.stat().st_size > LARGEST:
            raise UsageError(f"{file} is larger than {LARGEST >> 20} MB; give the table of one sheet.")
        text = file.read_bytes().decode("utf-8-sig")
    except OSError as fault:
        raise UsageError(f"{file} cannot be read ({fault.strerror}). A form to fill in is made by: graders paper") from None
    except UnicodeDecodeError:
        raise UsageError(f"{file} is not in UTF-8; save it as CSV UTF-8.") from None
    first = text.split("\n", 1)[0]
    delimiter = max((";", "\t", ","), key=first.count)
    try:
        return [row for row in csv.reader(io.StringIO(text), delimiter=delimiter, strict=True) if row]
    except csv.Error as fault:
        raise UsageError(f"{file} is no table in CSV ({fault}).") from None


def _head_faults(head: Sequence[str], heads: Mapping[str, tuple[str, str]]) -> Iterator[str]:
    if MARK not in head and LEARNER not in head:
        yield f"its first line has neither a column {MARK} nor a column {LEARNER}"
    unknown = [name for name in head if name and name not in (MARK, LEARNER, NAME, *heads)]
    if unknown:
        yield f"unknown columns: {', '.join(unknown)}; known are {', '.join([MARK, LEARNER, NAME, *heads])}"
    twice = sorted({name for name in head if name and head.count(name) > 1})
    if twice:
        yield f"columns that stand there twice: {', '.join(twice)}"
    if not set(head) & set(heads):
        yield f"no column for answers; they are {', '.join(heads)}"


def _owner(held: Mapping[str, str], sheet: Sheet, class_list: Roster, answered: bool) -> tuple[str, str]:
    """Whose row it is, and the spare copy that was used, or ""."""
    named, typed = held.get(LEARNER, ""), held.get(MARK, "")
    known = {person.id.casefold(): person.id for person in class_list}
    if named and named.casefold() not in known:
        raise UsageError(f"{LEARNER} {named!r} is not on the class list")
    learner = known.get(named.casefold(), "")
    if not typed:
        if not learner:
            raise UsageError(f"neither {MARK} nor {LEARNER} is given")
        return learner, ""
    mark = copy_mark.read(typed)
    if mark.sheet.casefold() != sheet.name.casefold():
        raise UsageError(f"mark {typed!r} is of sheet {mark.sheet}, not of {sheet.name}")
    if mark.variant != 1:
        raise UsageError(f"mark {typed!r}: there is no variant {mark.variant} of this copy")
    if mark.owner.casefold().startswith(copy_mark.SPARE):
        if answered and not learner:
            raise UsageError(f"mark {typed!r} is of a spare copy; say in the column {LEARNER} who wrote on it")
        return learner, mark.owner.casefold()
    owner = known.get(mark.owner.casefold(), "")
    if not owner:
        raise UsageError(f"mark {typed!r} names {mark.owner}, who is not on the class list")
    if learner and learner != owner:
        raise UsageError(f"mark {typed!r} is of {owner}, and the column {LEARNER} says {learner}")
    return owner, ""


def _usual_time(course: Course, sheet: Sheet) -> dt.datetime:
    now = dt.datetime.now(course.zone)
    due = sheet.due.replace(tzinfo=course.zone) if sheet.due is not None else None
    return due if due is not None and due < now else now


def unreadable(course: Course, variant: Variant, part: Part, text: str) -> str:
    """Return why an answer cannot be read, "" where it can be, or where there is none.

    Args:
        course: the course.
        variant: the learner's variant of the item.
        part: the part that it answers.
        text: the answer.
    """
    if not text:
        return ""
    marked = marking.mark(variant, {part.name: text}, comma=course.comma)
    unread = [each for each in marked.parts if each.name == part.name and each.verdict == "unreadable"]
    return str(unread[0].comment or marked.comment) if unread else ""


def _unread(course: Course, sheet: Sheet, row: Row) -> Iterator[tuple[str, str, str, str]]:
    variants = drawn.variants_for(course, sheet, row.learner)
    by_id, where = {variant.item.id: variant for variant in variants}, columns([variants])
    for name, text in row.answers.items():
        item, named = where[name]
        part = next(part for part in by_id[item].parts if part.name == named)
        if reason := unreadable(course, by_id[item], part, text):
            yield row.learner, name, text, reason


def _given_file(course: Course, sheet: Sheet, spare: str) -> Path:
    return drawn.file_of(course, sheet.name, spare).with_suffix(".given.txt")


def _check_spares(course: Course, sheet: Sheet, rows: Sequence[Row]) -> None:
    faults: list[str] = []
    used: dict[str, str] = {}
    for row in (row_ for row_ in rows if row_.spare):
        given = _given_file(course, sheet, row.spare)
        holder = given.read_text("utf-8").strip() if given.is_file() else used.get(row.spare, row.learner)
        used[row.spare] = row.learner
        if holder != row.learner:
            faults.append(f"{row.spare} was used by {holder}; it cannot be {row.learner}'s as well")
        elif not drawn.file_of(course, sheet.name, row.spare).is_file():
            faults.append(f"{row.spare} was never printed for sheet {sheet.name}")
        elif not given.is_file() and course.submitted_folder(row.learner, sheet.name).is_dir():
            faults.append(
                f"{row.learner} handed in on their own copy before; what stands on {row.spare} cannot be taken besides"
            )
    if faults:
        raise UsageError("Nothing was taken in.\n  " + "\n  ".join(faults))


def _swap(course: Course, sheet: Sheet, class_list: Roster, row: Row) -> None:
    """Give a learner the numbers of the spare copy that they wrote on, in the book and in their copy."""
    given = _given_file(course, sheet, row.spare)
    if given.is_file():
        return
    learner = class_list.find(row.learner)
    assert learner is not None
    variants = copies.spare_copy(course, sheet, row.spare).variants
    own = drawn.file_of(course, sheet.name, row.learner)
    if own.is_file():
        os.replace(own, own.with_suffix(".before-spare.json"))
    drawn.keep(course, sheet, row.learner, variants)
    text = notebook.as_text(notebook.from_variants(course, sheet, Owner(learner), variants))
    write_atomically(course.handed_out_file(row.learner, sheet.name), text)
    write_atomically(given, f"{row.learner}\n")


def _filled(course: Course, sheet: Sheet, row: Row) -> str:
    """The learner's own copy with what was typed in its answer cells."""
    held = json.loads(course.handed_out_file(row.learner, sheet.name).read_text("utf-8"))
    variants = {variant.item.id: variant for variant in drawn.variants_for(course, sheet, row.learner)}
    where = columns([tuple(variants.values())])
    given: dict[str, dict[str, str]] = {}
    for name, text in row.answers.items():
        item, part = where[name]
        given.setdefault(item, {})[part] = text
    for cell in held["cells"]:
        item = cell["metadata"].get("gearkit", {}).get("item")
        if item in given:
            cell["source"] = _call(variants[item], given[item])
    return notebook.as_text(held)


def _call(variant: Variant, texts: Mapping[str, str]) -> str:
    if len(variant.parts) == 1:
        return f'answer("{variant.item.id}", {next(iter(texts.values()))!r})'
    parts = ",\n       ".join(f"{part.name}={texts.get(part.name, '')!r}" for part in variant.parts)
    return f'answer("{variant.item.id}",\n       {parts})'
