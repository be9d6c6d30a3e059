"""Titles of panels and tasks name a layout by its name, and speak of "this train" where its name only describes it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import gearkit
from gearkit.lesson.tasks.topics import task_about
from gearkit.train import catalogue


def titles(layout: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    monkeypatch.setenv("GEARKIT_RECORD", str(folder / "record.json"))
    lesson = gearkit.open_lesson("08")
    topics = ("freedoms", "torques", "power", "road", "shifts", "faults")
    panels = [*(lesson.predict_about(topic, layout) for topic in topics), lesson.explore_about("faults", layout)]
    return [panel.title for panel in panels]


@pytest.mark.parametrize(
    "entry", [one for one in catalogue.entries() if len(one.layout.ranges) > 3], ids=lambda one: one.layout.name[:20]
)
def test_a_title_never_runs_into_a_description(entry: catalogue.Entry, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    short = entry.layout.name.partition(":")[0]
    for title in titles(str(entry.path), tmp_path, monkeypatch):
        if re.search(r"\b[A-Z]\d+\b", short):
            assert short in title, title
        else:
            assert "this train" in title, title
            assert not re.search(r"\b(?:of|in) [A-Z]", title), title


def test_predictions_made_before_are_found_under_the_name_that_they_were_kept_by() -> None:
    task = task_about("freedoms", "pair_common_sun", "seed", None)
    assert task.title == "freedoms of Two sets with their suns on one shaft (Simpson-type pair)"
    assert task.heading == "freedoms of this train"
