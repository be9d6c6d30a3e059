"""Puts what people decided on top of what the marker gave; the marker's own marks stay in the record.

Order: corrected items first (an answer accepted, full marks for everybody, an item withdrawn), then what hints cost, then
overrides, then lateness, which is worked out anew because it depends on the score and on extensions.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import partial

from gearkit.answers.draw_numbers.variants import practice
from gearkit.words.errors import GearkitError, UsageError
from graders.book.record import ItemMark, LearnerMarks, MarkSheet
from graders.course import lateness
from graders.course.course import Course
from graders.course.roster import Roster, read_class_list
from graders.mark import marks_on_disk, rules
from graders.mark.decide import accepting
from graders.mark.decide.decisions import Decision, DecisionKind
from graders.sheets import drawn
from graders.sheets.sheets import Sheet

_Same = Callable[[ItemMark, Decision], bool]
_CORRECTIONS = (DecisionKind.ACCEPT, DecisionKind.FULL_MARKS, DecisionKind.WITHDRAW)


def apply(marks: MarkSheet, decisions: Sequence[Decision], course: Course, sheet: Sheet) -> MarkSheet:
    """Return a mark sheet with decisions put on top of the marker's marks.

    Args:
        marks: what the marker gave.
        decisions: the decisions about this sheet that stand, in their order.
        course: the course, for its rules and time zone.
        sheet: the sheet.
    """
    if not decisions:
        return marks
    known = read_class_list(course)
    dues = {learner.id: rules.due_of(sheet, learner) for learner in known}
    otherwise = rules.due_of(sheet, None)
    return replace(
        marks,
        learners=marks_on_disk.changed(
            marks.learners, lambda learner: _decided(learner, decisions, course, sheet, dues.get(learner.learner, otherwise))
        ),
    )


def _decided(
    learner: LearnerMarks, decisions: Sequence[Decision], course: Course, sheet: Sheet, due: dt.datetime | None
) -> LearnerMarks:
    paid = [decision for decision in decisions if not given_after(decision, learner.handed_in)]
    same = partial(_same_answer, learner, course, sheet)
    items = tuple(_item(mark, learner.learner, decisions, paid, sheet.rules.hint_cost or 0, same) for mark in learner.items)
    score = sum((_exact(mark.score) for mark in items), Fraction(0))
    full = sum((_exact(mark.max) for mark in items), Fraction(0))
    decided = replace(learner, items=items, score=_rounded(score), max=_rounded(full))
    late = with_lateness(decided, due_of(learner.learner, decisions, due), course, sheet)
    extensions = [decision for decision in decisions if _extends(decision, learner.learner)]
    if not extensions:
        return late
    extended = max(extensions, key=_until)
    told = f"Due time extended to {extended.until.replace('T', ' ')[:16]}: {extended.reason}"
    return replace(late, flags=(*late.flags, told))


def with_lateness(marked: LearnerMarks, due: dt.datetime | None, course: Course, sheet: Sheet) -> LearnerMarks:
    """Return a learner's marks with lateness worked out for their score as it is now.

    Args:
        marked: the learner's marks.
        due: when the sheet is due for them, in the course's time zone; None for never.
        course: the course, for its rules and time zone.
        sheet: the sheet, for a rule of its own.
    """
    if due is None or not marked.handed_in:
        return marked
    late = sheet.rules.lateness(course.rules)
    days = rules.days_late(dt.datetime.fromisoformat(marked.handed_in), due.replace(tzinfo=course.zone), late)
    penalty = rules.late_penalty(days, _exact(marked.score), _exact(marked.max), late)
    flags = [flag for flag in marked.flags if not flag.startswith(rules.LATE)]
    if days:
        flags.append(rules.late_words(days, penalty))
    return replace(marked, penalty=_rounded(penalty), flags=tuple(flags))


def _extends(decision: Decision, learner: str) -> bool:
    return decision.kind is DecisionKind.EXTEND and decision.learner == learner


def _until(decision: Decision) -> dt.datetime:
    return dt.datetime.fromisoformat(decision.until)


def due_of(learner: str, decisions: Iterable[Decision], due: dt.datetime | None) -> dt.datetime | None:
    """Return when a sheet is due for a learner, in the course's time zone; None where it has no due time.

    Args:
        learner: identity of the learner.
        decisions: the decisions about the sheet that stand; the longest extension counts, and none shortens the time.
        due: when it is due for them without an extension.
    """
    times = [_until(decision) for decision in decisions if _extends(decision, learner)]
    return max([*times, *([due] if due else [])], default=None)


def given_after(decision: Decision, handed_in: str) -> bool:
    """Whether a hint was given when the work was handed in already, so that it cannot have helped and costs nothing.

    Args:
        decision: the decision.
        handed_in: when the work that counts was handed in, ISO 8601 with offset; "" where it is not known.
    """
    if decision.kind is not DecisionKind.HINT or not handed_in:
        return False
    # Decisions are kept to the second; one within the second of the hand-in is not after it.
    return dt.datetime.fromisoformat(decision.at) > dt.datetime.fromisoformat(handed_in)


def _item(
    mark: ItemMark, learner: str, decisions: Sequence[Decision], paid: Sequence[Decision], hint_cost: int, same: _Same
) -> ItemMark:
    decided = mark
    for decision in decisions:
        if decision.item == mark.item and decision.kind in _CORRECTIONS:
            decided = _corrected(decided, decision, same)
    hints = hints_given(decisions, learner, mark.item)
    if hints:
        costing = 0 if _is_given_away(mark.item, decisions) else hints_given(paid, learner, mark.item)
        decided = _with_hints(decided, hints, costing * hint_cost)
    override = next((later for later in reversed(decisions) if _overrides(later, mark.item, learner)), None)
    if override is None:
        return decided
    # A withdrawn item counts for nobody, whatever was decided about one learner before. Whoever gives a mark by hand sees
    # which hints were given, so that nothing more comes off it.
    score = min(override.score or 0.0, decided.max)
    told = f"Marked by hand ({override.by}): {override.reason}"
    return replace(decided, score=score, automatic=decided.score, hint_cost=0.0, decided=told)


def hints_given(decisions: Iterable[Decision], learner: str, item: str) -> int:
    """Return how many hints to an item a learner was given.

    Args:
        decisions: the decisions about the sheet that stand.
        learner: identity of the learner.
        item: item id.
    """
    return sum(
        decision.kind is DecisionKind.HINT and (decision.learner, decision.item) == (learner, item) for decision in decisions
    )


def _is_given_away(item: str, decisions: Iterable[Decision]) -> bool:
    """Say whether everybody has full marks for an item: nobody pays for a hint to a question that was no good."""
    return any(decision.kind is DecisionKind.FULL_MARKS and decision.item == item for decision in decisions)


def _with_hints(mark: ItemMark, hints: int, percent: int) -> ItemMark:
    """Take off what hints cost, so that the item's score is what counts for it; what the answer earned stays known."""
    cost = min(_exact(mark.score), _exact(mark.max) * percent / 100)
    return replace(mark, score=_rounded(_exact(mark.score) - cost), hints=hints, hint_cost=_rounded(cost))


