"""How marking scales: beside the book-keeping's own marking, beside bare running, with the class, and on a cluster.

Shows figures; never fails on time. The short form runs a small class; GEARKIT_BENCH=long runs classes of up to 10,000.
Every job is a process of its own, so that its memory is its own; times of both sides are taken in turn in one run.
"""

from __future__ import annotations

import json
import os
import shutil
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from graders.book import record
from graders.mark.submissions import Submission
from graders.mark.workers.cluster import Cluster, connected
from graders.run.remote.remote_protocol import Request
from tests.bench.marking import big_class
from tests.bench.marking.big_class import SHEET
from tests.graders.classroom import Classroom
from tests.graders.stand_ins import Echo

LONG = os.environ.get("GEARKIT_BENCH") == "long"
ROUNDS = 5 if LONG else 1
STOCK = 4 if LONG else 1
BESIDE = 400 if LONG else 12
# Its own marking takes seconds for a single notebook, so the short form has it mark only what the kit has to run.
BY_STOCK = ("read", "run") if LONG else ("run",)
CORES = os.cpu_count() or 1
WHOLE = 2_000 if LONG else 24
GROWTH = (100, 1_000, 10_000) if LONG else (20,)
ON_CLUSTER = 1_000 if LONG else 12
TINY = 2_000 if LONG else 100

pytestmark = pytest.mark.bench


def job(*words: object) -> dict[str, float]:
    """Do a job of `big_class` in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench.marking.big_class", *map(str, words)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr[-2000:]
    told: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return told


def stock_seconds(room: Classroom, learners: int) -> float:
    """Seconds that the book-keeping's own command takes for some learners, with its own settings."""
    environment = {**os.environ, "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"}
    pattern = "s0000[" + "".join(map(str, range(learners))) + "]"
    started = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "nbgrader", "autograde", SHEET, "--force", "--student", pattern],
        cwd=room.course.folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    assert "AutogradeApp | ERROR" not in done.stderr, done.stderr[-2000:]
    return time.perf_counter() - started


@pytest.fixture(scope="module")
def show(request: pytest.FixtureRequest) -> Callable[[str], None]:
    capture = request.config.pluginmanager.getplugin("capturemanager")

    def shown(line: str) -> None:
        with capture.global_and_fixture_disabled():
            print(line)

    return shown


@pytest.fixture(scope="module")
def rooms(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Classroom]:
    """One class whose answers can be read, one whose answers all have to be run; thirty items each."""
    return {way: big_class.filled(tmp_path_factory.mktemp(way), BESIDE, run=way == "run") for way in ("read", "run")}


def _own_settings(room: Classroom, folder: Path) -> Classroom:
    """A copy of the course in which the book-keeping marks by itself, as if the kit were not there."""
    shutil.copytree(room.course.folder, folder / "course", dirs_exist_ok=True)
    other = Classroom.__new__(Classroom)
    other.course, other.sheet = type(room.course)(**{**vars(room.course), "folder": folder / "course"}), room.sheet
    (folder / "course" / "nbgrader_config.py").write_text(
        f"c = get_config()\nc.CourseDirectory.course_id = {room.course.id!r}\n"
    )
    return other


def test_beside_the_book_keepings_own_marking(
    rooms: dict[str, Classroom],
    tmp_path: Path,
    show: Callable[[str], None],
) -> None:
    size = len(list(rooms["read"].course.submitted.iterdir()))
    theirs = {way: _own_settings(rooms[way], tmp_path / way) for way in BY_STOCK}
    stock: dict[str, list[float]] = {way: [] for way in BY_STOCK}
    ours: dict[str, list[float]] = {}

    def took(name: str, seconds: float) -> None:
        ours.setdefault(name, []).append(seconds / size)

    if LONG:
        # The first time, everything still has to be read from disk.
        for room in theirs.values():
            stock_seconds(room, 1)
    for _ in range(ROUNDS):
        for way, room in theirs.items():
            few, more = stock_seconds(room, 1), stock_seconds(room, 1 + STOCK)
            stock[way].append((more - few) / STOCK)
        took("harvest", job("harvest", rooms["read"].course.folder, SHEET)["harvest"])
        for way in ("read", "run"):
            took(f"{way} judged", job("judge", rooms[way].course.folder, SHEET)["judge"])
            for name, workers in ((way, 1), (f"{way} by all", CORES))[: 2 if LONG else 1]:
                # A course that was never marked, so that every row and every file is made new.
                fresh = tmp_path / "fresh"
                shutil.copytree(rooms[way].course.folder, fresh)
                took(name, job("mark", fresh, SHEET, workers, "warm")["mark"])
                shutil.rmtree(fresh)
    show(
        f"\n{size} submissions of 30 items, start-up of the book-keeping taken out, of the sandbox counted"
        f"{'' if LONG else ' (one short round: not to be quoted)'}:"
    )
    for way in BY_STOCK:
        show(f"  its own marking of notebooks to {way}: {statistics.median(stock[way]) * 1e3:7.0f} ms each")
    for name, way, words in (
        ("harvest", "read", "answers read from the files, not compared"),
        ("read judged", "read", "read and compared, nothing written"),
        ("run judged", "run", "run in the sandbox and compared, nothing written"),
        ("read", "read", "read, compared, marks, copies and gradebook written"),
        ("run", "run", "run in the sandbox, compared, everything written"),
        ("read by all", "read", f"read by {CORES} workers, their start counted"),
        ("run by all", "run", f"run by {CORES} workers, their start counted"),
    ):
        if name not in ours:
            continue
        line = f"  {words}: {statistics.median(ours[name]) * 1e3:7.2f} ms each"
        if way in BY_STOCK:
            factors = [theirs_took / ours_took for theirs_took, ours_took in zip(stock[way], ours[name], strict=True)]
            line += f", {statistics.median(factors):.0f} times as fast [{min(factors):.0f} to {max(factors):.0f}]"
        show(line)


