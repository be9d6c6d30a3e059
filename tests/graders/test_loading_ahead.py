"""What runs notebooks loads beside the command that marks, serves whoever asks for it, and is gone where nobody does."""

from __future__ import annotations

import importlib
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from graders.run.engines import warm_process
from graders.run.engines.runner import Runner
from graders.run.sandbox.layers import Protection

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="only here does anything load ahead")
NO_WALLS = Protection(frozenset())


@pytest.fixture
def ahead(monkeypatch: pytest.MonkeyPatch) -> Iterator[warm_process.WarmProcess]:
    """A process that loads ahead; ended after the test."""
    monkeypatch.setattr(warm_process.os, "cpu_count", lambda: 2)
    warm_process.start_ahead()
    assert warm_process._Ahead.process is not None
    yield warm_process._Ahead.process
    warm_process.end_ahead()


def test_whoever_asks_first_gets_it_and_the_next_one_another(ahead: warm_process.WarmProcess) -> None:
    with Runner(NO_WALLS) as first, Runner(NO_WALLS) as second:
        runs = [runner.run(["answer('a', 1)"]) for runner in (first, second)]
        assert [run.frames[0].answers for run in runs] == [{"a": {"answer": "1"}}] * 2
        assert first._warm is ahead
        assert second._warm not in (ahead, None)
    assert ahead.process.returncode == 0


@pytest.mark.parametrize("how", ["another engine", "other modules", "in a process that was forked", "after it ended"])
def test_it_is_nobody_elses(how: str, ahead: warm_process.WarmProcess, monkeypatch: pytest.MonkeyPatch) -> None:
    engine, preload = "warm", list(warm_process.PRELOADED["warm"])
    if how == "another engine":
        engine, preload = "kernel", []
    elif how == "other modules":
        preload.append("numpy")
    elif how == "in a process that was forked":
        monkeypatch.setattr(warm_process._Ahead, "maker", os.getpid() + 1)
    else:
        ahead.process.kill()
        ahead.process.wait()
    other = warm_process.take(engine, preload)
    assert other is not ahead
    other.process.kill()
    other.close()
    monkeypatch.undo()


def test_it_is_ended_where_nobody_asked(ahead: warm_process.WarmProcess) -> None:
    folder = Path(ahead.folder.name)
    assert folder.is_dir()
    warm_process.end_ahead()
    assert ahead.process.returncode is not None
    assert not folder.exists()


@pytest.mark.parametrize(
    ("words", "starts"),
    [
        ("mark COURSE week3", True),
        ("mark COURSE week3 --json", True),
        ("mark COURSE week3 --resume", False),
        ("mark --help", False),
        ("mark COURSE week3 --cluster=local:2", False),
        ("mark COURSE week3 --engine kernel", False),
        ("mark-again COURSE week3 --item L01-01", False),
        ("report COURSE mark", False),
        ("", False),
    ],
)
def test_only_marking_loads_it(words: str, starts: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    started = list[bool]()
    monkeypatch.setattr(warm_process, "start_ahead", lambda: started.append(True))
    importlib.import_module("graders.cli.main")._load_ahead(words.split())
    assert started == [True] * starts


def test_a_command_that_ends_early_leaves_nothing_behind(tmp_path: Path) -> None:
    environment = {**os.environ, "TMPDIR": str(tmp_path)}
    done = subprocess.run(
        [sys.executable, "-m", "graders.cli", "mark", str(tmp_path / "none"), "week3"],
        capture_output=True,
        text=True,
        check=False,
        env=environment,
        timeout=120,
    )
    assert "is not a course folder" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == []
