"""What is out of a course: whether learners have read its settings, so that these must stay as they are."""

from __future__ import annotations

from pathlib import Path

WITHDRAWN = "withdrawn"


def why_settled(folder: Path) -> str:
    """Say why a course's settings stand, as part of a sentence; "" where they can still be changed.

    A sheet that was withdrawn before anybody handed in does not count.

    Args:
        folder: the course's folder.
    """
    if any((folder / "sheets").glob("*.toml")) or any((folder / "handed_out").glob("*/*")):
        return "sheets were handed out"
    names = sorted({work.name for work in (folder / WITHDRAWN).glob("*/submitted/*/*")})
    if not names:
        return ""
    which = f"sheet {names[0]} before it was" if len(names) == 1 else f"sheets {', '.join(names)} before they were"
    return f"work was handed in for {which} withdrawn"


def was_withdrawn(folder: Path) -> bool:
    """Whether a sheet was withdrawn from a course.

    Args:
        folder: the course's folder.
    """
    return (folder / WITHDRAWN).is_dir()
