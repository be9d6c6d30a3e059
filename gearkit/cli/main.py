"""The command `gearkit`. A new command family is a module with COMMANDS, named here."""

from __future__ import annotations

import importlib
import importlib.util
from collections.abc import Sequence

from gearkit.cli.command import Command, run
from gearkit.text.loading import loading

FAMILIES = (
    "lessons",
    "kinematics",
    "story",
    "loads",
    "shifting",
    "service",
    "road",
    "pictures",
    "design",
    "typing_in",
    "bench",
    "exercises",
    "several.machines",
    "several.converter",
)


ABOUT = "Planetary automatic transmissions: lessons, solver, pictures."


def commands() -> list[Command]:
    """Return every command, family by family."""
    with loading():
        families = [importlib.import_module(f"gearkit.cli.{family}") for family in FAMILIES]
    return [command for family in families for command in family.COMMANDS]


def main(words: Sequence[str] | None = None) -> int:
    """Run the command line and return the exit code.

    Args:
        words: the command line; the process's own when left out.
    """
    return run("gearkit", ABOUT, commands(), words)


if __name__ == "__main__":
    raise SystemExit(main())
