"""Marks as scores of the LTI Assignment and Grade Services 2.0, in one JSON file.

Sending scores needs a registered tool; this file holds the bodies that such a tool sends: for each sheet its line item
(label, scoreMaximum, resourceId, tag) and the scores (userId, scoreGiven, scoreMaximum, comment, timestamp,
activityProgress, gradingProgress). Field names: two platform vendors' developer pages.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from gearkit.text.files import write_atomically
from graders.report.exports.data import ExportData, ExportedSheet
from graders.report.exports.outcomes import counted_sheets, outcomes


def write(data: ExportData, path: Path) -> None:
    """Write the scores of every sheet, atomically.

    Args:
        data: the course.
        path: the file, usually ending in .json.
    """
    sheets = [{"lineItem": _line_item(data, sheet), "scores": _scores(data, sheet)} for sheet in counted_sheets(data)]
    write_atomically(path, json.dumps(sheets, ensure_ascii=False, indent=1) + "\n")


def _line_item(data: ExportData, sheet: ExportedSheet) -> dict[str, Any]:
    return {
        "label": sheet.title,
        "scoreMaximum": sheet.full,
        "resourceId": data.id_of("sheet", sheet.name),
        "tag": sheet.name,
    }


def _scores(data: ExportData, sheet: ExportedSheet) -> list[dict[str, Any]]:
    scores: list[dict[str, Any]] = []
    for outcome in outcomes(data, sheet):
        score: dict[str, Any] = {"userId": outcome.user, "timestamp": outcome.at}
        if outcome.score is not None:
            score |= {"scoreGiven": outcome.score, "scoreMaximum": outcome.full, "activityProgress": "Completed",
                      "gradingProgress": "FullyGraded"}  # fmt: skip
        elif outcome.handed_in:
            # Nothing in it could be read: a person has to look at it.
            score |= {"activityProgress": "Submitted", "gradingProgress": "PendingManual"}
        else:
            # Nothing handed in has no score; a body without scoreGiven clears what a platform may hold.
            score |= {"activityProgress": "Initialized", "gradingProgress": "NotReady"}
        if outcome.note:
            score["comment"] = outcome.note
        scores.append(score)
    return scores
