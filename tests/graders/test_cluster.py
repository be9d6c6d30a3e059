"""A cluster runs what has to be run, loses nothing with its workers, and sets aside what ends them."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator, Sequence
from pathlib import Path
from types import SimpleNamespace

import dask
import pytest
from dask.utils import parse_timedelta

from gearkit.words.errors import GearkitError, UsageError
from graders.mark.submissions import Submission
from graders.mark.workers import cluster, own_cluster
from graders.mark.workers.cluster import Cluster, Job
from graders.run.remote import cluster_worker
from graders.run.remote.remote_protocol import Ran, Request, reply_from
from tests.graders.stand_ins import Echo


@pytest.fixture(scope="module")
def two_workers() -> Iterator[Cluster]:
    with cluster.connected("local:2", Echo) as found:
        yield found


def submissions(*names: str) -> list[Submission]:
    return [Submission(name, Path("nowhere") / name) for name in names]


def request_of(submission: Submission) -> Request | None:
    """The name is what it runs; "read" stands for what can be read."""
    return None if submission.learner.startswith("read") else Request((submission.learner,), ("setup",))


def answer_of(job: Job) -> str:
    assert job.reply is not None
    return job.reply.ran.run.frames[0].answers["cell"]["answer"] if job.reply.ran.run.frames else ""


def workers_of(jobs: list[Job]) -> set[str]:
    return {job.reply.ran.run.frames[0].answers["worker"]["answer"] for job in jobs if job.reply}


def test_what_can_be_read_is_not_sent(two_workers: Cluster) -> None:
    jobs = list(two_workers.jobs(submissions("read 1", "run 1", "read 2", "run 2"), request_of))
    assert {job.submission.learner: job.reply is None for job in jobs} == {
        "read 1": True,
        "run 1": False,
        "read 2": True,
        "run 2": False,
    }
    assert {answer_of(job) for job in jobs if job.reply} == {"run 1", "run 2"}


def test_each_request_is_answered_once_by_all_workers_together(two_workers: Cluster) -> None:
    names = [f"SLOW {number}" for number in range(60)]
    jobs = list(two_workers.jobs(submissions(*names), request_of))
    assert sorted(answer_of(job) for job in jobs) == sorted(names)
    assert len(workers_of(jobs)) == 2


def test_a_worker_that_is_killed_costs_no_answer_and_gives_none_twice(two_workers: Cluster) -> None:
    names = [f"SLOW {number}" for number in range(150)]
    jobs = two_workers.jobs(submissions(*names), request_of)
    got = [next(jobs) for _ in range(20)]
    victim = int(sorted(workers_of(got))[0])
    threading.Timer(0.2, os.kill, (victim, signal.SIGKILL)).start()
    got += jobs
    assert [answer_of(job) for job in sorted(got, key=lambda job: names.index(job.submission.learner))] == names
    assert len(workers_of(got)) >= 2


def test_workers_that_are_slow_to_come_back_are_waited_for(two_workers: Cluster, monkeypatch: pytest.MonkeyPatch) -> None:
    # As on a busy machine: new workers need longer than a cluster without any is given.
    monkeypatch.setattr(cluster, "NO_WORKERS_SECONDS", 0.0)
    names = [f"SLOW {number}" for number in range(60)]
    jobs = two_workers.jobs(submissions(*names), request_of)
    got = [next(jobs) for _ in range(20)]
    # Asked of those who look after them: on a busy machine one of them may have answered all so far.
    workers = [keeper.pid for keeper in two_workers._own.workers.values()]
    assert len(workers) == 2
    for worker in workers:
        os.kill(worker, signal.SIGKILL)
    got += jobs
    assert sorted(answer_of(job) for job in got) == sorted(names)


@pytest.mark.usefixtures("two_workers")
def test_a_worker_that_takes_long_to_start_anew_is_not_given_up() -> None:
    # After 15 s the library ended whoever looked after it, and none came back: 14 programs beside it were enough for that.
    for setting in ("deploy.lost-worker-timeout", "comm.timeouts.connect", "comm.timeouts.tcp"):
        assert parse_timedelta(dask.config.get(f"distributed.{setting}")) >= own_cluster.PATIENT_SECONDS
    assert dask.config.get("distributed.scheduler.worker-ttl") is None


@pytest.mark.parametrize(("own", "lost"), [("alive", False), ("starting", False), ("closed", True), ("", True)])
def test_a_cluster_without_workers_is_lost_only_when_no_process_of_theirs_lives(
    own: str,
    lost: bool,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(cluster, "NO_WORKERS_SECONDS", 0.0)
    keeper = SimpleNamespace(is_alive=lambda: own == "alive", status=SimpleNamespace(name=own))
    found = Cluster(SimpleNamespace(nthreads=dict), "local:1", SimpleNamespace(workers={0: keeper}) if own else None)
    found._last_worker -= 1.0
    if lost:
        with pytest.raises(GearkitError, match="it has no workers any more"):
            found._watch()
    else:
        found._watch()
        assert found._last_worker > found._last_news


def test_a_submission_that_kills_its_worker_is_set_aside_and_the_others_are_answered(two_workers: Cluster) -> None:
    names = [f"SLOW {number}" for number in range(30)]
    jobs = list(two_workers.jobs(submissions(*names[:10], "KILL it", *names[10:]), request_of))
    told = {job.submission.learner: job for job in jobs}
    assert len(told) == len(jobs) == 31
    aside = told.pop("KILL it").reply
    assert aside is not None
    assert aside.ran.run.reason == cluster.ASIDE
    assert (aside.ran.run.frames, aside.ran.run.complete) == ((), False)
    assert {name: answer_of(job) for name, job in told.items()} == {name: name for name in names}


def test_what_one_workers_machine_cannot_run_another_runs(two_workers: Cluster) -> None:
    names = [f"FULL DISC OF ONE {number}" for number in range(20)]
    jobs = list(two_workers.jobs(submissions(*names), request_of))
    assert sorted(answer_of(job) for job in jobs) == sorted(names)
    assert len(workers_of(jobs)) == 1
    # It is asked again later, and found well.
    jobs = list(two_workers.jobs(submissions(*[f"SLOW {number}" for number in range(60)]), request_of))
    assert len(workers_of(jobs)) == 2
    assert two_workers._ailing == set()


def test_a_worker_that_is_still_starting_is_waited_for(two_workers: Cluster, monkeypatch) -> None:
    # As on a busy machine: for its first answers the scheduler knows the worker alone whose machine can run nothing.
    client, asked = two_workers._client, []
    sick = next(address for address, worker in client.scheduler_info()["workers"].items() if worker["id"] == 0)

    def known() -> dict[str, int]:
        asked.append(1)
        return {sick: 1} if len(asked) <= 8 else client.__class__.nthreads(client)

    def only_there(*given, **options):
        return client.__class__.submit(
            client, *given, **options | ({"workers": [sick], "allow_other_workers": False} if len(asked) <= 8 else {})
        )

    monkeypatch.setattr(client, "nthreads", known)
    monkeypatch.setattr(client, "submit", only_there)
    jobs = list(two_workers.jobs(submissions("FULL DISC OF ONE 1"), request_of))
    assert [answer_of(job) for job in jobs] == ["FULL DISC OF ONE 1"]
    assert len(asked) > 8


def test_trouble_that_passes_costs_no_answer(two_workers: Cluster) -> None:
    names = [f"NOW AND THEN {number}" for number in range(10)]
    assert sorted(answer_of(job) for job in two_workers.jobs(submissions(*names), request_of)) == sorted(names)


def test_trouble_of_all_machines_stops_marking_and_is_laid_on_no_submission(two_workers: Cluster) -> None:
    jobs = two_workers.jobs(submissions("read 1", "FULL DISK"), request_of)
    assert next(jobs).reply is None
    with pytest.raises(
        GearkitError,
        match=r"^The cluster at local:2 can run nothing: No space left on device \(/tmp\) on its "
        r"worker tls://127.*What was marked until then is kept; mend this and go on with",
    ):
        list(jobs)


def test_a_worker_tells_trouble_of_its_machine_in_words() -> None:
    class Sick:
        def run(self, cells: Sequence[str], setup: Sequence[str]) -> Ran:
            raise faults[cells[0]]

        def close(self) -> None:
            pass

    faults = {
        "a": OSError(28, "No space left on device", "/tmp"),
        "b": MemoryError(),
        "c": OSError(11, "Try again"),
        "d": GearkitError("There is no room."),
    }
    here = cluster_worker.ClusterWorker(Sick)
    here.setup(SimpleNamespace(address="tls://a:1"))
    told = {cell: reply_from(here.run(Request((cell,), ()).packed())) for cell in faults}
    assert {cell: reply and (reply.trouble, reply.worker, reply.ran.run.reason) for cell, reply in told.items()} == {
        cell: (words, "tls://a:1", "no runner")
        for cell, words in (
            ("a", "No space left on device (/tmp)"),
            ("b", "MemoryError"),
            ("c", "Try again"),
            ("d", "There is no room."),
        )
    }


def test_the_own_cluster_listens_on_this_machine_only_and_asks_for_certificates(two_workers: Cluster) -> None:
    addresses = [str(name) for name in two_workers._client.nthreads()]
    assert all(address.startswith("tls://127.0.0.1:") for address in addresses)
    listening = {
        line.split()[1].split(":")[0]
        for line in Path("/proc/net/tcp").read_text().splitlines()[1:]
        if line.split()[3] == "0A" and _is_ours(line.split()[9])
    }
    assert listening <= {"0100007F"}


def _is_ours(inode: str) -> bool:
    for link in Path("/proc/self/fd").iterdir():
        try:
            if os.readlink(link) == f"socket:[{inode}]":
                return True
        except OSError:
            continue
    return False


@pytest.mark.parametrize("address", ["local:0", "local", "local:x", "nowhere", "http://a:1", "tls://a", "tls://a:1/x", ""])
def test_an_address_of_another_form_is_refused(address: str) -> None:
    with pytest.raises(UsageError, match="expected local:N"):
        cluster.check_address(address)


def test_a_cluster_without_certificates_needs_to_be_allowed() -> None:
    with pytest.raises(UsageError, match=r"no certificates.*--open-cluster"):
        cluster.check_address("tcp://marker.example:8786")
    cluster.check_address("tcp://marker.example:8786", open_cluster=True)
    cluster.check_address("tls://marker.example:8786")
    cluster.check_address("local:4")


def test_where_nobody_answers_it_is_said_plainly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, "CONNECT_SECONDS", 2.0)
    with pytest.raises(GearkitError, match="nobody answers there"), cluster.connected("tcp://127.0.0.1:9", Echo):
        pass


def test_without_the_package_the_command_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "distributed", None)
    with pytest.raises(GearkitError, match=r"pip install \"gearkit\[cluster\]\""), cluster.connected("local:2", Echo):
        pass
