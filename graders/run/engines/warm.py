"""The warm process: imports once what sheets use, then forks one child for each submission.

It is a program of its own (`python -m graders.run.engines.warm`), so that it starts with one thread and with nothing of
the marker in memory. It never reads a submission: for each job it gets two descriptors, the job to read and the
reply to write, and hands them to the child untouched. One job at a time; when it is done, everything that the
child may have left behind is ended.
"""

from __future__ import annotations

import array
import gc
import itertools
import json
import os
import resource
import select
import signal
import socket
import sys
import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from graders.run.engines import kernel_cells
from graders.run.engines.reply_protocol import OUT_OF_TIME, packed
from graders.run.sandbox import kernel_calls, kit_parts, large_pages, layers
from graders.run.sandbox.layers import Layer, Limits, Protection

JOB, REPLY, RULES = 3, 4, 5
# What the marker's side makes of a child that somebody killed, or that never came to the learner's cells.
KILLED, NOT_STARTED = "killed", "not started"
_CHILD_SUBREAPER = 36
Run = Callable[[Sequence[str], Sequence[str], Callable[[Any], None]], None]


def main() -> None:
    """Serve jobs from the control socket until it closes. Arguments: descriptor of the socket, engine, modules to import.

    The first message holds what it may see and use; it loads before that, so that it can be started before this is known.
    """
    control, engine, preload = socket.socket(fileno=int(sys.argv[1])), sys.argv[2], sys.argv[3:]
    # Set here and not in each child: setting a handler loads the words for it.
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    # Searching for circles in what is only loaded took a fifth of the start.
    gc.disable()
    warmed = _warm(preload, engine)
    gc.enable()
    if held := kit_parts.loaded():
        raise SystemExit(f"parts of the kit that hold answers are loaded: {', '.join(held)}")
    settings = json.loads(control.recv(1 << 20) or "null")
    if settings is None:
        # Nothing had to be run.
        return
    protection = Protection(frozenset(Layer(name) for name in settings["layers"]))
    limits = Limits(**settings["limits"])
    run = warmed(limits)
    users = itertools.cycle(layers.users_of(os.getpid()))
    base_memory = (
        int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
        if Path("/proc/self/statm").exists()
        else 0
    )
    gc.collect()
    large = large_pages.places()
    spaces = layers.close_in(protection, Path(settings["folder"]), [Path(folder) for folder in settings["hidden"]])
    _adopt_orphans()
    rules = layers.prepare(protection)
    gc.freeze()
    # Looking for circles writes into all that it passes, and what is written is copied; a child has little to find.
    gc.set_threshold(5_000, 5, 5)
    large_pages.gather(large)
    control.send(b'{"ready": true}')
    while (job := _next_job(control)) is not None:
        layers.before_fork(protection, spaces)
        user = next(users)
        child = os.fork()
        if child == 0:
            confine = partial(layers.confine, protection, limits, base_memory, user, None if rules is None else RULES)
            _be_child(confine, run, *job, rules)
        for descriptor in job:
            os.close(descriptor)
        ended = _wait(control, child, limits, engine)
        _end_leftovers()
        control.send(json.dumps(ended).encode())


def _warm(preload: Sequence[str], engine: str) -> Callable[[Limits], Run]:
    """Import everything, once, and warm up; what makes, of its limits, what runs the cells of a submission in a child."""
    kit_parts.guard()
    for name in preload:
        __import__(name)
    if engine == "kernel":
        kernel_cells.warm_up()
        return lambda limits: partial(kernel_cells.run_cells, limits)
    from gearkit.lesson import answering
    from graders.run.engines import cells, shell, warm_up

    # The sentence on how an answer reads goes to the learner's screen; here nobody would see it.
    answering.how_it_reads = lambda item, given: ""
    made = shell.make()
    shell.close(made)
    # Whoever wants nothing loaded ahead tries the layers with a line or two, for which warming up would take longest.
    if preload:
        warm_up.warm_up(made)
    cells.begin(made)
    return lambda limits: partial(cells.run_cells, made, limits.cell_seconds)


def _adopt_orphans() -> None:
    """Become the parent of whatever a child leaves behind, so that it can be found and ended."""
    if sys.platform == "linux":
        kernel_calls.process_control(_CHILD_SUBREAPER, 1)


def _next_job(control: socket.socket) -> tuple[int, int] | None:
    """The two descriptors of the next job, or None when the marker has gone."""
    while True:
        message, ancillary, _, _ = control.recvmsg(4096, socket.CMSG_SPACE(8))
        if not message:
            return None
        descriptors = array.array("i")
        for _, _, data in ancillary:
            descriptors.frombytes(data[: len(data) - len(data) % descriptors.itemsize])
        if len(descriptors) == 2:
            return descriptors[0], descriptors[1]


