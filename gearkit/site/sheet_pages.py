"""Copies of a class's sheets as pages: each under a name that nobody can guess, and nothing in it but what was handed out."""

from __future__ import annotations

import ast
import csv
import io
import json
import re
import secrets
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any

from gearkit.site import prose
from gearkit.site.page import button
from gearkit.site.page_words import ONE_OF, RUNNING, SEVERAL_OF
from gearkit.words.errors import UsageError
from gearkit.words.say import languages, later, say, speaking_language

FOLDER = "sheets"
# In a course, the copies as they were handed out lie here, a folder for each learner.
_HANDED_OUT = "handed_out"
_ONE = "answer"
_LONGEST_ANSWER = 400
# "- `S_R_C`: sun in, ring held, carrier out" names a part of the answer.
_LABEL = re.compile(r"^- `(\w+)`: (.+)$", re.MULTILINE)
_OPTIONS = "((?:`[^`]+`(?:, )?)+)"
_HEADING = re.compile(r"(</?)h3\b([^>]*>)")
_COLUMNS = ("learner", "sheet", "attempt", "page")
NOBODY = later("Open the page whose address your instructor gave you.")


@dataclass(frozen=True)
class Copy:
    """A sheet as it was handed out to a learner.

    Args:
        path: the notebook.
        sheet: name of the sheet.
        learner: the learner's identity; "" for a copy that is everybody's.
        attempt: which attempt it is for, from 1.
        notebook: its content.
    """

    path: Path
    sheet: str
    learner: str
    attempt: int
    notebook: Mapping[str, Any]

    @property
    def key(self) -> tuple[str, str, str]:
        """What the copy is, in the words of the list of addresses."""
        return (self.learner, self.sheet, str(self.attempt))

    @property
    def file_name(self) -> str:
        """The name under which the answered sheet is saved; it begins with the learner, so that it is taken in by itself."""
        return f"{self.learner}_{self.sheet}.ipynb" if self.learner else f"{self.sheet}.ipynb"


def copies_in(folder: Path) -> list[Copy]:
    """Return the copies in a course, or in a folder of notebooks.

    Args:
        folder: a course's folder, its folder of what was handed out, or a folder with copies.

    Raises:
        UsageError: there are none, or one is not as it was handed out.
    """
    inside = folder / _HANDED_OUT if (folder / _HANDED_OUT).is_dir() else folder
    copies = [copy for path in sorted(inside.rglob("*.ipynb")) if (copy := _copy(path)) is not None]
    if not copies:
        raise UsageError(f"{folder}: holds no sheet that was handed out; give the folder of a course, after graders hand-out.")
    return copies


def _copy(path: Path) -> Copy | None:
    try:
        notebook = json.loads(path.read_text(encoding="utf-8"))
        about = notebook["metadata"]["gearkit"]
        copy = Copy(path, str(about["sheet"]), str(about.get("learner", "")), int(about.get("attempt", 1)), notebook)
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None
    for cell in notebook["cells"]:
        item = _item(cell)
        if item and (any(_blanks(cell).values()) or cell.get("outputs")):
            raise UsageError(f"{path}: {item} is answered already; a site takes copies as they were handed out, and no others.")
    return copy


def _item(cell: Mapping[str, Any]) -> str:
    return str(cell.get("metadata", {}).get("gearkit", {}).get("item", ""))


def _blanks(cell: Mapping[str, Any]) -> dict[str, str]:
    """Return the parts of a handed-out answer cell with what stands in them; anything but a plain call counts as an answer."""
    source = _source(cell)
    try:
        body = ast.parse(source).body
    except SyntaxError:
        return {_ONE: source}
    if len(body) != 1 or not isinstance(body[0], ast.Expr) or not isinstance(call := body[0].value, ast.Call):
        return {_ONE: source}
    given = [(_ONE, value) for value in call.args[1:]] + [(str(keyword.arg), keyword.value) for keyword in call.keywords]
    return {name: str(value.value) if isinstance(value, ast.Constant) else source for name, value in given}


def _source(cell: Mapping[str, Any]) -> str:
    source = cell.get("source", "")
    return "".join(source) if isinstance(source, list) else str(source)


