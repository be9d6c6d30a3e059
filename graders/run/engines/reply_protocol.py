"""The form in which answers leave the sandbox: length, then JSON; texts and nothing but texts.

Whoever writes is not trusted. Whatever comes is cut to size and checked for its form; what has another form
is dropped, and what it says about rightness or marks is never asked for.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

HEAD = struct.Struct("<I")
# With this a child ends that gives up a cell which caught every interruption.
OUT_OF_TIME = 71
MOST_ITEMS = 400
MOST_PARTS = 64
LONGEST_NAME = 80
# The reader refuses a part of more than 400 characters; several parts in one text may be longer, and an overlong one shall not
# take the others with it.
LONGEST_TEXT = 2000


@dataclass(frozen=True)
class Frame:
    """One message from the sandbox.

    Args:
        cell: index of the cell after which it was sent.
        answers: texts answered so far that changed with this cell, by item and part.
        fault: name of the exception with which the cell ended, or "".
        last: whether this is the end of the notebook.
        end: the word that the job asks for at its end; whoever only forges frames does not know it.
    """

    cell: int
    answers: Mapping[str, Mapping[str, str]]
    fault: str = ""
    last: bool = False
    end: str = ""


def packed(data: Mapping[str, Any]) -> bytes:
    """A frame as bytes."""
    body = json.dumps(data).encode("utf-8")
    return HEAD.pack(len(body)) + body


def frames(data: bytes) -> Iterator[Frame]:
    """The well-formed frames at the beginning of some bytes; it stops at the first that is not."""
    at = 0
    while at + HEAD.size <= len(data):
        (length,) = HEAD.unpack_from(data, at)
        at += HEAD.size
        if at + length > len(data):
            return
        try:
            frame = checked(json.loads(data[at : at + length].decode()))
        except (ValueError, RecursionError):
            return
        if frame is None:
            return
        yield frame
        at += length


def checked(data: Any) -> Frame | None:
    """The frame that some data make, or None where they have another form."""
    if not isinstance(data, dict):
        return None
    cell, answers, fault, last = data.get("cell"), data.get("answers"), data.get("fault"), data.get("last")
    # True is a whole number too.
    if type(cell) is not int or not 0 <= cell < 1_000_000:
        return None
    if not isinstance(answers, dict) or not isinstance(fault, str) or not isinstance(last, bool):
        return None
    end = data.get("end", "")
    return Frame(cell, bounded(answers), fault[:LONGEST_NAME], last, end if isinstance(end, str) else "")


def bounded(answers: Mapping[Any, Any]) -> dict[str, dict[str, str]]:
    """The part of some answers that has the right form, cut to the sizes that are allowed."""
    kept: dict[str, dict[str, str]] = {}
    for item, parts in list(answers.items())[:MOST_ITEMS]:
        if isinstance(item, str) and len(item) <= LONGEST_NAME and isinstance(parts, dict):
            kept[clean(item)] = {
                clean(name): clean(text)
                for name, text in list(parts.items())[:MOST_PARTS]
                if isinstance(name, str) and len(name) <= LONGEST_NAME and isinstance(text, str)
            }
    return kept


def clean(text: str) -> str:
    """A text that can be written to any file: cut to size, without halves of surrogate pairs."""
    text = text[:LONGEST_TEXT]
    return text if text.isascii() else text.encode("utf-8", "replace").decode("utf-8")
