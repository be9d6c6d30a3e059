"""Takes in what learners handed in elsewhere: a folder or a zip from a course system, a stick, or the exchange folder.

Whose a file is follows from the class list alone: from an identity or a full name in the file's path, or in the exchange
folder from the account that owns it. What a notebook says about itself is never believed. Nothing that was taken in
before is overwritten unless that is asked for, and then the earlier work is kept.
"""

from __future__ import annotations

import datetime as dt
import os
import re
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from gearkit.text.files import write_atomically
from gearkit.words.errors import GearkitError
from graders.course import course_lock
from graders.course.course import Course
from graders.course.roster import Roster
from graders.run.read import notebooks
from graders.run.read.finding import LEFT_ASIDE, find
from graders.sheets import sheets
from graders.sheets.sheets import Sheet
from graders.take_in import hand_ins, inbound, remarks, sorting
from graders.take_in.incoming import Incoming, Intake
from graders.take_in.notes import MOST_EACH, MOST_NOTES, Notes, in_all, short

__all__ = ["MOST_EACH", "MOST_FILES_EACH", "MOST_NOTES", "TakenIn", "kept_of", "plain_name", "take_in"]
MOST_FILES_EACH = 300
_STAMP = "timestamp.txt"
_TAKEN_IN, _THERE = "taken in", "there already"
_STAMP_TIME = re.compile(r"(\d{4}-\d\d-\d\d \d\d:\d\d:\d\d)(?:\.\d+)? UTC\s*")
# What may be work comes first where not everything is kept.
_LIKELIEST = (".ipynb", ".zip", ".json", ".py", ".txt")


@dataclass(frozen=True)
class TakenIn:
    """What taking in did.

    Args:
        taken: learners whose work was taken in now.
        there: learners whose work was there already, the same to the byte.
        refused: one sentence for each learner whose other work was there already, or who handed in more often than counts.
        unknown: one sentence for each file that belongs to nobody for certain, or could not be read.
        missing: learners of the class list of whom nothing is there now.
        chosen: one sentence for each learner of whose several notebooks or hand-ins one was chosen.
        remarks: what was odd about work that was taken in now, or is damaged in it; told again when it is marked.
        aside: what is worth knowing and asks for nothing: leftovers, and files that belong elsewhere.
    """

    taken: tuple[str, ...]
    there: tuple[str, ...]
    refused: tuple[str, ...]
    unknown: tuple[str, ...]
    missing: tuple[str, ...]
    chosen: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    aside: tuple[str, ...] = ()


def take_in(course: Course, sheet: str, source: Path, class_list: Roster, *, replace: bool = False) -> TakenIn:
    """Take in what learners handed in for a sheet.

    Args:
        course: the course.
        sheet: name of the sheet.
        source: a folder, a zip, or the exchange folder.
        class_list: the class.
        replace: take newer work in the place of what is there; the earlier is kept in the course's folder "replaced".

    Raises:
        UsageError: the source is neither a folder nor a zip that can be read, or holds far too much.
        GearkitError: something cannot be written, or somebody else is at work in the course.
    """
    notes, chosen = Notes(), list[str]()
    done: dict[str, list[str]] = {_TAKEN_IN: [], _THERE: [], "refused": []}
    exchange = inbound.inbound_of(source, course)
    of = sheets.read(course.sheet_file(sheet))
    late: dict[str, list[list[Incoming]]] = {}
    last: dict[str, str] = {}
    if exchange is not None:
        sorted_files = sorting.Sorted(_handed_in(exchange, course, of, class_list, notes, late, last))
    else:
        sorted_files = sorting.sort(source, course, of, class_list, notes)
    told: list[str] = []
    items = [item.encode() for item in of.item_ids]
    try:
        with course_lock.taken(course, f"taking in sheet {sheet}"):
            for learner, files in sorted(sorted_files.files.items()):
                odd = sorted_files.odd.get(learner, [])
                kept = kept_of(learner, files, f"{sheet}.ipynb", items, chosen, odd)
                result = _put(course, of, learner, kept, replace, odd)
                if result == _TAKEN_IN:
                    told += [f"{learner}: {remark}" for remark in _remarked(course, of, learner, odd, notes)]
                done.get(result, done["refused"]).append(learner if result in done else result)
                if learner in last:
                    counts = "counts" if result in done else "was not taken; what is there already stays"
                    chosen.append(f"{last[learner]} {counts}.")
                for beyond in late.get(learner, ()):
                    notebook = kept_of(learner, beyond, f"{sheet}.ipynb", items, [], [])
                    done["refused"].append(_put_aside(course, of, learner, _contents(notebook, [])))
    except OSError as fault:
        raise GearkitError(f"Taking in stopped at {fault.filename}: {fault.strerror}. Correct this and do it again.") from None
    missing = tuple(person.id for person in class_list if not course.submitted_folder(person.id, sheet).is_dir())
    return TakenIn(
        tuple(done[_TAKEN_IN]),
        tuple(done[_THERE]),
        tuple(done["refused"]),
        notes.told(),
        missing,
        tuple(chosen),
        tuple(told),
        notes.aside(),
    )


