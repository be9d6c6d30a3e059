"""What running a notebook gave, kept beside its marks: where an item was corrected, nobody's code has to run once more.

Only what the notebook itself brought about is kept. What this machine may have had a part in, such as a process that was
killed, is run anew each time; so is everything of a learner who is named.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace

from graders.run.remote.remote_protocol import Ran, Reply, Request, reply_from

# A result is read whenever a report is made; a flood of answers in it would be read each time.
LONGEST = 1 << 16
_BROUGHT_ABOUT_BY_THE_NOTEBOOK = ("", "time", "flood")


def kept(ran: Ran, request: Request, conditions: str) -> str:
    """What to keep of a run, "" where it is to be run anew each time.

    Args:
        ran: what came of it.
        request: what was run.
        conditions: all else that it came of: version, limits, engine.
    """
    run = ran.run
    if run.reason not in _BROUGHT_ABOUT_BY_THE_NOTEBOOK or not (run.complete or run.reason):
        return ""
    # Without the time it took, the same notebook leaves the same result to the letter.
    whole = Reply(replace(ran, run=replace(run, seconds=0.0)), _fingerprint(request, conditions), "").packed()
    return whole.decode() if len(whole) <= LONGEST else ""


def reply_to(request: Request, conditions: str, text: str) -> Reply | None:
    """What a run gave, from what was kept of it; None where something else was run then, or under other conditions.

    Args:
        request: what is to be run.
        conditions: version, limits and engine now.
        text: what was kept.
    """
    reply = reply_from(text.encode())
    if reply is None or reply.digest != _fingerprint(request, conditions):
        return None
    return replace(reply, digest=request.digest)


def _fingerprint(request: Request, conditions: str) -> str:
    return hashlib.sha256(f"{request.digest}\0{conditions}".encode()).hexdigest()
