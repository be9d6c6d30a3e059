"""From `gearkit lessons` to the first panel that can be used, beside the kit as it was before, in turns: printed, never failed on."""

from __future__ import annotations

import io
import json
import os
import signal
import statistics
import subprocess
import sys
import tarfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from itertools import pairwise
from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.bench.test_site_speed import processes_of
from tests.browser import lab
from tests.support.amounts import amount
from tests.support.archives import unpack

pytestmark = [pytest.mark.bench, pytest.mark.browser]
ROOT = Path(__file__).resolve().parents[2]
# The last commit before lessons got a home page, a recall and settings of their own.
BEFORE = "4b5bee9a"
ROUNDS = 5 if os.environ.get("GEARKIT_BENCH") == "long" else amount(2, 1)
# The first round fills the disk's and the browser's memory for both; the short form does without.
WARM_UP = amount(1, 0)
BAR = "bar, idle machine: two thirds of the time that the kit took before (9 to 11 s)"
PHASES = ("copy and server", "page", "kernel", "cells to panel")
CELLS = ('from gearkit import open_lesson\nlesson = open_lesson("03")', "lesson.explore()")
KERNEL_IS_IDLE = "words => document.querySelector('#jp-main-statusbar')?.textContent.includes(words)"
START = "import sys; from gearkit.cli.main import main; sys.exit(main(sys.argv[1:]))"
_TICKS = os.sysconf("SC_CLK_TCK")


@pytest.fixture(scope="module")
def before(tmp_path_factory: pytest.TempPathFactory) -> Path:
    found = subprocess.run(["git", "archive", BEFORE], cwd=ROOT, capture_output=True, check=False)
    if found.returncode:
        pytest.skip(f"commit {BEFORE} is not in this checkout")
    folder = tmp_path_factory.mktemp("before")
    with tarfile.open(fileobj=io.BytesIO(found.stdout)) as packed:
        unpack(packed, folder)
    return folder


def processor_seconds(marks: tuple[str, ...]) -> float:
    """Processor time so far of all processes whose command names a folder, and of those they started."""
    total = 0
    for path in {path for mark in marks for path in processes_of(Path(mark))}:
        with suppress(OSError):
            total += sum(map(int, (path / "stat").read_text().rpartition(")")[2].split()[11:13]))
    return total / _TICKS


@contextmanager
def started(kit: Path, place: Path) -> Iterator[tuple[str, Path]]:
    """Give `gearkit lessons` of a checkout; yield the server's address with its token once it answers, and the shelf."""
    runtime, shelf = place / "runtime", place / "lessons"
    settings = {f"JUPYTER_{name.upper()}_DIR": str(place / name) for name in ("runtime", "config", "data")}
    environment = {**os.environ, **settings, "PYTHONPATH": str(kit), "BROWSER": "/bin/true"}
    process = subprocess.Popen(
        [sys.executable, "-c", START, "lessons", "--to", str(shelf)], env=environment, cwd=place, start_new_session=True,
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        give_up = time.monotonic() + lab.START_SECONDS
        while time.monotonic() < give_up:
            assert process.poll() is None, "gearkit lessons ended"
            with suppress(OSError, ValueError, StopIteration):
                server = json.loads(next(runtime.glob("jpserver-*.json")).read_text())
                with urllib.request.urlopen(f"{server['url']}api?token={server['token']}", timeout=1):
                    yield f"{server['url']}|{server['token']}", shelf
                    return
            time.sleep(0.05)
        raise AssertionError("the server did not answer")
    finally:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGTERM)
        process.wait(30)


def phases(kit: Path, place: Path, page: Page) -> tuple[list[float], float]:
    """Return how long each phase took, and the processor time of the server and its kernels."""
    place.mkdir()
    times = [time.perf_counter()]
    with started(kit, place) as (address, shelf):
        times.append(time.perf_counter())
        folder = shelf / "03_what_one_set_can_do"
        lab.write_notebook(folder / "first_panel.ipynb", CELLS)
        base, token = address.split("|")
        server = lab.Server(base.rstrip("/"), token, "lab")
        page.goto(server.address_of(f"{folder.name}/first_panel.ipynb"))
        page.wait_for_selector(".jp-Notebook .jp-Cell")
        times.append(time.perf_counter())
        # Looked for at every frame: expect() looks again after 0.1, 0.25, 0.5 and 1 s, which is as long as what is measured here.
        page.wait_for_function(KERNEL_IS_IDLE, arg=lab.KERNEL_IDLE, timeout=lab.STEP_MILLISECONDS)
        times.append(time.perf_counter())
        lab.run_all(page)
        page.wait_for_selector(".gk-one-set input[type=range]", timeout=lab.STEP_MILLISECONDS)
        times.append(time.perf_counter())
        spent = processor_seconds((str(place),))
        page.goto("about:blank")
    return [after - earlier for earlier, after in pairwise(times)], spent


def test_show_the_time_from_the_command_to_the_first_panel(
    before: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found: dict[str, list[tuple[list[float], float]]] = {"before": [], "now": []}
    with lab.browser_page(1366, 768) as page:
        for number in range(ROUNDS + WARM_UP):
            for name, kit in (("before", before), ("now", ROOT)):
                measured = phases(kit, tmp_path / f"{name}{number}", page)
                if number >= WARM_UP:
                    found[name].append(measured)
    with capsys.disabled():
        print(
            f"\n{'':8}{''.join(f'{phase:>18}' for phase in PHASES)}{'in all, s':>12}{'processor, s':>14}   medians of {ROUNDS}"
        )
        for name, rounds in found.items():
            row = [statistics.median(times[phase] for times, _ in rounds) for phase in range(len(PHASES))]
            whole, spent = statistics.median(sum(times) for times, _ in rounds), statistics.median(cpu for _, cpu in rounds)
            print(f"{name:8}{''.join(f'{seconds:18.2f}' for seconds in row)}{whole:12.2f}{spent:14.2f}")
        pairs = [sum(now) / sum(then) for (now, _), (then, _) in zip(found["now"], found["before"], strict=True)]
        cost = [now / then for (_, now), (_, then) in zip(found["now"], found["before"], strict=True)]
        print(f"now / before: time {statistics.median(pairs):.2f}, processor {statistics.median(cost):.2f}; {BAR}")
    assert found["now"]
