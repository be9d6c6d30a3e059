"""Benches for the tests of the cluster: they stand where a worker keeps its walled-in programs."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Sequence

from graders.run.frames import Frame
from graders.run.posting import Ran
from graders.run.runner import Run


class Echo:
    """Answers with what it was given; some words in a cell make it misbehave."""

    def run(self, cells: Sequence[str], setup: Sequence[str]) -> Ran:
        """Give each cell back as an answer."""
        text = "\n".join(cells)
        if "KILL" in text:
            os.kill(os.getpid(), signal.SIGKILL)
        if "FULL DISK" in text:
            raise OSError(28, "No space left on device")
        if "SLOW" in text:
            time.sleep(0.05)
        frames = [Frame(place, {"worker": {"answer": str(os.getpid())}, "cell": {"answer": cell}})
                  for place, cell in enumerate(cells)]
        return Ran(Run((*frames, Frame(len(cells), {}, last=True)), True, "", 0.0), "echo")

    def close(self) -> None:
        """Nothing to end."""
