"""What goes to another machine to be run there, and what comes back: texts, and nothing but texts.

A request holds the sources of one notebook's code cells; it names no learner, no course and no file, and no key goes
with it. A reply is checked here as if it came straight out of a sandbox: cut to size, checked for its form, dropped
where it has another.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from typing import Any

from graders.run.engines.reply_protocol import Frame, checked, clean
from graders.run.engines.runner import Run

LONGEST_REPLY = 8 << 20
LONGEST_WORDS = 200
MOST_FRAMES = 10_000


@dataclass(frozen=True)
class Request:
    """One notebook to run.

    Args:
        cells: sources of its code cells, in order.
        setup: sources of the sheet's own cells, run first.
    """

    cells: tuple[str, ...]
    setup: tuple[str, ...]

    def packed(self) -> bytes:
        """The request as bytes."""
        return json.dumps({"cells": self.cells, "setup": self.setup}).encode()

    @property
    def digest(self) -> str:
        """A fingerprint by which a reply is matched to what was asked."""
        return hashlib.sha256(self.packed()).hexdigest()


@dataclass(frozen=True)
class Ran:
    """What came of running a notebook.

    Args:
        run: the answers and how the run ended.
        level: the protection under which it ran, "" where it did not.
    """

    run: Run
    level: str


@dataclass(frozen=True)
class Reply:
    """What a machine sends back.

    Args:
        ran: what came of running the notebook.
        digest: fingerprint of the request that it answers.
        kit: version of the kit there.
        worker: how the cluster calls the worker that ran it.
        trouble: what that worker's machine lacks so that nothing could be run there, "" where it could.
    """

    ran: Ran
    digest: str
    kit: str
    worker: str = ""
    trouble: str = ""

    def packed(self) -> bytes:
        """The reply as bytes."""
        run = self.ran.run
        frames = [
            {
                "cell": frame.cell,
                "answers": {item: dict(parts) for item, parts in frame.answers.items()},
                "fault": frame.fault,
                "last": frame.last,
            }
            for frame in run.frames
        ]
        return json.dumps(
            {
                "digest": self.digest,
                "kit": self.kit,
                "worker": self.worker,
                "trouble": self.trouble,
                "level": self.ran.level,
                "complete": run.complete,
                "reason": run.reason,
                "seconds": run.seconds,
                "note": run.note,
                "frames": frames,
            }
        ).encode()


def request_from(data: bytes) -> Request:
    """The request in some bytes.

    Args:
        data: what `Request.packed` made.

    Raises:
        ValueError: they hold something else.
    """
    message = json.loads(data)
    cells, setup = message["cells"], message["setup"]
    if not all(isinstance(source, str) for source in [*cells, *setup]):
        raise ValueError("a request holds texts only")
    return Request(tuple(cells), tuple(setup))


def reply_from(data: object) -> Reply | None:
    """The reply in some bytes, or None where they hold something else.

    Args:
        data: what came back.
    """
    if not isinstance(data, bytes) or len(data) > LONGEST_REPLY:
        return None
    try:
        message = json.loads(data)
    except (ValueError, RecursionError):
        return None
    if not isinstance(message, dict):
        return None
    words = [message.get(key) for key in ("digest", "kit", "worker", "trouble", "level", "reason", "note")]
    complete, seconds, frames = message.get("complete"), message.get("seconds"), message.get("frames")
    if not all(isinstance(word, str) for word in words) or not isinstance(complete, bool):
        return None
    if isinstance(seconds, bool) or not isinstance(seconds, int | float) or not isinstance(frames, list):
        return None
    digest, kit, worker, trouble, level, reason, note = (clean(str(word))[:LONGEST_WORDS] for word in words)
    seen = _leading(frames)
    whole = complete and bool(seen) and seen[-1].last
    return Reply(Ran(Run(seen, whole, reason, float(seconds), note), level), digest, kit, worker, trouble)


def _leading(frames: list[Any]) -> tuple[Frame, ...]:
    """The frames up to the first that has another form."""
    seen: list[Frame] = []
    for data in frames[:MOST_FRAMES]:
        frame = checked(data)
        if frame is None:
            break
        seen.append(frame)
    return tuple(seen)
