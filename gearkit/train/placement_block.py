"""Put a placement into the text of a layout file and leave every other letter of it, comments too, as it is."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.errors import LayoutError, UsageError

_HEADER = re.compile(r"^[ \t]*\[[ \t]*placement[ \t]*\]", re.MULTILINE)
_NEXT_TABLE = re.compile(r"^[ \t]*\[", re.MULTILINE)


def with_stored(layout: Layout, placement: Mapping[str, Any]) -> Layout:
    """Return the layout with a placement in it and in its text, ready to be written back.

    Args:
        layout: as read from its file, or made anew.
        placement: from `draw.placement.Placement.table`.

    Raises:
        UsageError: the file says something on the placement in a way that the kit does not write.
    """
    changed = replace(layout, placement=dict(placement), text="")
    if not layout.text:
        return changed
    text = _exchanged(layout.text, catalogue.placement_lines(changed))
    try:
        same = catalogue.parse(text, layout.file) == changed
    except LayoutError:
        same = False
    if not same:
        raise UsageError(
            f"{layout.file or layout.name}: what it says on the placement is not as the kit writes it. Take the old "
            "placement out of the file, or write the layout with its new placement to another file."
        )
    return replace(changed, text=text)


def _exchanged(text: str, lines: list[str]) -> str:
    newline = "\r\n" if "\r\n" in text else "\n"
    block = newline.join(lines) + newline
    header = _HEADER.search(text)
    if header is None:
        gap = newline if text.endswith("\n") or not text else newline * 2
        return f"{text}{gap}{block}"
    following = _NEXT_TABLE.search(text, header.end())
    rest = newline + text[following.start() :] if following else ""
    return text[: header.start()] + block + rest
