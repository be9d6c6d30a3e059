"""The commands draw and place: a picture of a layout into a file; where a stick diagram puts the parts."""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path

from gearkit.cli.command import DONE, Command, add_layout
from gearkit.cli.several.options import gathered, pair
from gearkit.draw import registry
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError


def _draw(options: argparse.Namespace) -> int:
    # What draws is loaded only here: no other command should wait for it.
    from gearkit.cli.kinematics import print_warnings
    from gearkit.draw.commands import draw_to_file

    layout = catalogue.find(options.layout)
    if options.anew:
        layout = replace(layout, placement=None)
    if Path(options.output).suffix.lower() == ".html":
        return _page(layout, options)
    given = gathered(options.speed or (), {}, "speed")
    drawn = draw_to_file(layout, options.what, Path(options.output), options.range, options.set, given)
    print(f"{options.output}: {drawn.title}")
    if options.words:
        print(drawn.description)
    print_warnings(layout)
    return DONE


def _page(layout: Layout, options: argparse.Namespace) -> int:
    """Write the page of the cutaway that turns."""
    if options.what != "cutaway":
        raise UsageError(f"{options.output}: only --what cutaway makes a page; for {options.what} use .svg, .png or .pdf.")
    if options.set or options.speed:
        raise UsageError("The cutaway shows the whole layout with the input turning; leave --set and --speed out.")
    from gearkit.lesson.solid.cutaway_page import write_page

    write_page(layout, Path(options.output), options.range)
    print(f"{options.output}: a page with {layout.name}, cut open, to turn")
    return DONE


def _kinds() -> str:
    return ", ".join(f"{name}: {kind.words}" for name, kind in registry.PICTURES.items())


def _arguments(parser: argparse.ArgumentParser) -> None:
    add_layout(parser)
    parser.add_argument("--what", choices=registry.names(), default="stick", help=f"which picture (default: stick); {_kinds()}")
    parser.add_argument(
        "-o",
        "--output",
        metavar="FILE",
        required=True,
        help="file to write: .svg, .png or .pdf; for cutaway also .html, a page on which it turns; missing folders are made",
    )
    parser.add_argument("--range", metavar="RANGE", help=f"show this range ({', '.join(registry.with_a_range())})")
    parser.add_argument(
        "--set", metavar="SET", help=f"which set ({', '.join(registry.of_one_set())}; the first one when left out)"
    )
    parser.add_argument(
        "--speed",
        type=pair,
        action="append",
        metavar="MEMBER=N",
        help="with levers and a range: a given speed; may be repeated",
    )
    parser.add_argument("--words", action="store_true", help="also print what the picture says")
    parser.add_argument("--anew", action="store_true", help="place the parts anew instead of as stored with the layout")


def _place(options: argparse.Namespace) -> int:
    from gearkit.draw.commands import store_placement

    target = Path(options.output) if options.output else None
    stored = store_placement(options.layout, target, options.searches)
    crossings = f"{stored.crossings} crossing" if stored.crossings == 1 else f"{stored.crossings} crossings"
    if stored.written:
        print(f"{stored.file}: placement stored, {crossings}")
    else:
        print(f"{stored.file}: left as it is; its placement has {crossings}, and no search found a better one")
    return DONE


def _place_arguments(parser: argparse.ArgumentParser) -> None:
    add_layout(parser)
    parser.add_argument(
        "-o", "--output", metavar="FILE", help="new file for the layout with its placement; its own file when left out"
    )
    parser.add_argument("--searches", type=int, default=6, metavar="N", help="choose the best of so many searches (default: 6)")


COMMANDS: list[Command] = [
    Command(
        "draw",
        "draw a layout: stick diagram, levers, speeds, charts, power flow or one set",
        "gearkit draw Q48 --what stick --range 2 -o q48_second.svg",
        _arguments,
        _draw,
    ),
    Command(
        "place",
        "find where a stick diagram puts the parts, and store it in the layout's file",
        "gearkit place Q24 -o my_q24.toml",
        _place_arguments,
        _place,
    ),
]
