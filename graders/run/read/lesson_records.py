"""Reads the record of lessons that a learner may hand in with a sheet; it comes from a learner, and nothing in it is believed."""

from __future__ import annotations

import json
import os
import stat
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from gearkit.lesson.record import FILE_NAME

LARGEST = 8 << 20
MOST_EVENTS = 20_000


def events(folder: Path) -> tuple[list[Mapping[str, Any]], str]:
    """Return the events of a learner's record, and what is wrong with it in a few words.

    Args:
        folder: what the learner handed in; where no record lies in it, there are no events and nothing is wrong.
    """
    try:
        handle = os.open(folder / FILE_NAME, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
    except (FileNotFoundError, NotADirectoryError):
        return [], ""
    except OSError as fault:
        return [], f"cannot be opened ({fault.strerror})"
    with os.fdopen(handle, "rb") as stream:
        state = os.fstat(handle)
        if not stat.S_ISREG(state.st_mode):
            return [], "is no ordinary file"
        if state.st_size > LARGEST:
            return [], f"is larger than {LARGEST >> 20} MB"
        data = stream.read(LARGEST)
    try:
        events_ = json.loads(data)["events"]
    except (ValueError, RecursionError, KeyError, TypeError):
        events_ = None
    if not isinstance(events_, list):
        return [], "is damaged"
    return [event for event in events_[:MOST_EVENTS] if isinstance(event, dict)], ""


def fault_of(folder: Path) -> str:
    """Return a sentence about a record that cannot be read, "" where it can or where there is none.

    Args:
        folder: what the learner handed in.
    """
    fault = events(folder)[1]
    return f"The record of lessons ({FILE_NAME}) {fault}; no predictions were taken from it." if fault else ""
