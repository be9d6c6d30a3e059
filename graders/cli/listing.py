"""The command items: everything that can be asked, of the lessons or of any layout."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path

from gearkit.answers.listing import LEVELS, Entry, of_a_layout, of_the_bank
from gearkit.cli.command import DONE, Command, add_json, print_json, table
from gearkit.text.phrases import listed
from gearkit.train import catalogue
from gearkit.words.errors import UsageError
from graders.course.course import open_course
from graders.report.figures import item_history
from graders.report.figures.item_history import History
from graders.report.pages.page import counted
from graders.sheets.blueprint import subject_in


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--layout",
        metavar="FILE",
        default="",
        help="what can be asked about this layout instead: path of a layout file, or a name from: gearkit layouts",
    )
    parser.add_argument(
        "--subject", "--topic", metavar="SUBJECT", default="", help="only those about one subject, such as torque"
    )
    parser.add_argument("--lesson", type=int, default=0, metavar="N", help="only those of one lesson")
    parser.add_argument("--level", choices=LEVELS, default="", help="only the easy, the middle or the hard ones")
    parser.add_argument(
        "--course",
        action="append",
        default=[],
        metavar="COURSE",
        type=Path,
        help="with how this course's classes did so far; may be repeated for the courses of earlier years",
    )
    add_json(parser)


def _items(options: argparse.Namespace) -> int:
    layout = catalogue.find(options.layout) if options.layout else None
    everything = of_a_layout(layout) if layout else of_the_bank()
    entries = _wished(everything, options) if everything else ()
    text = catalogue.dumps(layout) if layout else ""
    history = item_history.of_courses([open_course(folder) for folder in options.course], text)
    if options.json:
        print_json([_data(entry, history, bool(options.course)) for entry in entries])
        return DONE
    print(_in_words(entries, options, history))
    return DONE


def _wished(everything: Sequence[Entry], options: argparse.Namespace) -> list[Entry]:
    subjects = list(dict.fromkeys(entry.subject for entry in everything))
    subject = subject_in(options.subject, subjects, "--subject") if options.subject else ""
    wished = [
        entry
        for entry in everything
        if subject in ("", entry.subject) and options.lesson in (0, entry.lesson) and options.level in ("", entry.level)
    ]
    if not wished:
        lessons = sorted({entry.lesson for entry in everything})
        raise UsageError(
            "Nothing that can be asked has this subject, this lesson and this level together. Leave one of the options out. "
            f"Lessons: {', '.join(map(str, lessons))}. Subjects: {', '.join(subjects)}."
        )
    return wished


def _data(entry: Entry, history: Mapping[str, History], asked: bool) -> dict[str, object]:
    """An item as data; how classes did only where that was asked for."""
    data: dict[str, object] = asdict(entry)
    if asked:
        known = history.get(entry.id)
        data["classes"] = {"learners": known.learners, "share": known.share, "mistake": known.mistake} if known else None
    return data


def _in_words(entries: Sequence[Entry], options: argparse.Namespace, history: Mapping[str, History]) -> str:
    layout = options.layout
    if not entries:
        return f"Nothing can be asked about {layout}: no range drives. See: gearkit ratios {layout} --all"
    head = ["item", "title", "subject", "lesson", "kind", "level", "marks", "minutes"]
    rows = [
        [entry.id, entry.title, entry.subject, str(entry.lesson), entry.kind, entry.level, str(entry.marks), str(entry.minutes)]
        for entry in entries
    ]
    if not layout:
        head, rows = [*head, "layout"], [[*row, entry.layout or "–"] for row, entry in zip(rows, entries, strict=True)]
    if options.course:
        head = [*head, "classes so far"]
        rows = [[*row, str(history.get(entry.id, "–"))] for row, entry in zip(rows, entries, strict=True)]
    kinds, subjects = len({entry.kind for entry in entries}), list(dict.fromkeys(entry.subject for entry in entries))
    about = f" about {layout}" if layout else ""
    lines = [
        table(head, rows, right=(3, 6, 7)),
        "",
        f"{counted(len(entries), 'item')}{about} of {counted(kinds, 'kind')} of answer: {listed(subjects)}.",
        "Minutes are the kit's estimate, 1 to 2 a mark."
        + ("" if layout else " The level is that within its lesson: a third each is easy, middle and hard."),
    ]
    if layout:
        lines += [
            f"Try one:   gearkit exercise {entries[0].id} --layout {layout}",
            f"A sheet:   graders compose {layout} -o week1.toml",
            f"Of these:  graders compose {layout} --ask {entries[-1].subject.replace(' ', '-')},{entries[0].id} -o week2.toml",
        ]
    else:
        lines.append('A sheet:   graders compose "lessons 1-15" --blueprint "2 easy, 3 middle, 1 hard of torque" -o week1.toml')
    if not options.course:
        lines.append("How classes did so far: add --course COURSE.")
    return "\n".join(lines)


COMMANDS = [
    Command(
        "items",
        "list everything that can be asked, of the lessons or of any layout",
        "graders items --layout Q36 --subject torque",
        _arguments,
        _items,
    )
]
