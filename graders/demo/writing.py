"""Writes a planned submission into the learner's handed-out notebook, as a learner would."""

from __future__ import annotations

import copy
import json
import re
from typing import Any

from graders.demo.plan import PlannedAnswer

Notebook = dict[str, Any]
ONE_PART = "answer"
# What Python reads as the same answer without quotation marks: numbers, fractions, and the sheet's own letters.
_BARE = re.compile(r"(?:\d+(?:\.\d+)?|[SR]|n[sr]|[-+*/() ])+")


def filled_in(notebook: Notebook, answers: tuple[PlannedAnswer, ...]) -> Notebook:
    """Return a copy of a notebook with the answers written into its answer cells.

    Args:
        notebook: the learner's copy as handed out.
        answers: what to write; an item without texts keeps its cell as it was handed out.
    """
    written = copy.deepcopy(notebook)
    by_item = {answer.item: answer for answer in answers if answer.texts}
    for cell in written["cells"]:
        answer = by_item.get(item_of(cell))
        if answer is not None:
            cell["source"] = source_of(answer)
    return written


def item_of(cell: dict[str, Any]) -> str:
    """Return the item that a code cell of a sheet is for, or ""."""
    if cell["cell_type"] != "code":
        return ""
    item = cell["metadata"].get("gearkit", {}).get("item", "")
    return str(item)


def source_of(answer: PlannedAnswer) -> str:
    """Return the call that a learner writes for an answer."""
    if answer.style == "code":
        return _as_code(answer)
    if list(answer.texts) == [ONE_PART]:
        text = answer.texts[ONE_PART]
        bare = answer.style == "bare" and _BARE.fullmatch(text) is not None
        return f'answer("{answer.item}", {text if bare else _quoted(text)})'
    parts = ",\n       ".join(f"{name}={_quoted(text)}" for name, text in answer.texts.items())
    return f'answer("{answer.item}",\n       {parts})'


def _as_code(answer: PlannedAnswer) -> str:
    """Return a cell that works its answer out and so has to be run."""
    lines = ["# worked out step by step"]
    names = []
    for number, (part, text) in enumerate(answer.texts.items(), start=1):
        lines.append(f"value_{number} = {_quoted(text[: len(text) // 2])} + {_quoted(text[len(text) // 2 :])}")
        names.append(f"value_{number}" if part == ONE_PART else f"{part}=value_{number}")
    return "\n".join([*lines, f'answer("{answer.item}", {", ".join(names)})'])


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
