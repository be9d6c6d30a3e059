"""How long each command takes on the demo class, loading included. Shows figures; never fails on time."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import time
from pathlib import Path

import pytest

from graders.cli.main import main
from graders.demo import college

SHEET = "one-set-to-three"
COMMANDS = (
    "items",
    "items --course {course}",
    "compose lessons+1-13 --items 12 --total-marks 30 -o {folder}/new.toml",
    "check {folder}/new.toml --class {folder}/roster.csv",
    "preview {folder}/new.toml",
    "hand-out {course} {folder}/new.toml --class {folder}/roster.csv",
    "mark {course} {sheet}",
    "mark {course} {sheet} --resume",
    "override {course} {sheet} fd06 L02-01 1 --reason seen --by me",
    "correct {course} {sheet} L02-02 --accept R/S --reason also --by me",
    "mark-again {course} {sheet} --item L02-01",
    "report {course} {sheet}",
    "hand-back {course} {sheet}",
    "totals {course}",
    "export {course} --to csv -o {folder}/marks.csv",
)


def run(words: list[str], environment: dict[str, str]) -> tuple[float, float, int]:
    """Time on the clock and processor time of a command in a process of its own, and its exit code."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    done = subprocess.run([sys.executable, "-m", "graders.cli", *words], capture_output=True, check=False, env=environment)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    processor = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return time.perf_counter() - start, processor, done.returncode


@pytest.mark.bench
def test_how_long_every_command_takes_on_the_demo_class(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo", "-o", str(tmp_path / "demo")]) == 0
    folder = tmp_path / "demo"
    places = {"course": folder / college.COURSE, "folder": folder, "sheet": SHEET}
    # Where no compiled files may be kept, every command would compile all that it loads, 1 to 2 s each time.
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    run(["items"], environment)
    shown = []
    for command in COMMANDS:
        words = [word.format(**places).replace("+", " ") for word in command.split()]
        clock, processor, code = run(words, environment)
        assert code == 0, words
        shown.append(f"{clock:6.2f} s, of them {processor:5.2f} s of a processor: graders {' '.join(words[:1])}")
    with capsys.disabled():
        print("\n" + "\n".join(shown))
