"""Readings of one question are written alike: "2300 r/min" does not stand beside "2300.0 r/min"."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from gearkit.lesson.opening import open_lesson


@pytest.mark.parametrize("item", ["L12-03", "L12-04"])
def test_no_reading_ends_in_an_idle_zero(item: str, tmp_path: Path) -> None:
    outputs = []
    for copy in range(12):
        asked = open_lesson("12", tmp_path / f"{copy}.json").exercise(item).prompt_html
        outputs += re.findall(r"([\d.]+)\s*r/min", asked)
    assert len(outputs) == 24
    assert [reading for reading in outputs if reading.endswith(".0")] == []
    assert any("." not in reading for reading in outputs)
