"""Runs what has to be run beside the marking of what can be read, so that a class does not wait for one endless loop.

Only the waiting is another thread's: it starts the same sandbox with the same limits, and one notebook runs at a time.
Its replies are marked as those of another machine are, by the same process as all others.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Generator, Iterable

from gearkit.words.errors import GearkitError
from graders.mark.submissions import Submission
from graders.mark.workers.cluster import Job
from graders.run.engines.engines import Engines
from graders.run.remote.remote_protocol import Ran, Reply, Request

# So few notebooks wait at a time that a large course needs no more memory than a small one.
MOST_WAITING = 16
_Asked = tuple[Submission, Request]


class _Runs:
    """A thread that runs notebooks one after the other.

    Args:
        make_engines: makes what runs them.
    """

    def __init__(self, make_engines: Callable[[], Engines]) -> None:
        self._make = make_engines
        self._asked: queue.SimpleQueue[_Asked | None] = queue.SimpleQueue()
        self._ready: queue.SimpleQueue[tuple[_Asked, Ran | BaseException]] = queue.SimpleQueue()
        self._over = threading.Event()
        self._thread: threading.Thread | None = None
        self.waiting = 0

    def ask(self, submission: Submission, request: Request) -> None:
        """Have a notebook run."""
        if self._thread is None:
            # Whoever breaks marking off must not wait for a learner's loop: the sandbox ends with this process.
            self._thread = threading.Thread(target=self._work, daemon=True)
            self._thread.start()
        self.waiting += 1
        self._asked.put((submission, request))

    def next(self, *, wait: bool = True) -> Job | None:
        """The job of a notebook that was run, None where none is ready and none is to be waited for.

        Raises:
            GearkitError: this machine can run nothing any more; so does OSError.
        """
        try:
            (submission, request), ran = self._ready.get(block=wait)
        except queue.Empty:
            return None
        self.waiting -= 1
        if isinstance(ran, OSError | GearkitError):
            raise ran
        # What else went wrong goes wrong once more where the submission is marked, and is dealt with there.
        return Job(submission, None if isinstance(ran, BaseException) else Reply(ran, request.digest, ""))

    def close(self) -> None:
        """Let nothing more be run. Where all was done the sandbox is ended by now, else as soon as its run ends."""
        self._over.set()
        self._asked.put(None)
        if self._thread is not None and not self.waiting:
            self._thread.join()

    def _work(self) -> None:
        engines = self._make()
        try:
            while (asked := self._asked.get()) is not None and not self._over.is_set():
                try:
                    self._ready.put((asked, engines.run(asked[1].cells, asked[1].setup)))
                except BaseException as fault:
                    self._ready.put((asked, fault))
        finally:
            engines.close()


def jobs(
    todo: Iterable[Submission],
    what_to_run: Callable[[Submission], Request | None],
    make_engines: Callable[[], Engines],
    meanwhile: Callable[[], object] = lambda: None,
    known: Callable[[Submission, Request], Reply | None] = lambda submission, request: None,
) -> Generator[Job, None, None]:
    """Let run what has to be run; jobs come in the order in which they are ready to be marked.

    Args:
        todo: the submissions.
        what_to_run: what has to be run of a submission, None where it can be read.
        make_engines: makes what runs notebooks; called where the first one has to be run.
        meanwhile: is called once while nothing is left to do but wait.
        known: what running a submission gives, where that is known and it need not be run.
    """
    runs, read = _Runs(make_engines), list[Job]()
    try:
        for submission in todo:
            request = _asked(what_to_run, submission)
            reply = None if request is None else known(submission, request)
            if request is None or reply is not None:
                read.append(Job(submission, reply))
                continue
            while runs.waiting >= MOST_WAITING and (job := runs.next()):
                yield job
            runs.ask(submission, request)
        for ready in read:
            yield ready
            while job := runs.next(wait=False):
                yield job
        if runs.waiting:
            meanwhile()
        while runs.waiting and (job := runs.next()):
            yield job
    finally:
        runs.close()


def _asked(what_to_run: Callable[[Submission], Request | None], submission: Submission) -> Request | None:
    try:
        return what_to_run(submission)
    except Exception:
        # The same happens where it is marked, and is dealt with there.
        return None
