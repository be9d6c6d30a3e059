"""Retakes: the same items with new numbers for those who are asked, and the rule by which attempts count.

A retake is a sheet of its own, so that the book-keeping keeps both attempts; that it is a retake, of what, for whom and
how it counts stands in ``retakes.json`` of the course.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType
from typing import Any

from gearkit.text.files import write_atomically
from gearkit.words.errors import UsageError
from graders.book.record import MarkSheet
from graders.course import course_lock, roster
from graders.course.course import Course, check_sheet
from graders.hand_out import hand_out
from graders.hand_out.hand_out import HandOut
from graders.mark.decide import decisions
from graders.mark.decide.decisions import DecisionKind
from graders.mark.rules import Counting, counting_mark
from graders.sheets import sheets
from graders.sheets.sheets import Sheet, SheetItem

_WORD = "retake"


@dataclass(frozen=True)
class Retake:
    """What a retake is.

    Args:
        of: name of the sheet that is taken again.
        counting: which of the attempts counts.
        cap: most that a retake can bring, percent of the maximum; None for no cap.
        learners: identities of those who were asked to it.
    """

    of: str
    counting: Counting
    cap: int | None
    learners: tuple[str, ...]


def read(course: Course) -> Mapping[str, Retake]:
    """Return the course's retakes by the name of their sheet.

    Args:
        course: the course.

    Raises:
        UsageError: retakes.json cannot be used.
    """
    path = course.folder / "retakes.json"
    try:
        data: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
        retakes = {
            name: Retake(table["of"], Counting(table["counting"]), table["cap"], tuple(table["learners"]))
            for name, table in data.items()
        }
    except FileNotFoundError:
        return MappingProxyType({})
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as fault:
        raise UsageError(f"{path} cannot be used ({fault!r}). Restore it from a backup; the kit writes it.") from None
    return MappingProxyType(retakes)


def offer(
    course: Course,
    sheet: Sheet,
    learners: Collection[str],
    *,
    counting: Counting = Counting.BEST,
    cap: int | None = None,
    due: dt.datetime | None = None,
) -> tuple[Sheet, HandOut]:
    """Make a retake of a sheet and hand it out to those who are asked.

    Asking more learners to a retake that is there already gives them their copies and leaves the others' alone.

    Args:
        course: the course.
        sheet: the sheet that is taken again.
        learners: identities.
        counting: which of the attempts counts.
        cap: most that a retake can bring, percent of the maximum, 1 to 100; None for no cap.
        due: when it is due, in the course's time zone; None for no due time.

    Raises:
        UsageError: nobody is asked, an identity is not on the class list, the sheet is itself a retake, or the rule
            differs from that of the retake that is there.
    """
    with course_lock.taken(course, f"offering a retake of sheet {sheet.name}"):
        return _offer(course, sheet, learners, counting, cap, due)


def _offer(
    course: Course, sheet: Sheet, learners: Collection[str], counting: Counting, cap: int | None, due: dt.datetime | None
) -> tuple[Sheet, HandOut]:
    known = read(course)
    if sheet.name in known:
        raise UsageError(f"Sheet {sheet.name} is itself a retake, of {known[sheet.name].of}; give that sheet's name.")
    if cap is not None and not 1 <= cap <= 100:
        raise UsageError(f"Cap {cap}: expected percent of the maximum, from 1 to 100.")
    class_list = roster.read(course.roster_file)
    strangers = sorted(learner for learner in learners if class_list.find(learner) is None)
    if strangers or not learners:
        raise UsageError(f"Not on the class list: {', '.join(strangers)}." if strangers else "Nobody is asked to the retake.")
    name = check_sheet(f"{sheet.name}-{_WORD}")
    # Of a retake that is out already, items and numbers stay as they are in the copies.
    out = sheets.read(course.sheet_file(name)) if name in known else None
    again = replace(
        sheet,
        items=out.items if out else _left(course, sheet),
        name=name,
        title=f"{sheet.title} ({_WORD})",
        due=due,
        retake_of=out.retake_of if out else sheet.name,
        note=" ".join(word for word in (sheet.note, _rule(counting, cap)) if word),
    )
    before = known.get(again.name)
    if before is not None and (before.counting, before.cap) != (counting, cap):
        rule = f"{before.counting}" + (f", cap {before.cap} percent" if before.cap else "")
        raise UsageError(f"The retake {again.name} is there already and counts by another rule ({rule}).")
    asked = tuple(sorted({*learners, *(before.learners if before else ())}))
    _write(course, {**known, again.name: Retake(sheet.name, counting, cap, asked)})
    return again, hand_out.under_lock(course, again, class_list, only=asked)


def _left(course: Course, sheet: Sheet) -> tuple[SheetItem, ...]:
    """The items of a new retake: none that was withdrawn before."""
    gone = {decision.item for decision in decisions.standing(course, sheet.name) if decision.kind is DecisionKind.WITHDRAW}
    left = tuple(entry for entry in sheet.items if entry.item.id not in gone)
    if not left:
        raise UsageError(f"Every item of sheet {sheet.name} was withdrawn; there is nothing to take again.")
    return left


def _rule(counting: Counting, cap: int | None) -> str:
    """How the retake counts, for the head of the sheet."""
    which = {
        Counting.BEST: "the better one counts",
        Counting.LAST: "this one counts, even where it is the weaker",
        Counting.AVERAGE: "the average counts",
    }[counting]
    most = f", and this one brings at most {cap} percent of the marks" if cap is not None else ""
    return f"You have been here before: of your two attempts {which}{most}."


def _write(course: Course, retakes: Mapping[str, Retake]) -> None:
    data = {
        name: {"of": retake.of, "counting": str(retake.counting), "cap": retake.cap, "learners": list(retake.learners)}
        for name, retake in sorted(retakes.items())
    }
    write_atomically(course.folder / "retakes.json", json.dumps(data, ensure_ascii=False, indent=1) + "\n")


def still_open(course: Course, sheet: str, now: dt.datetime) -> str:
    """Return the name of a retake of a sheet that can still be handed in, or "".

    Args:
        course: the course.
        sheet: name of the sheet.
        now: the time, with its offset.
    """
    for name, plan in read(course).items():
        if plan.of == sheet:
            again = sheets.read(course.sheet_file(name))
            # Whoever has extra time may still be at work when the others have finished.
            asked = [learner for learner in roster.read_class_list(course) if learner.id in plan.learners]
            longest = max((again.rules.extra_minutes(learner) for learner in asked), default=0)
            due = again.due + dt.timedelta(minutes=longest) if again.due else None
            if due is None or due.replace(tzinfo=course.zone) > now:
                return name
    return ""


def forget(course: Course, learner: str) -> int:
    """Take a learner out of every retake; return how many there were.

    Args:
        course: the course.
        learner: identity.
    """
    known = read(course)
    left = {
        name: replace(retake, learners=tuple(who for who in retake.learners if who != learner))
        for name, retake in known.items()
    }
    count = sum(left[name] != known[name] for name in known)
    if count:
        _write(course, left)
    return count


def withdraw(course: Course, sheet: str) -> None:
    """Take a retake out of the course's retakes, so that the first attempt alone counts.

    Args:
        course: the course.
        sheet: name of the retake; anything else is left alone.
    """
    known = read(course)
    if sheet in known:
        _write(course, {name: retake for name, retake in known.items() if name != sheet})


def below(marks: MarkSheet, percent: int) -> tuple[str, ...]:
    """Return who has less than a share of the maximum, who handed in nothing included.

    Args:
        marks: the mark sheet.
        percent: of the maximum.
    """
    low = tuple(learner.learner for learner in marks.learners if learner.final * 100 < percent * learner.max)
    return (*low, *marks.absent)


@dataclass(frozen=True)
class CountedMark:
    """What counts for one learner on one sheet, retakes included.

    Args:
        learner: identity.
        attempts: mark of each attempt in order; None for one that was not handed in.
        counts: the mark that counts; 0 where nothing was handed in.
        full: full marks.
    """

    learner: str
    attempts: tuple[float | None, ...]
    counts: float
    full: float


def count(learners: Sequence[str], first: MarkSheet, again: MarkSheet | None, retake: Retake | None) -> tuple[CountedMark, ...]:
    """Return what counts for each learner on a sheet.

    Args:
        learners: identities, in the order wanted.
        first: the mark sheet of the sheet itself.
        again: the mark sheet of its retake, None where there is none.
        retake: the retake's rule, None where there is none.
    """
    full = max((marked.max for marked in first.learners), default=0.0)
    marks = {marked.learner: marked.final for marked in first.learners}
    later = {marked.learner: marked for marked in again.learners} if again else {}
    counted = []
    for learner in learners:
        attempts: list[float | None] = [marks.get(learner)]
        if retake is not None and learner in retake.learners:
            marked = later.get(learner)
            # A retake on which an item was withdrawn has another maximum; its share counts.
            attempts.append(round(marked.final * full / marked.max, 6) if marked and marked.max else None)
        counted.append(CountedMark(learner, tuple(attempts), counts(attempts, full, retake), full))
    return tuple(counted)


def counts(attempts: Sequence[float | None], full: float, retake: Retake | None) -> float:
    """Return the mark that counts of the attempts at a sheet.

    Args:
        attempts: the first, and the retake where there is one, both out of the same marks; None for one not handed in.
        full: full marks.
        retake: the retake's rule, None where there is none.
    """
    if len(attempts) == 1 or attempts[1] is None or retake is None:
        return attempts[0] or 0.0
    cap = None if retake.cap is None else _exact(full) * retake.cap / 100
    marks = [_exact(attempts[0] or 0.0), _exact(attempts[1])]
    return round(float(counting_mark(marks, retake.counting, cap)), 6)


def _exact(mark: float) -> Fraction:
    return Fraction(mark).limit_denominator(10**6)
