"""Where the calls of Linux are missing, nothing breaks: plain answers are read, and learner code runs only when told."""

from __future__ import annotations

import socket
import sys
from pathlib import Path

import pytest

from graders.book import tables
from graders.cli import main
from graders.mark import batch
from graders.mark.workers.worker import Settings
from graders.run.engines import warm_process
from graders.run.sandbox import examination, select_sandbox
from graders.run.sandbox.layers import Layer, Limits, Protection
from tests.graders.classroom import Classroom, computed, right

# The warm process as it finds a Mac: another name, none of the calls of Linux, no /proc.
MAC = """
import ctypes, os, pathlib, platform, resource, sys
sys.platform, platform.machine = "darwin", lambda: "arm64"
for name in ("pidfd_open", "unshare", "setns", "setresuid", "setresgid", "prlimit"):
    if hasattr(os, name): delattr(os, name)
class Library:
    def __init__(self, *arguments, **more): pass
    def __getattr__(self, name): raise AttributeError(f"dlsym: symbol not found: {name}")
ctypes.CDLL = Library
really_there, really_read = pathlib.Path.exists, pathlib.Path.read_text
def exists(path): return not str(path).startswith("/proc") and really_there(path)
def read_text(path, *arguments, **more):
    if str(path).startswith("/proc"): raise FileNotFoundError(2, "No such file or directory", str(path))
    return really_read(path, *arguments, **more)
pathlib.Path.exists, pathlib.Path.read_text = exists, read_text
from graders.run.engines import warm
warm.main()
"""


@pytest.fixture
def mac(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # What is loaded for the first time where the system is said to be another would load that one's parts.
    tables.load()
    (tmp_path / "mac.py").write_text(MAC)
    monkeypatch.setattr(warm_process, "PROGRAM", (str(tmp_path / "mac.py"),))
    monkeypatch.setattr(warm_process, "MESSAGES", socket.SOCK_STREAM)
    monkeypatch.setattr(select_sandbox, "LIMITS_ONLY", Protection(frozenset({Layer.LIMITS})))
    monkeypatch.setattr(sys, "platform", "darwin")


@pytest.mark.usefixtures("mac")
def test_on_a_mac_no_learner_code_is_run_unless_told() -> None:
    assert select_sandbox.choose() == select_sandbox.Choice(None, "none: learner code was not run")
    told = select_sandbox.choose(Limits(cell_seconds=0.5, seconds=2.0), unprotected=True)
    assert told.level == "limits only"
    assert told.runner is not None
    with told.runner as warm:
        run = warm.run(
            ["answer('a', 1)", "while True: pass", "answer('b', open('x', 'wb').write(bytes(9_000_000)))", "answer('c', 3)"]
        )
        assert run.frames[0].answers == {"a": {"answer": "1"}}
        assert [frame.fault for frame in run.frames] == ["", "CellTimeout", "OSError", "", ""]
        assert run.frames[3].answers == {"c": {"answer": "3"}}
        assert run.complete
        # The same warm process serves the next submission.
        assert warm.run(["answer('d', 4)"]).frames[0].answers == {"d": {"answer": "4"}}
        late = warm.run(["import signal\nsignal.signal(signal.SIGALRM, signal.SIG_IGN)\nwhile True: pass"])
        assert late.reason == "time"


@pytest.mark.usefixtures("mac")
def test_on_a_mac_plain_answers_are_marked_and_the_mark_sheet_says_what_ran(tmp_path: Path) -> None:
    room = Classroom(tmp_path)
    room.hand_in("s1", room.copy("s1", right))
    room.hand_in("s2", room.copy("s2", computed))
    marked = batch.mark_sheet(room.course, room.sheet, workers=1)
    assert [(one.score, one.max) for one in marked.learners] == [(26.0, 26.0), (0.0, 26.0)]
    assert marked.sandbox == "none: learner code was not run"
    assert any("learner code is not run on this machine" in flag for flag in marked.learners[1].flags)
    told = batch.mark_sheet(room.course, room.sheet, workers=1, settings=Settings(unprotected=True))
    assert [one.score for one in told.learners] == [26.0, 26.0]
    assert told.sandbox == "limits only"


@pytest.mark.usefixtures("mac")
def test_no_wall_of_linux_is_said_to_hold_on_a_mac() -> None:
    findings = {finding.layer: finding for finding in examination.examine()}
    assert [layer for layer, finding in findings.items() if finding.holds] == []
    assert {findings[layer].behind for layer in (Layer.ROOT, Layer.USER, Layer.FILTER, Layer.LANDLOCK)} == {"not here"}


@pytest.mark.usefixtures("mac")
def test_doctor_on_a_mac_says_what_would_happen(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(examination, "examine", lambda: iter(()))
    assert main(["doctor"]) == 1
    assert (
        "Level: none: learner code was not run. Plain answers are marked by reading them. Learner code is run only with "
        "--unprotected, and then behind limits only: files and the network stay open to it."
    ) in capsys.readouterr().out


@pytest.mark.parametrize("words", [["mark", "course", "A1"], ["doctor"]], ids=lambda words: words[0])
def test_on_windows_marking_says_where_it_can_be_done(
    words: list[str],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(sys, "platform", "win32")
    assert main(words) == 2
    assert capsys.readouterr().err == (
        f"graders {words[0]}: Marking does not run on Windows itself. Mark in the Windows "
        "Subsystem for Linux, on Linux, or on a Mac.\n"
    )
