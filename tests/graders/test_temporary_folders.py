"""Folders of programs that were killed are removed by the next one, and those in use or in the making never are."""

from __future__ import annotations

import errno
import fcntl
import multiprocessing
import os
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from graders.run.sandbox import select_sandbox, temporary_folders
from graders.run.sandbox.temporary_folders import LOCK

HOLDER = "import sys\nfrom graders.run.sandbox import temporary_folders\nplace = temporary_folders.TemporaryFolder('run')\nprint(place.name, flush=True)\nsys.stdin.read()"


@pytest.fixture
def shared(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A place for such folders that these tests have to themselves, for programs that they start as well."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    return tmp_path


def holder() -> tuple[subprocess.Popen[str], Path]:
    """A program that has a folder in use, and the folder."""
    program = subprocess.Popen([sys.executable, "-c", HOLDER], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert program.stdout is not None
    return program, Path(program.stdout.readline().strip())


def end(program: subprocess.Popen[str], *, kill: bool) -> None:
    if kill:
        program.kill()
    program.communicate("")


def test_the_folder_of_a_killed_program_is_swept_and_that_of_a_living_one_is_not(shared: Path) -> None:
    killed, lost = holder()
    living, kept = holder()
    try:
        end(killed, kill=True)
        assert lost.is_dir()
        with temporary_folders.new("proof") as ours:
            assert sorted(shared.iterdir()) == sorted([kept, Path(ours)])
    finally:
        end(living, kill=False)
    assert list(shared.iterdir()) == []


def test_a_process_number_says_nothing_for_another_container_may_have_it_too(shared: Path) -> None:
    program, folder = holder()
    try:
        # As seen from a container in which nobody has the number that the folder is named after, and the other way round.
        foreign = folder.rename(shared / "gearkit-run-999999999-a")
        left = shared / f"gearkit-run-{os.getpid()}-left"
        left.mkdir()
        temporary_folders.sweep()
        assert (foreign.is_dir(), left.exists()) == (True, False)
    finally:
        end(program, kill=True)
    temporary_folders.sweep()
    assert not foreign.exists()


def test_nothing_else_is_swept(shared: Path) -> None:
    names = ["gearkit-run-old", "gearkit-run-x-a", "gearkit-else-1-a", "other-1-a", "gearkit-run-1-file"]
    for name in names[:-1]:
        (shared / name / "inside").mkdir(parents=True)
    (shared / names[-1]).touch()
    (shared / "gearkit-run-1-link").symlink_to(shared / "other-1-a")
    (shared / "gearkit-run-1-lock").mkdir()
    (shared / "gearkit-run-1-lock" / LOCK).symlink_to(shared / "other-1-a" / "new")
    temporary_folders.sweep()
    assert sorted(path.name for path in shared.iterdir()) == sorted([*names, "gearkit-run-1-link", "gearkit-run-1-lock"])
    assert [path.name for path in (shared / "other-1-a").iterdir()] == ["inside"]


@pytest.mark.parametrize("when", ["before its lock", "while it is locked", "before it is locked"])
def test_a_folder_that_is_swept_while_it_is_made_is_made_anew(
    when: str,
    shared: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    swept: list[bool] = []
    real = os.open if when == "before its lock" else temporary_folders._taken

    def between(*arguments: object, **more: object) -> object:
        """Sweep once, in the middle of making; sweeping itself goes its usual way."""
        if swept:
            return real(*arguments, **more)
        swept.append(True)
        if when == "while it is locked":
            folder = next(shared.glob("gearkit-run-*"))
            theirs = os.open(folder / LOCK, os.O_RDWR)
            fcntl.flock(theirs, fcntl.LOCK_EX)
            try:
                return real(*arguments, **more)
            finally:
                os.close(theirs)
        temporary_folders.sweep()
        return real(*arguments, **more)

    if when == "before its lock":
        monkeypatch.setattr(temporary_folders.os, "open", between)
    else:
        monkeypatch.setattr(temporary_folders, "_taken", between)
    with temporary_folders.TemporaryFolder("run") as name:
        monkeypatch.undo()
        assert swept
        assert list(Path(name).parent.glob("gearkit-*")) == [Path(name)]
        assert (Path(name) / LOCK).is_file()


def hurry(folder: str, rounds: int) -> None:
    """Make folders, and look whether one is ever taken away."""
    tempfile.tempdir = folder
    for _ in range(rounds):
        with temporary_folders.new("run") as name:
            temporary_folders.sweep()
            Path(name, "work").touch()
            temporary_folders.sweep()
            if not Path(name, "work").exists():
                os._exit(1)


def test_many_that_make_and_sweep_at_once_never_lose_one(tmp_path: Path) -> None:
    crew = [multiprocessing.get_context("fork").Process(target=hurry, args=(str(tmp_path), 150)) for _ in range(6)]
    for one in crew:
        one.start()
    killed = crew.pop()
    os.kill(killed.pid or 0, signal.SIGKILL)
    for one in [*crew, killed]:
        one.join()
    assert [one.exitcode for one in crew] == [0] * 5
    hurry(str(tmp_path), 1)
    assert list(tmp_path.iterdir()) == []


def test_without_locks_work_goes_on_and_nothing_is_swept(shared: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*arguments: object) -> None:
        raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))

    monkeypatch.setattr(fcntl, "flock", none)
    (shared / "gearkit-run-1-a").mkdir()
    with temporary_folders.new("run") as name:
        temporary_folders.sweep()
        assert Path(name).is_dir()
        assert (shared / "gearkit-run-1-a").is_dir()


def test_a_runner_leaves_nothing_in_the_place_for_files_of_all(shared: Path) -> None:
    choice = select_sandbox.choose()
    assert choice.runner is not None
    with choice.runner as runner:
        assert runner.run(["answer('a', 1)"]).complete
        assert [path.name.rsplit("-", 1)[0] for path in shared.iterdir()] == [f"gearkit-run-{os.getpid()}"]
    assert list(shared.iterdir()) == []