def _handed_in(
    source: Path,
    course: Course,
    sheet: Sheet,
    class_list: Roster,
    notes: Notes,
    late: dict[str, list[list[Incoming]]],
    last: dict[str, str],
) -> dict[str, list[Incoming]]:
    """What the exchange folder has, by learner: the last hand-in that may count; those after it go into `late`.

    Which of several it is goes into `last`, as the beginning of a sentence.
    """
    by_learner: dict[str, list[Incoming]] = {}
    for learner, hand_ins_ in inbound.in_order(source, course, sheet.name, class_list, notes).items():
        counting = len(hand_ins_) if not sheet.rules.attempts else min(sheet.rules.attempts, len(hand_ins_))
        # Every hand-in is measured by itself: nobody can fill the folder so that the others' work is not taken.
        files, *after = [
            list(inbound.files(hand_in, Intake(hand_in.folder, notes, within=hand_in.folder.name)))
            for hand_in in hand_ins_[counting - 1 :]
        ]
        if files:
            by_learner[learner] = files
            if counting > 1:
                at = f"{hand_ins_[counting - 1].at:%Y-%m-%d %H:%M} UTC"
                last[learner] = f"{learner} handed in {len(hand_ins_)} times; hand-in {counting} of {at}"
            late[learner] = [some for some in after if some]
        else:
            notes.add(
                f"{hand_ins_[counting - 1].folder.name!r} holds no file that could be taken.",
                of=hand_ins_[counting - 1].folder.name,
            )
    return by_learner


def _remarked(course: Course, sheet: Sheet, learner: str, odd: Sequence[str], notes: Notes) -> Sequence[str]:
    """Keep and return what is odd about work that was taken in; what cannot be read of it is found as marking finds it.

    What was handed in beside a notebook that can be read asks for nothing, and goes into the notes.
    """
    remarks.keep(course, sheet.name, learner, in_all(odd, MOST_EACH))
    notebook = find(course.submitted_folder(learner, sheet.name), sheet.name, sheet.item_ids)
    for flag in notebook.flags:
        if flag.startswith(LEFT_ASIDE):
            notes.add_aside(f"{learner}: {flag}")
    unreadable = [notebook.reason] if notebook.reason else [*notebook.notebook.flags] if notebook.notebook else []
    return [*in_all(odd, MOST_EACH), *dict.fromkeys([*unreadable, *notebook.damaged])]


def kept_of(
    learner: str, files: Sequence[Incoming], expected: str, items: Sequence[bytes], chosen: list[str], odd: list[str]
) -> list[Incoming]:
    """What is kept of a learner's files: one notebook, of those that name most of the items the newest, and no flood of others.

    Args:
        learner: identity.
        files: all files.
        expected: the name that the notebook should have; it comes before others of the same time.
        items: the sheet's items as they stand in a notebook.
        chosen: a sentence is added where there were several notebooks.
        odd: a sentence is added where there were very many files.
    """
    books = [file for file in files if file.path.lower().endswith(".ipynb")]
    others = [file for file in files if not file.path.lower().endswith(".ipynb")]
    if len(books) > 1:
        books = [_best(learner, books, expected, items, chosen)]
    if len(others) >= MOST_FILES_EACH:
        odd.append(
            f"{learner} handed in {len(files)} files, more than {MOST_FILES_EACH}; only so many were taken, those first that may "
            "be work."
        )
        others = sorted(others, key=lambda file: not file.path.lower().endswith(_LIKELIEST))[: MOST_FILES_EACH - 1]
    return [*books, *others]


def _best(learner: str, books: Sequence[Incoming], expected: str, items: Sequence[bytes], chosen: list[str]) -> Incoming:

    def rank(file: Incoming) -> tuple[dt.datetime, bool, list[object]]:
        return file.at, PurePosixPath(file.path).name == expected, _in_order(file.path)

    # However many there are, only so many are looked into: those of the right name, and the newest.
    likely = sorted(books, key=lambda file: (PurePosixPath(file.path).name == expected, *rank(file)), reverse=True)[
        :MOST_FILES_EACH
    ]
    best = max(likely, key=lambda file: (sum(item in file.data for item in items), *rank(file)))
    left = [file for file in likely if file is not best]
    shown = [
        f"{short(file.path)}{'' if notebooks.load(file.data) else ' (it cannot be read as a notebook)'}" for file in left[:3]
    ]
    more = f" and {len(books) - 1 - len(shown)} more" if len(books) - 1 > len(shown) else ""
    chosen.append(
        f"{learner} handed in {len(books)} notebooks; chosen was {short(best.path)} of {best.at:%Y-%m-%d %H:%M}, "
        f"the newest of those that hold most of the sheet's items. Left: {', '.join(shown)}{more}."
    )
    return best


