"""The commands of `graders` in the order of the job. A new command has its place in ORDER."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Sequence

from gearkit.cli.command import Command, run
from gearkit.text.loading import loading

FAMILIES = (
    "listing",
    "units",
    "courses",
    "preparing",
    "paper",
    "marking",
    "after",
    "deciding",
    "term",
    "elsewhere",
)
ORDER = (
    "items",
    "unit",
    "compose",
    "check",
    "preview",
    "course",
    "hand-out",
    "pack",
    "paper",
    "exchange",
    "take-in",
    "type-in",
    "hint",
    "extend",
    "doctor",
    "mark",
    "mark-again",
    "report",
    "moderate",
    "hand-back",
    "show",
    "override",
    "correct",
    "take-back",
    "trail",
    "retake",
    "totals",
    "export",
    "qti",
    "withdraw",
    "remove",
    "demo",
)


# Words of `mark` with which nothing, or something else, is started.
_NEEDS_OTHER = frozenset(("-h", "--help", "--resume", "--cluster", "--engine", "--workers"))
ABOUT = "Class sheets of gearkit exercises: compose, hand out, mark, report, hand back."


def commands() -> list[Command]:
    """Return every command, in the order of the job."""
    with loading():
        families = [importlib.import_module(f"graders.cli.{family}") for family in FAMILIES]
    return sorted(
        (command for family in families for command in family.COMMANDS), key=lambda command: ORDER.index(command.name)
    )


def main(words: Sequence[str] | None = None) -> int:
    """Run the command line and return the exit code.

    Args:
        words: the command line; the process's own when left out.
    """
    if words is None:
        _load_ahead(sys.argv[1:])
    return run("graders", ABOUT, commands(), words)


def _load_ahead(words: Sequence[str]) -> None:
    """Let what runs notebooks load beside the commands: of nearly every class that is marked, something has to be run."""
    if words[:1] == ["mark"] and not _NEEDS_OTHER.intersection(word.partition("=")[0] for word in words):
        from graders.run.engines import warm_process

        warm_process.start_ahead()


if __name__ == "__main__":
    raise SystemExit(main())
