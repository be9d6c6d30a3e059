"""Commands before the lesson: compose a sheet, hand it out."""

from __future__ import annotations

import argparse
from pathlib import Path

from gearkit.cli.command import DONE, Command, add_json, print_json, table
from gearkit.words.errors import UsageError
from graders.prepare import course as courses
from graders.prepare import database, hand_out, layout_items, roster, sheets
from graders.prepare.notebook import preview
from graders.prepare.sheets import Sheet


def _compose_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("source", metavar="SOURCE", nargs="+",
                        help="'lesson 3', items such as L03-01,L02-02, a layout's file or its name in the catalogue")
    parser.add_argument("-o", "--output", metavar="SHEET", required=True, type=Path, help="the sheet's file (.toml)")
    parser.add_argument("--title", default="", help="title for people")
    parser.add_argument("--due", default="", metavar="TIME", help="such as '2026-03-02 17:00', in the course's time zone")
    parser.add_argument("--ask", default=",".join(layout_items.USUAL), metavar="SUBJECTS",
                        help="of a layout: some of " + ", ".join(layout_items.SUBJECTS) + " (default: %(default)s)")
    parser.add_argument("--practice", action="store_true", help="a sheet for practice, without marks that count")
    parser.add_argument("--preview", action="store_true", help="print the tasks with practice numbers")
    parser.add_argument("--replace", action="store_true", help="write over a sheet that is there already")
    add_json(parser)


def _compose(options: argparse.Namespace) -> int:
    path: Path = options.output
    if path.suffix != ".toml" and not path.is_dir():
        path = path.with_name(f"{path.name}.toml")
    if path.is_dir() or not path.parent.is_dir():
        raise UsageError(f"{path}: a sheet's file has to lie in a folder that exists.")
    subjects = tuple(one.strip() for one in options.ask.split(",") if one.strip())
    sheet = sheets.compose(" ".join(options.source), path.stem, title=options.title, due=options.due, ask=subjects,
                           kind="practice" if options.practice else "graded")
    if path.exists() and not options.replace and path.read_bytes() != sheets.as_text(sheet).encode():
        raise UsageError(f"{path} is there already and holds something else. Give another name, or add --replace.")
    sheets.write(sheet, path)
    if options.json:
        print_json({"sheet": sheet.name, "title": sheet.title, "file": str(path), "marks": sheet.marks,
                    "items": [{"item": entry.item.id, "marks": entry.marks} for entry in sheet.items]})
        return DONE
    print(_sheet_words(sheet))
    if options.preview:
        print("\n" + preview(sheet))
    print(f"\nWritten: {path}\nNext:    graders hand-out COURSE {path} --class ROSTER.csv")
    return DONE


def _sheet_words(sheet: Sheet) -> str:
    rows = [[entry.item.id, str(entry.item.kind), str(entry.marks)] for entry in sheet.items]
    return f"{sheet.title}: {len(sheet.items)} items, {sheet.marks} marks\n\n" + table(["item", "kind", "marks"], rows,
                                                                                       right=(2,))


def _hand_out_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("course", metavar="COURSE", type=Path, help="the course's folder; made if it is missing")
    parser.add_argument("sheet", metavar="SHEET", help="a sheet's file, or the name of one that was handed out")
    parser.add_argument("--class", dest="class_list", metavar="ROSTER.csv", required=True, type=Path,
                        help="class list with the columns id, name, group")
    parser.add_argument("--id", default="", help="short identity of a new course; its folder's name if not given")
    parser.add_argument("--title", default="", help="title of a new course")
    parser.add_argument("--gradebook", default="", metavar="URL", help="database of a new course's gradebook, such as "
                        "postgresql+psycopg://USER@HOST/DATABASE; a file in its folder if not given")
    parser.add_argument("--time-zone", default="UTC", help="time zone of a new course, such as Europe/London")
    add_json(parser)


def _hand_out(options: argparse.Namespace) -> int:
    # Everything that can be wrong is read before anything is written.
    class_list = roster.read(options.class_list)
    is_file = Path(options.sheet).is_file()
    sheet = sheets.read(Path(options.sheet)) if is_file else None
    if sheet is None and not (options.course / "course.toml").exists():
        raise UsageError(f"There is no sheet {options.sheet!r}. Make one with: graders compose \"lesson 3\" -o SHEET")
    if options.gradebook:
        database.reach(options.gradebook)
    course = courses.create(options.course, course_id=options.id, title=options.title, time_zone=options.time_zone,
                            gradebook=options.gradebook)
    result = hand_out.hand_out(course, sheet or hand_out.sheet_of(course, options.sheet), class_list)
    if options.json:
        print_json({"course": course.id, "sheet": result.sheet, "made": list(result.made), "kept": list(result.kept),
                    "folder": str(result.folder)})
        return DONE
    kept = f"; {len(result.kept)} were there already and were left as they are" if result.kept else ""
    print(f"Sheet {result.sheet}: {len(result.made)} copies made{kept}.")
    print(f"Copies:     {result.folder}/LEARNER/{result.sheet}/{result.sheet}.ipynb")
    print(f"Collect in: {course.submitted}/LEARNER/{result.sheet}/")
    print(f"Then:       graders mark {options.course} {result.sheet}")
    return DONE


COMMANDS = [
    Command("compose", "make a sheet from a lesson, from chosen items, or from any layout",
            'graders compose "lesson 3" -o week3.toml', _compose_arguments, _compose),
    Command("hand-out", "build the course folder and each learner's own copy",
            "graders hand-out COURSE week3.toml --class ROSTER.csv", _hand_out_arguments, _hand_out),
]
