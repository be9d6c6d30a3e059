"""What the buttons of the book-keeping's grading page do in a course of the kit: the kit's own work, or a sentence on what to do.

Left to themselves they would put the sheet without numbers where learners fetch it, write pages of their own over the
feedback, and find nothing that was handed in through the kit's exchange folder.
"""

from __future__ import annotations

import functools
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from nbgrader.apps.api import NbGraderAPI

from gearkit.words.errors import GearkitError
from graders.course.course import Course, open_course
from graders.hand_out import exchange

_UNUSABLE = 2
# What the page is told: whether it worked, and the words for it.
Reply = dict[str, Any]


def take_over() -> None:
    """Let the buttons do the kit's work, for sheets of a course of the kit, in whatever process this is called."""
    for name, ours in _OURS.items():
        setattr(NbGraderAPI, name, _instead(getattr(NbGraderAPI, name), ours))


def _instead(theirs: Callable[..., Reply], ours: Callable[[Course, str], Reply]) -> Callable[..., Reply]:
    @functools.wraps(theirs)
    def pressed(api: Any, assignment_id: str, *more: Any, **how: Any) -> Reply:
        try:
            course = open_course(Path(api.coursedir.root))
        except GearkitError:
            return theirs(api, assignment_id, *more, **how)
        if not course.sheet_file(assignment_id).exists():
            return theirs(api, assignment_id, *more, **how)
        return ours(course, assignment_id)

    return pressed


def _said(words: str) -> Reply:
    return {"success": False, "error": words, "log": ""}


def _done(*words: str) -> Reply:
    """Do a command in a process of its own: the notebook server around us has threads, connections and an event loop."""
    command = [sys.executable, "-m", "graders.cli", *words]
    done = subprocess.run(command, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL)
    if done.returncode >= _UNUSABLE or done.returncode < 0:
        return _said(done.stderr.strip() or f"graders {words[0]} ended with {done.returncode}.")
    return {"success": True, "log": done.stdout.strip()}


def _made_again(_course: Course, sheet: str) -> Reply:
    return _said(
        "This sheet was handed out with numbers of each learner's own, so it stays as it is. To change it, take it back "
        f"first: graders withdraw COURSE {sheet}, then graders hand-out."
    )


def _by_exchange(command: str, without: str) -> Callable[[Course, str], Reply]:
    """What does a command with the exchange folder that the course was last used with; without one it says what else to do."""

    def pressed(course: Course, sheet: str) -> Reply:
        folder = exchange.remembered(course)
        return _said(without.format(sheet=sheet)) if folder is None else _done(command, str(course.folder), sheet, str(folder))

    return pressed


_RELEASED = _by_exchange(
    "exchange",
    "The sheet is out: each learner's copy lies in handed_out. On a shared server lay the copies out with: "
    "graders exchange COURSE {sheet} EXCHANGE; to send them: graders pack COURSE {sheet} -o FILE.zip",
)


def _fed_back(course: Course, sheet: str) -> Reply:
    return _done("hand-back", str(course.folder), sheet)


def _taken_back(_course: Course, sheet: str) -> Reply:
    return _said(f"This sheet was handed out by the kit. To take it back: graders withdraw COURSE {sheet}")


_OURS: dict[str, Callable[[Course, str], Reply]] = {
    "assign": _made_again,
    "generate_assignment": _made_again,
    "release": _RELEASED,
    "release_assignment": _RELEASED,
    "unrelease": _taken_back,
    "collect": _by_exchange(
        "take-in",
        "The kit takes in what was handed in, from a folder, a zip or the exchange folder: graders take-in COURSE {sheet} WHERE",
    ),
    "generate_feedback": _fed_back,
    "release_feedback": _by_exchange(
        "exchange",
        "The pages lie in feedback, a folder for each learner. To send them: graders pack COURSE {sheet} --feedback -o FILE.zip; "
        "on a shared server: graders exchange COURSE {sheet} EXCHANGE",
    ),
}
