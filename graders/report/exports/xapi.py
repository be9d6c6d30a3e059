"""Marks as xAPI statements, one JSON object a line: an answered item each, and the scored sheet.

Field names and the verb "answered": a summary of the specification and sample statements; the verb "scored" is from
memory. A statement's id is made from what it says, so writing twice gives the same statements.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

from gearkit.answers.listing import name_of
from gearkit.text.files import write_atomically
from graders.book.record import ItemMark, LearnerMarks
from graders.report.exports.data import ExportData, ExportedSheet, handed_in_at

_VERBS = "http://adlnet.gov/expapi/verbs/"
_INTERACTION = "http://adlnet.gov/expapi/activities/cmi.interaction"


def write(data: ExportData, path: Path) -> None:
    """Write a statement for every item and every sheet of every learner, atomically.

    Args:
        data: the course.
        path: the file, usually ending in .jsonl.
    """
    lines = [json.dumps(statement, ensure_ascii=False) + "\n" for statement in statements(data)]
    write_atomically(path, "".join(lines))


def statements(data: ExportData) -> Iterator[dict[str, Any]]:
    """Yield the statements, sheet by sheet and learner by learner."""
    for sheet in data.sheets:
        unread = {failure.learner for failure in sheet.marks.failed}
        for learner in sheet.marks.learners:
            if learner.learner in unread:
                # Nothing was answered as far as anybody can tell; a person has to look at it.
                continue
            for mark in learner.items:
                yield _answered(data, sheet, learner, mark)
            yield _scored(data, sheet, learner)


def _actor(data: ExportData, learner: LearnerMarks) -> dict[str, Any]:
    name = data.users.get(learner.learner, learner.learner)
    return {"objectType": "Agent", "account": {"homePage": data.home_page, "name": name}}


def _verb(word: str) -> dict[str, Any]:
    return {"id": _VERBS + word, "display": {"en": word}}


def _activity(data: ExportData, title: str, *path: str) -> dict[str, Any]:
    return {
        "objectType": "Activity",
        "id": "/".join((data.home_page.rstrip("/"), *(quote(step, safe="") for step in (data.course, *path)))),
        "definition": {"name": {"en": title}},
    }


def _question(data: ExportData, sheet: ExportedSheet, mark: ItemMark) -> dict[str, Any]:
    """An item as an activity: several parts are the steps of a performance, one answer is of a kind of our own."""
    activity = _activity(data, name_of(mark.item), sheet.name, mark.item)
    kind = "performance" if len(mark.given) > 1 else "other"
    activity["definition"] |= {"type": _INTERACTION, "interactionType": kind}
    return activity


def _score(earned: float, full: float) -> dict[str, dict[str, float]]:
    # The lowest score has to be below the highest: where everything was withdrawn there is none.
    return {"score": {"scaled": round(earned / full, 6), "raw": earned, "min": 0.0, "max": full}} if full else {}


def _answered(data: ExportData, sheet: ExportedSheet, learner: LearnerMarks, mark: ItemMark) -> dict[str, Any]:
    result: dict[str, Any] = {
        **_score(mark.score, mark.max),
        "success": mark.verdict == "right",
        "completion": mark.verdict != "missing",
    }
    if data.responses and mark.given:
        # Several parts are joined as the interaction types of the standard join them.
        only = mark.given.get("answer") if len(mark.given) == 1 else None
        result["response"] = only if only is not None else "[,]".join(f"{k}[.]{v}" for k, v in mark.given.items())
    # A statement is never changed: whatever is marked again and comes out otherwise is another statement.
    told = (json.dumps(result, sort_keys=True), learner.handed_in)
    return {
        "id": data.id_of("answered", sheet.name, learner.learner, mark.item, str(learner.attempt), *told),
        "actor": _actor(data, learner),
        "verb": _verb("answered"),
        "object": _question(data, sheet, mark),
        "result": result,
        "context": {"contextActivities": {"parent": [_activity(data, sheet.title, sheet.name)]}},
        **_time(learner, sheet),
    }


def _scored(data: ExportData, sheet: ExportedSheet, learner: LearnerMarks) -> dict[str, Any]:
    return {
        "id": data.id_of(
            "scored", sheet.name, learner.learner, str(learner.attempt), f"{learner.final!r}/{learner.max!r}", learner.handed_in
        ),
        "actor": _actor(data, learner),
        "verb": _verb("scored"),
        "object": _activity(data, sheet.title, sheet.name),
        "result": {**_score(learner.final, learner.max), "completion": True},
        **_time(learner, sheet),
    }


def _time(learner: LearnerMarks, sheet: ExportedSheet) -> dict[str, str]:
    """When it was handed in; left out where that is not known, for the time of marking is another thing."""
    return {"timestamp": handed_in_at(learner, sheet)} if learner.handed_in else {}
