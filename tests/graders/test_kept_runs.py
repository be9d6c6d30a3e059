"""Marking items once more runs nobody's code again where nothing that running came of has changed."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from graders.course.roster import Learner, Roster
from graders.mark import again, batch
from graders.mark.workers import kept_runs
from graders.mark.workers.worker import Settings, part_file, read_part, write_part
from graders.run.engines.engines import Engines
from graders.run.engines.reply_protocol import Frame
from graders.run.engines.runner import Run
from graders.run.remote.remote_protocol import Ran, Request
from graders.run.sandbox.layers import Limits
from tests.graders.classroom import Classroom, computed, right
from tests.hostile.cases import code_cell

NAMES = ("ann", "bea", "cid")
SETTINGS = Settings(limits=Limits(cell_seconds=0.5, seconds=20.0))
REQUEST = Request(("answer('L01-01', 1)",), ())
FRAMES = (Frame(0, {"L01-01": {"answer": "1"}}, "", True),)


@pytest.fixture
def ran(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The first cell of every notebook that is run from here on."""
    cells_of: list[str] = []
    run = Engines.run

    def told(self: Engines, cells: Sequence[str], setup: Sequence[str]) -> Ran:
        cells_of.append(cells[0])
        return run(self, cells, setup)

    monkeypatch.setattr(Engines, "run", told)
    return cells_of


def marked(folder: Path) -> Classroom:
    """A class that is marked: one computes, one writes, one has a loop without end."""
    room = Classroom(folder, roster=Roster(tuple(Learner(name, name) for name in NAMES)))
    for name, fill in zip(NAMES, (computed, right, computed), strict=True):
        notebook = room.copy(name, fill)
        if name == "cid":
            notebook["cells"].insert(1, code_cell("while True: pass"))
        room.hand_in(name, notebook)
    batch.mark_sheet(room.course, room.sheet, workers=1, settings=SETTINGS)
    return room


def parts(room: Classroom) -> list[str]:
    return [part_file(room.course, room.sheet.name, name).read_text() for name in NAMES]


def test_marking_an_item_again_gives_the_same_to_the_letter_and_runs_nothing(tmp_path: Path, ran: list[str]) -> None:
    room = marked(tmp_path)
    before = parts(room)
    assert len(ran) == 2
    again.mark_again(room.course, room.sheet, items=[room.sheet.item_ids[0]], settings=SETTINGS)
    assert len(ran) == 2
    assert parts(room) == before


def test_what_was_run_is_read_anew(tmp_path: Path, ran: list[str]) -> None:
    room = marked(tmp_path)
    item = room.sheet.item_ids[0]
    path = part_file(room.course, room.sheet.name, "cid")
    part = read_part(path)
    assert part is not None
    lost = tuple(replace(mark, score=0.0, given={}) if mark.item == item else mark for mark in part.marks.items)
    write_part(replace(part, marks=replace(part.marks, items=lost)), path)
    marks = again.mark_again(room.course, room.sheet, items=[item], settings=SETTINGS).marks
    cid = next(learner for learner in marks.learners if learner.learner == "cid")
    assert [mark.score == mark.max and bool(mark.given) for mark in cid.items if mark.item == item] == [True]
    assert len(ran) == 2


@pytest.mark.parametrize("how", ["named", "all", "handed in anew", "other limits", "nothing kept", "kept under another form"])
def test_it_is_run_again_where_it_may_come_out_otherwise(how: str, tmp_path: Path, ran: list[str]) -> None:
    room = marked(tmp_path)
    ran.clear()
    settings, learners, items = SETTINGS, list[str](), [room.sheet.item_ids[0]]
    path = part_file(room.course, room.sheet.name, "ann")
    if how == "named":
        learners = ["ann"]
    elif how == "all":
        items = []
    elif how == "handed in anew":
        notebook = room.copy("ann", computed)
        notebook["cells"].insert(1, code_cell("2 + 2"))
        room.hand_in("ann", notebook)
    elif how == "other limits":
        settings = Settings(limits=Limits(cell_seconds=0.4, seconds=20.0))
    else:
        data = json.loads(path.read_text())
        data = {**data, "ran": "[1, 2"} if how == "kept under another form" else {k: v for k, v in data.items() if k != "ran"}
        path.write_text(json.dumps(data))
    again.mark_again(room.course, room.sheet, learners=learners, items=items, settings=settings)
    assert len(ran) == (2 if how in ("all", "other limits") else 1)


def test_a_kept_run_comes_back_as_it_was() -> None:
    ran = Ran(Run(FRAMES, False, "time", 1.25, "The notebook uses a magic."), "full")
    text = kept_runs.kept(ran, REQUEST, "conditions")
    reply = kept_runs.reply_to(REQUEST, "conditions", text)
    assert reply is not None
    assert reply.digest == REQUEST.digest
    assert reply.ran == replace(ran, run=replace(ran.run, seconds=0.0))
    assert kept_runs.reply_to(Request(("answer('L01-01', 2)",), ()), "conditions", text) is None
    assert kept_runs.reply_to(REQUEST, "other conditions", text) is None


@pytest.mark.parametrize(
    "run",
    [
        *(Run(FRAMES, False, reason, 1.0) for reason in ("killed", "memory", "died", "no runner")),
        Run((), False, "", 0.0),
        Run((Frame(0, {"L01-01": {"answer": "1" * kept_runs.LONGEST}}, "", True),), True, "", 1.0),
    ],
    ids=lambda run: run.reason or f"{len(run.frames)} frames",
)
def test_what_the_machine_may_have_had_a_part_in_and_what_is_long_is_not_kept(run: Any) -> None:
    assert kept_runs.kept(Ran(run, "full"), REQUEST, "conditions") == ""
    assert kept_runs.kept(Ran(Run(FRAMES, True, "", 1.0), "full"), REQUEST, "conditions") != ""
