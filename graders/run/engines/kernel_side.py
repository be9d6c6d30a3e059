"""What stands inside a real kernel beside the learner's code: tells which answers have changed since it was last asked."""

from __future__ import annotations

import json

from gearkit.lesson import answering
from graders.run.engines.reply_protocol import bounded

# A kernel is one process with one notebook in it; this is what its marker has been told already.
_KNOWN: dict[str, dict[str, str]] = {}


def changed() -> str:
    """The answers that have changed since the last call, as JSON."""
    now = answering.collected()
    new = {item: parts for item, parts in now.items() if _KNOWN.get(item) != parts}
    _KNOWN.clear()
    _KNOWN.update(now)
    return json.dumps(bounded(new))


def forget() -> str:
    """Forget all answers, as before the first cell."""
    answering.clear()
    _KNOWN.clear()
    return ""
