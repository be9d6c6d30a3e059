"""The control group round a warm process: found where the system has one to offer, bounded, and never left behind."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from graders.cli import main
from graders.run.engines.runner import Runner
from graders.run.sandbox import control_groups, examination, select_sandbox
from graders.run.sandbox.control_groups import AVAILABLE, Group, NoGroupsError
from graders.run.sandbox.layers import MEGABYTE, Layer, Limits, Protection

OFFERED = control_groups.standing() == AVAILABLE
real = pytest.mark.skipif(not OFFERED, reason=f"control groups {control_groups.standing()}")
UNIFIED = "30 20 0:26 / /groups rw,nosuid - cgroup2 cgroup2 rw\n"
OLDER = "31 20 0:27 / /old/memory rw - cgroup cgroup rw,memory\n32 20 0:28 /box /old/pids rw - cgroup cgroup rw,pids\n"


def system(folder: Path, mounts: str, own: str, handed_down: dict[str, str]) -> Path:
    """The system's own files about control groups, the unified ones with what each hands down."""
    (folder / "proc/self").mkdir(parents=True)
    (folder / "proc/self/mountinfo").write_text(f"22 1 0:21 / /proc rw shared:5 - proc proc rw\n{mounts}")
    (folder / "proc/self/cgroup").write_text(own)
    for group, controllers in handed_down.items():
        place = folder / "groups" / group
        place.mkdir(parents=True, exist_ok=True)
        (place / "cgroup.subtree_control").write_text(controllers)
        (place / "cgroup.controllers").write_text("cpu memory pids")
    return folder


DELEGATED = {"": "cpu memory pids", "user": "memory pids", "user/app": ""}


@pytest.mark.parametrize(
    ("mounts", "own", "handed_down", "told"),
    [
        (UNIFIED, "0::/user/app\n", DELEGATED, AVAILABLE),
        (
            UNIFIED,
            "0::/user/app\n",
            {**DELEGATED, "": "", "user": ""},
            "not available: no control group above this program hands limits on memory down",
        ),
        (
            UNIFIED,
            "0::/user/app\n",
            {**DELEGATED, "": "memory", "user": "memory"},
            "not available: no control group above this program hands limits on the number of processes down",
        ),
        (
            UNIFIED,
            "0::/../elsewhere\n",
            DELEGATED,
            "not available: this program's own control group is not to be seen from here",
        ),
        (
            OLDER,
            "4:memory:/a\n8:pids:/box/a\n",
            {},
            "not available: this program's own control group is not to be seen from here",
        ),
        ("", "0::/user\n", {}, "not available: the system has no control groups that limit memory"),
        ("nonsense\n", "0::/user\n", {}, "not available: the system has no control groups that limit memory"),
    ],
)
def test_it_is_found_out_what_the_system_offers(
    tmp_path: Path,
    mounts: str,
    own: str,
    handed_down: dict[str, str],
    told: str,
) -> None:
    assert control_groups.standing(system(tmp_path, mounts, own, handed_down)) == told


def test_nothing_is_offered_where_nobody_handed_groups_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "access", lambda path, mode: False)
    assert (
        control_groups.standing(system(tmp_path, UNIFIED, "0::/user/app\n", DELEGATED))
        == "not available: this program may not make control groups, because nobody has handed any over to it"
    )


def test_in_the_unified_tree_a_group_is_made_beside_the_own_one_where_limits_are_handed_down(tmp_path: Path) -> None:
    group = Group(system(tmp_path, UNIFIED, "0::/user/app\n", DELEGATED))
    [folder] = group.folders
    assert folder.parent == tmp_path / "groups/user"
    # What the system itself would put into a new group.
    for name, number in (("memory.current", 50 * MEGABYTE), ("pids.current", 2), ("memory.swap.max", 0)):
        (folder / name).write_text(str(number))
    group.take_in(4711)
    group.bound(100 * MEGABYTE, 10)
    wrote = {name: (folder / name).read_text() for name in ("cgroup.procs", "memory.max", "pids.max", "memory.swap.max")}
    assert wrote == {"cgroup.procs": "4711", "memory.max": str(150 * MEGABYTE), "pids.max": "12", "memory.swap.max": "0"}


def test_in_older_trees_a_group_is_made_below_the_own_one_of_each(tmp_path: Path) -> None:
    for place in ("old/memory/a", "old/pids/a/b"):
        (tmp_path / place).mkdir(parents=True)
    # The second tree is mounted from /box on, as a container sees it.
    group = Group(system(tmp_path, OLDER, "4:memory:/a\n8:pids:/box/a/b\n", {}))
    memory, pids = group.folders
    assert (memory.parent, pids.parent) == (tmp_path / "old/memory/a", tmp_path / "old/pids/a/b")
    (memory / "memory.usage_in_bytes").write_text("7")
    (memory / "memory.memsw.limit_in_bytes").write_text("max")
    (pids / "pids.current").write_text("1")
    group.bound(3, 4)
    assert [(memory / f"memory.{name}limit_in_bytes").read_text() for name in ("", "memsw.")] == ["10", "10"]
    assert (pids / "pids.max").read_text() == "5"


