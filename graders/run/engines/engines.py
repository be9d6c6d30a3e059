"""The ways of running a notebook, and the choice between them: the warm shell, and a real Jupyter kernel as reference.

The warm shell takes a hundredth of the time and gives the same answers wherever it does what a kernel does. By itself
("auto") a notebook that asks for more is run in a kernel where one can be closed in, and a flag says so.
A second warm shell, started when it is first needed, has what plots are made with loaded already: many notebooks begin
with `%matplotlib inline`, which would load it in each child for some thirty times as long as all their cells take. The
others would pay for its memory at every fork.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum
from pathlib import Path

from graders.run.engines.runner import NO_RUNNER, Run
from graders.run.engines.warm_process import PRELOADED
from graders.run.read.kernel_needs import needs_kernel
from graders.run.remote.remote_protocol import Ran
from graders.run.sandbox.layers import Limits
from graders.run.sandbox.select_sandbox import NOTHING_RUN, Choice, check_that_something_runs, choose

_PLOTTING = ("numpy", "matplotlib.pyplot", "matplotlib_inline.backend_inline")
_WORDS_OF_PLOTTING = ("matplotlib", "pylab", "numpy")


class Engine(StrEnum):
    """How notebooks are run."""

    AUTO = "auto"
    WARM = "warm"
    KERNEL = "kernel"


class Engines:
    """Runs notebooks one after the other; what it needs is started when it is first needed.

    Args:
        limits: what one submission may use.
        hidden: folders of the class.
        engine: which engine to use.
        unprotected: run learner code even where files and the network cannot be closed to it.
    """

    def __init__(
        self, limits: Limits, hidden: Sequence[Path] = (), *, engine: str = Engine.AUTO.value, unprotected: bool = False
    ) -> None:
        self._limits, self._hidden, self._unprotected = limits, tuple(hidden), unprotected
        self._engine = Engine(engine)
        self._choices: dict[tuple[Engine, bool], Choice] = {}

    def run(self, cells: Sequence[str], setup: Sequence[str]) -> Ran:
        """Run the code cells of one notebook.

        Args:
            cells: their sources, in order.
            setup: sources of the sheet's own cells, run first.
        """
        if self._engine is Engine.KERNEL:
            return self._run_in(Engine.KERNEL, cells, setup)
        why = needs_kernel(cells)
        if not why:
            return self._run_in(Engine.WARM, cells, setup)
        if self._engine is Engine.AUTO and self._choice(Engine.KERNEL).runner is not None:
            return _noted(
                self._run_in(Engine.KERNEL, cells, setup), f"The notebook {why}, so it was run in a full Jupyter kernel."
            )
        return _noted(
            self._run_in(Engine.WARM, cells, setup),
            f"The notebook {why}; that needs a full Jupyter kernel, and it was run without one.",
        )

    def close(self) -> None:
        """End whatever was started."""
        for choice in self._choices.values():
            if choice.runner is not None:
                choice.runner.close()
        self._choices.clear()

    def _run_in(self, engine: Engine, cells: Sequence[str], setup: Sequence[str]) -> Ran:
        plots = engine is Engine.WARM and any(word in cell for cell in cells for word in _WORDS_OF_PLOTTING)
        choice = self._choice(engine, plots)
        level = f"{choice.level}, in a Jupyter kernel" if engine is Engine.KERNEL else choice.level
        if choice.runner is None:
            return Ran(Run((), False, "no sandbox", 0.0), choice.level)
        run = choice.runner.run(cells, setup)
        if run.reason == NO_RUNNER:
            check_that_something_runs()
            # Other notebooks run, but not this one at this moment; going on with the class later tries it again.
            return Ran(run, NOTHING_RUN)
        return Ran(run, level)

    def _choice(self, engine: Engine, plots: bool = False) -> Choice:
        if (engine, plots) not in self._choices:
            preload = [*PRELOADED[engine], *_PLOTTING] if plots else None
            self._choices[engine, plots] = choose(
                self._limits, self._hidden, unprotected=self._unprotected, engine=engine, preload=preload
            )
        return self._choices[engine, plots]


def _noted(ran: Ran, note: str) -> Ran:
    return replace(ran, run=replace(ran.run, note=note))
