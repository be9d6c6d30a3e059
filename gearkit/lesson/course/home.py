"""The home of the course: the page on which every visit begins, made from the record and always up to date."""

from __future__ import annotations

import contextlib
import json
from html import escape
from pathlib import Path
from typing import Any

from gearkit.lesson.course.links import HOME, link, notebook_of, title_of
from gearkit.lesson.course.overview import START, LessonStanding, Overview, hours, minutes_left, overview
from gearkit.lesson.learnt.standing import State, days_ago
from gearkit.lesson.record import Record
from gearkit.text.files import write_atomically
from gearkit.text.phrases import day_words
from gearkit.words.say import say, say_n

CELL = "home-page"
# A notebook sets tables flush right, as suits numbers.
_LEFT = 'style="text-align:left"'
_GLOSSARY = Path("glossary") / "glossary.ipynb"


class Home:
    """The home page, as text and as HTML.

    Args:
        standing: how the course stands.
        start: the folder of the open notebook, from which links go out.
    """

    def __init__(self, standing: Overview, start: Path) -> None:
        self._standing = standing
        self._start = start

    def __repr__(self) -> str:
        standing = self._standing
        going_on = standing.next_lesson
        where = f"{title_of(going_on.plan.number)}. " if going_on else ""
        lines = [
            say("Where you stopped: {where_stopped}", where_stopped=standing.where_stopped()),
            say("Next step: {where}{next_step}", where=where, next_step=standing.next_step()),
        ]
        lines += [f"{title_of(each.plan.number)}: {each.purpose} {self._stands(each)}" for each in standing.lessons]
        return "\n".join(lines)

    def _repr_html_(self) -> str:
        standing = self._standing
        going_on = standing.next_lesson
        where = self._to(going_on) + ". " if going_on else ""
        due = (
            "<p>"
            + say_n(
                "<strong>Due again:</strong> {count} exercise. Each lesson opens with three of them.",
                "<strong>Due again:</strong> {count} exercises. Each lesson opens with three of them.",
                standing.due,
            )
            + "</p>"
            if standing.due
            else ""
        )
        left = minutes_left(standing.lessons)
        time = "<p>" + say("<strong>Time for what is left:</strong> {hours}.", hours=hours(left)) + "</p>" if left else ""
        rows = "".join(self._row(each) for each in standing.lessons)
        heads = "".join(
            f'<th scope="col" {_LEFT}>{head}</th>'
            for head in (
                say("Lesson"),
                say("What it is for"),
                say("Minutes"),
                say("Core done"),
                say("All done"),
                say("Kept"),
                say("Due again"),
                say("Last"),
            )
        )
        as_of = say("As of {day}. To bring this page up to date: <em>Run → Run All Cells</em>.", day=day_words(standing.today))
        glossary = say("glossary")
        signs = say(
            "Core: what everybody does; a lesson with its core done has a ✓. Done: right without a hint. Kept: right again on another "
            "day, with new numbers. Due again: right, but so long ago that it should be asked again. Words you do not know stand in the "
            "{glossary}.",
            glossary=link(_GLOSSARY, glossary, self._start),
        )
        head, step, stopped = say("Your course"), say("Next step:"), say("Where you stopped:")
        return (
            f"<h1>{head}</h1><p>{as_of}</p><p><strong>{step}</strong> {where}{escape(standing.next_step())}</p>"
            f"<p><strong>{stopped}</strong> {escape(standing.where_stopped())}</p>{due}{time}"
            f"<table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table><p>{signs}</p>"
        )

    def _row(self, each: LessonStanding) -> str:
        kept, due = each.count(State.KEPT), each.count(State.DUE)
        sign = "✓ " if each.complete else "▷ " if each is self._standing.next_lesson else ""
        core = say("{core_done} of {core}", core_done=each.core_done, core=len(each.core)) if each.exercises else ""
        done = (
            say("{done} of {count}", done=each.done, count=len(each.exercises))
            if each.exercises
            else say("visited")
            if each.last
            else say("not yet")
        )
        last = days_ago(max(0, (self._standing.today - each.last).days)) if each.last else ""
        cells = (escape(each.purpose), str(each.plan.minutes), core, done, str(kept or ""), str(due or ""), last)
        return f'<tr><th scope="row" {_LEFT}>{sign}{self._to(each)}</th>{"".join(f"<td {_LEFT}>{cell}</td>" for cell in cells)}</tr>'

    def _stands(self, each: LessonStanding) -> str:
        counts = [(each.count(State.KEPT), say("kept")), (each.count(State.DUE), say("due again"))]
        more = "".join(f", {count} {word}" for count, word in counts if count)
        return (
            say(
                "{core_done} of {core} core and {done} of all {count} done{more}.",
                core_done=each.core_done,
                core=len(each.core),
                done=each.done,
                count=len(each.exercises),
                more=more,
            )
            if each.exercises
            else ""
        )

    def _to(self, each: LessonStanding) -> str:
        return link(notebook_of(each.plan), title_of(each.plan.number), self._start)


def home(record: Record, start: Path | None = None) -> Home:
    """Return the home page.

    Args:
        record: the learner's record.
        start: the folder of the open notebook; the working folder when None.
    """
    return Home(overview(record), start or Path.cwd())


def renew(shelf: Path, record: Record) -> Path:
    """Write the home page of a shelf, so that it is there before anything runs, and return it.

    Of a page that is there already only the output of its own cell is renewed: what its owner wrote on it stays.

    Args:
        shelf: the learner's folder.
        record: the learner's record.

    Raises:
        OSError: the page cannot be written.
    """
    path = shelf / HOME
    page = home(record, shelf)
    output = {
        "output_type": "execute_result",
        "execution_count": 1,
        "metadata": {},
        "data": {"text/html": page._repr_html_(), "text/plain": repr(page)},
    }
    notebook = _held(path) if path.exists() else _new()
    cell = next((cell for cell in notebook.get("cells", []) if isinstance(cell, dict) and cell.get("id") == CELL), None)
    if cell is not None:
        cell["outputs"], cell["execution_count"] = [output], 1
        text = json.dumps(notebook, ensure_ascii=False, indent=1) + "\n"
        # A page that is open must not change under its reader for nothing.
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            write_atomically(path, text, durable=False)
    return path


def _held(path: Path) -> dict[str, Any]:
    with contextlib.suppress(ValueError):
        held = json.loads(path.read_text(encoding="utf-8"))
        if isinstance(held, dict) and isinstance(held.get("cells"), list):
            return held
    # It is its owner's, whatever it is.
    return {}


def _new() -> dict[str, Any]:
    def code(name: str, source: str) -> dict[str, Any]:
        metadata = {"jupyter": {"source_hidden": True}}
        return {
            "cell_type": "code", "id": name, "metadata": metadata, "execution_count": None, "outputs": [], "source": source,
        }  # fmt: skip

    note = say(
        '**To print or hand in:** run `open_lesson("00").completion("Your name")` in a new cell. It writes the page `my_completion.html` beside this one.'
    )
    return {
        "cells": [
            code(
                CELL,
                say('# The page of your course\nfrom gearkit import open_lesson\n\nopen_lesson("{start}").home()', start=START),
            ),
            code("home-language", say('# The language of your lessons\nopen_lesson("{start}").language()', start=START)),
            {"cell_type": "markdown", "id": "home-note", "metadata": {}, "source": note},
        ],
        "metadata": {"kernelspec": {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}},
        "nbformat": 4,
        "nbformat_minor": 5,
    }
