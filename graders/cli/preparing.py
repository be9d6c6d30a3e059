"""The command compose: a sheet from lessons, from chosen items, or from any layout."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from pathlib import Path

from gearkit.answers.families import SUBJECTS
from gearkit.answers.read.commas import EITHER
from gearkit.cli.command import DONE, Command, add_json, print_json, table
from gearkit.text.phrases import listed
from gearkit.words.errors import UsageError
from graders.course import lateness
from graders.report.pages.page import counted
from graders.sheets import blueprint, first_page, previews, sheets
from graders.sheets.picking import Pick, told_by
from graders.sheets.sheet_rules import CALCULATORS, COMMAS, ROUNDINGS, SheetRules
from graders.sheets.sheets import Sheet


def _compose_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "source",
        metavar="SOURCE",
        nargs="+",
        help="'lesson 3', 'lessons 1-4', items such as L03-01,L02-02, a layout's file or its name in the "
        "catalogue; or several of these",
    )
    parser.add_argument("-o", "--output", metavar="SHEET", required=True, type=Path, help="the sheet's file (.toml)")
    parser.add_argument("--title", default="", help="title for people")
    parser.add_argument(
        "--due",
        default="",
        metavar="TIME",
        help="such as '2026-03-02 17:00', in the course's time zone; a date alone means 23:59",
    )
    parser.add_argument("--note", default="", metavar="SENTENCE", help="for the head of the sheet, such as where to hand in")
    parser.add_argument(
        "--ask",
        default=None,
        metavar="SUBJECTS",
        help=f"of a layout: some of {', '.join(SUBJECTS)} (default: a balanced sheet)",
    )
    parser.add_argument("--practice", action="store_true", help="a sheet for practice, without marks that count")
    _pick_arguments(parser.add_argument_group("picking some of the items that SOURCE names"))
    _rule_arguments(parser.add_argument_group("rules, told at the head of the sheet"))
    parser.add_argument("--preview", action="store_true", help="print the sheet as a learner sees it, with trial numbers")
    parser.add_argument("--replace", action="store_true", help="write over a sheet that is there already")
    add_json(parser)


def _pick_arguments(group: argparse._ArgumentGroup) -> None:
    group.add_argument("--items", type=int, default=None, metavar="N", help="so many items")
    group.add_argument("--total-marks", type=int, default=None, metavar="N", help="with so many marks together")
    group.add_argument("--types", type=int, default=None, metavar="N", help="with at least so many kinds of answer")
    group.add_argument("--time", type=int, default=None, metavar="MINUTES", help="that take at most so long, as estimated")
    group.add_argument(
        "--subject",
        "--topic",
        action="append",
        default=[],
        metavar="SUBJECT",
        help="only those about this, such as torque; several with commas. See: graders items",
    )
    group.add_argument("--level", default="", metavar="LEVELS", help="only easy, middle or hard ones; several with commas")
    group.add_argument(
        "--blueprint",
        default="",
        metavar="PARTS",
        help=f"how many of which level and subject: {blueprint.FORM}",
    )
    group.add_argument(
        "--telling",
        action="store_true",
        help="with --items: those that best tell misconceptions from slips and from each other",
    )
    group.add_argument(
        "--marks",
        action="append",
        default=[],
        metavar="ITEM=MARKS",
        help="other marks for an item, such as L03-02=4; may be repeated",
    )


def _rule_arguments(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--attempts",
        type=int,
        default=None,
        metavar="N",
        help="hand-ins that count, the last of them is marked (default: any number)",
    )
    group.add_argument(
        "--hint-cost",
        type=int,
        default=None,
        metavar="PERCENT",
        help="0: hints stand in the sheet, free; more: they are asked for and each costs so much of its item's "
        "marks (default: no hints; free on a practice sheet)",
    )
    group.add_argument("--calculator", choices=list(CALCULATORS), default="any", help="default: %(default)s")
    group.add_argument(
        "--rounding",
        choices=list(ROUNDINGS),
        default="fair",
        help="fair: half a percent is allowed for steps rounded on the way; strict: it is not (default: fair)",
    )
    group.add_argument(
        "--comma",
        choices=list(COMMAS),
        default=EITHER,
        help="what 2,006 is: decimal, 2.006; thousands, 2006; either: it is handed back with both (default: the course's)",
    )
    group.add_argument(
        "--late",
        default="",
        metavar="RULE",
        help=f"what late work earns: {lateness.FORM} (default: the course's rule; nothing is taken off unless one is chosen)",
    )
    group.add_argument(
        "--grace",
        type=int,
        default=None,
        metavar="MINUTES",
        help="so many minutes late are still in time (default: the course's)",
    )
    group.add_argument(
        "--minutes", type=int, default=None, metavar="N", help="working time; extra time on the class list is added"
    )


def _compose(options: argparse.Namespace) -> int:
    path: Path = options.output
    if path.suffix != ".toml" and not path.is_dir():
        path = path.with_name(f"{path.name}.toml")
    if path.is_dir():
        raise UsageError(f"{path} is a folder; give the name of a sheet's file, such as {path / 'week3.toml'}.")
    sheet = _composed(options, path.stem)
    if path.exists() and not options.replace and path.read_bytes() != sheets.as_text(sheet).encode():
        raise UsageError(f"{path} is there already and holds something else. Give another name, or add --replace.")
    sheets.write(sheet, path)
    if options.json:
        print_json(
            {
                "sheet": sheet.name,
                "title": sheet.title,
                "file": str(path),
                "marks": sheet.marks,
                "items": [{"item": entry.item.id, "marks": entry.marks} for entry in sheet.items],
                "left_out": list(sheet.left_out),
                "kind": sheet.kind,
                "due": sheet.due.isoformat() if sheet.due else None,
                "rules": asdict(sheet.rules),
            }
        )
        return DONE
    print(_sheet_words(sheet))
    if sheet.left_out:
        print(f"Left out: {listed(list(sheet.left_out))}, because another task on the sheet prints what it asks for.")
    if options.telling:
        often, seldom = told_by([entry.item for entry in sheet.items])
        print(f"Picked to tell misconceptions apart: {often} of them show on three items or more, {seldom} on one or two.")
    elif sheet.picked_from:
        print(_picked_words(sheet, options))
    if options.preview:
        print("\n" + previews.in_terminal(previews.for_learner(sheet, "anybody", previews.TRIAL)))
    print(
        f"\nWritten: {path}\nNext:    graders check {path} --class ROSTER.csv\n"
        f"         graders hand-out COURSE {path} --class ROSTER.csv"
    )
    return DONE


def _composed(options: argparse.Namespace, name: str) -> Sheet:
    kind = "practice" if options.practice else "graded"
    numbers = {key: getattr(options, key) for key in ("attempts", "minutes", "items", "total_marks", "types", "time")}
    for key, number in numbers.items():
        if number is not None and number < 1:
            raise UsageError(f"--{key.replace('_', '-')} {number}: expected a whole number from 1; leave it out for the usual.")
    given = {key: number or 0 for key, number in numbers.items()}
    ask = () if options.ask is None else _words_in(options.ask)
    hint_cost = sheets.usual_rules(kind).hint_cost if options.hint_cost is None else options.hint_cost
    sheet = sheets.compose(
        options.source,
        name,
        title=options.title,
        kind=kind,
        due=options.due,
        note=options.note,
        marks=_marks(options.marks),
        ask=ask,
        rules=SheetRules(
            given["attempts"],
            hint_cost,
            options.calculator,
            given["minutes"],
            options.rounding,
            options.comma,
            options.late.strip(),
            options.grace,
        ),
        pick=Pick(
            given["items"],
            given["total_marks"],
            given["types"],
            options.telling,
            given["time"],
            _words_in(",".join(options.subject)),
            _words_in(options.level),
            blueprint.read(options.blueprint) if options.blueprint else (),
        ),
    )
    if options.ask is not None and not sheet.layouts:
        raise UsageError(
            f"--ask {options.ask!r} chooses what is asked about a layout, and none of the sources is one. Leave it "
            "out, or name a layout: gearkit layouts"
        )
    return sheet


def _words_in(text: str) -> tuple[str, ...]:
    return tuple(piece.strip() for piece in text.split(",") if piece.strip())


def _picked_words(sheet: Sheet, options: argparse.Namespace) -> str:
    """From what and how the items were picked."""
    wished = any((options.items, options.total_marks, options.types, options.time, options.subject, options.level))
    if options.blueprint:
        told = f"Picked from {sheet.picked_from} items by the blueprint: {listed([str(part) for part in blueprint.read(options.blueprint)])}."
    elif wished:
        told = f"Picked from {sheet.picked_from} items."
    else:
        told = (
            f"These are {sheet.picked_from} items, and at most {sheets.MOST_ITEMS} fit on a sheet, so a balanced choice was picked. "
            "For fewer: --items, --time or --blueprint."
        )
    return f"{told} Lessons and kinds of answer take turns; under another sheet name others are picked."


def _marks(words: list[str]) -> dict[str, int]:
    marks: dict[str, int] = {}
    for word in (piece for words_ in words for piece in words_.split(",")):
        item, sign, number = word.strip().partition("=")
        if not sign or not number.strip().isdecimal():
            raise UsageError(f"--marks {word!r}: expected an item and its marks, such as L03-02=4.")
        marks[item.strip().upper()] = int(number)
    return marks


def _sheet_words(sheet: Sheet) -> str:
    rows = [[entry.item.id, str(entry.item.kind), str(entry.marks)] for entry in sheet.items]
    kinds = len({entry.item.kind for entry in sheet.items})
    lines = [
        f"{sheet.title}: {counted(len(sheet.items), 'item')} of {counted(kinds, 'kind')}, {counted(sheet.marks, 'mark')}",
        "",
        table(["item", "kind", "marks"], rows, right=(2,)),
        "",
        "At the head of the sheet:",
    ]
    lines += [f"  {rule}" for rule in first_page.lines(sheet)]
    seen_to = sheet.rules.enforced(due=sheet.due is not None)
    if sheet.due and sheet.kind == "graded" and not sheet.rules.late:
        seen_to.insert(0, "What lateness costs is the course's rule, told at hand-out; a rule for this sheet alone: --late.")
    seen_to += [late] if (late := lateness.past(sheet.due)) else []
    return "\n".join([*lines, *(["For you:", *(f"  {words}" for words in seen_to)] if seen_to else [])])


COMMANDS = [
    Command(
        "compose",
        "make a sheet from lessons, from chosen items, or from any layout",
        "graders compose 'lessons 1-4' --items 12 --total-marks 30 --types 3 --hint-cost 20 --due '2026-09-30 17:00' "
        "-o week3.toml",
        _compose_arguments,
        _compose,
    ),
]
