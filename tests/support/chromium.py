"""Where the browser for the tests is."""

from __future__ import annotations

import os
import shutil


def path() -> str | None:
    """Return the system's Chromium; None lets playwright fall back on the one that it brought itself."""
    return os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("google-chrome")
