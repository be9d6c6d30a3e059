"""The command that tells the story of a range: explain."""

from __future__ import annotations

import argparse
import re
from typing import Any

from gearkit.cli.command import DONE, Command, UsageError, add_json, add_layout, exact_and_decimal, print_json
from gearkit.explain.step import Step
from gearkit.explain.story import tell
from gearkit.explain.whole_story import Story
from gearkit.train import catalogue

FORMATS = {"text": Story.text, "markdown": Story.markdown, "html": Story.html}


def _explain(options: argparse.Namespace) -> int:
    layout = catalogue.find(options.layout)
    if (options.range is None) == (options.applied is None):
        raise UsageError(
            f"Give a range of the layout ({', '.join(item.name for item in layout.ranges)}), "
            "or --applied with the names of elements, such as --applied A,C."
        )
    engaged = None if options.applied is None else [name for name in re.split(r"[\s,]+", options.applied) if name]
    story = tell(layout, options.range, engaged)
    if options.json:
        print_json(_story_json(story))
    else:
        print(FORMATS[options.format](story), end="")
    return DONE


def _story_json(story: Story) -> dict[str, Any]:
    ratio = story.ratio
    return {
        "layout": story.layout.name,
        "range": story.range_name or None,
        "engaged": list(story.engaged),
        "verdict": story.mobility.verdict.value,
        "redundant": story.mobility.redundant,
        "ratio": {
            "exact": str(ratio.exact) if ratio else None,
            "decimal": ratio.decimal if ratio else None,
            "formula": ratio.formula if ratio else None,
        },
        "carry_torque": list(story.working),
        "idle": list(story.idle),
        "conflict": list(story.conflict),
        "one_way_note": story.note,
        "steps": [_step_json(number, step) for number, step in enumerate(story.steps, start=1)],
    }


def _step_json(number: int, step: Step) -> dict[str, Any]:
    return {
        "number": number,
        "part": step.part.value,
        "words": step.words,
        "formulas": [{"text": formula.text, "latex": formula.latex} for formula in step.formulas],
        "uses": list(step.uses),
        "gives": {member: exact_and_decimal(value) for member, value in step.gives.items()},
    }


def _arguments(parser: argparse.ArgumentParser) -> None:
    add_layout(parser)
    parser.add_argument("range", metavar="RANGE", nargs="?", help="a range of the layout, such as 1 or R")
    parser.add_argument("--applied", metavar="ELEMENTS", help="applied elements instead of a range, such as A,C")
    parser.add_argument("--format", choices=FORMATS, default="text", help="how to write it (default: text)")
    add_json(parser)


COMMANDS = [
    Command(
        "explain",
        "the derivation of a range in words and equations",
        "gearkit explain Q36 2 --format markdown",
        _arguments,
        _explain,
    )
]
