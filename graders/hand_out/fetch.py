"""Gives each learner their own copy when they fetch a sheet with the book-keeping's button or command.

Every copy has its learner's own numbers, so the one sheet for everybody that is fetched otherwise is of no use. To be
named in the settings of the learners' JupyterLab: ``c.ExchangeFactory.fetch_assignment = "graders.hand_out.fetch.OwnCopy"``.
"""

from __future__ import annotations

import os
from pathlib import Path

from nbgrader.exchange.default import ExchangeFetchAssignment
from nbgrader.utils import get_username

from graders.course import access
from graders.hand_out.exchange import OWN


class OwnCopy(ExchangeFetchAssignment):  # type: ignore[misc]  # the book-keeping has no types
    """Fetches a learner's own copy where the course has copies of their own, and the common one elsewhere."""

    def init_src(self) -> None:
        """Find what to fetch."""
        super().init_src()
        own = os.path.join(self.course_path, OWN)
        if not os.path.isdir(own):
            return
        copy = os.path.join(own, get_username(), self.coursedir.assignment_id)
        if not os.path.isdir(copy):
            self.fail(
                f"There is no copy of {self.coursedir.assignment_id} for the account {get_username()}. "
                "Ask your instructor whether you are on the class list."
            )
        self.src_path = copy

    def do_copy(self, src: str, dest: str) -> None:
        """Copy, without the access list that closes the original to others.

        With it, what is handed in later could not be read by the instructor.

        Args:
            src: the folder to copy.
            dest: where to.
        """
        super().do_copy(src, dest)
        for folder, _, names in os.walk(dest):
            access.leave_to_owner(Path(folder))
            for name in names:
                access.leave_to_owner(Path(folder) / name)
