"""Stands in for the book-keeping's own marking, so that its button "Autograde" marks as `graders mark` does.

Left to itself that button runs learners' code in a kernel of the instructor's account and empties the marks of every
item, because the sheets hold no tests. The course's nbgrader_config.py names the class below in the place of all steps
of that marking; nothing that was handed in is run but behind the sandbox's layers.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import nbformat
from nbgrader.preprocessors import NbGraderPreprocessor

from gearkit.words.errors import GearkitError
from graders.course.course import open_course

_UNUSABLE = 2


class MarkedByTheKit(NbGraderPreprocessor):  # type: ignore[misc]  # the book-keeping has no types
    """Marks what is new in the sheet of a handed-in notebook, and gives the marked copy in that notebook's place."""

    def preprocess(self, notebook: Any, resources: Any) -> tuple[Any, Any]:
        """Mark, and return the marked copy.

        Args:
            notebook: as it was handed in.
            resources: what the book-keeping knows about it: where it lies, whose it is, and for which sheet.

        Raises:
            GearkitError: it could not be marked.
        """
        folder = Path(resources["metadata"]["path"]).absolute().parents[2]
        learner, sheet = resources["nbgrader"]["student"], resources["nbgrader"]["assignment"]
        course = open_course(folder)
        # A process of its own: the notebook server around us has threads, connections and an event loop.
        done = subprocess.run(
            [sys.executable, "-m", "graders.cli", "mark", str(folder), sheet, "--resume"],
            capture_output=True,
            text=True,
            check=False,
            stdin=subprocess.DEVNULL,
        )
        if done.returncode >= _UNUSABLE or done.returncode < 0:
            raise GearkitError(done.stderr.strip() or f"graders mark ended with {done.returncode}.")
        copy = course.autograded_file(learner, sheet)
        if not copy.exists():
            raise GearkitError(
                f"{learner}'s work for sheet {sheet} has no marked copy; see the mark sheet "
                f"{course.marks_file(sheet)} for the reason."
            )
        return nbformat.read(copy, as_version=4), resources
