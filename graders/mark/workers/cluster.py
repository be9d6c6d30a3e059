"""Lets other machines run what has to be run: a task for each such notebook, on dask.distributed.

What can be read is read here, which takes less time than sending it. Only sources of cells leave this machine, and only
texts of answers come back; the key, the learners' numbers, the comparison and the gradebook stay here, and each mark is
written once, by whoever marks here. A worker that dies costs nothing but time: its tasks are done by another. Where
one submission was there each time when a worker died, it is tried once more, alone; if that ends a worker too, it is
set aside and the others never feel it. A worker whose machine can run nothing, being full for instance, says so, and its
tasks are done by another; where none can do them marking stops, for that is no submission's fault.

A cluster without certificates takes code from everybody who can reach it and sends everything in the open; one's own
on this machine (`local:N`) gets certificates that last as long as the marking.
"""

from __future__ import annotations

import contextlib
import logging
import queue
import re
import socket
import time
import uuid
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from gearkit.words.errors import GearkitError, UsageError
from graders.mark.submissions import Submission
from graders.mark.workers import own_cluster
from graders.run.engines.runner import Run
from graders.run.remote.remote_protocol import Ran, Reply, Request, reply_from

_LOCAL = re.compile(r"local:([1-9]\d{0,2})")
_ADDRESS = re.compile(r"(tls|tcp)://[^\s/]+:\d{1,5}")
CONNECT_SECONDS = 15.0
NO_WORKERS_SECONDS = 120.0
LOOK_SECONDS = 5.0
# Longer than a submission's time, a runner's start and the cluster's own patience with a silent worker together.
SILENCE_SECONDS = 900.0
TRIES = 4
# Where another worker is well, or still starting: on a busy machine that takes its time, and the one that fails is idle until then.
PATIENT_TRIES, PAUSE_SECONDS = 120, 0.05
FOR_EACH_THREAD = 5
_Key = tuple[str, int]
ASIDE = "running it ended a worker of the cluster again and again, also alone; it was set aside, please look at it yourself"
MISSING = (
    "Marking on a cluster needs the packages `distributed` and `cryptography`. Install them with: pip install "
    '"gearkit[cluster]"'
)


@dataclass(frozen=True)
class Job:
    """A submission to mark, with what came of running it elsewhere.

    Args:
        submission: the submission.
        reply: what came back, None where nothing had to be run.
    """

    submission: Submission
    reply: Reply | None = None


@dataclass(frozen=True)
class _Flight:
    """A request that was sent."""

    submission: Submission
    request: Request
    future: Any
    tries: int


def check_address(address: str, *, open_cluster: bool = False) -> None:
    """Check how a cluster is named.

    Args:
        address: "local:N", or a scheduler's address such as "tls://marker.example:8786".
        open_cluster: allow one without certificates.

    Raises:
        UsageError: it has another form, or it is open and may not be.
    """
    if _LOCAL.fullmatch(address):
        return
    if not _ADDRESS.fullmatch(address):
        raise UsageError(
            f"--cluster {address}: expected local:N for N workers on this machine, or a scheduler's "
            "address such as tls://marker.example:8786."
        )
    if address.startswith("tcp://") and not open_cluster:
        raise UsageError(
            f"--cluster {address}: this cluster has no certificates. Whoever can reach it can run code on "
            "it, read what the class handed in, and make up answers. Use a tls:// address, or allow it "
            "with --open-cluster if nobody else is on its network."
        )


@contextlib.contextmanager
def connected(address: str, make_engines: Callable[[], Any]) -> Iterator[Cluster]:
    """Connect to a cluster, or start one on this machine, and set up each of its workers.

    Args:
        address: "local:N", or a scheduler's address.
        make_engines: makes what runs notebooks; called on the workers, so it has to be a plain function with its values.

    Raises:
        GearkitError: `distributed` is not installed, nobody answers, or the workers have another kit.
    """
    try:
        import distributed
    except ImportError:
        raise GearkitError(MISSING) from None
    with contextlib.ExitStack() as stack:
        stack.enter_context(_quiet())
        client, own = stack.enter_context(_client(distributed, address))
        cluster = Cluster(client, address, own)
        stack.callback(cluster.leave)
        cluster.set_up(make_engines)
        yield cluster


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """Keep the cluster's own log off the screen; what matters is said by the marker in its own words."""
    names = ("distributed", "asyncio", "tornado")
    before = {name: logging.getLogger(name).level for name in names}
    try:
        for name in names:
            logging.getLogger(name).setLevel(logging.CRITICAL + 1)
        yield
    finally:
        for name, level in before.items():
            logging.getLogger(name).setLevel(level)


