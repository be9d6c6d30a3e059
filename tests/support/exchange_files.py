"""Exchange files read back, each held to the fields that its standard knows."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from graders.report.exports import oneroster

_TABLES = {
    "categories": oneroster.CATEGORY_FIELDS,
    "lineItems": oneroster.LINE_ITEM_FIELDS,
    "results": oneroster.RESULT_FIELDS,
}
_AGS_LINE_ITEM = {"label", "scoreMaximum", "resourceId", "tag", "resourceLinkId"}
_AGS_SCORE = {"userId", "scoreGiven", "scoreMaximum", "comment", "timestamp", "activityProgress", "gradingProgress"}
_STATEMENT = {"id", "actor", "verb", "object", "result", "context", "timestamp"}
_RESULT = {"score", "success", "completion", "response"}
_SCORE = {"scaled", "raw", "min", "max"}


def oneroster_tables(path: Path) -> dict[str, list[dict[str, str]]]:
    """Return every table that the manifest of a OneRoster zip names, and the manifest."""
    with zipfile.ZipFile(path) as archive:
        tables = {name: _rows(archive, name) for name in ("manifest", *_TABLES)}
    for name, fields in _TABLES.items():
        assert not tables[name] or tuple(tables[name][0]) == fields, name
    return tables


def _rows(archive: zipfile.ZipFile, name: str) -> list[dict[str, str]]:
    text = archive.read(f"{name}.csv").decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def ags_scores(path: Path) -> list[dict[str, Any]]:
    """Return the line items of a file of scores, each with its scores."""
    sheets: list[dict[str, Any]] = json.loads(path.read_text(encoding="utf-8"))
    for sheet in sheets:
        _all_known(sheet["lineItem"], _AGS_LINE_ITEM)
        for score in sheet["scores"]:
            _all_known(score, _AGS_SCORE)
    return sheets


def xapi_statements(path: Path) -> list[dict[str, Any]]:
    """Return the statements of a file, one of each line."""
    statements = [json.loads(line) for line in path.read_text(encoding="utf-8").split("\n") if line]
    for statement in statements:
        _all_known(statement, _STATEMENT)
        _all_known(statement["result"], _RESULT)
        _all_known(statement["result"].get("score", {}), _SCORE)
    return statements


def _all_known(keys: Iterable[str], fields: set[str]) -> None:
    assert set(keys) <= fields, set(keys) - fields