def _overrides(decision: Decision, item: str, learner: str) -> bool:
    return decision.kind is DecisionKind.OVERRIDE and (decision.item, decision.learner) == (item, learner)


def _corrected(mark: ItemMark, decision: Decision, same: _Same) -> ItemMark:
    if decision.kind is DecisionKind.WITHDRAW:
        return replace(mark, score=0.0, max=0.0, decided=f"This item was withdrawn: {decision.reason}")
    if decision.kind is DecisionKind.FULL_MARKS:
        return replace(mark, score=mark.max, decided=f"Everybody has full marks for this item: {decision.reason}")
    if not same(mark, decision):
        return mark
    return replace(
        mark, score=mark.max, verdict="right", mistakes=(), comment="Right.",
        parts=dict.fromkeys(mark.parts, "right"), decided=f"This answer was accepted later: {decision.reason}",
    )  # fmt: skip


def _same_answer(learner: LearnerMarks, course: Course, sheet: Sheet, mark: ItemMark, decision: Decision) -> bool:
    """Say whether a learner's answer is the accepted one: as written or as read, blanks and case aside, or by what it says."""
    if any(texts and _plain(texts) == _plain(decision.answer) for texts in (mark.given, mark.read_as)):
        return True
    if mark.verdict in ("missing", "right"):
        return False
    try:
        (variant,) = drawn.variants_for(course, sheet, learner.learner, learner.attempt, only=mark.item)
    except GearkitError:
        # Numbers that cannot be had again: the letters of what was written have to do.
        return False
    return accepting.is_same(variant, mark.given, decision.answer, sheet.rules.comma)


