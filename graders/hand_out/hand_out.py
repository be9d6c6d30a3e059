"""Hands a sheet out: fills the course folder and makes every learner's own copy.

Doing it again is safe at any time: copies that were handed out stay as they are, newcomers get theirs, and nobody's
numbers change: they are drawn from the course's secret and the learner's own identity, and kept from then on.
"""

from __future__ import annotations

import json
from collections.abc import Collection
from dataclasses import dataclass, replace
from pathlib import Path

from gearkit.answers.read.commas import EITHER
from gearkit.text.files import write_atomically
from gearkit.text.markdown import as_words
from gearkit.words.errors import UsageError
from graders.book import gradebook, settings
from graders.course import course_lock, roster
from graders.course.course import Course
from graders.course.files import Tell, unheard
from graders.course.language import in_its_language
from graders.course.roster import Learner, Roster
from graders.sheets import drawn, first_page, notebook, sheets
from graders.sheets.notebook import Owner
from graders.sheets.sheets import Sheet


@dataclass(frozen=True)
class HandOut:
    """What handing out did.

    Args:
        sheet: name of the sheet.
        made: learners whose copy was made now.
        kept: learners whose copy was there already and was left as it is.
        folder: where the copies are.
        outdated: whether the copies that were left tell other rules or another due time than the sheet has now.
        vanished: learners of the course who are not on the class list any more, identity and name.
        changed: what changed about learners since the last class list: group, name, extra time.
    """

    sheet: str
    made: tuple[str, ...]
    kept: tuple[str, ...]
    folder: Path
    outdated: bool = False
    vanished: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()


def hand_out(course: Course, sheet: Sheet, class_list: Roster, tell: Tell = unheard) -> HandOut:
    """Hand a sheet out to a class.

    Args:
        course: the course.
        sheet: the sheet.
        class_list: the learners; those of earlier lists stay in the course.
        tell: is told how many copies are made, and of how many.

    Raises:
        UsageError: another sheet of this name was handed out already, or the course's secret cannot be used.
        GearkitError: the gradebook cannot be written, or somebody else is at work in the course.
    """
    with course_lock.taken(course, f"handing out sheet {sheet.name}"):
        return under_lock(course, sheet, class_list, tell=tell)


@in_its_language
def under_lock(course: Course, sheet: Sheet, class_list: Roster, only: Collection[str] = (), tell: Tell = unheard) -> HandOut:
    """Hand a sheet out to a class; the caller has the lock of the course.

    Args:
        course: the course.
        sheet: the sheet.
        class_list: the learners.
        only: identities of those who get a copy; everybody where it is empty.
        tell: is told how many copies are made, and of how many.
    """
    course.secret()
    if not (course.folder / "handed_out").exists():
        course.remember_secret()
    if sheet.rules.comma == EITHER:
        # Kept with the sheet, so that a course that changes its mind later leaves what is out as it was told.
        sheet = replace(sheet, rules=replace(sheet.rules, comma=course.comma))
    before = _before(course, sheet)
    known = roster.read(course.roster_file) if course.roster_file.exists() else Roster(())
    everyone = known.joined_with(class_list)
    generic = notebook.generic(sheet)
    gradebook.enter(course, sheet, generic, everyone)
    roster.write(everyone, course.roster_file)
    sheets.write(sheet, course.sheet_file(sheet.name))
    text = notebook.as_text(generic)
    write_atomically(course.source_file(sheet.name), text)
    write_atomically(course.release_file(sheet.name), text)
    settings.write(course)
    course.submitted.mkdir(exist_ok=True)
    result = _copies(course, sheet, Roster(tuple(learner for learner in everyone if not only or learner.id in only)), tell)
    vanished, changed = roster.changes(known, class_list)
    outdated = bool(result.kept) and before is not None and before != sheet
    return replace(result, outdated=outdated, vanished=vanished, changed=changed)


