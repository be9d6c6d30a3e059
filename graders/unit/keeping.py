"""Writes the files of a unit and never over what somebody edited: an edited file stays, and the new one goes beside it.

What was made carries its own fingerprint: a notebook in its metadata, other texts in a comment. So a folder can be copied,
sent or put under version control, and it still shows what is as it was made.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from hashlib import sha256
from pathlib import Path
from typing import Any

from gearkit.text.files import write_atomically
from graders.unit.lesson.assemble import fingerprint

_MARK = "as made:"
_COMMENTS = {".toml": ("# ", ""), ".html": ("<!-- ", " -->")}
_MADE = re.compile(rf"^(?:# |<!-- ){_MARK} ([0-9a-f]{{16}})(?: -->)?\n?", re.MULTILINE)
_SETTER = b"<xmp:CreatorTool>Typst "
_MOST_NAMED = 4


class Fate(StrEnum):
    """What became of a file."""

    NEW = "new"
    SAME = "as it was"
    REPLACED = "brought up to date"
    BESIDE = "put beside yours"


@dataclass(frozen=True)
class Kept:
    """One file of a unit.

    Args:
        path: where it is now.
        fate: what became of it.
        changes: what differs between the edited file and the new one beside it, in a sentence; else "".
    """

    path: Path
    fate: Fate
    changes: str = ""


def marked(text: str, ending: str) -> str:
    """Return a text with its own fingerprint in a comment at its end.

    Args:
        text: the text of a file.
        ending: of the file's name: ".toml" or ".html".
    """
    before, after = _COMMENTS[ending]
    text = _MADE.sub("", text)
    return f"{text.rstrip()}\n{before}{_MARK} {_digest(text)}{after}\n"


def _digest(text: str) -> str:
    return sha256(text.rstrip().encode()).hexdigest()[:16]


def as_made(content: bytes, ending: str) -> bool:
    """Return whether a file still is as the kit made it.

    Args:
        content: the file's bytes.
        ending: of its name.
    """
    if ending == ".pdf":
        return _SETTER in content
    try:
        text = content.decode("utf-8")
        if ending == ".ipynb":
            held = json.loads(text)
            return bool(held["metadata"]["gearkit"]["as_made"] == fingerprint(held))
    except (UnicodeDecodeError, ValueError, KeyError, TypeError, AttributeError):
        return False
    match = _MADE.search(text)
    return match is not None and _digest(_MADE.sub("", text)) == match[1]


def is_edited(path: Path) -> bool:
    """Return whether a file is there and is not as the kit made it."""
    return path.is_file() and not as_made(path.read_bytes(), path.suffix)


def put(path: Path, content: bytes) -> Kept:
    """Write a file of a unit, or put it beside one that somebody edited.

    Args:
        path: where it belongs.
        content: its bytes, with a fingerprint in them.
    """
    if not path.exists():
        write_atomically(path, content)
        return Kept(path, Fate.NEW)
    there = path.read_bytes()
    if there == content:
        return Kept(path, Fate.SAME)
    if as_made(there, path.suffix):
        write_atomically(path, content)
        return Kept(path, Fate.REPLACED)
    beside = _free_twin(path)
    write_atomically(beside, content)
    return Kept(beside, Fate.BESIDE, _CHANGES.get(path.suffix, _no_words)(there, content))


def _free_twin(path: Path) -> Path:
    """A name beside a file that is free, or that holds a new version nobody edited."""
    count = 1
    while True:
        tail = "" if count == 1 else f" {count}"
        twin = path.with_name(f"{path.stem} (new version{tail}){path.suffix}")
        if not is_edited(twin):
            return twin
        count += 1


def _no_words(_there: bytes, _new: bytes) -> str:
    return ""


def _cells_changed(there: bytes, new: bytes) -> str:
    """Which cells differ, by their ids."""
    yours, made = _cells(there), _cells(new)
    differ = [name for name in made if name in yours and yours[name] != made[name]]
    only_yours = [name for name in yours if name not in made]
    only_new = [name for name in made if name not in yours]
    parts = [("differ", differ), ("only in yours", only_yours), ("only in the new one", only_new)]
    told = [
        f"{len(names)} cells {what} ({_named(names)})"
        if len(names) > 1
        else f"1 cell {'differs' if what == 'differ' else what} ({names[0]})"
        for what, names in parts
        if names
    ]
    return "; ".join(told) + "." if told else "The same cells in another order."


def _cells(content: bytes) -> Mapping[str, str]:
    try:
        held: Any = json.loads(content)
        return {str(cell.get("id", place)): "".join(cell["source"]) for place, cell in enumerate(held["cells"], start=1)}
    except (UnicodeDecodeError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def _lines_changed(there: bytes, new: bytes) -> str:
    """Which lines stand in one of two texts only."""
    yours, made = (_MADE.sub("", content.decode("utf-8", errors="replace")).splitlines() for content in (there, new))
    out, into = [line for line in yours if line not in made], [line for line in made if line not in yours]
    told = [f"{what}: {_named(lines)}" for what, lines in (("Only in yours", out), ("only in the new one", into)) if lines]
    return "; ".join(told) + "." if told else "The same lines in another order."


def _named(names: list[str]) -> str:
    shown = [" ".join(name.split())[:60] for name in names if name.strip()] or ["blank lines"]
    more = f" and {len(shown) - _MOST_NAMED} more" if len(shown) > _MOST_NAMED else ""
    return ", ".join(shown[:_MOST_NAMED]) + more


_CHANGES: Mapping[str, Callable[[bytes, bytes], str]] = {
    ".ipynb": _cells_changed,
    ".toml": _lines_changed,
    ".html": _lines_changed,
}
