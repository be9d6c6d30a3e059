"""The command exercise: one exercise with its numbers, an answer checked; or many, a line of JSON each."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterable

from gearkit.answers.one_exercise import SOMEBODY, Exercise, batch, exercise
from gearkit.cli.command import DONE, FINDING, UNUSABLE, Command, add_json, print_json, take_minus
from gearkit.text.markdown import in_plain_text
from gearkit.words.errors import UsageError


def _exercise(options: argparse.Namespace) -> int:
    if options.batch:
        return _batch(options)
    if options.item is None:
        raise UsageError("Name an item, such as L03-02; or give --batch and write lines of JSON.")
    shown = exercise(options.item, layout=options.layout or "", learner=options.learner or SOMEBODY, answer=options.answer)
    if options.json:
        print_json(shown.as_data())
    else:
        print(_in_words(shown))
    return DONE if shown.right else FINDING


def _batch(options: argparse.Namespace) -> int:
    if options.answer is not None:
        raise UsageError("With --batch each line brings its own answer: leave --answer out.")
    given = {"item": options.item, "layout": options.layout, "learner": options.learner}
    code = DONE
    for reply, right in batch(_lines(), {name: value for name, value in given.items() if value}):
        # A program at the other end may wait for this line before it sends the next.
        print(json.dumps(reply, ensure_ascii=False), flush=True)
        code = max(code, UNUSABLE if right is None else DONE if right else FINDING)
    return code


def _lines() -> Iterable[str | bytes]:
    # As bytes, so that one line in a wrong encoding spoils no other.
    return getattr(sys.stdin, "buffer", sys.stdin)


def _in_words(shown: Exercise) -> str:
    data = shown.as_data()
    marks = "mark" if data["max"] == 1 else "marks"
    lines = [f"{data['item']} ({data['max']:g} {marks}, numbers of {shown.learner})", "", in_plain_text(data["prompt"]), ""]
    for part in shown.variant.parts:
        told = ", ".join(
            text
            for text in (
                part.label,
                f"in {part.unit}" if part.unit else "",
                f"one of: {', '.join(part.options)}" if part.options else "",
            )
            if text
        )
        lines.append(f"  {part.name}: {told or part.kind}")
    if shown.result is None:
        example = "; ".join(f"{part.name} = …" for part in shown.variant.parts[:3])
        return "\n".join([*lines, "", f"Answer with --answer TEXT{f', as in: {example}' if len(data['parts']) > 1 else ''}."])
    lines += ["", *(f"  {name} read as {text}" for name, text in shown.result.read_as.items())]
    return "\n".join(
        [*lines, f"{data['verdict']}: {data['score']:g} of {data['max']:g} {marks}", in_plain_text(data["comment"])]
    )


def _arguments(parser: argparse.ArgumentParser) -> None:
    take_minus(parser)
    parser.add_argument("item", metavar="ITEM", nargs="?", help="an exercise, such as L03-02; see graders items")
    parser.add_argument(
        "--layout",
        metavar="FILE",
        help="an exercise made from this layout, such as X06-RATIO-3 (graders items "
        "--layout FILE lists them): path of a layout file, or a name from: gearkit layouts",
    )
    parser.add_argument("--for", dest="learner", metavar="NAME", help=f"whose numbers (default: {SOMEBODY})")
    parser.add_argument("--answer", metavar="TEXT", help='an answer to check; several parts as "sun = 12; planet = -3"')
    parser.add_argument(
        "--batch",
        action="store_true",
        help="read lines of JSON with item, layout, learner and answer; write one line of JSON for each",
    )
    add_json(parser)


COMMANDS = [
    Command(
        "exercise",
        "one exercise with its numbers, an answer checked",
        "gearkit exercise L03-02 --for Ann --answer 16/5",
        _arguments,
        _exercise,
    )
]