@contextlib.contextmanager
def _client(distributed: Any, address: str) -> Iterator[tuple[Any, Any]]:
    """A connection, and the cluster where it is one's own."""
    local, own = _LOCAL.fullmatch(address), None
    with contextlib.ExitStack() as stack:
        try:
            if local:
                place = own = stack.enter_context(own_cluster.started(distributed, int(local[1])))
            else:
                place = address
                _knock(address)
            client = distributed.Client(
                place, timeout=own_cluster.PATIENT_SECONDS if local else CONNECT_SECONDS, set_as_default=False
            )
        except ImportError:
            raise GearkitError(MISSING) from None
        except (OSError, TimeoutError, ValueError, TypeError, RuntimeError) as fault:
            raise GearkitError(
                f"--cluster {address}: nobody answers there who can be talked to "
                f"({_first_line(fault)}). Is the scheduler running, and do the certificates in the "
                "settings of dask fit?"
            ) from None
        stack.callback(_part, client)
        yield client, own


def _part(side: Any) -> None:
    """Close our side of a cluster; one that is gone may raise on it, which says nothing that is not known by then."""
    with contextlib.suppress(Exception):
        side.close()


def _knock(address: str) -> None:
    """See whether somebody answers, and with certificates that fit; a client that fails on it takes long to end."""
    from distributed.security import Security

    kind, place = address.split("://")
    host, port = place.rsplit(":", 1)
    with socket.create_connection((host.strip("[]"), int(port)), CONNECT_SECONDS) as line:
        if kind == "tls":
            context = Security().get_connection_args("client")["ssl_context"]
            if context is None:
                raise ValueError("this machine has no certificate for it")
            context.wrap_socket(line).close()


