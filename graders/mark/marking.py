"""Marks one submission. This process is trusted: it holds the secret, compares texts, and runs nothing of the learner.

The learner's numbers are those that the course folder keeps for whom the folder that was handed in is named after;
what the notebook says about itself is looked at only to warn the instructor.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.judge import marking
from gearkit.answers.judge.results import total
from gearkit.words.errors import GearkitError
from gearkit.words.say import say
from graders.book.record import NOTHING_READ, ItemMark, LearnerMarks
from graders.course.course import Course
from graders.course.language import in_its_language
from graders.course.roster import Learner, Roster
from graders.mark import rules
from graders.mark.submissions import Submission, handed_in, writable
from graders.run.engines.runner import Run
from graders.run.read.finding import FoundWork, find
from graders.run.read.harvest import Execute, Harvest, SheetCells, harvest
from graders.run.read.notebooks import Notebook
from graders.run.remote.remote_protocol import Request
from graders.sheets import drawn, notebook
from graders.sheets.sheet_rules import SheetRules
from graders.sheets.sheets import Sheet, SheetItem
from graders.take_in import hand_ins, remarks

MOST_FLAGS = 25
LONGEST_FLAG = 500


@dataclass(frozen=True)
class Marked:
    """What marking one submission gave.

    Args:
        marks: the learner's marks.
        failure: why nothing could be read, or "".
        way: how the answers were got: "read", "run" or "none".
        sources: the learner's own text for each item's cell, for the marked copy.
        variants: the learner's variants, empty where nothing was marked.
    """

    marks: LearnerMarks
    failure: str
    way: str
    sources: Mapping[str, str]
    variants: tuple[Variant, ...] = ()


def sheet_cells(sheet: Sheet) -> SheetCells:
    """What the harvest has to know of a sheet."""
    return SheetCells(sheet.item_ids, (notebook.setup_source(sheet),), notebook.symbols_of(sheet))


@in_its_language
def mark_submission(
    course: Course,
    sheet: Sheet,
    roster: Roster,
    submission: Submission,
    execute: Execute | None,
    *,
    always_run: bool = False,
    withdrawn: Collection[str] = (),
) -> Marked:
    """Mark what one learner handed in.

    Args:
        course: the course.
        sheet: the sheet.
        roster: the class list.
        submission: what was handed in.
        execute: runs cells in the sandbox; None where learner code must not be run.
        always_run: run even what could be read.
        withdrawn: items whose marks do not count.

    Raises:
        ChangedItemError: an item asks something else in this version of the kit than what was handed out.
    """
    flags: list[str] = []
    listed = roster.find(submission.learner)
    if listed is None and not submission.refused:
        flags.append(_unknown_learner(submission.learner, roster))
    taken = _taken(sheet, submission)
    # First what may mean that the work is somebody else's, so that nothing can bury it.
    flags += _card_flags(taken.notebook.card or {}, submission.learner, sheet.name) if taken.notebook is not None else []
    flags += remarks.of(course, sheet.name, submission.learner)
    flags += [taken.reason] if taken.reason else []
    flags += taken.flags
    gathered = Harvest(way="none")
    if taken.notebook is not None:
        gathered = harvest(taken.notebook, sheet_cells(sheet), execute, always_run=always_run)
        flags += [*gathered.flags, *_lost_cells(taken.notebook, sheet, gathered)]
    variants = () if submission.refused else drawn.variants_for(course, sheet, submission.learner, withdrawn=withdrawn)
    items = _items(sheet, variants, gathered, flags)
    if taken.notebook is None:
        items = tuple(replace(item, comment=f"{NOTHING_READ}. {writable(taken.reason)}") for item in items)
    marks = _learner_marks(course, sheet, submission, listed, items, flags)
    return Marked(marks, writable(taken.reason), gathered.way, gathered.sources, variants)


def what_to_run(sheet: Sheet, submission: Submission, *, always_run: bool = False) -> Request | None:
    """What has to be run of a submission to mark it, None where nothing has to.

    Args:
        sheet: the sheet.
        submission: what was handed in.
        always_run: run even what could be read.
    """
    asked: list[Request] = []

    def ask(cells: Sequence[str], setup: Sequence[str]) -> Run:
        asked.append(Request(tuple(cells), tuple(setup)))
        return Run((), False, "", 0.0)

    taken = _taken(sheet, submission)
    if taken.notebook is not None:
        harvest(taken.notebook, sheet_cells(sheet), ask, always_run=always_run)
    return asked[0] if asked else None


def _taken(sheet: Sheet, submission: Submission) -> FoundWork:
    if submission.refused:
        return FoundWork(None, reason=submission.refused)
    try:
        return find(submission.folder, sheet.name, sheet.item_ids)
    except (OSError, MemoryError, RecursionError) as fault:
        return FoundWork(None, reason=f"What was handed in cannot be read ({type(fault).__name__}: {fault}).")


def _items(sheet: Sheet, variants: tuple[Variant, ...], gathered: Harvest, flags: list[str]) -> tuple[ItemMark, ...]:
    if not variants:
        return tuple(ItemMark(entry.item.id, 0.0, float(entry.marks), "missing") for entry in sheet.items)
    return tuple(
        _item(entry, variant, gathered, flags, sheet.rules) for entry, variant in zip(sheet.items, variants, strict=True)
    )


def _item(entry: SheetItem, variant: Variant, gathered: Harvest, flags: list[str], rules_of_sheet: SheetRules) -> ItemMark:
    """Mark one item; whatever an answer does to the comparison, only this item feels it."""
    item = entry.item.id
    given = gathered.answers.get(item, {})
    if not given and item in gathered.broken:
        return ItemMark(
            item,
            0.0,
            float(entry.marks),
            "unreadable",
            comment=say(
                "The cell is not valid Python: {fault}. Write the answer between the quotation marks.",
                fault=gathered.broken[item],
            ),
            prompt=variant.prompt,
        )
    try:
        result = marking.mark(variant, given, strict=rules_of_sheet.rounding == "strict", comma=rules_of_sheet.comma)
    except (GearkitError, ArithmeticError, ValueError, TypeError, LookupError, RecursionError, MemoryError) as fault:
        flags.append(f"{item}: the answer could not be marked ({type(fault).__name__}); please look at it yourself.")
        return ItemMark(
            item,
            0.0,
            float(entry.marks),
            "unreadable",
            comment=say("This answer could not be read."),
            given=dict(given),
            way=gathered.ways.get(item, "none"),
            prompt=variant.prompt,
        )
    score = result.score
    if result.max and result.max != entry.marks:
        score = score * entry.marks / result.max
    return ItemMark(
        item,
        rounded(score),
        float(entry.marks),
        str(result.verdict),
        tuple(dict.fromkeys(each.code for each in result.mistakes)),
        result.comment,
        dict(given),
        dict(result.read_as),
        gathered.ways.get(item, "none"),
        variant.prompt,
        {part.name: str(part.verdict) for part in result.parts} if len(result.parts) > 1 else {},
    )


def _learner_marks(
    course: Course, sheet: Sheet, submission: Submission, listed: Learner | None, items: tuple[ItemMark, ...], flags: list[str]
) -> LearnerMarks:
    score = total(_exactly(item.score) for item in items)
    most = Fraction(sheet.marks)
    when, time_flag = handed_in(submission.folder) if not submission.refused else (None, "")
    flags += [time_flag] if time_flag else []
    penalty = Fraction(0)
    due = rules.due_of(sheet, listed)
    if due is not None and when is not None:
        days = rules.days_late(when, due.replace(tzinfo=course.zone), sheet.rules.lateness(course.rules))
        penalty = rules.late_penalty(days, score, most, sheet.rules.lateness(course.rules))
        if days:
            flags.append(rules.late_words(days, penalty))
    elif due is not None and not time_flag:
        flags.append("There is no time of handing in, so it was not counted as late.")
    flags += [told] if (told := hand_ins.flag(course, sheet, submission.learner)) else []
    name, group = (listed.name, listed.group) if listed else ("", "")
    return LearnerMarks(
        submission.learner,
        name,
        group,
        rounded(score),
        float(most),
        items,
        _told(flags),
        1,
        when.isoformat() if when else "",
        rounded(penalty),
    )


def _told(flags: Sequence[str]) -> tuple[str, ...]:
    """Flags once each, none without end, and no more of them than somebody reads: a submission can make any number."""
    once = list(dict.fromkeys(writable(flag[: LONGEST_FLAG + 1]) for flag in flags))
    shown = [flag if len(flag) <= LONGEST_FLAG else f"{flag[:LONGEST_FLAG]} …" for flag in once[:MOST_FLAGS]]
    return (*shown, *([f"And {len(once) - MOST_FLAGS} more remarks about the files."] if len(once) > MOST_FLAGS else []))


def _exactly(marks: float) -> Fraction:
    """Rounded marks as the fraction that was meant; most are whole."""
    return Fraction(int(marks)) if marks.is_integer() else Fraction(marks).limit_denominator(10**6)


def rounded(marks: Fraction) -> float:
    """Marks as a decimal number of at most six places, the same on every machine."""
    return float(marks.numerator) if marks.denominator == 1 else round(float(marks), 6)


def _unknown_learner(learner: str, roster: Roster) -> str:
    near = next((learner_.id for learner_ in roster if learner_.id.casefold() == learner.casefold()), None)
    meant = f" Is {near!r} meant? Then rename the folder and mark again." if near else ""
    return f"{learner!r} is not on the class list; it was marked with the numbers of that identity.{meant}"


def _lost_cells(book: Notebook, sheet: Sheet, gathered: Harvest) -> list[str]:
    """Say which items have neither answer nor cell any more, and whether the cells' cards are gone."""
    cards = {cell.item for cell in book.cells if cell.item}
    if not cards and any(cell.kind == "code" for cell in book.cells):
        return ["The notebook was saved by a program that dropped its cells' cards; answers were found by their items."]
    text = "\n".join(cell.source for cell in book.cells if cell.kind == "code")
    gone = [item for item in sheet.item_ids if item not in cards | set(gathered.answers) and item not in text]
    return [f"The cells of {', '.join(gone)} are not in the notebook any more."] if gone and not _damaged(book) else []


def _damaged(book: Notebook) -> bool:
    """Whether cells had to be picked out of a damaged file; that is said already."""
    return book.whole is None


def _card_flags(card: Mapping[str, object], learner: str, sheet: str) -> list[str]:
    """What the notebook says about itself and does not fit; none of it is believed."""
    flags = []
    named, own_sheet, attempt = card.get("learner", learner), card.get("sheet", sheet), card.get("attempt", 1)
    if named != learner:
        flags.append(
            f"The notebook says that it was made for {str(named)[:70]!r}; it was marked with the numbers of {learner!r}."
        )
    if own_sheet != sheet:
        flags.append(f"The notebook says that it belongs to sheet {str(own_sheet)[:70]!r}.")
    if attempt != 1 or isinstance(attempt, bool):
        flags.append(f"The notebook says that it is attempt {str(attempt)[:20]!r}; it was marked as attempt 1.")
    return flags