def _plain(texts: Mapping[str, str]) -> dict[str, str]:
    return {part: "".join(text.split()).casefold() for part, text in texts.items()}


def _exact(mark: float) -> Fraction:
    return Fraction(mark).limit_denominator(10**6)


def _rounded(marks: Fraction) -> float:
    return round(float(marks), 6)


def check(decision: Decision, sheet: Sheet, roster: Roster, marks: MarkSheet | None) -> None:
    """Refuse a decision that names something that is not there.

    Args:
        decision: what somebody wants to decide.
        sheet: the sheet.
        roster: the class list.
        marks: the mark sheet as it stands, None where the sheet has not been marked.

    Raises:
        UsageError: unknown item or learner, a mark out of reach, or a time that cannot be read.
    """
    full = {entry.item.id: entry.marks for entry in sheet.items}
    if decision.item and decision.item not in full:
        raise UsageError(f"Sheet {sheet.name} has no item {decision.item}. Its items: {', '.join(full)}.")
    handed_in = {learner.learner for learner in marks.learners} if marks else set()
    if decision.learner and roster.find(decision.learner) is None and decision.learner not in handed_in:
        raise UsageError(f"{decision.learner!r} is not on the class list and handed in nothing. Is the identity right?")
    if decision.kind is DecisionKind.OVERRIDE:
        if marks is None:
            raise UsageError(
                f"Sheet {sheet.name} has not been marked yet, so there is no mark to override. Mark it first: graders mark"
            )
        _check_override(decision, full[decision.item], handed_in)
    if decision.kind is DecisionKind.EXTEND:
        _check_time(decision, sheet, roster)
    if decision.kind is DecisionKind.ACCEPT:
        _check_answer(decision, sheet)
    if decision.kind is DecisionKind.HINT:
        _check_hint(sheet)


def _check_override(decision: Decision, full: int, handed_in: set[str]) -> None:
    if decision.score is None or not 0 <= decision.score <= full:
        raise UsageError(f"{decision.item}: the mark {decision.score} is out of reach; give a number from 0 to {full}.")
    if decision.learner not in handed_in:
        raise UsageError(f"{decision.learner!r} handed in nothing for this sheet, so there is no mark to override.")


def _check_hint(sheet: Sheet) -> None:
    if sheet.rules.hint_cost is None:
        raise UsageError(
            f"Sheet {sheet.name} is one without hints. To give some, write hint_cost into its file (percent of "
            "an exercise's marks) and hand it out again."
        )
    if sheet.rules.hint_cost == 0:
        raise UsageError(f"The hints of sheet {sheet.name} stand in it and are free; there is nothing to keep.")


def _check_time(decision: Decision, sheet: Sheet, roster: Roster) -> None:
    until = lateness.local_time(decision.until, "Extension until")
    due = rules.due_of(sheet, roster.find(decision.learner))
    if due is None:
        raise UsageError(f"Sheet {sheet.name} has no due time, so nobody is late and there is nothing to extend.")
    if until <= due:
        raise UsageError(
            f"Extension until {decision.until!r}: the sheet is due {due:%Y-%m-%d %H:%M} for "
            f"{decision.learner}; give a later time."
        )


def _check_answer(decision: Decision, sheet: Sheet) -> None:
    item = next(entry.item for entry in sheet.items if entry.item.id == decision.item)
    parts = [part.name for part in practice(item, f"sheet {sheet.name}").parts]
    needed = "one text" if len(parts) == 1 else "; ".join(f"{part}=..." for part in parts)
    if sorted(decision.answer) != sorted(parts) or not all(text.strip() for text in decision.answer.values()):
        shown = _shown_answer(decision)
        raise UsageError(f"{decision.item}: the answer {shown or 'nothing'!r} cannot be accepted; expected {needed}.")
    fault = accepting.unread(item, decision.answer, sheet.rules.comma)
    if fault:
        raise UsageError(
            f"{decision.item}: the answer {_shown_answer(decision)!r} cannot be read, so no learner's can be the same. {fault}"
        )


def _shown_answer(decision: Decision) -> str:
    return "; ".join(text if part == "answer" else f"{part}={text}" for part, text in decision.answer.items() if text)
