"""The command new: type a transmission in, from a few questions or from options, and see at once what it does."""

from __future__ import annotations

import argparse
import shlex
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from gearkit.cli.command import DONE, Command, add_json, print_json, shown
from gearkit.cli.design import Progress
from gearkit.cli.kinematics import chart_json, print_warnings, ratio_table
from gearkit.solve import ratios as solver
from gearkit.solve.teeth.new_layout import NewLayout, Typed, element_line, new_layout
from gearkit.text.phrases import MINUS, listed
from gearkit.train import catalogue
from gearkit.train.layout import Source
from gearkit.train.typed_in import (
    ELEMENT_FORM,
    JOIN_FORM,
    RANGE_FORM,
    RATIO_FORM,
    SET_FORM,
    read_element,
    read_join,
    read_range,
    read_ratio,
    read_set,
)
from gearkit.words.errors import GearkitError, UsageError
from gearkit.words.terms import ElementKind, SourceKind

_KINDS = {"brake": ElementKind.BRAKE, "clutch": ElementKind.CLUTCH, "one_way": ElementKind.ONE_WAY_CLUTCH}
_QUESTIONS: dict[str, tuple[str, str, Callable[[str], object]]] = {
    "set": ("Planetary sets", f"{SET_FORM}; R/S 2.2 where only the quotient is known, ? where it is to be found", read_set),
    "join": ("What is always joined", JOIN_FORM, read_join),
    "element": ("Brakes, clutches and one-way clutches", ELEMENT_FORM, read_element),
    "range": ("Ranges and their elements, as far as they are known", RANGE_FORM, read_range),
    "ratio": ("Ratios, wanted or printed, as far as they are known", RATIO_FORM, read_ratio),
}


def _new(options: argparse.Namespace) -> int:
    target = Path(options.file)
    if target.suffix != ".toml":
        raise UsageError(f"{target}: a layout file ends in .toml, such as {target.name.split('.')[0] or 'my'}.toml")
    if target.exists() and not options.replace:
        raise UsageError(f"{target} is there already and is left as it is. Choose another name, or add --replace.")
    typed = _typed(options) if options.set else _asked(target, options)
    progress = Progress()
    try:
        made = new_layout(typed, options.nearest, progress.report)
    except GearkitError as fault:
        # Whoever answered questions gets the answers back, so that only what was wrong has to be typed again.
        raise UsageError(
            str(fault)
            if options.set
            else f"{fault}\nNothing is lost; correct this line and run it:\n{_as_options(target, typed)}"
        ) from None
    finally:
        progress.end()
    catalogue.write(made.layout, target)
    picture = _draw(made, target)
    chart = solver.chart(made.layout)
    if options.json:
        print_json(
            {"file": str(target), "picture": str(picture), **chart_json(chart, chart.rows), "search": _search_json(made)}
        )
        return DONE
    print(f"{made.layout.name}\n")
    _print_search(made)
    if chart.rows:
        print(ratio_table(chart.rows))
        if chart.spread is not None:
            print(f"\nspread {shown(chart.spread, 3)}")
    else:
        _print_what_drives(made)
    print_warnings(made.layout)
    print(f"\nlayout written to {target}, its stick diagram to {picture}")
    return DONE


def _typed(options: argparse.Namespace) -> Typed:
    elements = [element_line(kind, line) for name, kind in _KINDS.items() for line in getattr(options, name) or []]
    title = options.title or Path(options.file).stem.replace("_", " ")
    return Typed(
        title,
        tuple(options.set),
        tuple(options.join or ()),
        tuple(elements),
        tuple(options.range or ()),
        tuple(options.ratio or ()),
        _source(options),
    )


def _source(options: argparse.Namespace) -> Source:
    return Source(SourceKind(options.source), options.citation)


def _asked(target: Path, options: argparse.Namespace) -> Typed:
    """Ask for the parts, one line each; a line that cannot be read is asked for again."""
    title = options.title or target.stem.replace("_", " ")
    lines: dict[str, list[str]] = {name: [] for name in _QUESTIONS}
    print(f"A new layout, {title}. One line each; an empty line goes on to the next question.", file=sys.stderr)
    for name, (words, form, reader) in _QUESTIONS.items():
        print(f"\n{words}: {form}", file=sys.stderr)
        try:
            while line := _line(reader, f"{name} {len(lines[name]) + 1}> "):
                lines[name].append(line)
        except EOFError:
            break
    sets, joins, elements, ranges, ratios = (tuple(lines[name]) for name in _QUESTIONS)
    typed = Typed(title, sets, joins, elements, ranges, ratios, _source(options))
    if not typed.sets:
        raise UsageError("No set was typed in. Answer the questions, or give the parts as options: gearkit new --help")
    return typed


def _line(reader: Callable[[str], object], prompt: str) -> str:
    while True:
        print(prompt, end="", file=sys.stderr, flush=True)
        line = input().strip()
        if not line:
            return ""
        try:
            reader(line)
        except GearkitError as fault:
            print(f"  {fault}", file=sys.stderr)
        else:
            return line


def _as_options(target: Path, typed: Typed) -> str:
    words = ["gearkit", "new", shlex.quote(str(target))]
    for option, lines in (("set", typed.sets), ("join", typed.joins), ("range", typed.ranges), ("ratio", typed.ratios)):
        words += [f"--{option} {shlex.quote(line)}" for line in lines]
    for line in typed.elements:
        element = read_element(line)
        option = next(name for name, kind in _KINDS.items() if kind is element.kind).replace("_", "-")
        turns = f" {element.free_direction}" if element.kind is ElementKind.ONE_WAY_CLUTCH else ""
        words.append(f"--{option} {shlex.quote(' '.join((element.name, *element.between)) + turns)}")
    return " ".join(words)


