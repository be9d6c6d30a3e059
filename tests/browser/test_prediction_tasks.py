"""Prediction tasks in JupyterLab: keyboard only, shut until predicted, kept in the record, every control named."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Locator, Page

from gearkit.lesson.tasks.topics import TOPICS, task_about
from tests.browser import lab

pytestmark = [pytest.mark.browser, pytest.mark.slow]
OPEN = 'from gearkit import open_lesson\nlesson = open_lesson("12", "record.json")'


@dataclass(frozen=True)
class Desk:
    """An open notebook with one panel for every topic."""

    page: Page
    folder: Path

    def panel(self, topic: str) -> Locator:
        return self.page.get_by_role("region", name=f"Predict: {task_about(topic, 'Q36').title}", exact=True)

    def events(self) -> list[dict[str, Any]]:
        path = self.folder / "record.json"
        return json.loads(path.read_text(encoding="utf-8"))["events"] if path.exists() else []

    def wait_for(self, kind: str) -> None:
        for _ in range(50):
            if any(event["kind"] == kind for event in self.events()):
                return
            self.page.wait_for_timeout(100)
        raise AssertionError(f"no {kind} was written to the record")


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    folder = tmp_path_factory.mktemp("tasks")
    sources = [OPEN, *(f'lesson.predict_about("{topic}", "Q36", seed="class 7")' for topic in TOPICS)]
    lab.write_notebook(folder / "tasks.ipynb", sources)
