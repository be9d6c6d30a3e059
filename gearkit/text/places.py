"""Where the shipped files lie: beside the packages in a checkout, inside the package in an installed wheel."""

from __future__ import annotations

from pathlib import Path

from gearkit.words.errors import GearkitError

_PACKAGE = Path(__file__).resolve().parent.parent


def datasets() -> Path:
    """Return the folder of layouts and other data files."""
    return _shipped("datasets")


def lessons() -> Path:
    """Return the folder of lesson notebooks as shipped."""
    return _shipped("lessons")


def _shipped(name: str) -> Path:
    for folder in (_PACKAGE / "_data" / name, _PACKAGE.parent / name):
        if folder.is_dir():
            return folder
    raise GearkitError(f"The kit's folder '{name}' is missing; install the package again.")