def _in_order(path: str) -> list[object]:
    """A key that puts "A1 (10)" after "A1 (9)"."""
    return [(0, int(piece), "") if piece.isdecimal() else (1, 0, piece) for piece in re.split(r"(\d+)", path)]


def _contents(files: Sequence[Incoming], odd: list[str]) -> dict[str, bytes]:
    """Files by plain names, with the time of handing in: a time that came among the learner's files only ever adds lateness."""
    contents: dict[str, bytes] = {}
    own: list[bytes] = []
    for file in files:
        name = plain_name(file.path)
        if name.casefold() == _STAMP:
            own.append(file.data)
        else:
            contents[_free(name, contents)] = file.data
    at = max(file.at for file in files if plain_name(file.path).casefold() != _STAMP or len(own) == len(files))
    changed = f"{at.astimezone(dt.UTC):%Y-%m-%d %H:%M:%S}"
    said = max((_stamped({_STAMP: data}) for data in own), default="")
    if own and said != changed:
        odd.append(
            f"{_STAMP} came with the work and says {said + ' UTC' if said else 'no time that can be read'}; the files were "
            f"last changed at {changed} UTC. Anybody can write such a file, so the later time counts."
        )
    contents[_STAMP] = f"{max(said, changed)} UTC\n".encode()
    return contents


def _free(name: str, taken: Mapping[str, bytes]) -> str:
    """A name that no other file has yet, so that two of one name in different folders are both kept."""
    place, number = PurePosixPath(name), 2
    while name in taken:
        name, number = f"{place.stem} ({number}){place.suffix}", number + 1
    return name


def _put_aside(course: Course, sheet: Sheet, learner: str, contents: Mapping[str, bytes]) -> str:
    """Keep a hand-in that came after the last one that counts; say so in a sentence."""
    hand_ins.keep_beyond(course, sheet.name, learner, contents)
    times = "once" if sheet.rules.attempts == 1 else f"{sheet.rules.attempts} times"
    return (
        f"{learner}: handing in counts {times}; the work of {_stamped(contents)} UTC came after that, was put aside in "
        f"{hand_ins.kept_folder(course, sheet.name, learner)} and is not marked."
    )


def _put(course: Course, sheet: Sheet, learner: str, files: Sequence[Incoming], replace: bool, odd: list[str]) -> str:
    """Put one learner's files in their place; return what was done, or why not in a sentence."""
    contents = _contents(files, odd)
    folder = course.submitted_folder(learner, sheet.name)
    if folder.is_symlink():
        return f"{learner}: {folder} is a link to another place; nothing was taken in."
    if folder.is_dir() and any(folder.iterdir()):
        before = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
        if _work(before) == _work(contents):
            return _THERE
        there, now = _stamped(before), _stamped(contents)
        older = there and now and now < there
        if sheet.rules.attempts and 1 + hand_ins.replaced(course, sheet.name, learner) >= sheet.rules.attempts and not older:
            return _put_aside(course, sheet, learner, contents)
        if not replace:
            return f"{learner}: other work is there already; to take the newer one instead, add --replace."
        if older:
            return f"{learner}: the work there is of {there} UTC and newer than this of {now} UTC; it stays."
        _set_aside(course, sheet.name, learner, folder)
    _place(folder, contents)
    return _TAKEN_IN


def _place(folder: Path, contents: Mapping[str, bytes]) -> None:
    """Make a folder with all its files in one step, so that a half one is never taken for what was handed in."""
    draft = folder.with_name(f".{folder.name}.part")
    shutil.rmtree(draft, ignore_errors=True)
    for name, data in sorted(contents.items()):
        write_atomically(draft / name, data)
    os.replace(draft, folder)


def _stamped(contents: Mapping[str, bytes]) -> str:
    match = _STAMP_TIME.match(contents.get(_STAMP, b"").decode("ascii", "replace"))
    return match.group(1) if match else ""


def _work(contents: Mapping[str, bytes]) -> dict[str, bytes]:
    return {name: data for name, data in contents.items() if name != _STAMP}


def _set_aside(course: Course, sheet: str, learner: str, folder: Path) -> None:
    kept = hand_ins.kept_folder(course, sheet, learner)
    kept.mkdir(parents=True, exist_ok=True)
    number = 1 + hand_ins.replaced(course, sheet, learner)
    os.replace(folder, kept / str(number))


def plain_name(path: str) -> str:
    """The last part of a path, as a name that no system stumbles over.

    Args:
        path: the path.
    """
    name = PurePosixPath(path).name.lstrip(".") or "file"
    return "".join(letter if letter.isprintable() and letter not in '\\/:*?"<>|' else "_" for letter in name)[-120:]