def page_of(copy: Copy) -> tuple[str, dict[str, Any]]:
    """Return a copy's page: its HTML, and what its script has to know.

    Args:
        copy: the copy.
    """
    cells = copy.notebook["cells"]
    setup = [
        {"id": str(cell["id"]), "source": _source(cell), "module": ""}
        for cell in cells
        if cell.get("metadata", {}).get("gearkit", {}).get("setup")
    ]
    stored = {
        "notebook": copy.notebook, "name": copy.file_name, "kept": " ".join(copy.key), "cells": setup, "panels": {}, "files": {},
        "extras": [],
    }  # fmt: skip
    about = say(
        "Write your answers into the boxes; below each stands how it is read, not whether it is right. What you write is kept in "
        "this browser. When you are done, save the sheet at the end of the page and hand in that file."
    )
    head = f'<p class="gk-say" role="note">{about}</p>'
    return "\n".join([head, *_html(cells), _end()]), stored


def _end() -> str:
    save = button("gk-save", say("Save the sheet to hand it in"))
    return f'<p>{save}</p><p id="gk-told" role="status"></p>'


def in_a_notebook() -> str:
    """Return the button that opens a sheet as a notebook, and what has to be known about it, as HTML."""
    there = button("gk-cells", say("in a notebook in this browser"))
    told = say(
        "You may also answer {in_a_notebook}, where you can write code of your own. What you have answered here comes along the "
        "first time; after that page and notebook are two, and you hand in one of them: from the notebook with File, Download.",
        in_a_notebook=there,
    )
    return f"<p>{told}</p>"


def _in_every_language(message: str) -> Iterator[str]:
    """A sheet is in the language of its course, whatever that of the site."""
    for code in languages():
        with speaking_language(code):
            yield say(message)


def _choices(task: str) -> list[str]:
    starts = {text.partition("{options}")[0] for message in (ONE_OF, SEVERAL_OF) for text in _in_every_language(message)}
    named = re.finditer(rf"\b(?:{'|'.join(map(re.escape, starts))}){_OPTIONS}", task, re.IGNORECASE)
    return [word for match in named for word in re.findall(r"`([^`]+)`", match[1])]


def _html(cells: list[Mapping[str, Any]]) -> Iterator[str]:
    task, running = "", re.compile(rf"(?:{'|'.join(map(re.escape, _in_every_language(RUNNING)))})\s*")
    for cell in cells:
        item = _item(cell)
        if cell["cell_type"] == "markdown":
            task = _source(cell)
            # A notebook's exercises stand two levels below its title; a page leaves none out.
            yield _HEADING.sub(r"\1h2\2", prose.to_html(running.sub("", task), lambda _target: None))
        elif item:
            yield _form(item, list(_blanks(cell)), task)


def _form(item: str, parts: list[str], task: str) -> str:
    labels = dict(_LABEL.findall(task))
    choices = _choices(task)
    listed = f"{item}-choices" if choices else ""
    boxes = "".join(_box(name, labels.get(name, say("Your answer") if name == _ONE else name), listed) for name in parts)
    options = "".join(f'<option value="{escape(word, quote=True)}"></option>' for word in choices)
    return (
        f'<fieldset class="gk-answer" data-item="{escape(item, quote=True)}"><legend>{escape(item)}</legend>{boxes}'
        + (f'<datalist id="{listed}">{options}</datalist>' if listed else "")
        + '<p class="gk-reads" role="status"></p></fieldset>'
    )


def _box(name: str, label: str, listed: str) -> str:
    choices = f' list="{listed}"' if listed else ""
    return (
        f'<label>{prose.line(label)} <input type="text" name="{escape(name, quote=True)}" maxlength="{_LONGEST_ANSWER}" '
        f'autocomplete="off" autocapitalize="off" spellcheck="false"{choices}></label>'
    )


class Addresses:
    """The list of copies with their addresses; kept beside the site, for the instructor alone, so that addresses last.

    Args:
        text: the list as it was written before; "" for none.
    """

    def __init__(self, text: str = "") -> None:
        rows = csv.DictReader(io.StringIO(text))
        self._pages = {(row["learner"], row["sheet"], row["attempt"]): row["page"] for row in rows if set(_COLUMNS) <= set(row)}

    def of(self, copy: Copy) -> str:
        """Return the address of a copy in the site: a new one that nobody can guess, or the one that it has already.

        Args:
            copy: the copy.
        """
        return self._pages.setdefault(copy.key, f"{FOLDER}/{secrets.token_urlsafe(18)}.html")

    @property
    def text(self) -> str:
        """The list as CSV, to be opened in a spreadsheet."""
        table = io.StringIO(newline="")
        writer = csv.writer(table)
        writer.writerow(_COLUMNS)
        writer.writerows([*key, page] for key, page in sorted(self._pages.items()))
        return table.getvalue()
