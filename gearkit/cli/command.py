"""What every command shares: its options, how results and errors leave it, and its exit codes.

Exit codes: 0 done; 1 a finding, such as a wrong answer or a failed check; 2 unusable input.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from gearkit import __version__
from gearkit.text import screen
from gearkit.text.loading import own_process
from gearkit.text.numbers import NUMBER_FORM, exact
from gearkit.text.phrases import fixed
from gearkit.words.errors import GearkitError, UsageError

DONE, FINDING, UNUSABLE = 0, 1, 2


@dataclass(frozen=True)
class Command:
    """One command of the kit.

    Args:
        name: the word on the command line.
        summary: one line for the list of commands.
        example: one line that works as it stands.
        arguments: adds the command's own arguments to its parser.
        run: does the work and returns the exit code.
    """

    name: str
    summary: str
    example: str
    arguments: Callable[[argparse.ArgumentParser], None]
    run: Callable[[argparse.Namespace], int]


_KINDS_OF_NUMBER = {"int": "a whole number", "float": "a number with a decimal point, such as 1.5"}


class _Parser(argparse.ArgumentParser):
    # Newer Pythons colour the help with escape sequences, which no text may bring to the screen.
    color = False

    def error(self, message: str) -> Any:
        # argparse speaks of "invalid int value", which is a programmer's word.
        message = re.sub(
            r"invalid (int|float) value: (.*)",
            lambda match: f"found {match[2]}, expected {_KINDS_OF_NUMBER[match[1]]}",
            message,
        )
        self.exit(UNUSABLE, f"{self.prog}: {message}\nTry: {self.prog} --help\n")


def run(program: str, about: str, commands: Sequence[Command], words: Sequence[str] | None = None) -> int:
    """Read a command line, run the command it names and return the exit code.

    Args:
        program: the program's name.
        about: one line on what it is for.
        commands: the commands it knows.
        words: the command line; the process's own when left out.
    """
    if words is None:
        own_process()
    with screen.guarded():
        return _run(parser_of(program, about, commands), words)


def parser_of(program: str, about: str, commands: Sequence[Command]) -> argparse.ArgumentParser:
    """Return the parser of a program with all its commands.

    Args:
        program: the program's name.
        about: one line on what it is for.
        commands: the commands it knows.
    """
    parser = _Parser(
        prog=program,
        description=about,
        epilog=f"example:  {commands[0].example}\nEach command says more: {program} COMMAND --help",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"{program} {__version__}", help="print the version")
    subparsers = parser.add_subparsers(dest="command", metavar="COMMAND", parser_class=_Parser)
    for command in commands:
        sub = subparsers.add_parser(
            command.name,
            help=command.summary,
            description=command.summary,
            epilog=f"example:  {command.example}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        command.arguments(sub)
        sub.set_defaults(run=command.run)
    return parser


def _run(parser: argparse.ArgumentParser, words: Sequence[str] | None) -> int:
    options = parser.parse_args(words)
    program = parser.prog
    if options.command is None:
        parser.print_help()
        return DONE
    try:
        code: int = options.run(options)
        sys.stdout.flush()
        return code
    except GearkitError as error:
        print(f"{program} {options.command}: {error}", file=sys.stderr)
        return UNUSABLE
    except BrokenPipeError:
        # The reader of a pipe (head, less) went away; that is no error of ours.
        sys.stderr.close()
        return DONE
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        advice = "Is it there, may you read and write it, and is there room?"
        print(f"{program} {options.command}: {where}{error.strerror or error}. {advice}", file=sys.stderr)
        return UNUSABLE
    except Exception as error:  # whatever was not foreseen: a sentence, not a traceback
        print(f"{program} {options.command}: {_own_fault(error)}", file=sys.stderr)
        return UNUSABLE
    except KeyboardInterrupt:
        print(f"{program} {options.command}: stopped", file=sys.stderr)
        return 130


def _own_fault(error: Exception) -> str:
    if isinstance(error, ModuleNotFoundError) and error.name and error.name.partition(".")[0] not in ("gearkit", "graders"):
        library = error.name.partition(".")[0]
        return f"this needs the library {library}, which is not installed here. Install it with: pip install {library}"
    last = traceback.extract_tb(error.__traceback__)[-1]
    where = f"{Path(last.filename).name}, line {last.lineno}"
    return (
        f"stopped by a fault of its own ({type(error).__name__}: {error}; {where}). "
        "Please report this line with the command that you gave."
    )


def add_json(parser: argparse.ArgumentParser) -> None:
    """Give a command the option to print data instead of a table."""
    parser.add_argument("--json", action="store_true", help="print data as JSON")


def take_minus(parser: argparse.ArgumentParser) -> None:
    """Let the values of a command's options begin with a minus sign (-16/5, -R/S); argparse would take them for options.

    Args:
        parser: the command's parser, without short options but -h.
    """
    parser._negative_number_matcher = re.compile(r"-[^-]")


def add_layout(parser: argparse.ArgumentParser) -> None:
    """Give a command its layout argument."""
    parser.add_argument("layout", metavar="LAYOUT", help="path of a layout file, or a name from: gearkit layouts")


def number(text: str) -> Fraction:
    """Return an exact number from the command line.

    Args:
        text: such as "1500", "-2.5" or "16/5".
    """
    value = exact(text)
    if value is None:
        raise argparse.ArgumentTypeError(f"{text[:40]!r} is not a number that can be used; {NUMBER_FORM}")
    return value


def exact_and_decimal(value: Fraction | None) -> dict[str, str | float | None]:
    """Return a number for JSON: the exact fraction as text, and a decimal.

    Args:
        value: None where nothing fixes it.
    """
    if value is None:
        return {"exact": None, "decimal": None}
    return {"exact": str(value), "decimal": float(value)}


def print_json(data: object) -> None:
    """Print data as JSON, readable and in a fixed order; what the screen cannot show is escaped, so no letter is lost."""
    text = json.dumps(data, indent=2, ensure_ascii=False)
    print(text if screen.can_show(text, sys.stdout) else json.dumps(data, indent=2))


def shown(value: Fraction | float | None, digits: int = 4) -> str:
    """Return a number for a table, an en dash where there is none.

    Args:
        value: the number.
        digits: decimals.
    """
    return "–" if value is None else fixed(value, digits)


def exactly(value: Fraction | None) -> str:
    """Return an exact number for a table, an en dash where there is none."""
    return "–" if value is None else str(value).replace("-", "−")


def in_short(value: Fraction | None) -> str:
    """Return an exact number where there is room for it; losses make long fractions, which are whole in the JSON."""
    text = exactly(value)
    return text if len(text) <= 16 else "…"


def table(head: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int] = ()) -> str:
    """Return a plain table with aligned columns.

    Args:
        head: titles.
        rows: cells, one list a row.
        right: numbers of the columns to align to the right.
    """
    widths = [max(len(line[column]) for line in (head, *rows)) for column in range(len(head))]

    def line(cells: Sequence[str]) -> str:
        return "  ".join(
            cell.rjust(width) if column in right else cell.ljust(width)
            for column, (cell, width) in enumerate(zip(cells, widths, strict=True))
        ).rstrip()

    return "\n".join([line(head), "  ".join("─" * width for width in widths), *(line(row) for row in rows)])


__all__ = [
    "DONE",
    "FINDING",
    "UNUSABLE",
    "Command",
    "UsageError",
    "add_json",
    "add_layout",
    "exact_and_decimal",
    "number",
    "print_json",
    "run",
    "shown",
    "table",
]
