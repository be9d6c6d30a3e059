"""The grading page's buttons do the kit's work or say what to do: none puts a sheet without numbers out, none spoils feedback."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from graders.cli import main
from graders.hand_out import exchange
from graders.mark import batch, grading_page_buttons
from tests.graders.classroom import Classroom, wrong

# As the book-keeping's page does, in a process of its own, since what it patches would stay in this one.
_PRESS = """
import json, sys
from nbgrader.apps import NbGraderApp
from nbgrader.apps.api import NbGraderAPI
app = NbGraderApp()
app.load_config_file()
pressed = [getattr(NbGraderAPI(config=app.config), name)(sys.argv[1]) for name in sys.argv[2:]]
print(json.dumps(pressed))
"""


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Classroom:
    found = Classroom(tmp_path_factory.mktemp("buttons"), source="L03-02")
    found.hand_in("s1", found.copy("s1", wrong))
    batch.mark_sheet(found.course, found.sheet)
    assert main(["hand-back", str(found.course.folder), "A1"]) == 0
    return found


def pressed(room: Classroom, *buttons: str) -> list[dict[str, object]]:
    told = subprocess.run(
        [sys.executable, "-c", _PRESS, "A1", *buttons],
        cwd=room.course.folder,
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "HOME": str(room.course.folder.parent)},
    )
    found: list[dict[str, object]] = json.loads(told.stdout.splitlines()[-1])
    return found


def test_every_button_that_would_spoil_something_says_what_to_do_instead(room: Classroom) -> None:
    before = {path: path.read_bytes() for path in room.course.folder.rglob("*.ipynb")}
    page = room.course.feedback_folder("s1", "A1") / "A1.html"
    feedback = page.read_bytes()
    wanted = {
        "generate_assignment": "graders withdraw COURSE A1",
        "release_assignment": "graders exchange COURSE A1 EXCHANGE",
        "unrelease": "graders withdraw COURSE A1",
        "collect": "graders take-in COURSE A1 WHERE",
        "release_feedback": "graders pack COURSE A1 --feedback",
    }
    *told, written = pressed(room, *wanted, "generate_feedback")
    for button, said in zip(wanted, told, strict=True):
        assert not said["success"], button
        assert wanted[button] in str(said["error"]), button
        assert "Traceback" not in str(said), button
    assert written["success"]
    assert "1 feedback page written" in str(written["log"])
    assert page.read_bytes() == feedback
    assert {path: path.read_bytes() for path in room.course.folder.rglob("*.ipynb")} == before


def test_where_a_class_shares_a_folder_its_buttons_take_in_and_lay_out(
    room: Classroom, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(exchange, "remembered", lambda _course: tmp_path)
    done: list[tuple[str, ...]] = []
    monkeypatch.setattr(grading_page_buttons, "_done", lambda *words: done.append(words) or {"success": True, "log": ""})
    for button in ("collect", "release_assignment", "release_feedback"):
        grading_page_buttons._OURS[button](room.course, "A1")
    folder = str(room.course.folder)
    assert done == [
        ("take-in", folder, "A1", str(tmp_path)),
        ("exchange", folder, "A1", str(tmp_path)),
        ("exchange", folder, "A1", str(tmp_path)),
    ]
