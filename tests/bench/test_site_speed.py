"""What a learner waits for on a page of the site, and what it costs: printed, never failed on."""

from __future__ import annotations

import io
import os
import statistics
import tarfile
import time
from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

from gearkit.lesson.syllabus import LESSONS
from gearkit.site import course_site, pyodide_files, single_page
from gearkit.site.own_code import jupyterlite
from gearkit.site.own_code.notebooks import contents
from gearkit.words.errors import UsageError
from tests.support import chromium
from tests.support.amounts import SHORT, amount
from tests.support.static_server import served

pytestmark = [pytest.mark.bench, pytest.mark.browser]
ROUNDS = 5 if os.environ.get("GEARKIT_BENCH") == "long" else 1
BARS = "bars, idle machine: live < 1 s, Python < 6 s (< 3 s from the image), processor <= 2 s and <= 8 s, memory < 600 MB, 25 MB raw, 9 MB packed"
_TICKS = os.sysconf("SC_CLK_TCK")


def processes_of(profile: Path) -> list[Path]:
    """The processes of the browser that keeps its files in a folder, and theirs."""
    every = {path.name: path for path in Path("/proc").glob("[0-9]*")}
    parents = {}
    for name, path in every.items():
        try:
            parents[name] = (path / "stat").read_text().rpartition(")")[2].split()[1]
        except OSError:
            continue
    own = {name for name, path in every.items() if str(profile) in _words(path)}
    while more := {name for name, parent in parents.items() if parent in own} - own:
        own |= more
    return [every[name] for name in own]


def _words(path: Path) -> str:
    try:
        return (path / "cmdline").read_bytes().decode(errors="replace")
    except OSError:
        return ""


def processor_seconds(profile: Path) -> float:
    """Processor time of the whole browser so far."""
    total = 0
    for path in processes_of(profile):
        try:
            total += sum(map(int, (path / "stat").read_text().rpartition(")")[2].split()[11:13]))
        except OSError:
            continue
    return total / _TICKS


def memory_mb(profile: Path) -> float:
    """Memory of the whole browser, shared pages counted once."""
    total = 0
    for path in processes_of(profile):
        try:
            line = next(line for line in (path / "smaps_rollup").read_text().splitlines() if line.startswith("Pss:"))
        except (OSError, StopIteration):
            continue
        total += int(line.split()[1])
    return total / 1024


def visit(base: str, number: str, profile: Path, *, image: bool) -> tuple[float, float, float, float, float]:
    """Open a lesson in a fresh browser, with the memory image or as if there were none: seconds to live panels and to Python, processor seconds to both, MB."""
    with sync_playwright() as engine:
        context = engine.chromium.launch_persistent_context(
            profile,
            executable_path=chromium.path(),
            args=["--no-sandbox", "--disable-gpu"],
            viewport={"width": 1366, "height": 900},
        )
        try:
            page = context.pages[0]
            if not image:
                context.route("**/image.bin", lambda route: route.fulfill(status=404))
            before, start = processor_seconds(profile), time.perf_counter()
            page.goto(f"{base}/{LESSONS[number].folder}.html", wait_until="commit")
            page.wait_for_selector("html[data-panels=live]", state="attached")
            live, live_cost = time.perf_counter() - start, processor_seconds(profile) - before
            page.wait_for_selector("html[data-python=ready]", state="attached", timeout=120_000)
            assert page.locator("html").get_attribute("data-python-from") == ("image" if image else "start")
            ready, ready_cost = time.perf_counter() - start, processor_seconds(profile) - before
            return live, ready, live_cost, ready_cost, memory_mb(profile)
        finally:
            context.close()


@pytest.mark.skipif(SHORT, reason="GEARKIT_TESTS=whole measures the notebooks in the browser")
def test_what_notebooks_in_the_browser_cost_beside_the_pages() -> None:
    """Counted apart from the lessons' pages; what is packed is what a learner who opens them fetches once."""
    try:
        held = jupyterlite.build(contents(LESSONS, ()), pyodide_files.files()[pyodide_files.LOCK])
    except UsageError as fault:
        pytest.skip(str(fault))
    packed = io.BytesIO()
    with tarfile.open(fileobj=packed, mode="w:gz") as archive:
        for name, content in held.items():
            entry = tarfile.TarInfo(name)
            entry.size = len(content)
            archive.addfile(entry, io.BytesIO(content))
    raw = sum(map(len, held.values()))
    print(f"\nnotebooks: {len(held)} files, {raw / 1e6:.1f} MB raw, {len(packed.getvalue()) / 1e6:.1f} MB packed")


def test_what_a_learner_waits_for_on_a_page(tmp_path: Path) -> None:
    site = course_site.build()
    if "no registry can be reached" in site.lacks:
        pytest.skip(site.lacks)
    assert site.lacks == ""
    course_site.write(site, tmp_path / "site")
    image = site.files.get(course_site.IMAGE, b"")
    raw = sum(map(len, site.files.values())) - len(image)
    packed = io.BytesIO()
    with tarfile.open(fileobj=packed, mode="w:gz") as archive:
        archive.add(tmp_path / "site", "site", filter=lambda entry: None if entry.name.endswith("image.bin") else entry)
    print(f"\n{BARS}")
    print(f"memory image, apart: {len(image) / 1e6:.1f} MB")
    print(f"site: {len(site.files)} files, {raw / 1e6:.1f} MB raw, {len(packed.getvalue()) / 1e6:.1f} MB packed")
    largest = max((len(single_page.single_page(number).encode()), number) for number in LESSONS)
    print(f"one file: at most {largest[0] / 1000:.0f} kB (lesson {largest[1]})")
    print(f"load of the machine {os.getloadavg()[0]:.1f}")
    with served(tmp_path / "site") as base:
        for number in ("03", "06", "12")[: amount(3, 1)]:
            for way, use in (("without an image", False), ("from the image", True)):
                if use and not image:
                    continue
                seen = [visit(base, number, tmp_path / f"profile-{number}-{use}-{turn}", image=use) for turn in range(ROUNDS)]
                live, ready, live_cost, ready_cost, memory = (statistics.median(column) for column in zip(*seen, strict=True))
                print(
                    f"lesson {number} {way}: live {live:.2f} s ({live_cost:.1f} s processor), "
                    f"Python {ready:.1f} s ({ready_cost:.1f} s processor), {memory:.0f} MB"
                )
