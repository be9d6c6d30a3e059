"""The commands of `graders` in the order of the job. A new command family is a module with COMMANDS, named here."""

from __future__ import annotations

from collections.abc import Sequence

from gearkit.cli.command import run
from graders.cli import after, deciding, marking, outside, preparing, term


def main(words: Sequence[str] | None = None) -> int:
    """Run the command line and return the exit code.

    Args:
        words: the command line; the process's own when left out.
    """
    commands = [*preparing.COMMANDS, *marking.COMMANDS, *after.COMMANDS, *deciding.COMMANDS, *term.COMMANDS, *outside.COMMANDS]
    about = "Class sheets of gearkit exercises: compose, hand out, mark, report, hand back."
    return run("graders", about, commands, words)


if __name__ == "__main__":
    raise SystemExit(main())
