"""The demo class at work: its course folder, its sheet, its copies, and everything it hands in."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import os
import shutil
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from gearkit.answers.draw_numbers.variants import Variant
from gearkit.text.files import write_atomically
from gearkit.words.errors import UsageError
from graders.course import course as course_folder
from graders.course.course import Course
from graders.demo import college
from graders.demo.mishaps import MISHAPS, plain, without_lost
from graders.demo.plan import Cast, PlannedSubmission, make
from graders.demo.writing import filled_in
from graders.sheets import sheets
from graders.sheets.drawn import variants_for
from graders.sheets.sheet_rules import SheetRules
from graders.sheets.sheets import Sheet

SHEET = "one-set-to-three"
TITLE = "One set, then three"
ITEMS = ("L02-01", "L02-02", "L02-03", "L02-06", "L03-01", "L03-02", "L03-04", "L03-08", "L05-04", "L06-01", "L06-11")
DUE = dt.datetime(2026, 10, 5, 17, 0)
MARKER_FILE = ".made-by-graders-demo"

CAST = Cast(
    absent=("fd04", "fd13", "fe06"),
    all_right=("fd03", "fd09", "fe02"),
    mishaps={
        "fd02": "endless loop",
        "fd05": "renamed",
        "fd07": "duplicated cell",
        "fd08": "no metadata",
        "fd11": "cut off",
        "fd12": "flood",
        "fd15": "reads the key",
        "fd17": "deleted cells",
        "fe03": "forged card",
        "fe05": "leaves",
        "fe08": "other encoding",
    },
    copier="fd14",
    copied="fd03",
    forgers=("fe03",),
    coders=("fd10", "fe04"),
    late=("fe09",),
)


@dataclass(frozen=True)
class DemoCourse:
    """The demo's course and what is planned for it.

    Args:
        course: the course folder.
        sheet: the sheet.
        plan: what everybody who hands in hands in.
    """

    course: Course
    sheet: Sheet
    plan: tuple[PlannedSubmission, ...]


def fresh_folder(folder: Path) -> tuple[Path, bool]:
    """Return the course folder inside the demo's folder, cleared of an earlier demo, and whether there was one.

    The earlier course is kept beside it as ``AT-214.previous``: somebody may have tried things out in it.

    Args:
        folder: where the demo goes.

    Raises:
        UsageError: the folder holds something that no demo made.
    """
    folder = folder.expanduser().absolute()
    if folder.exists() and not folder.is_dir():
        raise UsageError(f"{folder} is a file; give a folder for the demo: graders demo -o FOLDER")
    inside = sorted(os.listdir(folder)) if folder.exists() else []
    marker = folder / MARKER_FILE
    if inside and not marker.exists():
        raise UsageError(
            f"{folder} is not empty and no demo made it ({inside[0]} is in it); nothing was changed. "
            "Give an empty or a new folder: graders demo -o FOLDER"
        )
    folder.mkdir(parents=True, exist_ok=True)
    write_atomically(marker, "This folder belongs to `graders demo`, which makes it anew each time.\n")
    course, previous = folder / college.COURSE, folder / f"{college.COURSE}.previous"
    again = course.exists()
    if again:
        shutil.rmtree(previous, ignore_errors=True)
        os.replace(course, previous)
    return course, again


def open_demo_course(folder: Path, seed: str) -> Course:
    """Make the course with a secret that follows from the seed, so that every demo shows the same numbers.

    Args:
        folder: the course folder, which must not exist yet.
        seed: any text; a real course draws its secret at random.
    """
    secret = hashlib.sha256(f"demo class {seed}".encode()).hexdigest()
    write_atomically(folder / ".secret", secret + "\n", mode=0o600)
    return course_folder.create(
        folder,
        course_id=college.COURSE,
        title=college.TITLE,
        time_zone=college.TIME_ZONE,
        rules=college.LATE,
        cell_seconds=college.CELL_SECONDS,
    )


def demo_sheet() -> Sheet:
    """Return the demo's sheet: eleven items of lessons 2, 3 and 6."""
    composed = sheets.compose(",".join(ITEMS), SHEET, title=TITLE, rules=SheetRules(attempts=2, hint_cost=10))
    return replace(composed, due=DUE)


def planned(course: Course, sheet: Sheet, seed: str) -> tuple[PlannedSubmission, ...]:
    """Return what everybody who hands in hands in, with what each mishap loses already taken out.

    Args:
        course: the course.
        sheet: the sheet.
        seed: fixes the plan.
    """

    @cache
    def variants_of(learner: str) -> Sequence[Variant]:
        return variants_for(course, sheet, learner)

    learners = [learner.id for learner in college.roster()]
    plan = make(CAST, learners, variants_of, seed)
    return tuple(
        replace(submission, answers=without_lost(submission.answers, MISHAPS[submission.mishap].lost(sheet.item_ids)))
        if submission.mishap
        else submission
        for submission in plan
    )


def hand_in(demo: DemoCourse, submission: PlannedSubmission) -> None:
    """Write what one learner hands in, with its time, as the book-keeping would collect it.

    Args:
        demo: the demo.
        submission: what is planned for the learner.
    """
    sheet = demo.sheet.name
    notebook = json.loads(demo.course.handed_out_file(submission.learner, sheet).read_text(encoding="utf-8"))
    written = filled_in(notebook, submission.answers)
    files = MISHAPS[submission.mishap].files if submission.mishap else plain
    folder = demo.course.submitted_folder(submission.learner, sheet)
    for name, data in files(written, sheet).items():
        write_atomically(folder / name, data)
    due = DUE.replace(tzinfo=demo.course.zone).astimezone(dt.UTC)
    stamp = due - dt.timedelta(hours=submission.hours_early)
    write_atomically(folder / "timestamp.txt", f"{stamp:%Y-%m-%d %H:%M:%S} UTC\n")
