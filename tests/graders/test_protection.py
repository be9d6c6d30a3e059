"""Every layer is attacked: the attack gets through without the layer and is refused behind it."""

from __future__ import annotations

import json
import os
import struct
import sys
from pathlib import Path

import pytest

from graders.cli import main
from graders.run.engines import cells, reply_protocol
from graders.run.engines.runner import Runner
from graders.run.sandbox import call_filter, examination, kernel_calls, layers, select_sandbox
from graders.run.sandbox.examination import Finding
from graders.run.sandbox.layers import Layer, Limits, Protection


@pytest.fixture(scope="module")
def findings() -> list[Finding]:
    return list(examination.examine())


def test_every_wall_is_attacked(findings: list[Finding]) -> None:
    assert {finding.layer for finding in findings} == set(Layer) - {Layer.USER_NAMESPACE}


def test_every_attack_gets_through_where_its_wall_is_missing(findings: list[Finding]) -> None:
    assert [(finding.layer, finding.attack) for finding in findings if finding.without != "open"] == []


def test_no_wall_that_can_be_built_here_lets_its_attack_through(findings: list[Finding]) -> None:
    assert [(finding.layer, finding.attack) for finding in findings if finding.behind == "open"] == []


@pytest.mark.parametrize(("user", "needs"), [(0, set()), (1000, {Layer.PRIVILEGES})])
def test_walls_that_need_the_gain_of_rights_given_up_are_examined_with_it(
    user: int,
    needs: set[Layer],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # As an ordinary user these two could not be built without it, and doctor said that they were not here.
    monkeypatch.setattr(examination.os, "geteuid", lambda: user)
    met: list[frozenset[Layer]] = []

    class Ground(examination._Ground):
        def outcome(self, attack: examination._Attack, layers: frozenset[Layer]) -> str:
            met.append(layers)
            return "closed" if attack.layer in layers else "open"

    attacked = [
        attack
        for attack in examination._attacks("x", 1, 1)
        if attack.layer in (Layer.LANDLOCK, Layer.FILTER, Layer.KERNEL_FILTER)
    ]
    assert {attack.layer for attack in attacked} == {Layer.LANDLOCK, Layer.FILTER, Layer.KERNEL_FILTER}
    assert all(examination._finding(attack, Ground()).holds for attack in attacked)
    assert met == [frozenset({*needs, *layer}) for attack in attacked for layer in ((), (attack.layer,))]


@pytest.mark.parametrize(
    ("spans", "many"),
    [
        ("         0          0 4294967295\n", True),
        ("0 100000 65536\n", False),
        ("0 1000 1\n1 100000 65536\n", False),
        ("", False),
    ],
)
def test_no_two_warm_processes_share_a_user_where_there_are_enough(
    spans: str,
    many: bool,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(Path, "read_text", lambda path: spans)
    users = layers.MANY_USERS if many else layers.FEW_USERS
    of = {process: set(layers.users_of(process)) for process in (1, 2, 251, 4_194_304)}
    assert all(number in users for one in of.values() for number in one)
    assert of[1].isdisjoint(of[2])
    assert of[1].isdisjoint(of[251]) is many
    assert not many or of[1].isdisjoint(of[4_194_304])


def test_the_level_that_is_chosen_refuses_every_attack() -> None:
    choice = select_sandbox.choose()
    assert choice.runner is not None, "this machine runs no learner code: see graders doctor"
    with choice.runner as runner:
        assert select_sandbox.open_ways(runner) == []
        assert choice.level in ("full", "strong")


@pytest.mark.skipif(kernel_calls.landlock_version() <= 0, reason="this kernel has no landlock")
def test_landlock_is_among_the_walls_that_are_chosen_where_the_kernel_has_it() -> None:
    choice = select_sandbox.choose()
    assert choice.runner is not None
    with choice.runner as runner:
        assert Layer.LANDLOCK in runner.protection


def test_a_submission_finds_nothing_open_but_its_reply_and_its_own_loop() -> None:
    cell = (
        "import os, stat\nfound = []\nfor number in range(4096):\n    try:\n        mode = os.fstat(number).st_mode\n"
        "    except OSError:\n        continue\n"
        "    found.append('folder' if stat.S_ISDIR(mode) else 'file' if stat.S_ISREG(mode) else number)\nanswer('a', found)"
    )
    choice = select_sandbox.choose()
    assert choice.runner is not None
    with choice.runner as runner:
        assert runner.run([cell]).frames[0].answers == {"a": {"answer": "0, 1, 2, 3, 4, 5, 6"}}


def test_limits_alone_let_every_attack_through_and_are_not_chosen_by_themselves() -> None:
    with Runner(select_sandbox.LIMITS_ONLY, preload=()) as runner:
        assert select_sandbox.open_ways(runner) == list(select_sandbox._MUST_BE_CLOSED["warm"])
    assert not select_sandbox.LIMITS_ONLY.holds


def test_without_a_level_that_holds_learner_code_is_not_run(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(select_sandbox, "LEVELS", ())
    choice = select_sandbox.choose()
    assert (choice.runner, choice.level) == (None, "none: learner code was not run")
    allowed = select_sandbox.choose(unprotected=True)
    assert allowed.runner is not None
    assert allowed.level == "limits only"


@pytest.mark.parametrize(
    "protection", select_sandbox.LEVELS, ids=lambda protection: f"{protection.level} {len(protection.layers)}"
)
def test_a_level_that_can_be_built_holds(protection: Protection) -> None:
    needs_root = Layer.ROOT in protection and Layer.USER_NAMESPACE not in protection
    with Runner(protection, preload=()) as runner:
        found = select_sandbox.open_ways(runner)
    assert found in ([], ["no answer"])
    if os.geteuid() == 0 or not needs_root:
        assert found == []


def test_doctor_says_what_holds(capsys: pytest.CaptureFixture[str]) -> None:
    code = main(["doctor", "--json"])
    told = json.loads(capsys.readouterr().out)
    assert code == (0 if told["runs_learner_code"] else 1)
    assert {layer["wall"] for layer in told["walls"]} == {str(layer) for layer in Layer} - {str(Layer.USER_NAMESPACE)}


def test_the_course_is_hidden_even_inside_a_folder_that_can_be_read(tmp_path: Path) -> None:
    inside = Path(sys.prefix) / f"gearkit-test-{os.getpid()}"
    inside.mkdir()
    try:
        (inside / "key.txt").write_text("x")
        cell = f"answer('a', open({str(inside / 'key.txt')!r}).read())"
        full = next(protection for protection in select_sandbox._possible("warm"))
        with Runner(full, hidden=[inside], preload=()) as runner:
            assert runner.run([cell]).frames[0].fault in ("PermissionError", "FileNotFoundError")
    finally:
        (inside / "key.txt").unlink()
        inside.rmdir()


def test_a_runner_that_is_killed_is_started_anew_and_the_job_done() -> None:
    with Runner(select_sandbox.LIMITS_ONLY, preload=()) as runner:
        assert runner.run(["answer('a', 1)"]).complete
        assert runner._warm is not None
        runner._warm.process.kill()
        assert runner.run(["answer('a', 2)"]).frames[0].answers == {"a": {"answer": "2"}}


def test_a_job_that_always_kills_its_runner_is_given_up() -> None:
    with Runner(select_sandbox.LIMITS_ONLY, preload=()) as runner:
        run = runner.run(["import os, signal\nos.kill(os.getppid(), signal.SIGKILL)"])
    assert (run.frames, run.complete, run.reason) == ((), False, "no runner")


def test_nothing_of_one_submission_is_left_for_the_next() -> None:
    first = "import builtins, sys\nbuiltins.left = sys.left = 1\nleft = 1\nopen('left', 'w').write('x')"
    second = (
        "import builtins, os, sys\nanswer('a', str([hasattr(builtins, 'left'), hasattr(sys, 'left'), "
        "'left' in globals(), os.path.exists('left')]))"
    )
    choice = select_sandbox.choose()
    assert choice.runner is not None
    with choice.runner as runner:
        runner.run([first])
        assert runner.run([second]).frames[0].answers == {"a": {"answer": "[False, False, False, False]"}}


def test_the_time_of_a_submission_is_bounded() -> None:
    with Runner(select_sandbox.LIMITS_ONLY, Limits(cell_seconds=30, seconds=1.0), preload=()) as runner:
        run = runner.run(["answer('a', 1)", "while True: pass", "answer('b', 1)"])
    assert (run.reason, run.complete) == ("time", False)
    assert run.frames[0].answers == {"a": {"answer": "1"}}
    assert run.seconds < 4


# On one line with its `while` the `pass` would lie outside what the try covers, and an interruption end the cell.
HOLDS_OUT = "while True:\n    try:\n        while True:\n            pass\n    except BaseException:\n        pass"


def test_a_cell_that_catches_every_interruption_is_ended_after_as_long_again() -> None:
    choice = select_sandbox.choose(Limits(cell_seconds=0.4, seconds=60.0))
    assert choice.runner is not None
    with choice.runner as runner:
        run = runner.run(["answer('a', 1)", HOLDS_OUT, "answer('b', 1)"])
        # The same end said sooner than a cell's time is nobody's but its own code's.
        forged = runner.run(["answer('a', 1)", "import os\nos._exit(71)"])
        # One that catches a few interruptions and comes to an end goes on.
        catches = f"left = 3\n{HOLDS_OUT[:-4]}left -= 1".replace("while True", "while left", 1)
        patient = runner.run([catches, "answer('b', 1)"])
    assert (run.reason, run.complete) == ("time", False)
    assert [frame.answers for frame in run.frames] == [{"a": {"answer": "1"}}]
    # Not the submission's time, which is what it took before: a minute.
    assert run.seconds < 20
    assert (forged.reason, forged.complete) == ("died", False)
    assert patient.complete
    assert patient.frames[1].answers == {"b": {"answer": "1"}}


@pytest.mark.parametrize("machine", ["x86_64", "aarch64"])
def test_the_filter_refuses_each_call_once_and_ends_in_permission(machine: str) -> None:
    program = call_filter.program(machine)
    steps = [struct.unpack("HBBI", program[at : at + 8]) for at in range(0, len(program), 8)]
    assert steps[-1] == (0x06, 0, 0, 0x7FFF0000)
    numbers = call_filter.refused_numbers(machine)
    assert len(set(numbers)) == len(numbers)
    for number in numbers:
        at = steps.index((0x15, 0, 1, number))
        assert steps[at + 1] == (0x06, 0, 0, 0x00050001)


def test_no_filter_is_made_for_an_unknown_machine() -> None:
    with pytest.raises(OSError, match="no filter of system calls for z80"):
        call_filter.program("z80")


def frame(**changes: object) -> bytes:
    return reply_protocol.packed({"cell": 0, "answers": {"a": {"answer": "1"}}, "fault": "", "last": False, **changes})


GOOD = frame()


@pytest.mark.parametrize(
    "bad",
    [
        frame(cell=-1),
        frame(cell=True),
        frame(cell="0"),
        frame(answers=[1]),
        frame(fault=None),
        frame(last=1),
        reply_protocol.packed([1]),
        struct.pack("<I", 5) + b"{not}",
        struct.pack("<I", 9_999_999) + b"{}",
        b"\x01",
        b"",
        struct.pack("<I", 200_000) + b"[" * 200_000,
        struct.pack("<I", 2) + b"\xff\xfe",
    ],
)
def test_reading_a_reply_stops_at_the_first_frame_of_another_form(bad: bytes) -> None:
    assert next(reply_protocol.frames(GOOD + bad + GOOD)).answers == {"a": {"answer": "1"}}
    assert len(list(reply_protocol.frames(GOOD + bad + GOOD))) == (2 if bad == b"" else 1)


def test_answers_in_a_frame_are_cut_to_size_and_form() -> None:
    wild = {"a": {"answer": "x" * 10**6, "n": 3, "\ud800": "\ud800"}, "b": 7, "c" * 100: {"answer": "1"}}
    wild |= {f"q{number}": {"answer": "1"} for number in range(1000)}
    kept = reply_protocol.bounded(wild)
    assert len(kept) <= reply_protocol.MOST_ITEMS
    assert len(kept["a"]["answer"]) == reply_protocol.LONGEST_TEXT
    assert "n" not in kept["a"]
    assert "b" not in kept
    assert "c" * 100 not in kept
    json.dumps(kept, ensure_ascii=False).encode("utf-8")


@pytest.mark.parametrize(
    ("passed", "used", "left"),
    [
        # Two other programs on the same processor: a third of the time on the clock was the cell's.
        (5.0, 1.7, 3.3),
        # Alone it had all of it, and whoever waits has their time by the clock.
        (5.0, 5.0, 0.0),
        (5.0, 0.0, 0.0),
        (5.0, 0.4, 0.0),
        # However busy the machine is, there is an end.
        (13.0, 2.0, 2.0),
        (15.0, 2.0, 0.0),
    ],
)
def test_a_cell_that_others_keep_from_the_processor_gets_its_time(
    monkeypatch: pytest.MonkeyPatch, passed: float, used: float, left: float
) -> None:
    monkeypatch.setattr(cells._Alarms, "come", 0)
    for name, value in {"seconds": 5.0, "began": 100.0, "used": 7.0}.items():
        monkeypatch.setattr(cells._Alarms, name, value)
    monkeypatch.setattr(cells.time, "monotonic", lambda: 100.0 + passed)
    monkeypatch.setattr(cells.time, "process_time", lambda: 7.0 + used)
    set_to: list[tuple[float, float]] = []
    monkeypatch.setattr(cells.signal, "setitimer", lambda _, first, again: set_to.append((first, again)))
    if left:
        cells._out_of_time(0, None)
        assert set_to == [(pytest.approx(left), 5.0 * cells.AGAIN)]
        assert cells._Alarms.come == 0
    else:
        with pytest.raises(cells.CellTimeout, match="longer than allowed"):
            cells._out_of_time(0, None)
        assert set_to == []


def test_a_cell_that_only_waits_is_ended_by_the_clock() -> None:
    choice = select_sandbox.choose(Limits(cell_seconds=0.4, seconds=60.0))
    assert choice.runner is not None
    with choice.runner as runner:
        run = runner.run(["import time\ntime.sleep(30)", "answer('b', 1)"])
    assert run.complete
    assert (run.frames[0].fault, run.frames[1].answers) == ("CellTimeout", {"b": {"answer": "1"}})
    assert run.seconds < 15
