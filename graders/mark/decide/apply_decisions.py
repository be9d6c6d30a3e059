"""Settles a mark sheet: people's decisions on top of the marker's marks, and what changed into the trail.

Marks given by hand in the book-keeping's grading page are taken over as decisions first, so that they stand on the mark
sheet, in feedback and in reports as well, and so that they can be found in the trail.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from gearkit.text.files import write_atomically
from gearkit.words.errors import GearkitError, UsageError
from graders.book import database, marks_in_gradebook, record
from graders.book.record import MarkSheet
from graders.course.course import Course
from graders.mark import changes, marks_on_disk
from graders.mark.changes import Change
from graders.mark.decide import deciding, decisions, retakes
from graders.mark.decide.decisions import Decision, DecisionKind
from graders.sheets.sheets import Sheet

PAGE = "grading page"
# The marks of the grading page by learner and item, with the comment beside each; None where there is none.
OnPage = Mapping[tuple[str, str], tuple[float | None, str]]


@dataclass(frozen=True)
class Decided:
    """A mark sheet with the decisions of people on top.

    Args:
        marks: the mark sheet as it counts.
        changed: what it changes against the one before.
    """

    marks: MarkSheet
    changed: tuple[Change, ...]


def put_on_top(course: Course, sheet: Sheet, automatic: MarkSheet) -> Decided:
    """Put decisions on top of the marker's marks, write mark sheet and gradebook, and note changes in the trail.

    Args:
        course: the course.
        sheet: the sheet.
        automatic: what the marker gave.

    Raises:
        UsageError: the trail cannot be read.
        GearkitError: the mark sheet or the gradebook cannot be written.
    """
    on_page = _given_by_hand(course, sheet)
    take_over_from_page(course, sheet, automatic, on_page)
    standing = decisions.standing(course, sheet.name)
    marks = deciding.apply(_invited_only(course, automatic), standing, course, sheet)
    before = before_now(course, sheet)
    changed = changes.compare(before, marks)
    try:
        record.write(marks, course.marks_file(sheet.name), marks_on_disk.texts(marks.learners))
    except OSError as fault:
        raise GearkitError(f"The mark sheet cannot be written: {fault.strerror} ({fault.filename}).") from None
    if changed:
        told = tuple(str(change) for change in changed)
        decisions.keep(course, Decision(DecisionKind.REMARKED, sheet.name, "graders", "marked again", changes=told))
    overrides = {where: decision.score for where, decision in _overrides(course, sheet).items() if decision.score is not None}
    marks_in_gradebook.write(course, sheet, marks.learners, overrides)
    write_by_hand(course, sheet, overrides, on_page)
    return Decided(replace(marks, learners=marks_on_disk.opened(course.marks_file(sheet.name), trusted=True).learners), changed)


def _invited_only(course: Course, marks: MarkSheet) -> MarkSheet:
    """Of a retake nobody is missing but who was asked to it."""
    plan = retakes.read(course).get(marks.sheet)
    if plan is None:
        return marks
    return replace(marks, absent=tuple(who for who in marks.absent if who in plan.learners))


def before_now(course: Course, sheet: Sheet) -> MarkSheet | None:
    """Return the mark sheet as it stands, None where there is none that can be read.

    Args:
        course: the course.
        sheet: the sheet.
    """
    try:
        return marks_on_disk.opened(course.marks_file(sheet.name))
    except UsageError:
        return None


def take_over_from_page(course: Course, sheet: Sheet, marks: MarkSheet, on_page: OnPage) -> tuple[Decision, ...]:
    """Keep marks given by hand in the grading page as decisions; return those that are new.

    A mark that was given there and has been cleared there since is taken back. Extra credit counts up to the item's
    full marks.

    Args:
        course: the course.
        sheet: the sheet.
        marks: its mark sheet; marks of learners who are not on it are left alone.
        on_page: what the page has.
    """
    written, known = _written_by_hand(course, sheet), _overrides(course, sheet)
    full = {entry.item.id: float(entry.marks) for entry in sheet.items}
    handed_in = {marked.learner for marked in marks.learners} if on_page else set()
    new = []
    # Where the page has no place for a mark, because the gradebook is a new one, nobody has cleared anything there.
    for where in sorted(on_page):
        learner, item = where
        score, comment = on_page[where]
        if score == written.get(where) or learner not in handed_in or item not in full:
            continue
        if where in known and known[where].score == score:
            continue
        if score is None and where in known:
            words, number = "cleared in the grading page", known[where].number
            new.append(Decision(DecisionKind.TAKE_BACK, sheet.name, PAGE, words, takes_back=number))
        elif score is not None:
            said = "".join(letter if letter.isprintable() else " " for letter in comment).split()
            reason = " ".join(said)[: decisions.LONGEST_REASON].strip() or "given in the grading page"
            reachable = min(max(score, 0.0), full[item])
            new.append(Decision(DecisionKind.OVERRIDE, sheet.name, PAGE, reason, item=item, learner=learner, score=reachable))
    return tuple(decisions.keep(course, decision) for decision in new)


def _by_hand_file(course: Course, sheet: Sheet) -> Path:
    """Where it stands which marks by hand the kit last wrote: what differs on the page was changed there since."""
    return course.folder / "marks" / f"{sheet.name}.by_hand.json"


def _written_by_hand(course: Course, sheet: Sheet) -> dict[tuple[str, str], float]:
    try:
        rows = json.loads(_by_hand_file(course, sheet).read_text(encoding="utf-8"))
        return {(str(learner), str(item)): float(score) for learner, item, score in rows}
    except (OSError, ValueError, TypeError):
        return {}


def _overrides(course: Course, sheet: Sheet) -> dict[tuple[str, str], Decision]:
    """Return the overrides that stand, by learner and item; the later one of two."""
    standing = decisions.standing(course, sheet.name)
    return {(decision.learner, decision.item): decision for decision in standing if decision.kind is DecisionKind.OVERRIDE}


def _given_by_hand(course: Course, sheet: Sheet) -> OnPage:
    """Return the marks that the gradebook has from a person, and the places of those that the kit wrote there."""
    if not database.exists(course):
        return {}
    written = {learner for learner, _ in _written_by_hand(course, sheet)}
    return marks_in_gradebook.given_by_hand(course, sheet, written)


def write_by_hand(course: Course, sheet: Sheet, overrides: Mapping[tuple[str, str], float], on_page: OnPage) -> None:
    """Write overrides into the gradebook as marks given by hand, so that the grading page shows them as such.

    Args:
        course: the course.
        sheet: the sheet.
        overrides: marks by learner and item.
        on_page: what the page had when its marks were taken over; what was changed there since is left alone.
    """
    wanted: dict[tuple[str, str], float | None] = {
        (decision.learner, decision.item): None
        for decision in decisions.read(course)
        if decision.kind is DecisionKind.OVERRIDE and decision.sheet == sheet.name
    }
    # One that was taken back stays None: the marker's own mark counts again.
    wanted.update(overrides)
    if not wanted:
        return
    marks_in_gradebook.put_by_hand(course, sheet, wanted, on_page)
    rows = [[learner, item, score] for (learner, item), score in sorted(wanted.items()) if score is not None]
    write_atomically(_by_hand_file(course, sheet), json.dumps(rows, ensure_ascii=False) + "\n")
