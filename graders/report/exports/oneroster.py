"""Marks as a OneRoster 1.2 CSV zip: categories, line items and results, with the manifest that names the files.

Field names: OneRoster CSV binding 1.2.1, cross-read in two public implementations that agree; the specification's own
tables were not seen. In a file of the kind "bulk" status and dateLastModified stay empty. A retake is part of its sheet.
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from gearkit.text.files import write_atomically
from graders.report.exports.data import ExportData, ExportedSheet
from graders.report.exports.outcomes import counted_sheets, outcomes

FILES = (
    "academicSessions", "categories", "classes", "classResources", "courses", "courseResources", "demographics",
    "enrollments", "lineItemLearningObjectiveIds", "lineItems", "lineItemScoreScales", "orgs", "resources",
    "resultLearningObjectiveIds", "results", "resultScoreScales", "roles", "scoreScales", "userProfiles",
    "userResources", "users",
)  # fmt: skip
CATEGORY_FIELDS = ("sourcedId", "status", "dateLastModified", "title", "weight")
LINE_ITEM_FIELDS = (
    "sourcedId", "status", "dateLastModified", "title", "description", "assignDate", "dueDate", "classSourcedId",
    "categorySourcedId", "academicSessionSourcedId", "resultValueMin", "resultValueMax", "schoolSourcedId",
)  # fmt: skip
RESULT_FIELDS = (
    "sourcedId", "status", "dateLastModified", "lineItemSourcedId", "studentSourcedId", "scoreStatus", "score",
    "scoreDate", "comment", "textScore", "classSourcedId", "inProgress", "incomplete", "late", "missing",
)  # fmt: skip
_WRITTEN = {"categories": CATEGORY_FIELDS, "lineItems": LINE_ITEM_FIELDS, "results": RESULT_FIELDS}
# A zip keeps a time for each file; a fixed one makes the same marks give the same bytes.
_TIME = (1980, 1, 1, 0, 0, 0)


def write(data: ExportData, path: Path) -> None:
    """Write the zip, atomically.

    Args:
        data: the course.
        path: the file, usually ending in .zip.
    """
    tables = {
        "manifest": _csv(("propertyName", "value"), _manifest(data)),
        "categories": _csv(CATEGORY_FIELDS, [{"sourcedId": data.id_of("category"), "title": "Exercise sheets"}]),
        "lineItems": _csv(LINE_ITEM_FIELDS, [_line_item(data, sheet) for sheet in counted_sheets(data)]),
        "results": _csv(RESULT_FIELDS, [row for sheet in counted_sheets(data) for row in _results(data, sheet)]),
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in tables.items():
            entry = zipfile.ZipInfo(f"{name}.csv", _TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, text.encode("utf-8"))
    write_atomically(path, out.getvalue())


def _csv(fields: Sequence[str], rows: Sequence[Mapping[str, str]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, fields, restval="", extrasaction="raise", lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def _manifest(data: ExportData) -> list[dict[str, str]]:
    pairs = [("manifest.version", "1.0"), ("oneroster.version", "1.2")]
    pairs += [(f"file.{name}", "bulk" if name in _WRITTEN else "absent") for name in FILES]
    pairs += [("source.systemName", "gearkit"), ("source.systemCode", data.course)]
    return [{"propertyName": name, "value": value} for name, value in pairs]


def _line_item(data: ExportData, sheet: ExportedSheet) -> dict[str, str]:
    due = sheet.due[:10]
    return {
        "sourcedId": data.id_of("sheet", sheet.name),
        "title": sheet.title,
        "assignDate": due or sheet.marked_at[:10],
        "dueDate": due or sheet.marked_at[:10],
        "classSourcedId": data.class_id,
        "categorySourcedId": data.id_of("category"),
        "academicSessionSourcedId": data.session,
        "resultValueMin": "0",
        "resultValueMax": f"{sheet.full:g}",
        "schoolSourcedId": data.school,
    }


def _results(data: ExportData, sheet: ExportedSheet) -> list[dict[str, str]]:
    rows = []
    for outcome in outcomes(data, sheet):
        # "submitted" is what was handed in and waits for a person to look at it.
        status = "fully graded" if outcome.score is not None else "submitted" if outcome.handed_in else "not submitted"
        rows.append(
            {
                "sourcedId": data.id_of("result", sheet.name, outcome.learner),
                "lineItemSourcedId": data.id_of("sheet", sheet.name),
                "studentSourcedId": outcome.user,
                "scoreStatus": status,
                "score": f"{outcome.score:g}" if outcome.score is not None else "",
                "scoreDate": outcome.at[:10],
                "comment": outcome.note,
                "classSourcedId": data.class_id,
                "inProgress": "false",
                "incomplete": "false",
                "late": str(outcome.late).lower(),
                "missing": str(not outcome.handed_in).lower(),
            }
        )
    return rows