def test_that_the_own_limit_on_memory_was_met_is_told_from_the_machines_want_of_it(tmp_path: Path) -> None:
    group = Group(system(tmp_path, UNIFIED, "0::/user/app\n", DELEGATED))
    events = group.folders[0] / "memory.events"
    group.watch()
    assert not group.was_full()
    events.write_text("low 0\nhigh 0\nmax 3\noom 1\noom_kill 1\n")
    assert group.was_full()
    group.watch()
    events.write_text("low 0\nhigh 0\nmax 3\noom 1\noom_kill 2\n")
    assert not group.was_full()


def test_in_older_trees_the_highest_use_tells_that_the_limit_was_met(tmp_path: Path) -> None:
    for place in ("old/memory/a", "old/pids/a/b"):
        (tmp_path / place).mkdir(parents=True)
    group = Group(system(tmp_path, OLDER, "4:memory:/a\n8:pids:/box/a/b\n", {}))
    memory = group.folders[0]
    (memory / "memory.limit_in_bytes").write_text(str(100 * MEGABYTE))
    highest = memory / "memory.max_usage_in_bytes"
    for use, full in ((99 * MEGABYTE, False), (100 * MEGABYTE - 4096, True)):
        highest.write_text(str(use))
        assert group.was_full() is full
    group.watch()
    assert highest.read_text() == "0"
    assert not group.was_full()


def test_what_the_system_refuses_is_told(tmp_path: Path) -> None:
    group = Group(system(tmp_path, UNIFIED, "0::/user/app\n", DELEGATED))
    with pytest.raises(NoGroupsError, match="no limit can be set"):
        group.bound(1, 1)
    group.remove()
    assert not any(folder.exists() for folder in group.folders)
    with pytest.raises(NoGroupsError, match="no process can be put into"):
        group.take_in(4711)


def test_groups_of_markers_that_were_killed_are_swept_and_no_others(tmp_path: Path) -> None:
    root = system(tmp_path, UNIFIED, "0::/user/app\n", DELEGATED)
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    names = [f"gearkit-{ended.pid}-0123abcd", f"gearkit-{os.getpid()}-0123abcd", f"gearkit-{ended.pid}-full", "other"]
    for name in names:
        (tmp_path / "groups/user" / name).mkdir()
    group = Group(root)
    left = {path.name for path in (tmp_path / "groups/user").iterdir() if path.is_dir()}
    assert left == {*names[1:], "app", group.folders[0].name}


@real
def test_a_submission_that_takes_too_much_together_ends_and_the_next_one_finds_all_as_before() -> None:
    greedy = (
        "import os, time\nfor n in range(4):\n    if os.fork() == 0:\n        held = b'x' * (60 << 20)\n"
        "        time.sleep(1)\n        os._exit(0)\nanswer('a', str([os.wait()[1] for n in range(4)].count(9)))"
    )
    protection = Protection(frozenset({Layer.GROUP, Layer.SESSION}))
    with Runner(protection, Limits(memory=100 * MEGABYTE), preload=()) as runner:
        assert int(runner.run([greedy]).frames[0].answers["a"]["answer"]) >= 1
        assert runner._warm is not None
        assert runner._group is not None
        for folder in runner._group.folders:
            assert (folder / "cgroup.procs").read_text().split() == [str(runner._warm.process.pid)]
        assert runner.run(["answer('a', 1)"]).complete
        folders = runner._group.folders
        assert all(folder.is_dir() for folder in folders)
    assert not any(folder.exists() for folder in folders)


@real
@pytest.mark.parametrize("engine", ["warm", "kernel"])
def test_the_walls_that_are_chosen_have_a_group_round_them_where_the_system_offers_one(engine: str) -> None:
    choice = select_sandbox.choose(engine=engine)
    assert choice.runner is not None
    with choice.runner as runner:
        assert Layer.GROUP in runner.protection


def test_where_no_group_can_be_made_the_other_walls_stand_without_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(control_groups, "standing", lambda: "not available: for a test")
    choice = select_sandbox.choose()
    assert choice.runner is not None
    with choice.runner as runner:
        assert Layer.GROUP not in runner.protection
        assert choice.level in ("full", "strong")


def test_a_group_that_is_refused_after_all_leaves_the_other_walls(monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*arguments: object) -> None:
        raise NoGroupsError("for a test")

    monkeypatch.setattr(control_groups, "standing", lambda: AVAILABLE)
    monkeypatch.setattr("graders.run.engines.runner.Group", refused)
    choice = select_sandbox.choose()
    assert choice.runner is not None
    with choice.runner as runner:
        assert Layer.GROUP not in runner.protection


@pytest.mark.parametrize("standing", [AVAILABLE, "not available: for a test"])
def test_doctor_says_where_control_groups_are_no_wall(
    standing: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(examination, "examine", lambda: iter(()))
    monkeypatch.setattr(control_groups, "standing", lambda: standing)
    monkeypatch.setattr("graders.run.sandbox.select_sandbox._grouped", lambda protection: [protection])
    main(["doctor", "--json"])
    assert json.loads(capsys.readouterr().out)["control_groups"] == standing
    main(["doctor"])
    assert (f"not used  control groups: {standing}\n" in capsys.readouterr().out) is (standing != AVAILABLE)