def _wait(control: socket.socket, child: int, limits: Limits, engine: str) -> dict[str, Any]:
    """Wait for the child's end, or end it: when the marker says so, when time is up, when the marker has gone."""
    started, reason = time.monotonic(), ""
    poll = select.poll()
    poll.register(control, select.POLLIN)
    handle = os.pidfd_open(child) if hasattr(os, "pidfd_open") else None
    if handle is not None:
        poll.register(handle, select.POLLIN)
    while True:
        done, status, used = os.wait4(child, os.WNOHANG)
        if done:
            break
        left = limits.seconds - (time.monotonic() - started)
        if left <= 0 and not reason:
            reason = "time"
            _kill(child)
        for descriptor, _ in poll.poll(max(1, min(1000 * left, 200 if handle is None else 1000))):
            if descriptor == control.fileno():
                if not control.recv(64):
                    # The marker has gone. What the child started, such as a kernel of its own, must not outlive it.
                    _kill(child)
                    _end_leftovers()
                    os._exit(1)
                reason = reason or "flood"
                _kill(child)
    if handle is not None:
        os.close(handle)
    processor, lasted = used.ru_utime + used.ru_stime, time.monotonic() - started
    # A cell that catches every alarm is ended by our handler in its own process; code can say the same, but no sooner.
    if os.waitstatus_to_exitcode(status) == OUT_OF_TIME and lasted >= limits.cell_seconds:
        reason = reason or "time"
    reason = reason or _why_ended(os.waitstatus_to_exitcode(status), processor >= limits.processor_seconds, engine)
    return {"status": status, "reason": reason, "cpu": processor, "seconds": lasted}


def _why_ended(code: int, used_up: bool, engine: str) -> str:
    """Why a child ended that was not ended here, "" where nothing tells it.

    Args:
        code: its exit code, or the number of the signal that ended it, below zero.
        used_up: whether it used all its processor time, after which the system kills it.
        engine: the engine; with a kernel the child itself is ours, and what it says by its exit code is believed.
    """
    if -code in kernel_cells.SENT_TO_END:
        return "time" if used_up else KILLED
    told = {
        OUT_OF_TIME: "time",
        kernel_cells.KILLED: "time" if used_up else KILLED,
        kernel_cells.NOT_STARTED: NOT_STARTED,
    }
    return told.get(code, "") if engine == "kernel" else ""


def _kill(child: int) -> None:
    for end in (os.killpg, os.kill):
        try:
            end(child, signal.SIGKILL)
        except (ProcessLookupError, PermissionError):
            continue


def _end_leftovers() -> None:
    """End every process that the last child left behind; they have all become our children."""
    for _ in range(100):
        listing = Path(f"/proc/self/task/{os.getpid()}/children")
        try:
            left = [int(number) for number in listing.read_text().split()]
        except OSError:
            left = []
        for process in left:
            _kill(process)
        try:
            while os.waitpid(-1, os.WNOHANG)[0]:
                pass
        except ChildProcessError:
            return
        time.sleep(0.005)


def _be_child(confine: Callable[[], None], run: Run, job: int, reply: int, rules: int | None) -> None:
    """Everything that happens in the child; it never returns."""
    try:
        _keep_only(job, reply, rules)
        confine()
        request = json.loads(_read_all(JOB))
        os.close(JOB)

        def send(message: Any) -> None:
            data = packed({**message, "end": request["end"]} if message["last"] else message)
            while data:
                data = data[os.write(REPLY, data) :]

        run(request["cells"], request["setup"], send)
    except BaseException as ended:
        # The reply may be full or closed; the exit status then says that something went wrong.
        try:
            os.write(REPLY, packed({"cell": 0, "answers": {}, "fault": f"sandbox: {type(ended).__name__}", "last": False}))
        finally:
            os._exit(70)
    finally:
        os._exit(0)


def _keep_only(job: int, reply: int, rules: int | None) -> None:
    """Close everything but the job, the reply and landlock's rules; the standard streams go nowhere."""
    wanted = {JOB: job, REPLY: reply} | ({} if rules is None else {RULES: rules})
    high = 1001
    for number, held in enumerate(wanted.values()):
        os.dup2(held, high + number)
    for number, wish in enumerate(wanted):
        os.dup2(high + number, wish)
    nowhere = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nowhere, stream)
    os.closerange(max(wanted) + 1, 4096)


def _read_all(descriptor: int) -> bytes:
    parts = []
    while part := os.read(descriptor, 1 << 16):
        parts.append(part)
    return b"".join(parts)


if __name__ == "__main__":
    main()
