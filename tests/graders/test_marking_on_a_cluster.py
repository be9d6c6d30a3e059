"""A class marked with the help of a cluster has the same marks, to the byte, as one marked here alone."""

from __future__ import annotations

import json
import logging
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import dask
import pytest
from distributed import Client, LocalCluster
from distributed.security import Security

from gearkit.answers.draw_numbers.variants import Variant
from gearkit.words.errors import GearkitError
from graders.book import gradebook
from graders.cli import main
from graders.course.roster import Learner, Roster
from graders.mark import batch
from graders.mark.workers import cluster, worker
from graders.mark.workers.worker import Settings
from graders.run.sandbox.layers import Limits
from tests.graders.classroom import Classroom, blank, computed, right, wrong
from tests.graders.stand_ins import Killable, Sick
from tests.hostile.cases import code_cell
from tests.support.amounts import amount

SIZE = amount(24, 12)
LIMITS = Limits(cell_seconds=1.0, seconds=5.0)


def mistaken(variant: Variant) -> str:
    """A cell that has to be run and fails."""
    return f"{computed(variant)}\n1/0"


def programs(variant: Variant) -> str:
    """A cell that needs a full kernel."""
    return f"told = !echo 1\n{computed(variant)}"


WAYS = (right, computed, wrong, mistaken, blank, programs)


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Classroom:
    roster = Roster(tuple(Learner(f"s{number:02d}", f"Learner {number}") for number in range(SIZE)))
    found = Classroom(tmp_path_factory.mktemp("cluster"), "L03-02,L03-05,L03-06", roster=roster)
    for number, learner in enumerate(roster):
        found.hand_in(learner.id, found.copy(learner.id, WAYS[number % len(WAYS)]))
    found.hand_in("s05", b"{damaged")
    book = found.copy("s07", computed)
    # It is ended by its time like a loop, and leaves the processor to the others meanwhile.
    book["cells"].append(code_cell("import time; time.sleep(1000)"))
    found.hand_in("s07", book)
    return found


def mark(room: Classroom, **how: object) -> bytes:
    batch.mark_sheet(room.course, room.sheet, settings=Settings(limits=LIMITS), **how)
    return room.course.marks_file("A1").read_bytes()


@pytest.fixture(scope="module")
def alone(room: Classroom) -> bytes:
    return mark(room, workers=1)


def booked(room: Classroom) -> dict[str, float]:
    """The scores in the gradebook; each learner has one copy of the sheet there."""
    with gradebook.opened(room.course) as book:
        copies = book.assignment_submissions("A1")
        assert len({copy.student_id for copy in copies}) == len(copies)
        return {copy.student_id: copy.score for copy in copies}


@dataclass(frozen=True)
class Sent:
    """What a cluster was sent when it was given the whole class, and what then stood in the gradebook."""

    requests: list[bytes]
    booked: dict[str, float]


@pytest.fixture(scope="module")
def sent(room: Classroom, alone: bytes) -> Sent:
    """The whole class is marked on a cluster, as one process alone does, with nobody's marks in the gradebook before."""
    requests: list[bytes] = []
    with gradebook.opened(room.course) as book:
        for copy in book.assignment_submissions("A1"):
            book.remove_submission("A1", copy.student_id)
    assert booked(room) == {}
    send = cluster.Cluster._send

    def noted(self: cluster.Cluster, submission: object, request: cluster.Request, tries: int) -> None:
        requests.append(request.packed())
        send(self, submission, request, tries)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(cluster.Cluster, "_send", noted)
        assert mark(room, cluster="local:2") == alone
    # Marking without a cluster goes on in this room, so the book is read here.
    return Sent(requests, booked(room))


def test_the_mark_sheet_is_the_same_to_the_byte(alone: bytes, sent: Sent) -> None:
    # Of twelve five have to be run; the marks were compared when they were sent.
    assert len(sent.requests) >= SIZE // 3
    told = json.loads(alone)
    assert told["sandbox"] == "full, full, in a Jupyter kernel"
    assert {item["way"] for one in told["learners"] for item in one["items"]} == {"read", "run", "none"}


