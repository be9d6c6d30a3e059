"""Lessons and units as notebooks for the browser: words explained as on a learner's shelf, and the browser's kernel named."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from gearkit.lesson.course import glossary
from gearkit.lesson.syllabus import LessonPlan
from gearkit.text import places

# With any other name each notebook would open with a question for the kernel.
KERNEL = {"name": "python", "display_name": "Python (Pyodide)", "language": "python"}


def contents(plans: Mapping[str, LessonPlan], units: Sequence[Path]) -> dict[str, bytes]:
    """Return what lies on the shelf of the browser, by name.

    Args:
        plans: the lessons.
        units: folders of units, each with its lesson.ipynb and layout.toml.
    """
    source = places.lessons()
    held = {}
    for folder in [*(plan.folder for plan in plans.values()), glossary.FILE.parent.name]:
        for path in sorted((source / folder).glob("*.ipynb")):
            name = path.relative_to(source)
            held[name.as_posix()] = with_kernel(json.loads(glossary.own_copy(path.read_bytes(), name)))
    for unit in units:
        base = f"units/{unit.resolve().name}"
        held[f"{base}/lesson.ipynb"] = with_kernel(json.loads((unit / "lesson.ipynb").read_text(encoding="utf-8")))
        for path in unit.glob("layout.toml"):
            held[f"{base}/{path.name}"] = path.read_bytes()
    return held


def with_kernel(notebook: dict[str, Any]) -> bytes:
    """Return a notebook for the browser's kernel.

    Args:
        notebook: its content.
    """
    about = {**notebook.get("metadata", {}), "kernelspec": KERNEL}
    return json.dumps({**notebook, "metadata": about}, ensure_ascii=False, indent=1).encode()
