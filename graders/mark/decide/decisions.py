"""What people decided about marks: overrides, corrected items, extensions, hints given. Decisions are kept, never rewritten.

All of them stand in ``decisions.jsonl`` of the course, one line each, in the order in which they were made, with who
decided, when and why. The file is only ever added to: it is the audit trail, and marking again reads it anew, so that
no mark given by a person is lost. Taking a decision back is a decision too.
"""

from __future__ import annotations

import datetime as dt
import json
import os
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from enum import StrEnum
from pathlib import Path
from typing import Any

from gearkit.text.files import write_atomically
from gearkit.words.errors import GearkitError, UsageError
from graders.course.course import Course

LONGEST_REASON = 500


class DecisionKind(StrEnum):
    """What can be decided."""

    OVERRIDE = "override"
    WITHDRAW = "withdraw item"
    FULL_MARKS = "full marks for everybody"
    ACCEPT = "accept answer"
    EXTEND = "extend"
    HINT = "hint"
    TAKE_BACK = "take back"
    REMARKED = "marked again"
    WITHDRAW_SHEET = "withdraw sheet"


@dataclass(frozen=True)
class Decision:
    """One decision.

    Args:
        kind: what was decided.
        sheet: name of the sheet.
        by: who decided.
        reason: why, in a sentence.
        at: when, ISO 8601 with offset.
        item: item id, for overrides, corrected items and hints.
        learner: identity, for overrides, extensions and hints.
        score: the new mark of an override.
        answer: texts by part that count as right from now on.
        until: new due time in the course's time zone, ISO 8601, for an extension.
        number: place in the trail, counted from 1; 0 before it is kept.
        takes_back: number of the decision that is taken back.
        changes: marks that changed, for "marked again".
    """

    kind: DecisionKind
    sheet: str
    by: str
    reason: str
    at: str = ""
    item: str = ""
    learner: str = ""
    score: float | None = None
    answer: Mapping[str, str] = field(default_factory=dict)
    until: str = ""
    number: int = 0
    takes_back: int = 0
    changes: tuple[str, ...] = ()


def trail_file(course: Course) -> Path:
    """Return the file of a course's decisions."""
    return course.folder / "decisions.jsonl"


def read(course: Course) -> tuple[Decision, ...]:
    """Return every decision of a course in its order.

    Args:
        course: the course.

    Raises:
        UsageError: a line cannot be read; nothing is guessed about people's decisions.
    """
    path = trail_file(course)
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return ()
    except (OSError, UnicodeDecodeError) as fault:
        raise UsageError(f"The decisions {path} cannot be read: {fault}") from None
    lines = text.split("\n")
    # Without a line end the last line was not written whole: whoever decided got an error, so it does not count.
    return tuple(_parsed(path, number, line) for number, line in enumerate(lines[:-1], start=1))


def _parsed(path: Path, number: int, line: str) -> Decision:
    try:
        data: dict[str, Any] = json.loads(line)
        kind = DecisionKind(data.pop("kind"))
        data["changes"] = tuple(data.get("changes", ()))
        return Decision(kind, **{**data, "number": number})
    except (ValueError, KeyError, TypeError, AttributeError) as fault:
        raise UsageError(
            f"{path}, line {number}: not a decision ({fault}). Restore the file from a backup; it is written by the kit only."
        ) from None


def withdrawn(course: Course, sheet: str) -> frozenset[str]:
    """Return the items of a sheet that were taken out of the marks.

    Args:
        course: the course.
        sheet: name of the sheet.
    """
    return frozenset(decision.item for decision in standing(course, sheet) if decision.kind is DecisionKind.WITHDRAW)


def standing(course: Course, sheet: str) -> tuple[Decision, ...]:
    """Return the decisions about a sheet that have not been taken back, in their order.

    Of a sheet that was withdrawn, and of whose name another was handed out since, those about the later one.

    Args:
        course: the course.
        sheet: name of the sheet.
    """
    everything = read(course)
    back = {decision.takes_back for decision in everything if decision.kind is DecisionKind.TAKE_BACK}
    silent = (DecisionKind.TAKE_BACK, DecisionKind.REMARKED, DecisionKind.WITHDRAW_SHEET)
    about = [decision for decision in everything if decision.sheet == sheet]
    since = max((decision.number for decision in about if decision.kind is DecisionKind.WITHDRAW_SHEET), default=0)
    return tuple(
        decision
        for decision in about
        if decision.number > since and decision.number not in back and decision.kind not in silent
    )


def keep(course: Course, decision: Decision) -> Decision:
    """Add a decision to the course's trail and return it with its number and time.

    Args:
        course: the course.
        decision: the decision; its time is filled in where it is empty.

    Raises:
        UsageError: it has no reason or no name.
        GearkitError: the file cannot be written.
    """
    for value, what in ((decision.reason, "a reason"), (decision.by, "the name of who decided")):
        if not value.strip() or not value.isprintable() or len(value) > LONGEST_REASON:
            raise UsageError(f"A decision needs {what}: one line of at most {LONGEST_REASON} characters.")
    number = len(read(course)) + 1
    at = decision.at or dt.datetime.now(course.zone).isoformat(timespec="seconds")
    kept = replace(decision, number=number, at=at)
    _append(trail_file(course), _line(kept))
    return kept


def _line(decision: Decision) -> str:
    data = {key: value for key, value in asdict(decision).items() if value not in ("", None, 0, {}, ())}
    data.update({"score": decision.score} if decision.score is not None else {})
    data.pop("number", None)
    return json.dumps(data, ensure_ascii=False) + "\n"


def _append(path: Path, line: str) -> None:
    """Add a line in one write; half a line left by a crash is cut off first."""
    try:
        with open(path, "ab") as stream:
            whole = _end_of_last_line(path)
            if stream.tell() != whole:
                stream.truncate(whole)
            stream.write(line.encode("utf-8"))
            stream.flush()
            os.fsync(stream.fileno())
    except OSError as fault:
        raise GearkitError(f"The decision was not kept: {path} cannot be written ({fault.strerror}).") from None


def _end_of_last_line(path: Path) -> int:
    data = path.read_bytes()
    return data.rfind(b"\n") + 1


def forget(course: Course, learner: str, word: str) -> int:
    """Put a word in the place of a learner's identity in the trail, and leave reasons about them out.

    Args:
        course: the course.
        learner: identity to forget.
        word: what stands in its place.

    Returns:
        The number of lines changed.
    """
    path = trail_file(course)
    known = read(course)
    lines, changed = [], 0
    for decision in known:
        kept = decision
        if decision.learner == learner:
            kept = replace(decision, learner=word, reason=word, answer={})
        if any(told.startswith(f"{learner}: ") for told in decision.changes):
            told = tuple(f"{word}: marks changed" if line.startswith(f"{learner}: ") else line for line in decision.changes)
            kept = replace(kept, changes=told)
        changed += kept != decision
        lines.append(_line(kept))
    if changed:
        write_atomically(path, "".join(lines))
    return changed
