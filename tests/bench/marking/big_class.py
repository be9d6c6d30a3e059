"""A class of any size that has handed in a sheet of 30 items, and jobs on it that are measured in a process of their own.

    python -m tests.bench.marking.big_class JOB COURSE SHEET [more]

prints one line of JSON with the seconds that the job took and the memory of its processes at their peak.
"""

from __future__ import annotations

import importlib
import json
import resource
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from gearkit.answers import items
from gearkit.answers.draw_numbers.variants import Variant
from graders.course.course import Course, open_course
from graders.course.roster import Learner, Roster, read_class_list
from graders.hand_out.hand_out import sheet_of
from graders.mark import batch
from graders.mark.marking import mark_submission, what_to_run
from graders.mark.submissions import Submission, submissions
from graders.mark.workers.worker import Settings, engines_for
from graders.report.pages import feedback
from graders.run.engines.runner import Run
from graders.sheets.sheets import Sheet
from tests.graders.classroom import Classroom, blank, computed, right, wrong

ITEMS = 30
SHEET = "A1"


def thirty_items() -> str:
    """Thirty items of five lessons."""
    found = [item.id for lesson in (2, 3, 4, 5, 6) for item in items.of_lesson(lesson)]
    return ",".join(found[:ITEMS])


def mixed(variant: Variant, number: int) -> str:
    """An answer cell as classes hand them in: mostly right, some with a named mistake, some empty."""
    place = (number + len(variant.item.id) + sum(map(ord, variant.item.id))) % 10
    if place == 9:
        return blank(variant)
    return wrong(variant) if place >= 7 and variant.key.wrong_forms else right(variant)


def filled(folder: Path, size: int, *, run: bool = False, source: str = "") -> Classroom:
    """A class that has handed in.

    Args:
        folder: an empty folder.
        size: learners.
        run: whether every answer has to be run to be known.
        source: what the sheet is made of; the thirty items when left out.
    """
    roster = Roster(tuple(Learner(f"s{number:05d}", f"Learner {number}", "D") for number in range(size)))
    room = Classroom(folder, source or thirty_items(), SHEET, roster=roster)
    for number, learner in enumerate(roster):

        def written(variant: Variant, number: int = number) -> str:
            return computed(variant) if run else mixed(variant, number)

        room.hand_in(learner.id, room.copy(learner.id, written))
    return room


def _timed(work: Callable[[], object]) -> float:
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def _job(name: str, folder: Path, more: list[str]) -> dict[str, float]:
    course = open_course(folder)
    sheet = sheet_of(course, SHEET)
    found = submissions(course, SHEET)
    settings = Settings(always_run="run" in more)
    workers = next((int(one) for one in more if one.isdigit()), 0)
    cluster = next((one for one in more if one.startswith("local:")), "")
    if name == "harvest":
        return {"harvest": _timed(lambda: [what_to_run(sheet, one) for one in found])}
    if name == "run":
        requests = [request for one in found if (request := what_to_run(sheet, one, always_run=True)) is not None]
        engines = engines_for(course, settings)()
        try:
            engines.run(requests[0].cells, requests[0].setup)
            seconds = _timed(lambda: [engines.run(one.cells, one.setup) for one in requests])
        finally:
            engines.close()
        return {"run": seconds / len(requests)}
    if name == "judge":
        return {"judge": _timed(lambda: _judge(course, sheet, found, settings))}
    if "warm" in more:
        # The book-keeping's own start-up, which its command has as well.
        importlib.import_module("nbgrader.api")
    if name == "mark":
        return {
            "mark": _timed(
                lambda: batch.mark_sheet(
                    course, sheet, workers=workers, settings=settings, cluster=cluster, resume="resume" in more
                )
            )
        }
    if name == "whole":
        return {
            "mark": _timed(lambda: batch.mark_sheet(course, sheet, workers=workers, settings=settings)),
            "feedback": _timed(lambda: feedback.write_pages(course, sheet)),
        }
    raise SystemExit(f"no job named {name}")


def _judge(course: Course, sheet: Sheet, found: list[Submission], settings: Settings) -> None:
    """Get and compare all answers and write nothing; the start of the sandbox is part of it."""
    roster, engines = read_class_list(course), engines_for(course, settings)()

    def execute(cells: Sequence[str], setup: Sequence[str]) -> Run:
        return engines.run(cells, setup).run

    try:
        for one in found:
            mark_submission(course, sheet, roster, one, execute, always_run=settings.always_run)
    finally:
        engines.close()


def _peak() -> float:
    """This program's memory at its peak, in megabytes; the system's own figure counts that of whoever started it too."""
    status = Path("/proc/self/status")
    if not status.exists():
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return int(status.read_text().split("VmHWM:")[1].split()[0]) / 1024


def main() -> None:
    """Do a job and print what it took."""
    name, folder, *more = sys.argv[1:]
    started = time.perf_counter()
    told = _job(name, Path(folder), more)
    told["all"] = time.perf_counter() - started
    told["own_mb"], told["child_mb"] = _peak(), resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    told["cpu"] = sum(
        getattr(resource.getrusage(what), field)
        for what in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
        for field in ("ru_utime", "ru_stime")
    )
    print(json.dumps(told))


if __name__ == "__main__":
    main()
