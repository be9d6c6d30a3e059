"""Runs a page's cells in the browser, passes what panels and page have to say to each other, and hands the record out.

Everything goes over as JSON text. The page asks; every answer is sent through one function, in order.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import anywidget

from gearkit.lesson import answering
from gearkit.lesson.learnt.progress import Progress
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.record import RECORD_VARIABLE
from gearkit.lesson.workbook import Lesson
from gearkit.site import notebook_cells
from gearkit.site.notebook_cells import Cell, Result
from gearkit.site.panel_traits import state_of
from gearkit.text.files import write_atomically
from gearkit.words.say import ENGLISH, speaking_language


class Bridge:
    """The Python side of one page.

    Args:
        send: takes a JSON text for the page.
        text: JSON with "record" (the text of the learner's record, or ""), "files" (texts by name that cells may open) and
            "language" (the page's code; English where it is not given).
    """

    def __init__(self, send: Callable[[str], None], text: str) -> None:
        begin = json.loads(text)
        self._send = send
        # The page is in one language, whatever the record of its reader says.
        self._language = str(begin.get("language", ENGLISH))
        self._panels: dict[str, Any] = {}
        self._space: dict[str, object] = {"__name__": "__main__"}
        self._kept = ""
        self._progress: list[Cell] = []
        self._path = Path(os.environ[RECORD_VARIABLE])
        for name, content in begin["files"].items():
            Path(name).write_text(content, encoding="utf-8")
        self._layouts = _layouts_here()
        # On a page this is the stand-in beside this module.
        anywidget.outbox[:] = [send]
        self.take_record(begin["record"])

    def run_cell(self, text: str) -> None:
        """Run a cell and send what it gives: a panel's state, HTML, or what went wrong.

        Args:
            text: JSON with "id" and "source".
        """
        asked = json.loads(text)
        cell = Cell(asked["id"], True, asked["source"])
        try:
            with speaking_language(self._language):
                result = next(notebook_cells.results([cell], self._space))
                self._show(cell, result)
        except Exception as fault:
            self._tell(cell=cell.name, trouble=str(fault))
            return
        self._tell_record()

    def _show(self, cell: Cell, result: Result) -> None:
        value = result.value
        if isinstance(value, Panel):
            value.page_name = cell.name
            self._panels[cell.name] = value
            self._tell(cell=cell.name, state=state_of(value))
        elif isinstance(value, Lesson):
            self._tell(cell=cell.name, notices=value.record.take_notices())
        elif result.waits:
            self._tell(cell=cell.name, html=result.html)
            if isinstance(value, Progress):
                self._progress.append(cell)

    def take(self, text: str) -> None:
        """Take what the page changed in a panel, or a message for it.

        Args:
            text: JSON with "panel" and "state" or "content".
        """
        asked = json.loads(text)
        panel = self._panels.get(asked["panel"])
        if panel is None:
            return
        try:
            with speaking_language(self._language):
                if "state" in asked:
                    panel.take_state(asked["state"])
                else:
                    panel.take_message(asked["content"])
        except Exception as fault:
            self._tell(panel=asked["panel"], trouble=f"{type(fault).__name__}: {fault}")
        self._tell_layouts()
        if self._tell_record():
            with speaking_language(self._language):
                for cell in self._progress:
                    (again,) = notebook_cells.results([cell], self._space)
                    self._tell(cell=cell.name, html=again.html)

    def read(self, text: str) -> None:
        """Say how an answer of a sheet reads; whether it is right is not looked at.

        Args:
            text: JSON with "item" and "given", texts by part name.
        """
        asked = json.loads(text)
        with speaking_language(self._language):
            words = answering.how_it_reads(asked["item"], asked["given"])
        self._tell(item=asked["item"], words=words.removeprefix(f"{asked['item']}: "))

    def take_record(self, text: str) -> None:
        """Take the record as another page left it.

        Args:
            text: of the record; "" where there is none yet.
        """
        if text:
            write_atomically(self._path, text, durable=False)
        self._kept = self._now()

    def _tell_layouts(self) -> None:
        """Hand out layout files that a panel wrote: nobody finds them in the browser's memory."""
        now = _layouts_here()
        for path, written in now.items():
            if self._layouts.get(path) != written:
                self._tell(file=path.name, text=path.read_text(encoding="utf-8"))
        self._layouts = now

    def _tell_record(self) -> bool:
        now = self._now()
        if now == self._kept:
            return False
        self._kept = now
        self._tell(record=now)
        return True

    def _now(self) -> str:
        return self._path.read_text(encoding="utf-8") if self._path.exists() else ""

    def _tell(self, **what: object) -> None:
        self._send(json.dumps(what))


def _layouts_here() -> dict[Path, int]:
    """Return the layout files beside the record with the times when they were written."""
    return {path: path.stat().st_mtime_ns for path in sorted(Path.cwd().glob("*.toml"))}
