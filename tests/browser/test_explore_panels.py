"""The fault, shift and tooth-count panels in JupyterLab: by keyboard, without the kernel in between, every control named."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page

from gearkit.lesson.panels.topics import TOPICS
from tests.browser import lab

pytestmark = [pytest.mark.browser, pytest.mark.slow]
TITLES = {
    "assembly": "Explore: tooth counts of one set",
    "shifts": "Explore: shifts of Quillbrook Q24",
    "faults": "Explore: faults of Quillbrook Q24",
}
CELLS = (
    'from gearkit import open_lesson\nlesson = open_lesson("12", "record.json")',
    *(f'{topic} = lesson.explore_about("{topic}", "Q24")\n{topic}' for topic in TOPICS),
    'lesson.explore("Q36")',
    "print(faults.fault, '|', shifts.from_range, shifts.to_range, shifts.progress, '|', assembly.ring, assembly.goes_together)",
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("explore")


@pytest.fixture(scope="module")
def page(folder: Path) -> Iterator[Page]:
    lab.write_notebook(folder / "explore.ipynb", CELLS)