@pytest.mark.slow
def test_marking_here_in_several_processes_beside_the_cluster_gives_the_same(room: Classroom, alone: bytes) -> None:
    assert mark(room, cluster="local:1", workers=2) == alone


@pytest.mark.slow
def test_a_worker_that_is_killed_while_a_class_is_marked_changes_no_mark(room: Classroom, alone: bytes) -> None:
    killed = []

    def kill(progress: batch.Progress) -> None:
        if progress.done == 4 and not killed:
            killed.append(_some_worker())
            os.kill(killed[0], signal.SIGKILL)

    assert mark(room, cluster="local:2", report=kill) == alone
    assert killed


def _some_worker() -> int:
    """The number of a worker process that we started: a child's child that is told apart by its program."""
    mine = _children(os.getpid())
    return min(one for one in mine if b"spawn_main" in Path(f"/proc/{one}/cmdline").read_bytes())


def _children(process: int) -> list[int]:
    return [
        int(number) for task in Path(f"/proc/{process}/task").iterdir() for number in (task / "children").read_text().split()
    ]


def test_a_submission_that_kills_its_workers_keeps_what_can_be_read_and_the_others_their_marks(
    room: Classroom,
    alone: bytes,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    book = room.copy("s03", right)
    book["cells"].append(code_cell("for _ in 'x': print('KILL')"))
    before = room.copy("s03", WAYS[3])
    room.hand_in("s03", book)
    real = worker.engines_for
    monkeypatch.setattr(batch, "engines_for", lambda course, settings: partial(Killable, real(course, settings)))
    try:
        told = json.loads(mark(room, cluster="local:2"))
    finally:
        room.hand_in("s03", before)
    mine = next(one for one in told["learners"] if one["learner"] == "s03")
    others = [one for one in told["learners"] if one["learner"] != "s03"]
    assert others == [one for one in json.loads(alone)["learners"] if one["learner"] != "s03"]
    assert mine["score"] == mine["max"]
    assert {item["way"] for item in mine["items"]} == {"read"}
    assert any(cluster.ASIDE in flag for flag in mine["flags"]), mine["flags"]


def test_a_worker_with_a_full_disk_changes_no_mark_and_two_stop_marking_with_a_reason(
    room: Classroom,
    alone: bytes,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    real, sick = worker.engines_for, [0, 1]
    monkeypatch.setattr(batch, "engines_for", lambda course, settings: partial(Sick, real(course, settings), sick))
    room.course.marks_file("A1").unlink()
    with pytest.raises(GearkitError, match=r"local:2 can run nothing: No space left on device.*go on with --resume"):
        mark(room, cluster="local:2")
    assert not room.course.marks_file("A1").exists()
    sick.pop()
    assert mark(room, cluster="local:2", resume=True) == alone


@pytest.mark.slow
def test_nothing_but_sources_of_cells_is_sent(room: Classroom, sent: Sent) -> None:
    everything = b"".join(sent.requests)
    secret = room.course.secret()
    assert everything
    for hidden in (b"s01", b"Learner", secret, secret.hex().encode(), str(room.course.folder).encode()):
        assert hidden not in everything


def test_what_was_marked_before_is_not_sent_again(room: Classroom, alone: bytes) -> None:
    mark(room, workers=1)
    started = time.monotonic()
    # With nothing left to do no cluster is started, and none that does not exist is asked.
    assert mark(room, cluster="tcp://127.0.0.1:9", resume=True) == alone
    assert time.monotonic() - started < 5


def test_the_gradebook_holds_each_mark_once(alone: bytes, sent: Sent) -> None:
    assert sent.booked == {one["learner"]: one["score"] for one in json.loads(alone)["learners"]}
    assert len(sent.booked) == SIZE


@pytest.mark.slow
def test_the_command_marks_on_a_cluster_and_says_nothing_but_its_own_words(
    room: Classroom,
    alone: bytes,
) -> None:
    command = [sys.executable, "-m", "graders.cli", "mark", str(room.course.folder), "A1", "--cluster", "local:2"]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=120)
    assert done.returncode == 1, done.stderr
    assert f"{SIZE - 1} of {SIZE} submissions marked" in done.stdout
    assert "Traceback" not in done.stderr
    assert "distributed" not in done.stderr


def test_the_command_refuses_an_address_that_it_cannot_use(room: Classroom, capsys: pytest.CaptureFixture[str]) -> None:
    for address, words in (("local:many", "expected local:N"), ("tcp://127.0.0.1:9", "no certificates")):
        assert main(["mark", str(room.course.folder), "A1", "--cluster", address]) == 2
        assert words in capsys.readouterr().err


@pytest.mark.slow
def test_a_cluster_that_is_gone_stops_marking_and_keeps_what_was_marked(room: Classroom, alone: bytes) -> None:
    ended = threading.Event()

    def stop(progress: batch.Progress) -> None:
        if progress.done == 6:
            ended.set()
            raise GearkitError("stopped by the test")

    (room.course.folder / "marks" / "A1.json").unlink()
    with pytest.raises(GearkitError, match="stopped by the test"):
        mark(room, cluster="local:2", report=stop)
    assert ended.is_set()
    assert mark(room, cluster="local:2", resume=True) == alone


def certificates(folder: Path, security: Security) -> dict[str, str]:
    """Settings of dask that name certificates; they are written into a folder."""
    folder.mkdir()
    settings = {}
    for name, key in (("tls_ca_file", "ca-file"), ("tls_client_cert", "client.cert"), ("tls_client_key", "client.key")):
        (folder / name).write_text(getattr(security, name))
        settings[f"distributed.comm.tls.{key}"] = str(folder / name)
    return settings


@pytest.fixture
def others() -> Iterator[LocalCluster]:
    with LocalCluster(
        n_workers=2,
        threads_per_worker=2,
        security=Security.temporary(),
        silence_logs=logging.CRITICAL,
        dashboard_address="127.0.0.1:0",
    ) as found:
        yield found


@pytest.mark.slow
def test_a_cluster_of_others_is_reached_with_its_certificates_and_not_without(
    room: Classroom,
    alone: bytes,
    tmp_path: Path,
    others: LocalCluster,
) -> None:
    assert others.scheduler_address.startswith("tls://")
    with pytest.raises(GearkitError, match="no certificate for it"):
        mark(room, cluster=others.scheduler_address)
    with (
        dask.config.set(certificates(tmp_path / "strangers", Security.temporary())),
        pytest.raises(GearkitError, match="do the certificates"),
    ):
        mark(room, cluster=others.scheduler_address)
    with dask.config.set(certificates(tmp_path / "own", others.security)):
        assert mark(room, cluster=others.scheduler_address) == alone


@pytest.mark.slow
def test_a_cluster_that_ends_while_it_is_used_is_told_and_nothing_is_lost(
    room: Classroom,
    alone: bytes,
    tmp_path: Path,
    others: LocalCluster,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def end(progress: batch.Progress) -> None:
        if progress.done == 5:
            others.close(timeout=5)

    def leave_in_trouble(client: Client) -> None:
        # Seen now and then where the library was just about to connect again. Once: the client is closed again as it goes.
        left.append(client)
        leave(client)
        if len(left) == 1:
            raise ValueError("IOStream is not idle; cannot convert to SSL")

    leave, left = Client.close, list[Client]()
    monkeypatch.setattr(Client, "close", leave_in_trouble)
    (room.course.folder / "marks" / "A1.json").unlink()
    with (
        dask.config.set(certificates(tmp_path / "own", others.security)),
        pytest.raises(GearkitError, match=r"was lost.*What was marked until then is kept"),
    ):
        mark(room, cluster=others.scheduler_address, report=end)
    assert mark(room, workers=1, resume=True) == alone