class Cluster:
    """A connection to a cluster whose workers run notebooks.

    Args:
        client: the connection, of `distributed`.
        address: how the user named it, for messages.
        own: the cluster itself where it was started here, None elsewhere.
    """

    def __init__(self, client: Any, address: str, own: Any = None) -> None:
        self._client, self._address, self._own = client, address, own
        self._group = f"gearkit-{uuid.uuid4().hex}"
        self._flying: dict[_Key, _Flight] = {}
        self._landed: queue.SimpleQueue[_Key] = queue.SimpleQueue()
        self._count = 0
        self._room, self._asked_room = FOR_EACH_THREAD, 0.0
        # Workers whose machine could run nothing when it was last tried.
        self._ailing: set[str] = set()
        self._last_news = self._last_worker = time.monotonic()

    def set_up(self, make_engines: Callable[[], Any]) -> None:
        """Make each worker one that runs notebooks, now and whenever a new one comes."""
        from graders.run.remote import cluster_worker

        try:
            self._wait_for_a_worker()
            self._client.register_plugin(cluster_worker.ClusterWorker(make_engines))
            versions = set(self._client.run(cluster_worker.kit_version).values())
        except Exception as fault:
            # Whatever a worker raises here, it has another kit than this machine, or none.
            raise GearkitError(
                f"--cluster {self._address}: its workers cannot be set up ({_first_line(fault)}). Is "
                f"there a worker, and has each of them gearkit {cluster_worker.kit_version()}?"
            ) from None
        self._compare(versions)

    def _wait_for_a_worker(self) -> None:
        give_up = time.monotonic() + (own_cluster.PATIENT_SECONDS if self._own is not None else CONNECT_SECONDS)
        while True:
            left = give_up - time.monotonic()
            try:
                self._client.wait_for_workers(1, timeout=max(0.1, min(LOOK_SECONDS, left)))
                return
            except TimeoutError:
                if left <= LOOK_SECONDS or not (self._own is None or own_cluster.lives(self._own)):
                    raise

    def leave(self) -> None:
        """Leave the workers as they were."""
        from graders.run.remote import cluster_worker

        with contextlib.suppress(Exception):
            self._client.unregister_worker_plugin(cluster_worker.NAME)

    def jobs(self, todo: Iterable[Submission], what_to_run: Callable[[Submission], Request | None]) -> Iterator[Job]:
        """Let run what has to be run; jobs come in the order in which they are ready to be marked.

        Args:
            todo: the submissions.
            what_to_run: what has to be run of a submission, None where it can be read.
        """
        suspects: list[_Flight] = []
        for submission in todo:
            request = what_to_run(submission)
            if request is None:
                yield Job(submission)
                continue
            while len(self._flying) >= self._room_now():
                yield from self._next(suspects)
            self._send(submission, request, 1)
        while self._flying:
            yield from self._next(suspects)
        for suspect in suspects:
            # Alone: whatever ends a worker now is this one's doing.
            again: list[_Flight] = []
            self._send(suspect.submission, suspect.request, 1)
            while self._flying:
                yield from self._next(again)
            for job in again:
                yield Job(job.submission, Reply(Ran(Run((), False, ASIDE, 0.0), ""), job.request.digest, ""))

    def _send(self, submission: Submission, request: Request, tries: int, workers: Collection[str] = ()) -> None:
        """Send a request, to one of these workers as long as any of them is there."""
        from graders.run.remote import cluster_worker

        self._count += 1
        # Tasks of one group wait at the scheduler until a worker is free, so that few are there when one is lost.
        key = (self._group, self._count)
        with self._talking():
            future = self._client.submit(
                cluster_worker.run_here,
                request.packed(),
                key=key,
                pure=False,
                workers=list(workers) or None,
                allow_other_workers=bool(workers),
            )
        self._flying[key] = _Flight(submission, request, future, tries)
        future.add_done_callback(lambda done: self._landed.put(done.key))

    def _next(self, suspects: list[_Flight]) -> Iterator[Job]:
        """The job of the next request that landed; one that ended workers goes to the suspects."""
        try:
            key = self._landed.get(timeout=1.0)
        except queue.Empty:
            self._watch()
            return
        self._last_news = time.monotonic()
        flight = self._flying.pop(key)
        status = flight.future.status
        reply = self._reply_to(flight) if status == "finished" else None
        if reply is not None and reply.trouble:
            self._send_elsewhere(flight, reply)
        elif reply is not None:
            self._ailing.discard(reply.worker)
            yield Job(flight.submission, reply)
        elif status == "cancelled":
            raise self._lost("it no longer knows what it was asked")
        elif status == "error" or flight.tries >= TRIES:
            suspects.append(flight)
        else:
            # The answer was still on the worker that was lost.
            self._send(flight.submission, flight.request, flight.tries + 1)

    def _send_elsewhere(self, flight: _Flight, reply: Reply) -> None:
        """Send a request again that a worker's machine could not run, to workers that are well while there are any.

        Raises:
            GearkitError: none of them could run it.
        """
        self._ailing.add(reply.worker)
        with self._talking():
            there = set(self._client.nthreads())
        well = there - self._ailing
        if flight.tries >= (PATIENT_TRIES if well or own_cluster.more_to_come(self._own, len(there)) else TRIES):
            raise GearkitError(
                f"The cluster at {self._address} can run nothing: {reply.trouble} on its worker {reply.worker}. "
                "What was marked until then is kept; mend this and go on with --resume."
            )
        # A pause that grows: 120 tries take over a minute and a half, the first four a third of a second.
        time.sleep(min(1.0, PAUSE_SECONDS * flight.tries))
        self._send(flight.submission, flight.request, flight.tries + 1, well)

    def _reply_to(self, flight: _Flight) -> Reply | None:
        """The checked reply to a request, None where it was lost on the way or has another form."""
        try:
            reply = reply_from(flight.future.result(timeout=CONNECT_SECONDS))
        except Exception:
            # Lost with its worker, or a failure of the library; either way the request is sent again.
            return None
        finally:
            flight.future.release()
        if reply is not None:
            self._compare({reply.kit})
        return reply if reply is not None and reply.digest == flight.request.digest else None

    def _room_now(self) -> int:
        """How many requests may be on their way: enough that no worker ever waits for one."""
        if time.monotonic() - self._asked_room > 2.0:
            with self._talking():
                threads = self._client.nthreads()
            self._room = FOR_EACH_THREAD * max(1, sum(threads.values()))
            self._asked_room = time.monotonic()
        return self._room

    def _watch(self) -> None:
        """See whether there is anybody left to wait for."""
        now = time.monotonic()
        with self._talking():
            if self._client.nthreads() or own_cluster.lives(self._own):
                self._last_worker = now
        if now - self._last_worker > NO_WORKERS_SECONDS:
            raise self._lost("it has no workers any more")
        if now - self._last_news > SILENCE_SECONDS:
            raise self._lost(f"nothing came back for {SILENCE_SECONDS / 60:.0f} minutes")

    def _compare(self, versions: set[str]) -> None:
        from graders.run.remote import cluster_worker

        others = versions - {cluster_worker.kit_version()}
        if others:
            raise GearkitError(
                f"--cluster {self._address}: a worker has version {', '.join(sorted(others))} of the kit, "
                f"this machine has {cluster_worker.kit_version()}. Install the same on all of them."
            )

    @contextlib.contextmanager
    def _talking(self) -> Iterator[None]:
        """Say it in the user's words when the cluster cannot be talked to any more."""
        try:
            yield
        except GearkitError:
            raise
        except Exception as fault:
            # Whatever the other side or the library raises, it means the same to the user.
            raise self._lost(_first_line(fault)) from None

    def _lost(self, why: str) -> GearkitError:
        return GearkitError(
            f"The cluster at {self._address} was lost: {why}. What was marked until then is kept; go on with --resume."
        )


def _first_line(fault: BaseException) -> str:
    text = str(fault).strip().splitlines()
    return (text[0] if text else type(fault).__name__)[:200]
