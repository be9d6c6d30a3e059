"""Every command on one page, from the parsers themselves, so that page and program cannot differ."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from html import escape


def html(programs: Sequence[tuple[argparse.ArgumentParser, Sequence[str]]]) -> str:
    """Return the page's content.

    Args:
        programs: the parser of each program, with examples of its commands in their order.
    """
    lists = "".join(
        f'<h2 id="{parser.prog}">{parser.prog}</h2><p>{escape(parser.description or "")}</p><ul class="gk-list">'
        + "".join(f'<li><a href="#{_id(each)}">{escape(name)}</a></li>' for name, each in _commands(parser))
        + "</ul>"
        + "".join(_command(each, example) for (_, each), example in zip(_commands(parser), examples, strict=True))
        for parser, examples in programs
    )
    told = "Every command explains itself too: write <code>--help</code> behind it. It ends with 0 when all is done, with 1 on a finding such as a wrong answer, and with 2 where it could not use what it was given."
    return f"<h1>Commands</h1><p>{told}</p>{lists}"


def _commands(parser: argparse.ArgumentParser) -> Iterator[tuple[str, argparse.ArgumentParser]]:
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            yield from action.choices.items()


def _id(parser: argparse.ArgumentParser) -> str:
    return parser.prog.replace(" ", "-")


def _command(parser: argparse.ArgumentParser, example: str) -> str:
    usage = parser.format_usage().removeprefix("usage: ").strip()
    options = "".join(
        f"<dt>{escape(_called(action))}</dt><dd>{escape(_said(action))}</dd>"
        for action in parser._actions
        if not isinstance(action, argparse._HelpAction)
    )
    about = (parser.description or "")[:1].upper() + (parser.description or "")[1:]
    return (
        f'<section class="gk-command" aria-labelledby="{_id(parser)}"><h3 id="{_id(parser)}">{escape(parser.prog)}</h3>'
        f"<p>{escape(about)}.</p><pre>{escape(usage)}</pre>"
        + (f"<dl>{options}</dl>" if options else "")
        + f"<p>Example:</p><pre>{escape(example)}</pre></section>"
    )


def _called(action: argparse.Action) -> str:
    shown = action.metavar if isinstance(action.metavar, str) else action.dest.upper()
    if not action.option_strings:
        return shown
    return ", ".join(action.option_strings) + ("" if action.nargs == 0 else f" {shown}")


def _said(action: argparse.Action) -> str:
    # A percent sign is written twice in a parser.
    return (action.help or "").replace("%(default)s", str(action.default)).replace("%%", "%")
