"""How long a learner's sheet takes to diagnose, beside marking it in the same run. Shows figures; never fails on time."""

from __future__ import annotations

import random
import statistics
import time

import pytest

from gearkit.answers.beliefs.diagnosis import diagnose
from gearkit.answers.beliefs.evidence import evidence
from gearkit.answers.judge import marking
from tests.support.learners import WINDOWS, Kind, hands_in, sheet, variants

pytestmark = pytest.mark.bench
LEARNERS = 100


@pytest.mark.parametrize("length", [8, 12, 20])
def test_a_learner_is_diagnosed_while_the_page_is_written(length: int) -> None:
    seeded = random.Random(length)
    sheets = [variants(sheet(seeded, length, seeded.choice(WINDOWS[:-2])), seeded) for _ in range(LEARNERS)]
    handed_in = [(one, hands_in(one, ["carrier as R - S"], Kind(0.2), seeded)[0]) for one in sheets]
    times: dict[str, list[float]] = {"diagnosed": [], "marked": []}
    for _ in range(2):
        # The first round fills what is worked out once for an exercise.
        times = {"diagnosed": [], "marked": []}
        for given, answers in handed_in:
            start = time.process_time()
            diagnose([found for one, texts in zip(given, answers, strict=True) if (found := evidence(one, texts))])
            between = time.process_time()
            for one, texts in zip(given, answers, strict=True):
                marking.mark(one, texts)
            times["diagnosed"].append((between - start) * 1000)
            times["marked"].append((time.process_time() - between) * 1000)
    for what, found in times.items():
        print(
            f"\n{length} exercises, {what}: median {statistics.median(found):.2f} ms a learner, "
            f"slowest twentieth {sorted(found)[-LEARNERS // 20]:.2f} ms",
            end="",
        )
    assert len(times["diagnosed"]) == LEARNERS
