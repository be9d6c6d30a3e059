"""What holds for every test: properties have no time limit, and CI draws the same examples each time."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("desk", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "desk")
