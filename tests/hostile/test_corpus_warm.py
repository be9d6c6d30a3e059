"""The class of hostile submissions, run in the warm shell."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from graders.mark.marking import what_to_run
from graders.mark.submissions import submissions
from graders.mark.workers.worker import part_file, read_part
from graders.run.engines.engines import Engine, Engines
from graders.run.engines.runner import Run
from graders.run.read.kernel_needs import needs_kernel
from graders.run.remote.remote_protocol import Ran
from graders.run.sandbox.layers import Limits
from tests.hostile.cases import SHEET
from tests.hostile.corpus import ASK_FOR_A_KERNEL, CASES, NAMES, RUN_FILES, Corpus, Outcome
from tests.hostile.file_cases import CASES as FILES


class Chosen(Engines):
    """Tells where it would run what it is given."""

    def _run_in(self, engine: Engine, cells: Sequence[str], setup: Sequence[str]) -> Ran:
        return Ran(Run((), True, "", 0.0), f"{engine} {cells} {setup}")


@pytest.mark.slow
class TestWarm(Corpus):
    """Every claim, with this engine."""

    engine = "warm"

    def test_what_other_engines_leave_out_would_go_the_same_way_there(self, outcome: Outcome) -> None:
        course = outcome.room.course
        parts = {case.name: read_part(part_file(course, SHEET, NAMES[case.name])) for case in CASES}
        ran = {name for name, part in parts.items() if part is not None and part.sandbox}
        assert {case.name for case in FILES if case.name in ran} == RUN_FILES
        handed_in = {one.learner: one for one in submissions(course, SHEET)}
        asked = {name: what_to_run(outcome.room.sheet, handed_in[NAMES[name]]) for name in ran}
        run = {name: request for name, request in asked.items() if request is not None}
        assert set(run) == ran
        assert {name for name, request in run.items() if needs_kernel(request.cells)} == ASK_FOR_A_KERNEL
        by_itself, warm = (Chosen(Limits(), engine=engine) for engine in ("auto", "warm"))
        for request in (run[name] for name in ran - ASK_FOR_A_KERNEL):
            assert by_itself.run(request.cells, request.setup) == warm.run(request.cells, request.setup)
