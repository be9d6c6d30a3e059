"""What takes bytes or texts from a stranger, each as a function of some bytes that fails where a promise is broken.

The promises: nothing but the one agreed exception comes out, what comes out has its agreed size, and it can be
written to a file. The tests feed these functions at random; `python -m tests.fuzz.guided` feeds them guided by coverage.
"""

from __future__ import annotations

import functools
import os
import tempfile
from collections.abc import Callable, Mapping
from fractions import Fraction
from pathlib import Path

from gearkit.answers import items
from gearkit.answers.comparison.compare import fingerprint
from gearkit.answers.draw_numbers.variants import Variant, practice
from gearkit.answers.judge import marking
from gearkit.answers.read.reader import read
from gearkit.words.errors import AnswerError
from graders.run.engines import reply_protocol
from graders.run.read import finding, notebooks, reading
from graders.run.read.harvest import SheetCells, harvest
from graders.run.remote import remote_protocol

ITEMS = ("L03-02", "L03-03", "L03-05", "L03-06")
SHEET = SheetCells(ITEMS, ("from gearkit.lesson.answering import answer",), ("S", "P", "R"))
MOST_BYTES = 4_000
VALUES = {"R": Fraction(66), "S": Fraction(30), "P": Fraction(18)}


def _text(data: bytes) -> str:
    """Some bytes as a text; after a byte that starts no character come halves of surrogate pairs, as JSON can bring."""
    data = data[:MOST_BYTES]
    if data[:1] != b"\xff":
        return data.decode("utf-8", "replace")
    return "".join(chr(0xD800 + byte) if byte >= 0xF0 else chr(byte) for byte in data[1:])


def expression(data: bytes) -> None:
    """Read an expression, and compare and work out what was read."""
    refusal: AnswerError | None = None
    try:
        found = read(_text(data), VALUES.keys())
        fingerprint(found)
        found.value(VALUES)
        str(found).encode()
    except AnswerError as fault:
        refusal = fault
    assert refusal is None or (refusal.code and str(refusal).strip())


@functools.cache
def _variants() -> tuple[Variant, ...]:
    """One item of each kind of answer."""
    by_kind = {}
    for item in items.all_items():
        by_kind.setdefault((item.kind, tuple(field.kind for field in item.fields.values())), item)
    return tuple(practice(item) for item in by_kind.values())


def answer(data: bytes) -> None:
    """Mark a text as the answer to an item; the first byte chooses which."""
    variants = _variants()
    variant = variants[(data[0] if data else 0) % len(variants)]
    text = reply_protocol.clean(_text(data[1:]))
    given = {part.name: text for part in variant.parts} if data[:1] > b"\x80" else {"answer": text}
    result = marking.mark(variant, given)
    assert 0 <= result.score <= result.max
    assert str(result.verdict) in ("right", "wrong", "unreadable", "missing")
    result.comment.encode()
    "".join(result.read_as.values()).encode()


def cell(data: bytes) -> None:
    """Read the source of a cell without running it."""
    source = _text(data)
    found = reading.read_cell(source, SHEET.written())
    if found is not None:
        _check_answers(found)
    reading.syntax_fault(source)
    reading.bare_text(source)
    call = reading.broken_call(source)
    assert call is None or call[1]


def notebook(data: bytes) -> None:
    """Read a notebook file and take from it what can be read."""
    found = notebooks.load(data)
    if found is None:
        return
    assert len(found.cells) <= notebooks.MOST_CELLS
    for one in found.cells:
        one.source.encode()
        assert len(one.source) <= notebooks.LONGEST_CELL * 4
    gathered = harvest(found, SHEET, None)
    _check_answers(gathered.answers)
    "".join(gathered.flags).encode("utf-8", "replace")


@functools.cache
def _kept() -> tempfile.TemporaryDirectory[str]:
    return tempfile.TemporaryDirectory(prefix="gearkit-fuzz-")


def _folder() -> Path:
    return Path(_kept().name)


def archive(data: bytes) -> None:
    """Look for a notebook in what was handed in as one file."""
    name = ("work.zip", "H1.ipynb")[len(data) % 2]
    for old in _folder().iterdir():
        os.unlink(old)
    (_folder() / name).write_bytes(data)
    found = finding.find(_folder(), "H1", ITEMS)
    assert (found.notebook is None) is bool(found.reason)


def reply(data: bytes) -> None:
    """Take a reply apart, from a sandbox and from another machine."""
    for frame in reply_protocol.frames(data):
        _check_answers(frame.answers)
    for frame in reply_protocol.frames(reply_protocol.HEAD.pack(len(data)) + data):
        _check_answers(frame.answers)
    found = remote_protocol.reply_from(data)
    if found is not None:
        for frame in found.ran.run.frames:
            _check_answers(frame.answers)
        assert not found.ran.run.complete or found.ran.run.frames[-1].last


def _check_answers(answers: Mapping[str, Mapping[str, str]]) -> None:
    assert len(answers) <= reply_protocol.MOST_ITEMS
    for item, parts in answers.items():
        assert len(parts) <= reply_protocol.MOST_PARTS
        for text in (item, *parts, *parts.values()):
            text.encode()
            assert len(text) <= reply_protocol.LONGEST_TEXT


TARGETS: Mapping[str, Callable[[bytes], None]] = {
    "expression": expression,
    "answer": answer,
    "cell": cell,
    "notebook": notebook,
    "archive": archive,
    "reply": reply,
}
