"""Everything that reads what was handed in is fed rubbish, steered by coverage; nothing may raise, and all is quick.

The search keeps a changed input when it reaches a line that none reached before, so that it works its way into the
readers. What it has found in longer runs is kept in `FOUND`.
"""

from __future__ import annotations

import json
import random
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import pytest

import graders.run
from gearkit.answers.symbols import symbol
from graders.run.engines import reply_protocol
from graders.run.read import finding, notebooks, reading
from graders.run.read.harvest import SheetCells, harvest

FOLDER = str(Path(graders.run.__file__).parent)
ROUNDS = 1500
SLOWEST = 1.0
SYMBOLS = {name: symbol(name) for name in "RSP"}
SHEET = SheetCells(("L03-01", "L03-02"), ("from gearkit.lesson.answering import answer",), ("S", "P", "R"))

CELL = {
    "cell_type": "code",
    "id": "a",
    "metadata": {"gearkit": {"item": "L03-02"}},
    "outputs": [],
    "execution_count": None,
    "source": ["answer('L03-02',\n", " 1 + R/S)"],
}
BOOK = json.dumps(
    {
        "cells": [CELL, {**CELL, "cell_type": "markdown"}],
        "nbformat": 4,
        "nbformat_minor": 5,
        "metadata": {"gearkit": {"learner": "s1"}, "kernelspec": {"language": "python"}},
    }
).encode()
OLD = json.dumps({"worksheets": [{"cells": [{"cell_type": "code", "input": "answer('L03-01', 2)"}]}]}).encode()
FRAME = reply_protocol.packed({"cell": 0, "answers": {"L03-02": {"answer": "1"}}, "fault": "", "last": False})
PIECES = [
    b'"',
    b"{",
    b"}",
    b"[",
    b"]",
    b",",
    b":",
    b"\\",
    b"\\u0000",
    b"\\ud800",
    b"\xff",
    b"\xff\xfe",
    b"\xef\xbb\xbf",
    b"null",
    b"1e999",
    b"-",
    b"0" * 30,
    b"answer(",
    b"'L03-02'",
    b")",
    b"(",
    b"**",
    b"/",
    b"#",
    b"\n",
    b"\r\n",
    b"'''",
    b"\xe2\x80\x9c",
    b"PK\x03\x04",
    b"NaN",
    b"true",
    b'{"cell_type": "code", "source": "',
    b"lambda:",
    b"f'{",
    b"\\\n",
]


class Reached:
    """The lines of our own readers that were reached since it was started."""

    def __init__(self) -> None:
        self.lines: set[tuple[str, int]] = set()

    def _line(self, frame: FrameType, event: str, argument: Any) -> Any:
        if event == "line":
            self.lines.add((frame.f_code.co_filename, frame.f_lineno))
        return self._line

    def _call(self, frame: FrameType, event: str, argument: Any) -> Any:
        code: CodeType = frame.f_code
        return self._line if code.co_filename.startswith(FOLDER) else None

    @contextmanager
    def watching(self) -> Iterator[None]:
        """Watch what runs inside."""
        before = sys.gettrace()
        sys.settrace(self._call)
        try:
            yield
        finally:
            sys.settrace(before)


def changed(data: bytes, seeded: random.Random, pool: list[bytes]) -> bytes:
    """The data with one or a few changes."""
    out = bytearray(data)
    for _ in range(seeded.choice((1, 1, 2, 4))):
        at = seeded.randrange(len(out) + 1)
        match seeded.randrange(6):
            case 0:
                out[at:at] = seeded.choice(PIECES)
            case 1:
                del out[at : at + seeded.randrange(1, 40)]
            case 2 if out:
                out[at % len(out)] = seeded.randrange(256)
            case 3:
                out[at:at] = out[: seeded.randrange(60)]
            case 4:
                other = seeded.choice(pool)
                out[at:] = other[seeded.randrange(len(other) + 1) :]
            case _:
                out[at:at] = seeded.choice(PIECES) * seeded.randrange(1, 300)
    return bytes(out[:20_000])