def _copies(course: Course, sheet: Sheet, everyone: Roster, tell: Tell) -> HandOut:
    made: list[str] = []
    kept: list[str] = []
    for count, learner in enumerate(everyone):
        tell(count, len(everyone))
        path = course.handed_out_file(learner.id, sheet.name)
        if path.exists():
            kept.append(learner.id)
        else:
            make_copy(course, sheet, learner, path)
            made.append(learner.id)
    return HandOut(sheet.name, tuple(made), tuple(kept), course.folder / "handed_out")


@in_its_language
def make_copy(course: Course, sheet: Sheet, learner: Learner, path: Path) -> None:
    """Make one learner's copy.

    Args:
        course: the course.
        sheet: the sheet.
        learner: the learner.
        path: the file to write.
    """
    variants = drawn.variants_for(course, sheet, learner.id)
    # Before the copy: nobody has numbers that are not kept.
    drawn.keep(course, sheet, learner.id, variants)
    write_atomically(path, notebook.as_text(notebook.from_variants(course, sheet, Owner(learner), variants)))


def sheet_of(course: Course, name_or_path: str) -> Sheet:
    """The sheet of a course, by its name or by its file.

    Args:
        course: the course.
        name_or_path: name of a sheet that was handed out, or the path of a sheet's file.

    Raises:
        UsageError: there is no such sheet.
    """
    if not name_or_path.endswith(".toml") and course.sheet_file(name_or_path).exists():
        return sheets.read(course.sheet_file(name_or_path))
    if Path(name_or_path).is_file():
        return sheets.read(Path(name_or_path))
    known = sorted(path.stem for path in (course.folder / "sheets").glob("*.toml"))
    raise UsageError(
        f"There is no sheet {name_or_path!r}: it is neither a file nor a sheet of this course. "
        f"Sheets handed out: {', '.join(known) or 'none'}."
    )


def odd_sheets(course: Course) -> tuple[str, ...]:
    """Tell of everything in the folder of the course's sheets that is no sheet of the course, a sentence each.

    Such a sheet can be neither marked nor reported on, and its title, due time and kind are not known to totals.

    Args:
        course: the course.
    """
    told = []
    for path in sorted((course.folder / "sheets").glob("*")):
        try:
            if path.suffix != ".toml" or not path.is_file():
                raise UsageError("a sheet's file ends in .toml")
            name = sheets.read(path).name
            if name != path.stem:
                raise UsageError(f"in it the sheet is named {name!r}; name the file {name}.toml")
        except UsageError as fault:
            why = " ".join(str(fault).split())
            told.append(
                f"{path} is not taken as a sheet: {why.rstrip('.')}. Repair it, restore it from a backup, or move it away."
            )
    return tuple(told)


@in_its_language
def never_told(course: Course, sheet: Sheet, everyone: Roster) -> tuple[str, ...]:
    """Rules that apply now and do not stand in the copies that were handed out, as sentences for the learner.

    Looked for in one copy, of a learner without extra time: the others were made from the same rules.

    Args:
        course: the course, whose rules about lateness may have been changed since.
        sheet: the sheet.
        everyone: the class list.
    """
    for learner in everyone:
        path = course.handed_out_file(learner.id, sheet.name)
        if learner.extra_time or not path.is_file():
            continue
        try:
            head = str(json.loads(path.read_text(encoding="utf-8"))["cells"][0]["source"])
        except (OSError, ValueError, KeyError, TypeError, IndexError):
            continue
        return tuple(line for line in first_page.lines(sheet, course, learner) if as_words(line) not in head)
    return ()


def _before(course: Course, sheet: Sheet) -> Sheet | None:
    """The sheet of this name as it was; other items or marks under a name that was handed out are refused."""
    path = course.sheet_file(sheet.name)
    if not path.exists():
        return None
    before = sheets.read(path)
    same = replace(before, title=sheet.title, due=sheet.due, rules=sheet.rules, kind=sheet.kind, note=sheet.note) == sheet
    if not same and any(course.folder.glob(f"handed_out/*/{sheet.name}")):
        raise UsageError(
            f"Sheet {sheet.name} was handed out in this course with other items or marks. "
            "Give the new sheet another name, so that nobody's work changes under their hands."
        )
    return before
