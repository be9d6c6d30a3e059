"""What stands in the tests of the cluster where a worker keeps its protected programs."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable, Sequence

from distributed import get_worker

from graders.run.engines.engines import Engines
from graders.run.engines.reply_protocol import Frame
from graders.run.engines.runner import Run
from graders.run.remote.remote_protocol import Ran


class Echo:
    """Answers with what it was given; some words in a cell make it misbehave."""

    _troubled = False

    def run(self, cells: Sequence[str], setup: Sequence[str]) -> Ran:
        """Give each cell back as an answer."""
        text = "\n".join(cells)
        if "KILL" in text:
            os.kill(os.getpid(), signal.SIGKILL)
        # The cluster's workers are called 0 and 1.
        if "FULL DISK" in text or ("FULL DISC OF ONE" in text and get_worker().name == 0):
            raise OSError(28, "No space left on device", "/tmp")
        if "NOW AND THEN" in text and not self._troubled:
            self._troubled = True
            raise OSError(11, "Resource temporarily unavailable")
        if "SLOW" in text:
            time.sleep(0.05)
        frames = [
            Frame(place, {"worker": {"answer": str(os.getpid())}, "cell": {"answer": cell}}) for place, cell in enumerate(cells)
        ]
        return Ran(Run((*frames, Frame(len(cells), {}, last=True)), True, "", 0.0), "echo")

    def close(self) -> None:
        """Nothing to end."""


class Killable:
    """Real engines, but a cell that holds the word KILL ends the worker, as learner code could where nothing holds it."""

    def __init__(self, make: Callable[[], Engines]) -> None:
        self._engines = make()

    def run(self, cells: Sequence[str], setup: Sequence[str]) -> Ran:
        """Run cells, or end the worker."""
        if any("KILL" in cell for cell in cells):
            os.kill(os.getpid(), signal.SIGKILL)
        return self._engines.run(cells, setup)

    def close(self) -> None:
        """End the engines."""
        self._engines.close()


class Sick:
    """Real engines on machines of which some have a full disk.

    Args:
        make: makes the engines.
        sick: names of the workers on the full ones.
    """

    def __init__(self, make: Callable[[], Engines], sick: Sequence[int]) -> None:
        if get_worker().name in sick:
            raise OSError(28, "No space left on device", "/tmp")
        self._engines = make()

    def run(self, cells: Sequence[str], setup: Sequence[str]) -> Ran:
        """Run cells."""
        return self._engines.run(cells, setup)

    def close(self) -> None:
        """End the engines."""
        self._engines.close()