def test_running_beside_bare_running_in_a_warm_interpreter(
    rooms: dict[str, Classroom],
    show: Callable[[str], None],
) -> None:
    folder = rooms["run"].course.folder
    told: dict[str, list[float]] = {"exec": [], "shell": [], "sandbox": []}
    for _ in range(ROUNDS):
        done = subprocess.run(
            [sys.executable, "-m", "tests.bench.marking.bare_interpreter", str(folder), SHEET],
            capture_output=True,
            text=True,
            check=True,
        )
        for name, seconds in json.loads(done.stdout).items():
            told[name].append(seconds)
        told["sandbox"].append(job("run", folder, SHEET)["run"])
    middle = {name: statistics.median(values) * 1e3 for name, values in told.items()}
    show("\nrunning the cells of a sheet of 30 items, nothing compared or written:")
    for name, words in (
        ("exec", "plain exec in one warm interpreter"),
        ("shell", "one warm IPython shell"),
        ("sandbox", "a fork behind all layers for each submission"),
    ):
        show(f"  {words}: {middle[name]:6.2f} ms each; {middle[name] / middle['shell']:.2f} times the shell's")


def test_a_whole_class_in_one_go(tmp_path: Path, show: Callable[[str], None]) -> None:
    room = big_class.filled(tmp_path, WHOLE)
    told = job("whole", room.course.folder, SHEET)
    sheet = record.read(room.course.marks_file(SHEET))
    assert sheet.submissions == sheet.marked == WHOLE
    assert len(list(room.course.folder.glob(f"feedback/*/{SHEET}/{SHEET}.html"))) == WHOLE
    show(
        f"\n{WHOLE} submissions of 30 items: marked with gradebook in {told['mark']:.1f} s, feedback in "
        f"{told['feedback']:.1f} s, together {WHOLE / (told['mark'] + told['feedback']):.0f} per second; memory at its "
        f"peak {told['own_mb']:.0f} MB, in the largest of its workers {told['child_mb']:.0f} MB"
    )


@pytest.mark.parametrize("size", GROWTH)
def test_growth_with_the_class(tmp_path: Path, size: int, show: Callable[[str], None]) -> None:
    course, other = big_class.filled(tmp_path, size).course.folder, tmp_path / "never_marked"
    shutil.copytree(course, other)
    one, all_cores = job("mark", course, SHEET, 1), job("mark", other, SHEET, 0)
    again = job("mark", course, SHEET, 1, "resume")
    show(
        f"\n{size:6d} submissions of 30 items: {one['mark']:.1f} s in one process ({size / one['mark']:.0f} per second, "
        f"peak {one['own_mb']:.0f} MB), {all_cores['mark']:.1f} s with all cores (peak {all_cores['own_mb']:.0f} MB, "
        f"a worker {all_cores['child_mb']:.0f} MB); resumed with nothing left to do {again['mark']:.1f} s"
    )
    shutil.rmtree(tmp_path)


def test_a_cluster_beside_the_own_pool(tmp_path: Path, show: Callable[[str], None]) -> None:
    room = big_class.filled(tmp_path, ON_CLUSTER, run=True)
    show(f"\n{ON_CLUSTER} submissions of 30 items, all of them run; the start of pool or cluster counted:")
    ways = (
        ("own pool of 1", (1,)),
        ("cluster of 2, 1 process here", (1, "local:2")),
        ("own pool of 2", (2,)),
        ("cluster of 1, 1 process here", (1, "local:1")),
        ("cluster of 2, 2 processes here", (2, "local:2")),
    )
    for words, more in ways if LONG else ways[:2]:
        told = job("mark", room.course.folder, SHEET, "run", *more)
        show(
            f"  {words}: {told['mark']:.1f} s, {told['mark'] / ON_CLUSTER * 1e3:.1f} ms each, processor time "
            f"{told['cpu'] / ON_CLUSTER * 1e3:.1f} ms each"
        )


def test_the_cost_of_a_task(show: Callable[[str], None]) -> None:
    some = [Submission(f"s{number}", Path("nowhere")) for number in range(TINY)]

    def request_of(submission: Submission) -> Request:
        return Request((submission.learner,), ())

    def through(found: Cluster) -> float:
        started = time.perf_counter()
        assert len(list(found.jobs(some, request_of))) == TINY
        return time.perf_counter() - started

    for workers in (1, 2):
        started = time.perf_counter()
        with connected(f"local:{workers}", Echo) as found:
            start = time.perf_counter() - started
            times = [through(found) for _ in range(ROUNDS)]
        show(
            f"\ncluster of {workers}: started in {start:.1f} s; a task that does nothing costs "
            f"{statistics.median(times) / TINY * 1e3:.2f} ms [{min(times) / TINY * 1e3:.2f} to "
            f"{max(times) / TINY * 1e3:.2f}], certificates included"
        )
