"""What goes wrong with submissions: accidents, and code that must not hurt anybody.

Each mishap takes the learner's filled-in notebook and gives the files to hand in. It also says which answers are lost
by it, so that the plan knows what the rest must earn. None of them does harm when it is run by mistake.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from graders.demo.plan import PlannedAnswer
from graders.demo.writing import Notebook, item_of

Files = dict[str, bytes]


@dataclass(frozen=True)
class Mishap:
    """One thing that goes wrong.

    Args:
        words: what happened, for people.
        files: makes the files to hand in from the notebook and the sheet's name.
        lost: gives the items whose answers cannot be had any more, from the sheet's items in order.
    """

    words: str
    files: Callable[[Notebook, str], Files]
    lost: Callable[[Sequence[str]], Sequence[str]] = lambda items: ()


def as_bytes(notebook: Notebook) -> bytes:
    """Return a notebook as the bytes of its file."""
    return (json.dumps(notebook, ensure_ascii=False, indent=1) + "\n").encode()


def plain(notebook: Notebook, sheet: str) -> Files:
    """Return the files of a submission to which nothing happened.

    Args:
        notebook: the filled-in notebook.
        sheet: the sheet's name.
    """
    return {f"{sheet}.ipynb": as_bytes(notebook)}


def without_lost(answers: Sequence[PlannedAnswer], lost: Sequence[str]) -> tuple[PlannedAnswer, ...]:
    """Return the plan with what a mishap loses taken out.

    Args:
        answers: the planned answers.
        lost: items whose answers are gone.
    """
    return tuple(
        replace(answer, texts={}, earns=answer.earns * 0, mistake="", note="lost with the file")
        if answer.item in lost
        else answer
        for answer in answers
    )


def _code_cell(source: str, name: str) -> dict[str, Any]:
    return {"cell_type": "code", "id": name, "metadata": {}, "source": source, "outputs": [], "execution_count": None}


def _with_code(source: str, after: int) -> Callable[[Notebook, str], Files]:
    """Put a cell of the learner's own after so many answer cells."""

    def files(notebook: Notebook, sheet: str) -> Files:
        changed = copy.deepcopy(notebook)
        places = [number for number, cell in enumerate(changed["cells"]) if item_of(cell)]
        place = places[after - 1] + 1 if after else places[0]
        changed["cells"].insert(place, _code_cell(source, "my-own-cell"))
        return plain(changed, sheet)

    return files


def _renamed(notebook: Notebook, sheet: str) -> Files:
    return {f"{sheet} (1).ipynb": as_bytes(notebook)}


def _cut_off(notebook: Notebook, sheet: str) -> Files:
    """Cut the file in the middle of its last answer cell, as a full disk or a broken download does."""
    data = as_bytes(notebook)
    last = max(number for number, cell in enumerate(notebook["cells"]) if item_of(cell))
    return {f"{sheet}.ipynb": data[: data.rindex(json.dumps(notebook["cells"][last]["source"]).encode()[:20])]}


def _duplicated(notebook: Notebook, sheet: str) -> Files:
    """Copy an answer cell, with an older answer in the first of the two."""
    changed = copy.deepcopy(notebook)
    place = next(number for number, cell in enumerate(changed["cells"]) if item_of(cell))
    older = copy.deepcopy(changed["cells"][place])
    older["source"] = f'answer("{item_of(older)}", "S/R")'
    changed["cells"].insert(place, older)
    return plain(changed, sheet)


def _deleted(notebook: Notebook, sheet: str) -> Files:
    changed = copy.deepcopy(notebook)
    gone = [item_of(cell) for cell in changed["cells"] if item_of(cell)][1:3]
    changed["cells"] = [cell for cell in changed["cells"] if item_of(cell) not in gone]
    return plain(changed, sheet)


def _stripped(notebook: Notebook, sheet: str) -> Files:
    changed = copy.deepcopy(notebook)
    changed["metadata"] = {}
    for cell in changed["cells"]:
        cell["metadata"] = {}
        cell.pop("id", None)
    return plain(changed, sheet)


def _other_encoding(notebook: Notebook, sheet: str) -> Files:
    return {f"{sheet}.ipynb": as_bytes(notebook).decode().encode("utf-16")}


def _forged(notebook: Notebook, sheet: str) -> Files:
    """Say on the card that the copy was made for somebody else, as a retake."""
    changed = copy.deepcopy(notebook)
    changed["metadata"]["gearkit"] = {"format": 1, "sheet": sheet, "learner": "fd03", "attempt": 7}
    return plain(changed, sheet)


_LOOP = "while True:\n    try:\n        while True:\n            pass\n    except BaseException:\n        pass"
_EXIT = "import os\n\nos._exit(0)"
_FLOOD = 'for line in range(200_000):\n    print("the ring turns and turns", line)'
_KEY = """\
import glob, os

found = []
for pattern in ("../../../.secret", "../../../*.db", "../../*/*/*.ipynb", "/proc/self/environ"):
    for path in glob.glob(pattern):
        try:
            with open(path, "rb") as stream:
                found.append(stream.read(1000))
        except OSError:
            pass
print(len(found), sorted(os.environ))"""

MISHAPS: Mapping[str, Mishap] = {
    "endless loop": Mishap("a loop without end that catches every interruption", _with_code(_LOOP, 4)),
    "leaves": Mishap("code that ends the process", _with_code(_EXIT, 0)),
    "flood": Mishap("code that prints two hundred thousand lines", _with_code(_FLOOD, 2)),
    "reads the key": Mishap("code that looks for the course key, the gradebook and the others' work", _with_code(_KEY, 1)),
    "forged card": Mishap("a copy that says it was made for somebody else", _forged),
    "renamed": Mishap("a file with a number added to its name", _renamed),
    "cut off": Mishap("a file that ends in the middle", _cut_off, lambda items: items[-1:]),
    "duplicated cell": Mishap("an answer cell twice, the older answer first", _duplicated),
    "deleted cells": Mishap("two answer cells deleted", _deleted, lambda items: items[1:3]),
    "no metadata": Mishap("a notebook saved by a program that drops what it does not know", _stripped),
    "other encoding": Mishap("a file saved in another encoding", _other_encoding),
}