def _draw(made: NewLayout, target: Path) -> Path:
    from gearkit.draw.commands import draw_to_file

    picture = target.with_suffix(".svg")
    draw_to_file(made.layout, "stick", picture)
    return picture


def _print_search(made: NewLayout) -> None:
    if made.ring_to_sun is not None:
        for name, (low, high) in made.ring_to_sun.spans.items():
            print(
                f"{name}: ring-to-sun ratio {low:.4f} to {high:.4f} gives every ratio as printed; {shown(made.layout.set_named(name).quotient)} taken"
            )
        print()
    if made.proposal is None:
        return
    result, best = made.proposal.search, made.proposal.search.designs[0]
    for name, choice in best.teeth.items():
        print(f"{name}: sun {choice.sun}, pinion {choice.pinion}, ring {choice.ring}, {choice.planets} planets")
    for name, wanted in result.targets.ratios.items():
        others = made.proposal.alike[name]
        also = f"; {listed((' '.join(c) for c in others), 'or')} would give the same" if others else ""
        print(
            f"range {name}: {shown(best.ratios[name])} for {shown(wanted)} wanted ({shown(100 * best.errors[name], 2)} %){also}"
        )
    print(
        f"largest error {shown(100 * best.worst, 3)} %; "
        + (
            "proved: no other elements and no tooth counts within the limits come nearer"
            if result.proved
            else "not proved to be the least"
        )
    )
    twice = _same_elements(made)
    if twice:
        print(f"{listed(twice)} come out as the same combination: the layout has no ratio between them")
    print()


def _same_elements(made: NewLayout) -> list[str]:
    seen: dict[tuple[str, ...], list[str]] = {}
    for item in made.layout.ranges:
        seen.setdefault(item.engaged, []).append(item.name)
    return [name for names in seen.values() if len(names) > 1 for name in names]


def _search_json(made: NewLayout) -> dict[str, object]:
    if made.ring_to_sun is not None:
        return {"ring_to_sun": {name: list(span) for name, span in made.ring_to_sun.spans.items()}}
    if made.proposal is None:
        return {}
    result, best = made.proposal.search, made.proposal.search.designs[0]
    return {
        "proved": result.proved,
        "worst_error": float(best.worst),
        "teeth": {
            name: {"sun": c.sun, "pinion": c.pinion, "ring": c.ring, "planets": c.planets} for name, c in best.teeth.items()
        },
        "alike": {name: [list(c) for c in others] for name, others in made.proposal.alike.items()},
    }


def _print_what_drives(made: NewLayout) -> None:
    rows = solver.driving_rows(made.layout)
    if not rows:
        print("No combination of the elements drives the output.")
        return
    print("No range is named yet. These combinations drive:")
    for row in rows:
        assert row.ratio is not None, "only rows that drive are listed"
        print(f"  {shown(row.ratio.exact).rjust(9)}  {' '.join(row.engaged)}")
    first = rows[0]
    print(f'Name them with --range, such as --range "1: {" ".join(first.engaged)}"')


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "file", metavar="FILE", help="the layout file to write, such as my.toml; its stick diagram goes beside it"
    )
    many: dict[str, Any] = {"action": "append", "metavar": "LINE"}
    parser.add_argument("--set", **many, help=f"a set, once for each: {SET_FORM}; without any, questions are asked")
    parser.add_argument("--join", **many, help=f"one shaft: {JOIN_FORM}")
    parser.add_argument("--brake", **many, help="a name and the member that it holds, such as: A P1.ring")
    parser.add_argument("--clutch", **many, help="a name and the two members that it joins, such as: K input P2.sun")
    parser.add_argument(
        "--one-way",
        **many,
        help="a name, two members, and the way in which the first may turn freely, such as: F P2.carrier housing forward",
    )
    parser.add_argument(
        "--range", **many, help=f"{RANGE_FORM}; left out for ranges whose elements are to be found from their ratio"
    )
    parser.add_argument(
        "--ratio",
        **many,
        help=f"{RATIO_FORM}; printed for a range that is given, wanted for one that is not (write -3.4 or {MINUS}3.4 for reverse)",
    )
    parser.add_argument(
        "--nearest", action="store_true", help="take the tooth counts that come nearest where printed ratios cannot all be met"
    )
    parser.add_argument("--title", metavar="TEXT", help="the layout's title; the file's name when left out")
    parser.add_argument(
        "--source",
        choices=[str(kind) for kind in SourceKind],
        default=str(SourceKind.OWN),
        help="where the figures come from (default: own)",
    )
    parser.add_argument("--citation", metavar="TEXT", default="typed in", help="the source in words")
    parser.add_argument("--replace", action="store_true", help="replace a layout file that is there")
    add_json(parser)


COMMANDS: list[Command] = [
    Command(
        "new",
        "type a layout in; what is missing is searched, and drawing and chart are shown at once",
        'gearkit new my.toml --set "P1 30/66" --set "P2 ?" --join "input P1.sun" --join "P1.ring P2.carrier output" --join "P1.carrier P2.ring" '
        '--clutch "K input output" --brake "A P1.carrier" --brake "B P2.sun" --ratio "1 = 2.1" --ratio "2 = 1" --ratio "R = -2.2"',
        _arguments,
        _new,
    )
]
