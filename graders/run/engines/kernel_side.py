"""What stands inside a real kernel beside the learner's code: tells which answers have changed since it was last asked."""

from __future__ import annotations

import json

from gearkit.lesson import answering
from graders.run.engines.reply_protocol import bounded
from graders.run.sandbox import kit_parts


def changed() -> str:
    """The answers that have changed since the last call, and which hidden part was asked for, as JSON."""
    return json.dumps([bounded(answering.changed()), kit_parts.noted()])


def forget() -> str:
    """Forget all answers, as before the first cell, and keep what holds answers from all cells."""
    kit_parts.guard()
    # The sentence on how an answer reads needs the exercises, and here nobody would see it.
    answering.how_it_reads = lambda item, given: ""
    answering.clear()
    return ""