def search(read: Callable[[bytes], object], seeds: list[bytes], seed: int) -> int:
    """Feed a reader; how many lines of ours were reached."""
    seeded, pool, known = random.Random(seed), list(seeds), set[tuple[str, int]]()
    for turn in range(ROUNDS):
        data = pool[turn] if turn < len(seeds) else changed(seeded.choice(pool), seeded, pool)
        reached = Reached()
        started = time.perf_counter()
        try:
            with reached.watching():
                read(data)
        except Exception as fault:
            raise AssertionError(f"{type(fault).__name__} on {data[:2000]!r}") from fault
        assert time.perf_counter() - started < SLOWEST, data[:2000]
        if not reached.lines <= known:
            known |= reached.lines
            pool.append(data)
    return len(known)


def read_notebook(data: bytes) -> None:
    book = notebooks.load(data)
    if book is not None:
        result = harvest(book, SHEET, None)
        json.dumps([dict(result.answers), list(result.flags), dict(result.broken)], ensure_ascii=False).encode("utf-8")


def read_source(data: bytes) -> None:
    source = data.decode("utf-8", "replace").replace("\x00", "?")
    for found in (reading.read_cell(source, SYMBOLS), reading.broken_call(source), reading.bare_text(source)):
        json.dumps(found, ensure_ascii=False).encode("utf-8")


def read_reply(data: bytes) -> None:
    for frame in reply_protocol.frames(data):
        json.dumps([frame.cell, frame.answers, frame.fault], ensure_ascii=False).encode("utf-8")


SOURCES = [
    b"answer('L03-02', 1 + R/S)",
    b"answer('L03-01', {'a': [R, 2], 3: '4'}, S_R_C=-2**3)  # x",
    b"answer('L03-02', 19/6",
    b"2 34/59",
    b"'''a'''\npass\n1/2*R",
    b"answer('L03-02', 3,2)",
]
READERS = {
    "notebook": (read_notebook, [BOOK, OLD, b"answer('L03-02', 1)"]),
    "source": (read_source, SOURCES),
    "reply": (read_reply, [FRAME, FRAME * 3, reply_protocol.packed({"cell": 1, "answers": {}, "fault": "x", "last": True})]),
}
# Inputs that broke a reader once, or that a longer search found to be the slowest.
FOUND = [
    ("reply", reply_protocol.packed({"cell": 0, "answers": {"a": {"\ud800": "\ud800"}}, "fault": "", "last": False})),
    ("notebook", b'{"cells": [{"cell_type": "code", "source": "answer(\'L03-02\', \'\\ud800\')"}]}'),
    ("source", b"answer('L03-02', " + b") " * 400),
    ("source", b"'\\ud800'"),
    ("notebook", json.dumps({"cells": [{**CELL, "source": "'\\ud800'"}]}).encode()),
    ("source", b"answer('L03-02', " + b"-" * 9000 + b"1)"),
    ("notebook", b"{" * 5000 + b'{"cell_type": "code"' * 500),
]


@pytest.mark.parametrize("name", READERS)
def test_no_rubbish_makes_a_reader_raise_or_linger(name: str) -> None:
    read, seeds = READERS[name]
    assert search(read, seeds, seed=11) > 15


@pytest.mark.parametrize(("name", "data"), FOUND)
def test_what_was_found_once_stays_mended(name: str, data: bytes) -> None:
    started = time.perf_counter()
    READERS[name][0](data)
    assert time.perf_counter() - started < SLOWEST


def test_a_folder_of_rubbish_is_read_without_raising(tmp_path: Path) -> None:
    seeded = random.Random(5)
    for number in range(60):
        folder = tmp_path / str(number)
        folder.mkdir()
        for ending in ("ipynb", "zip", "py"):
            (folder / f"A1.{ending}").write_bytes(changed(BOOK, seeded, [BOOK, OLD, FRAME]))
        found = finding.find(folder, "A1", SHEET.items)
        assert found.notebook is not None or found.reason
